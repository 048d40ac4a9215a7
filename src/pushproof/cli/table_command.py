"""``pushproof table``: corrected and derived values for spreadsheets and programs."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from pushproof.cli.batch import run_all
from pushproof.cli.console import (
    AreaRatio,
    Columns,
    Debug,
    Files,
    Quiet,
    RecipeFile,
    WaterLevel,
    decisions,
)
from pushproof.cli.job import Reading, product_path


@dataclass(frozen=True)
class TableTask:
    """Writes the table of every sounding in a file."""

    reading: Reading
    output: Path | None
    suffix: str
    files: int

    def __call__(self, path: Path) -> list[str]:
        """Return one line for each table written."""
        from pushproof.formats.table import write_table

        interpretations = list(self.reading.interpretations(path))
        alone = self.files == 1 and len(interpretations) == 1
        output = self.output
        if output is not None and not alone and output.suffix:
            output = output.parent
        lines = []
        for one in interpretations:
            name = one.profile.sounding.name
            target = product_path(output, path, name, self.suffix, alone=alone)
            target.parent.mkdir(parents=True, exist_ok=True)
            write_table(one, target)
            lines.append(f"{target}  ({len(one)} rows, {len(list(one.series))} columns)")
        return lines


def table(
    files: Files,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            help="File (.csv, .xlsx, .parquet, .json), or a folder for CSV files.",
            show_default=False,
        ),
    ] = None,
    workers: Annotated[int, typer.Option("--workers", min=1, help="Processes to use.")] = 1,
    columns: Columns = "",
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Write the corrected and derived values as CSV, Excel, Parquet or JSON."""
    reading = Reading(decisions(recipe, water_level, area_ratio), columns)
    suffix = output.suffix if output is not None and output.suffix else ".csv"
    raise typer.Exit(run_all(TableTask(reading, output, suffix, len(files)), files, workers))

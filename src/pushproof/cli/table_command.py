"""``pushproof table``: corrected and derived values for spreadsheets and programs."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.batch import run_all
from pushproof.cli.job import Reading, product_path
from pushproof.cli.options import (
    AreaRatio,
    Columns,
    Debug,
    Files,
    Quiet,
    RecipeFile,
    Salvage,
    WaterLevel,
    Workers,
    decisions,
)

if TYPE_CHECKING:
    from pushproof.interpretation import Bands
    from pushproof.model.profile import Interpretation


class BandForm(StrEnum):
    """Whether bands are in the table, and how they are made."""

    NONE = "none"
    FIRST_ORDER = "first-order"
    MONTE_CARLO = "monte-carlo"


@dataclass(frozen=True)
class BandChoice:
    """The bands of a table."""

    form: BandForm = BandForm.NONE
    draws: int = 1000
    seed: int = 0

    def of(self, derived: Interpretation) -> Bands | None:
        """Return the bands of an interpretation, None if none are wanted."""
        if self.form is BandForm.NONE:
            return None
        from pushproof.interpretation import bands

        if self.form is BandForm.FIRST_ORDER:
            return bands(derived)
        return bands(derived, method="monte-carlo", draws=self.draws, seed=self.seed)


@dataclass(frozen=True)
class TableTask:
    """Writes the table of every sounding in a file."""

    reading: Reading
    output: Path | None
    suffix: str
    files: int
    bands: BandChoice = BandChoice()

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
            found = self.bands.of(one)
            write_table(one, target, found)
            count = len(list(one.series)) + 3 * len(found or ())
            lines.append(f"{target}  ({len(one)} rows, {count} columns)")
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
    workers: Workers = 1,
    bands: Annotated[
        BandForm, typer.Option("--bands", help="Put p10, p50 and p90 beside derived values.")
    ] = BandForm.NONE,
    draws: Annotated[int, typer.Option("--draws", min=20, help="Draws of Monte Carlo.")] = 1000,
    seed: Annotated[int, typer.Option("--seed", help="Seed of Monte Carlo.")] = 0,
    columns: Columns = "",
    salvage: Salvage = False,
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Write the corrected and derived values as CSV, Excel, Parquet or JSON."""
    reading = Reading(decisions(recipe, water_level, area_ratio), columns, salvage)
    suffix = output.suffix if output is not None and output.suffix else ".csv"
    task = TableTask(reading, output, suffix, len(files), BandChoice(bands, draws, seed))
    raise typer.Exit(run_all(task, files, workers))

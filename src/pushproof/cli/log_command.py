"""``pushproof log``: the log sheet."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from pushproof.cli.batch import run_all
from pushproof.cli.job import Reading, observed_in, product_path
from pushproof.cli.options import (
    AreaRatio,
    Columns,
    Debug,
    Files,
    Observed,
    Paper,
    PaperName,
    Quiet,
    RecipeFile,
    Salvage,
    WaterLevel,
    Workers,
    decisions,
    observations_of,
)

if TYPE_CHECKING:
    from pushproof.model.observations import Observation


class ScaleName(StrEnum):
    """Depth scales."""

    FIT = "fit"
    S50 = "50"
    S100 = "100"
    S200 = "200"


@dataclass(frozen=True)
class LogTask:
    """Sets the log of every sounding in a file."""

    reading: Reading
    output: Path | None
    paper: Literal["A4", "Letter"]
    scale: int | Literal["fit"]
    files: int
    observed: tuple[Observation, ...] = ()

    def __call__(self, path: Path) -> list[str]:
        """Return one line for each log written."""
        from pushproof.report import set_log

        interpretations = list(self.reading.interpretations(path))
        if self.observed and (self.files > 1 or len(interpretations) > 1):
            raise ValueError("--observations belong to one sounding: name a file that holds one")
        alone = self.files == 1 and len(interpretations) == 1
        suffix = ".pdf" if alone or self.output is None else self.output.suffix or ".pdf"
        output = self.output
        if output is not None and not alone and output.suffix:
            output = output.parent
        kept = {} if self.observed else observed_in(path)
        lines = []
        for one in interpretations:
            name = one.profile.sounding.name
            target = product_path(output, path, name, suffix, alone=alone)
            target.parent.mkdir(parents=True, exist_ok=True)
            count = len(one.findings)
            words = f"{len(one)} rows, {count} finding{'s' * (count != 1)}"
            observed = self.observed or kept.get(name, ())
            sheet = set_log(one, paper=self.paper, scale=self.scale, observed=observed)
            lines += [f"{written}  ({words})" for written in sheet.write(target)]
        return lines


def log(
    files: Files,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output", "-o", help="File (.pdf, .png, .svg) or folder.", show_default=False
        ),
    ] = None,
    paper: Paper = PaperName.A4,
    scale: Annotated[
        ScaleName, typer.Option("--scale", help="Depth scale 1 to N, or fitted to the pages.")
    ] = ScaleName.FIT,
    workers: Workers = 1,
    observations: Observed = None,
    columns: Columns = "",
    salvage: Salvage = False,
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Set the log of a sounding as PDF, PNG or SVG."""
    reading = Reading(decisions(recipe, water_level, area_ratio), columns, salvage)
    chosen: int | Literal["fit"] = "fit" if scale is ScaleName.FIT else int(scale.value)
    observed = observations_of(observations)
    task = LogTask(reading, output, paper.size, chosen, len(files), observed)
    raise typer.Exit(run_all(task, files, workers))

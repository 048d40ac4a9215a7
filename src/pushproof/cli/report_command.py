"""``pushproof report``: cover, logs, proof sheets, methods."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.job import Reading, observed_in
from pushproof.cli.options import (
    AreaRatio,
    Columns,
    Debug,
    Files,
    Observed,
    Ordered,
    Paper,
    PaperName,
    Quiet,
    RecipeFile,
    Salvage,
    WaterLevel,
    decisions,
    observations_of,
)

if TYPE_CHECKING:
    from pushproof.model.observations import Observation


def report(
    files: Files,
    output: Annotated[Path, typer.Option("--output", "-o", help="The PDF.")] = Path("report.pdf"),
    paper: Paper = PaperName.A4,
    scheme: Annotated[
        str, typer.Option("--scheme", help="Accuracy scheme that comes first.")
    ] = "iso-22476-1-2012",
    signed: Annotated[
        Path | None,
        typer.Option("--signed", help="A sign-off made by sign.", show_default=False),
    ] = None,
    unsigned: Annotated[
        bool, typer.Option("--unsigned", help="Leave out the sign-offs that a job file holds.")
    ] = False,
    ordered: Ordered = None,
    observations: Observed = None,
    columns: Columns = "",
    salvage: Salvage = False,
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Set the report of one or more soundings: cover, logs, proof sheets, methods."""
    from rich.markup import escape

    from pushproof.errors import RecordError
    from pushproof.report import report as set_report
    from pushproof.store.signing import changes, read_sign_off

    reading = Reading(decisions(recipe, water_level, area_ratio, ordered), columns, salvage)
    read = {path: list(reading.interpretations(path)) for path in files}
    found = [one for path in files for one in read[path]]
    observed: dict[str, tuple[Observation, ...]] = {}
    if observations is None:
        for path in files:
            observed |= observed_in(path)
    else:
        if len(found) != 1:
            raise RecordError("--observations belong to one sounding: the report holds several")
        observed[found[0].profile.sounding.name] = observations_of(observations)
    lines: dict[str, str] = {}
    if signed is not None:
        sign_off = read_sign_off(signed)
        if len(found) != 1:
            raise RecordError(f"{signed}: it signs one sounding, the report holds {len(found)}")
        (profile,) = (one.profile for one in found)
        differ = changes(sign_off, profile.sounding, profile.recipe)
        if differ:
            raise RecordError(f"{signed}: not what was signed: {'; '.join(differ)}")
        lines[profile.sounding.name] = sign_off.line
    elif not unsigned:
        for path in files:
            profiles = [one.profile for one in read[path]]
            lines |= reading.signed_lines(path, [(one.sounding, one.recipe) for one in profiles])
    set_report(
        found,
        output,
        paper=paper.size,
        scheme=scheme,
        signed=lines,
        observed=observed,
    )
    console().print(escape(f"{output}  ({len(found)} soundings)"), soft_wrap=True)

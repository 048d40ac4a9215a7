"""``pushproof sign``: put a name under facts, recipe and version."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.job import Reading, is_job, safe_name
from pushproof.cli.options import (
    AreaRatio,
    Columns,
    Debug,
    Ordered,
    Quiet,
    RecipeFile,
    WaterLevel,
    WhichSounding,
    decisions,
)

if TYPE_CHECKING:
    from pushproof.model.recipe import Recipe
    from pushproof.model.sounding import Sounding


def sign(
    file: Annotated[Path, typer.Argument(help="A sounding file, or a job file.")],
    name: Annotated[str, typer.Option("--as", help="Who signs.")] = "",
    key: Annotated[
        Path | None,
        typer.Option(
            "--key", help="Private Ed25519 key; made if it is not there.", show_default=False
        ),
    ] = None,
    check: Annotated[
        Path | None,
        typer.Option("--check", help="A sign-off to compare with.", show_default=False),
    ] = None,
    sounding_name: WhichSounding = "",
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The sign-off.", show_default=False)
    ] = None,
    ordered: Ordered = None,
    columns: Columns = "",
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Sign a sounding off, or check what changed since it was signed."""
    from rich.markup import escape

    from pushproof.store import Job
    from pushproof.store.signing import changes, keep_sign_off, read_sign_off, write_sign_off
    from pushproof.store.signing import sign as freeze

    chosen = decisions(recipe, water_level, area_ratio, ordered)
    sounding, chosen = _the_one(Reading(chosen, columns), file, sounding_name)
    out = console()
    if check is not None:
        signed = read_sign_off(check)
        found = changes(signed, sounding, chosen)
        for line in found:
            console(stderr=True).print(escape(f"changed: {line}"), soft_wrap=True)
        if not found:
            out.print(escape(f"holds: {signed.line}"), soft_wrap=True)
        raise typer.Exit(1 if found else 0)
    signed = freeze(sounding, chosen, name, key)
    target = output or file.with_name(f"{safe_name(sounding.name)}.signed.json")
    write_sign_off(signed, target)
    if is_job(file):
        with Job.open(file, write=True) as job:
            keep_sign_off(job, signed, "signed off")
    out.print(escape(f"{signed.line}\n{target}"), soft_wrap=True)


def _the_one(reading: Reading, file: Path, name: str) -> tuple[Sounding, Recipe]:
    """Return the sounding that is signed, and the decisions that hold for it."""
    from pushproof.errors import RecordError

    all_of = list(reading.decided(file))
    found = [one for one in all_of if name in ("", one[0].name)]
    if len(found) != 1:
        names = ", ".join(one.name for one, _ in all_of)
        raise RecordError(f"{file}: name one sounding with --sounding; it holds: {names}")
    return found[0]

"""``pushproof sign``: put a name under facts, recipe and version."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pushproof.cli.console import (
    AreaRatio,
    Columns,
    Debug,
    Quiet,
    RecipeFile,
    WaterLevel,
    console,
    decisions,
)


def sign(
    file: Annotated[Path, typer.Argument(help="A sounding file.")],
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
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The sign-off.", show_default=False)
    ] = None,
    columns: Columns = "",
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Sign a sounding off, or check what changed since it was signed."""
    from rich.markup import escape

    from pushproof.formats import read
    from pushproof.store.signing import changes, read_sign_off, write_sign_off
    from pushproof.store.signing import sign as freeze

    sounding = read(file, columns=columns)
    chosen = decisions(recipe, water_level, area_ratio)
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
    target = output or file.with_name(f"{file.stem}.signed.json")
    write_sign_off(signed, target)
    out.print(escape(f"{signed.line}\n{target}"), soft_wrap=True)

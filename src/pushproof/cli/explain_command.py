"""``pushproof explain``: one number with the chain of equations behind it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.job import Reading
from pushproof.cli.options import (
    AreaRatio,
    AsJson,
    Columns,
    Debug,
    Quiet,
    RecipeFile,
    Salvage,
    WaterLevel,
    WhichSounding,
    decisions,
)

if TYPE_CHECKING:
    from pushproof.model.profile import Interpretation


def explain(
    file: Annotated[Path, typer.Argument(help="A sounding file or a job file.")],
    keys: Annotated[
        list[str], typer.Argument(help="What to explain: su, Ic, OCR, ...", show_default=False)
    ],
    depth: Annotated[
        float, typer.Option("--depth", help="Depth below ground level [m].", show_default=False)
    ],
    name: WhichSounding = "",
    as_json: AsJson = False,
    columns: Columns = "",
    salvage: Salvage = False,
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Explain a value: equations with numbers put in, sources, what was assumed, and its band."""
    from pushproof.interpretation import explain as explained

    reading = Reading(decisions(recipe, water_level, area_ratio), columns, salvage)
    one = _chosen(list(reading.interpretations(file)), name, file)
    found = [explained(one, key, depth) for key in keys]
    if as_json:
        import json

        documents = [each.to_dict() for each in found]
        typer.echo(json.dumps(documents, indent=2, ensure_ascii=False))
        return
    for each in found:
        typer.echo(each.text + "\n")


def _chosen(derived: list[Interpretation], name: str, file: Path) -> Interpretation:
    names = [one.profile.sounding.name for one in derived]
    if not name and len(derived) == 1:
        return derived[0]
    if name in names:
        return derived[names.index(name)]
    known = ", ".join(names) or "none"
    what = f"no sounding {name!r}" if name else "several soundings: choose one with --sounding"
    raise typer.BadParameter(f"{file}: {what}; there are: {known}")

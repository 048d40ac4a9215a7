"""``pushproof layers``: the units of a sounding."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console
from pushproof.cli.job import Reading
from pushproof.cli.keep import keep
from pushproof.cli.options import (
    AreaRatio,
    AsJson,
    Author,
    Columns,
    Debug,
    Files,
    Quiet,
    RecipeFile,
    Save,
    WaterLevel,
    Why,
    decisions,
)

if TYPE_CHECKING:
    from pushproof.interpretation.layers import Layers
    from pushproof.model.profile import Interpretation

_SHOWN = ("qt", "Ic", "su", "phi", "Dr")


def layers(
    files: Files,
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", help="Table (.csv, .xlsx).", show_default=False),
    ] = None,
    min_thickness: Annotated[
        float | None,
        typer.Option(
            "--min-thickness",
            min=0.1,
            max=5.0,
            help="Thinnest unit of the search [m]; 0.5 if not given.",
            show_default=False,
        ),
    ] = None,
    again: Annotated[
        bool, typer.Option("--search", help="Search even where the boundaries were decided.")
    ] = False,
    as_json: AsJson = False,
    save: Save = None,
    author: Author = "",
    reason: Why = "",
    columns: Columns = "",
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Divide a sounding into units: boundaries, how firm each is, and the parameters of each."""
    from pushproof.interpretation.layers import layers as divide

    reading = Reading(decisions(recipe, water_level, area_ratio), columns)
    found: list[tuple[Interpretation, Layers]] = []
    for path in files:
        for one in reading.interpretations(path):
            found.append((one, divide(one, _choice(one, min_thickness, again))))
    if as_json:
        import json

        documents = [units.as_data() for _, units in found]
        typer.echo(json.dumps(documents, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        for _, units in found:
            _print(units)
    if output is not None:
        _write([units for _, units in found], output)
        if not as_json:
            console().print(str(output), soft_wrap=True, markup=False)
    if save is not None:
        line = _save(found, save, author, reason)
        if not as_json:
            console().print(line, soft_wrap=True, markup=False)


def _choice(one: Interpretation, min_thickness: float | None, again: bool) -> Any:
    """Return the choice of the recipe with the options over it; None where there are none."""
    from pushproof.model.layering import LayerChoice

    decided = one.profile.recipe.layers
    if min_thickness is None and not again:
        return decided
    change: dict[str, Any] = {"boundaries": None} if again else {}
    if min_thickness is not None:
        change["min_thickness"] = min_thickness
    return (decided or LayerChoice()).model_copy(update=change)


def _print(units: Layers) -> None:
    from rich import box
    from rich.markup import escape
    from rich.table import Table

    from pushproof.model.quantities import quantity

    keys = [key for key in _SHOWN if key in units.parameters]
    how = "found by the search" if units.automatic else "set by a person"
    table = Table(
        title=f"{escape(units.name)}: {len(units)} units, boundaries {how}",
        title_justify="left",
        box=box.SIMPLE_HEAD,
        padding=(0, 1, 0, 0),
    )
    for heading in ("", "top\nm", "base\nm"):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("soil behaviour", overflow="fold")
    for heading in ("base\n± m", "confi-\ndence"):
        table.add_column(heading, justify="right", no_wrap=True)
    for key in keys:
        row = quantity(key)
        unit_words = "" if row.display_unit == "-" else row.display_unit
        table.add_column(f"{row.symbol}\n{unit_words}", justify="right", no_wrap=True)
    for k, unit in enumerate(units.units):
        edge = units.edges[k] if k < len(units.edges) else None
        sure, spread = "", ""
        if edge is not None and edge.confidence is not None and edge.spread is not None:
            sure, spread = f"{edge.confidence:.2f}", f"{edge.spread:.2f}"
        numbers = []
        for key in keys:
            told = unit.statistics.get(key)
            numbers.append("" if told is None else f"{told.mean:.3g}")
        table.add_row(
            str(unit.number),
            f"{unit.top:.2f}",
            f"{unit.base:.2f}",
            escape(unit.name),
            spread,
            sure,
            *numbers,
        )
    out = console()
    out.print(table)
    for text in units.notes:
        out.print(text, soft_wrap=True, markup=False)
    for unit in units.units:
        for note in unit.notes:
            out.print(f"unit {unit.number}: {note}", soft_wrap=True, markup=False)


def _write(found: list[Layers], output: Path) -> None:
    import pandas as pd

    from pushproof.errors import FormatError

    frames = [units.to_frame().assign(sounding=units.name) for units in found]
    whole = pd.concat(frames, ignore_index=True)
    whole.insert(0, "sounding", whole.pop("sounding"))
    suffix = output.suffix.lower()
    if suffix == ".csv":
        whole.to_csv(output, index=False, lineterminator="\n", float_format="%.6g")
    elif suffix == ".xlsx":
        whole.to_excel(output, index=False)
    else:
        raise FormatError(f"unknown kind of table {suffix!r}; known: .csv, .xlsx", path=output)


def _save(
    found: list[tuple[Interpretation, Layers]], target: Path, author: str, reason: str
) -> str:
    from pushproof.errors import ConfigurationError
    from pushproof.model.recipe import Recipe

    if len(found) != 1:
        names = ", ".join(units.name for _, units in found)
        raise ConfigurationError(f"--save keeps the units of one sounding; here are: {names}")
    ((one, units),) = found
    choice = units.choice(reason=reason or "found by the search", author=author)
    return keep(
        Recipe(layers=choice), target, one.profile.sounding.name, author=author, reason=reason
    )

"""``pushproof show``: a sounding in the terminal."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console
from pushproof.cli.findings import finding_document, findings_table
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
    decisions,
)

if TYPE_CHECKING:
    from rich.console import Console

    from pushproof.model.profile import Interpretation


@dataclass(frozen=True)
class Fact:
    """One line of what is known of a sounding."""

    label: str
    text: str
    assumed: bool = False


def show(
    file: Annotated[Path, typer.Argument(help="A sounding file.")],
    as_json: AsJson = False,
    rows: Annotated[int, typer.Option("--rows", min=4, help="Lines of the plot.")] = 24,
    columns: Columns = "",
    salvage: Salvage = False,
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Show a sounding in the terminal."""
    reading = Reading(decisions(recipe, water_level, area_ratio), columns, salvage)
    derived = list(reading.interpretations(file))
    if as_json:
        import json

        typer.echo(json.dumps([document(one) for one in derived], indent=2, ensure_ascii=False))
        return
    out = console()
    for one in derived:
        _print(out, one, rows)


def facts(derived: Interpretation) -> list[Fact]:
    """Return what is known of a sounding, known values first, assumed ones marked."""
    profile = derived.profile
    sounding = profile.sounding
    place, cone = sounding.location, sounding.cone
    lines = [
        Fact("project", sounding.project or ""),
        Fact("started", f"{sounding.started:%Y-%m-%d %H:%M}" if sounding.started else ""),
        Fact("position", _position(place.x, place.y, place.crs)),
        Fact("level", "" if place.level is None else f"{place.level:+.2f} m {place.datum or ''}"),
        Fact("cone", " ".join(filter(None, (cone.model, cone.serial)))),
        Fact("tip area", "" if cone.tip_area is None else f"{cone.tip_area * 1e4:g} cm2"),
        Fact("area ratio", "" if profile.area_ratio is None else f"{profile.area_ratio:g}"),
        Fact("stated", ", ".join(filter(None, (sounding.standard, sounding.quality_class)))),
        Fact("pre-excavated", "" if not sounding.predrilled else f"{sounding.predrilled:.2f} m"),
        Fact("ended", sounding.stop_reason.value if sounding.stop_reason else ""),
    ]
    if profile.water is not None:
        lines.append(
            Fact("water level", f"{profile.water.level:.2f} m, {profile.water.origin.value}")
        )
    lines += [Fact(one.key, one.text, assumed=True) for one in derived.assumptions]
    return [line for line in lines if line.text]


def _position(x: float | None, y: float | None, crs: str | None) -> str:
    return "" if x is None or y is None else f"{x:.2f}, {y:.2f} {crs or ''}".strip()


def _print(out: Console, derived: Interpretation, rows: int) -> None:
    from rich.markup import escape
    from rich.table import Table

    from pushproof.cli.depth_plot import depth_plot

    sounding = derived.profile.sounding
    table = Table(box=None, show_header=False, pad_edge=False)
    table.add_column(style="dim")
    table.add_column()
    for fact in facts(derived):
        text = escape(fact.text)
        table.add_row(fact.label, f"[yellow]assumed:[/] {text}" if fact.assumed else text)
    source = sounding.source
    heading = f"[bold]{escape(sounding.name)}[/]"
    out.print(heading + (f"  [dim]{escape(source.name)}, {source.format}[/]" if source else ""))
    out.print(table)
    if len(derived):
        out.print()
        out.print(depth_plot(derived, rows))
    out.print()
    out.print(findings_table(derived.findings))


def document(derived: Interpretation) -> dict[str, Any]:
    """Return a sounding as a plain document for other programs."""
    import numpy as np

    series = derived.series
    sounding = derived.profile.sounding
    ranges = {}
    for key in series:
        values = series[key][np.isfinite(series[key])]
        ranges[key] = {
            "unit": series.quantity(key).unit,
            "count": int(values.size),
            "min": float(values.min()) if values.size else None,
            "max": float(values.max()) if values.size else None,
        }
    return {
        "name": sounding.name,
        "rows": len(series),
        "facts": {f.label: f.text for f in facts(derived) if not f.assumed},
        "assumed": {one.key: one.text for one in derived.assumptions},
        "columns": ranges,
        "methods": dict(derived.methods),
        "findings": [finding_document(one) for one in derived.findings],
        "source": sounding.source.model_dump(mode="json") if sounding.source else None,
    }

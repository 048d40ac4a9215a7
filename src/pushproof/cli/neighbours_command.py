"""``pushproof neighbours``: what the soundings nearby met, and where a new one disagrees."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console
from pushproof.cli.findings import finding_document, findings_table
from pushproof.cli.job import Reading
from pushproof.cli.options import AsJson, Columns, Debug, Quiet, RecipeFile, decisions

if TYPE_CHECKING:
    from pushproof.model.profile import Interpretation
    from pushproof.planning.neighbours import Comparison


def neighbours(
    files: Annotated[list[Path], typer.Argument(help="Job files and sounding files.")],
    sounding: Annotated[
        str,
        typer.Option("--sounding", help="The new one; else the last. All others are neighbours."),
    ] = "",
    within: Annotated[
        float | None,
        typer.Option("--within", help="Leave out those further away [m].", show_default=False),
    ] = None,
    as_json: AsJson = False,
    columns: Columns = "",
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Show what soundings nearby met; exit code 1 where a new one disagrees."""
    from pushproof.errors import RecordError
    from pushproof.planning.neighbours import compare, distance

    reading = Reading(decisions(recipe, None, None), columns)
    found = [one for path in files for one in reading.interpretations(path)]
    names = [one.profile.sounding.name for one in found]
    wanted = sounding or (names[-1] if names else "")
    if names.count(wanted) != 1:
        raise RecordError(f"name one sounding with --sounding; there are: {', '.join(names)}")
    new = found[names.index(wanted)]
    others = [one for one in found if one is not new]
    if within is not None:
        away = [distance(new.profile.sounding, one.profile.sounding) for one in others]
        others = [
            one for one, far in zip(others, away, strict=True) if far is not None and far <= within
        ]
    if not others:
        raise RecordError(f"no sounding near {wanted}; name files that hold some")
    result = compare(new.profile, [one.profile for one in others])
    if as_json:
        import json

        typer.echo(json.dumps(_document(wanted, result), indent=2, ensure_ascii=False))
    else:
        _print(wanted, result, {one.profile.sounding.name: one for one in others})
    disagrees = any(one.id == "unlike-neighbours" for one in result.findings)
    raise typer.Exit(1 if disagrees else 0)


def _print(name: str, result: Comparison, others: dict[str, Interpretation]) -> None:
    from rich.markup import escape
    from rich.table import Table

    from pushproof.interpretation.layers import layers

    out = console()
    how = "level" if result.by_level else "depth"
    out.print(
        f"[bold]{escape(name)}[/] against {len(result.neighbours)} nearby, by {how}; they cover "
        f"{result.covered:.0%} of it"
    )
    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in (
        "sounding",
        "away [m]",
        "to [m]",
        "ended by",
        "what it met: base [m] and ground",
    ):
        table.add_column(heading)
    for one in result.neighbours:
        met = ", ".join(f"{unit.base:.1f} {unit.name}" for unit in layers(others[one.name]).units)
        far = "–" if one.distance is None else f"{one.distance:.0f}"
        table.add_row(escape(one.name), far, f"{one.depth:.2f}", one.ended or "–", escape(met))
    out.print(table)
    out.print()
    out.print(findings_table(result.findings))


def _document(name: str, result: Comparison) -> dict[str, Any]:
    def plain(values: Any) -> list[float | None]:
        return [round(float(v), 1) if v == v else None for v in values]

    return {
        "sounding": name,
        "by_level": result.by_level,
        "covered": round(result.covered, 3),
        "neighbours": [
            {"name": n.name, "distance": n.distance, "depth": n.depth, "ended": n.ended}
            for n in result.neighbours
        ],
        "findings": [finding_document(one) for one in result.findings],
        "depth": [round(float(z), 2) for z in result.z],
        "qt": plain(result.qt),
        "low": plain(result.low),
        "high": plain(result.high),
    }

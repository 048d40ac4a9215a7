"""``pushproof equations``: every published relation, with formula, units, validity, reference."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console
from pushproof.cli.options import AsJson, Debug, Quiet

if TYPE_CHECKING:
    from pushproof.equations import Equation


def equations(
    name: Annotated[
        str | None, typer.Argument(help="Name of one equation.", show_default=False)
    ] = None,
    gives: Annotated[
        str, typer.Option("--gives", help="Only those that give this quantity (su, phi, ...).")
    ] = "",
    as_json: AsJson = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """List the published equations, or show one."""
    from pushproof.equations import equations as table
    from pushproof.equations import find

    chosen = [find(name)] if name else [e for e in table().values() if gives in ("", e.gives)]
    if as_json:
        import json

        typer.echo(json.dumps([_document(one) for one in chosen], indent=2, ensure_ascii=False))
    elif name:
        _show(chosen[0])
    else:
        _list(chosen)


def _document(one: Equation) -> dict[str, Any]:
    return {
        "name": one.name,
        "gives": one.gives,
        "summary": one.summary,
        "formula": one.formula,
        "units": dict(one.units),
        "validity": one.validity,
        "scatter": _scatter(one),
        "reference": one.citation,
        "where": one.where,
        "mark": one.mark.value,
    }


def _scatter(one: Equation) -> dict[str, Any]:
    from pushproof.equations.bibliography import REFERENCES

    scatter = one.scatter
    return {
        "kind": scatter.kind.value,
        "size": scatter.size if scatter.known else None,
        "basis": scatter.basis.value,
        "text": scatter.text,
        "reference": REFERENCES.get(scatter.reference, ""),
        "where": scatter.where,
        "replaced by a spread of": scatter.factor,
    }


def _list(chosen: list[Equation]) -> None:
    from rich.markup import escape
    from rich.table import Table

    table = Table(box=None, header_style="bold", pad_edge=False)
    table.add_column("gives", max_width=14)
    table.add_column("name", no_wrap=True)
    table.add_column("form", no_wrap=True)
    table.add_column("what it is")
    for one in sorted(chosen, key=lambda e: (e.gives, e.name)):
        table.add_row(escape(one.gives), one.name, one.mark.value, escape(one.summary))
    out = console()
    out.print(table)
    out.print(f"\n{len(chosen)} equations; `pushproof equations NAME` shows one")


def _show(one: Equation) -> None:
    from rich.markup import escape

    out = console()
    out.print(f"[bold]{one.name}[/]  {escape(one.summary)}")
    out.print(f"\n  {escape(one.formula)}\n")
    for parameter, unit in one.units.items():
        label = "result" if parameter == "return" else parameter
        out.print(f"  {label:<16} \\[{escape(unit)}]")
    out.print(f"\nholds for   {escape(one.validity)}")
    out.print(f"scatter     {escape(one.scatter.words)}")
    if one.scatter.reference:
        source = _scatter(one)["reference"]
        out.print(f"            {escape(f'{source}, {one.scatter.where}')}")
    where = f", {one.where}" if one.where else ""
    out.print(f"source      {escape(one.citation + where)}")
    out.print(f"coded form  {one.mark.value}")

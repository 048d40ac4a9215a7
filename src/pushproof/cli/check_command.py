"""``pushproof check``: may I rely on this record, and for what?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console, fail
from pushproof.cli.findings import finding_document, findings_table
from pushproof.cli.job import Reading
from pushproof.cli.options import (
    AreaRatio,
    AsJson,
    Columns,
    Debug,
    Files,
    Ordered,
    Quiet,
    RecipeFile,
    Salvage,
    WaterLevel,
    decisions,
)
from pushproof.errors import PushproofError

if TYPE_CHECKING:
    from pushproof.quality import Assessment


def check(
    files: Files,
    scheme: Annotated[
        list[str] | None,
        typer.Option(
            "--scheme",
            help="Accuracy scheme by name or TOML file; may be repeated.",
            show_default=False,
        ),
    ] = None,
    ordered: Ordered = None,
    schemes: Annotated[bool, typer.Option("--schemes", help="List the schemes.")] = False,
    as_json: AsJson = False,
    columns: Columns = "",
    salvage: Salvage = False,
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Check soundings: findings, accuracy class, filter; exit code 1 on a finding of level stop."""
    from pushproof.quality import assess
    from pushproof.quality.assess import DEFAULT_SCHEMES

    if schemes:
        _list_schemes()
        return
    reading = Reading(decisions(recipe, water_level, area_ratio, ordered), columns, salvage)
    code = 0
    documents: list[dict[str, Any]] = []
    for path in files:
        try:
            for derived in reading.interpretations(Path(path)):
                found = assess(derived.profile, scheme or DEFAULT_SCHEMES)
                if found.worst is not None and found.worst.word == "stop":
                    code = 1
                if as_json:
                    documents.append(_document(found))
                else:
                    _print(found)
        except PushproofError as error:
            if debug:
                raise
            code = fail(error)
    if as_json:
        import json

        typer.echo(json.dumps(documents, indent=2, ensure_ascii=False))
    raise typer.Exit(code)


def _list_schemes() -> None:
    from rich.table import Table

    from pushproof.quality import load_scheme, scheme_names

    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in ("name", "scheme", "numbers", "classes"):
        table.add_column(heading)
    for name in scheme_names():
        one = load_scheme(name)
        table.add_row(name, one.title, one.mark, ", ".join(c.name for c in one.classes) or "none")
    console().print(table)


def _print(found: Assessment) -> None:
    from rich.markup import escape
    from rich.table import Table

    out = console()
    out.print(f"[bold]{escape(found.profile.sounding.name)}[/]")
    for result in found.classes:
        out.print(escape(result.text))
    for result in found.classes[:1]:
        table = Table(box=None, header_style="bold", pad_edge=False)
        for heading in ("what", "class", "proved", "decided by"):
            table.add_column(heading)
        for verdict in result.verdicts:
            at = "" if verdict.depth is None else f" at {verdict.depth:.2f} m"
            table.add_row(
                verdict.aspect,
                verdict.achieved or "none",
                "yes" if verdict.proved else "no",
                escape(verdict.text + at),
            )
        if result.verdicts:
            out.print(table)
    if found.saturation is not None:
        reasons = "; ".join(found.saturation.reasons)
        out.print(escape(f"filter response: {found.saturation.grade} ({reasons})"))
    for effect in found.profile.effects:
        largest = "" if effect.largest is None else f", largest {effect.largest:.4g}"
        out.print(
            escape(
                f"correction {effect.kind} {effect.channel}: {effect.changed} changed, "
                f"{effect.removed} left out{largest} ({effect.reason})"
            )
        )
    out.print()
    out.print(findings_table(found.findings))
    out.print()


def _document(found: Assessment) -> dict[str, Any]:
    declared = found.profile.declarations
    return {
        "name": found.profile.sounding.name,
        "worst": found.worst.word if found.worst is not None else None,
        "classes": [
            {
                "scheme": one.scheme.title,
                "mark": one.scheme.mark,
                "achieved": one.achieved,
                "proved": one.proved,
                "ordered": one.ordered,
                "order": one.order,
                "text": one.text,
                "verdicts": [
                    {
                        "aspect": v.aspect,
                        "achieved": v.achieved,
                        "proved": v.proved,
                        "depth": v.depth,
                        "text": v.text,
                    }
                    for v in one.verdicts
                ],
            }
            for one in found.classes
        ],
        "filter": found.saturation.grade if found.saturation else None,
        "declarations": {
            "interruptions_edited": declared.interruptions_edited,
            "expert_corrections": declared.expert_corrections,
            "signal_processing": declared.signal_processing,
        },
        "findings": [finding_document(one) for one in found.findings],
    }

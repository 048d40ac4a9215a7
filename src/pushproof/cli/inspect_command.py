"""``pushproof inspect``: what is in a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console, fail
from pushproof.cli.findings import finding_document, findings_table
from pushproof.cli.options import AsJson, Columns, Debug, Quiet, Salvage

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from pushproof.formats.inspection import Channel, Content, Inspection


def inspect(
    files: Annotated[list[Path], typer.Argument(help="Files to look into.", show_default=False)],
    as_json: AsJson = False,
    salvage: Salvage = False,
    format: Annotated[
        str,
        typer.Option("--format", help="Name of the format, where the file does not show it."),
    ] = "",
    columns: Columns = "",
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Tell what is in files: format, soundings, channels, ranges, what lacks, problems."""
    from pushproof.errors import PushproofError
    from pushproof.formats.inspection import inspect as look

    documents: list[dict[str, Any]] = []
    failed = False
    out = console()
    for path in files:
        try:
            found = look(path, columns=columns, format=format or None, salvage=salvage)
        except PushproofError as error:
            failed = True
            fail(error)
            documents.append({"file": str(path), "error": " ".join(str(error).split())})
            continue
        if as_json:
            documents.append(document(found))
        else:
            _print(out, found)
    if as_json:
        import json

        typer.echo(json.dumps(documents, indent=2, ensure_ascii=False))
    if failed:
        raise typer.Exit(1)


def document(found: Inspection) -> dict[str, Any]:
    """Return what is in a file as a plain document."""
    from dataclasses import asdict

    soundings = []
    for one in found.soundings:
        plain = asdict(one)
        plain["findings"] = [finding_document(finding) for finding in one.findings]
        soundings.append(plain)
    return {
        "file": str(found.path),
        "size": found.size,
        "sha256": found.sha256,
        "format": found.format,
        "title": found.title,
        "edition": found.edition,
        "encoding": found.encoding,
        "soundings": soundings,
    }


def _print(out: Console, found: Inspection) -> None:
    from rich.markup import escape

    from pushproof.formats.inspection import problems

    title = " ".join(filter(None, (found.title, found.edition)))
    facts = ", ".join(filter(None, (title, found.encoding, f"{found.size:,} bytes")))
    out.print(f"[bold]{escape(found.path.name)}[/]  {escape(facts)}")
    out.print(f"[dim]SHA-256 {found.sha256}[/]", soft_wrap=True)
    for one in found.soundings:
        out.print()
        out.print(f"[bold]{escape(one.name)}[/]  {_extent(one)}")
        out.print(_channel_table(one.channels))
        for test in one.tests:
            seconds = "" if test.seconds is None else f", {test.seconds:,.0f} s"
            keys = " ".join(channel.key for channel in test.channels if channel.key != "time")
            size = f"{test.rows:,} readings{seconds}, {keys}"
            out.print(escape(f"dissipation test at {test.depth:.2f} m: {size}"))
        out.print(_facts(one))
    out.print()
    out.print(findings_table(problems(found.soundings)))
    out.print()


def _extent(one: Content) -> str:
    if one.top is None or one.base is None:
        return f"{one.rows:,} rows"
    step = "" if one.step is None else f", every {one.step:g} m"
    return f"{one.rows:,} rows from {one.top:.2f} to {one.base:.2f} m{step}"


def _channel_table(channels: tuple[Channel, ...]) -> Table:
    from rich.markup import escape
    from rich.table import Table

    table = Table(box=None, header_style="bold", pad_edge=False)
    table.add_column("channel", no_wrap=True)
    table.add_column("unit")
    table.add_column("smallest", justify="right")
    table.add_column("largest", justify="right")
    table.add_column("values", justify="right")
    table.add_column("missing, and why")
    for one in channels:
        why = ", ".join(f"{count:,} {reason}" for reason, count in one.missing.items())
        name = escape(one.key) if one.known else f"[dim]{escape(one.name)}, kept as found[/]"
        unit = escape(one.unit)
        table.add_row(name, unit, _shown(one.low), _shown(one.high), f"{one.values:,}", why)
    return table


def _shown(value: float | None) -> str:
    return "" if value is None else f"{value:.5g}"


def _facts(one: Content) -> Table:
    from rich.markup import escape
    from rich.table import Table

    table = Table(box=None, show_header=False, pad_edge=False)
    table.add_column(style="dim", no_wrap=True)
    table.add_column()
    for label, text in one.given.items():
        table.add_row(label, escape(text))
    if one.header_lines:
        table.add_row("header", f"{one.header_lines:,} lines kept as found")
    if one.events:
        table.add_row("events", f"{one.events:,}")
    table.add_row("not stated", "[yellow]" + escape(", ".join(one.lacks)) + "[/]")
    return table

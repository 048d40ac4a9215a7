"""``pushproof checklist``: what was checked before and after a push, by whom and when."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console
from pushproof.cli.options import AsJson, Debug, Quiet

if TYPE_CHECKING:
    from pushproof.planning.checklist import Line


def checklist(
    job: Annotated[Path, typer.Argument(help="The job file; made if something is ticked.")],
    sounding: Annotated[str, typer.Option("--sounding", help="Which sounding.")],
    done: Annotated[
        list[str] | None,
        typer.Option("--done", help="Item that is done; may be repeated.", show_default=False),
    ] = None,
    doubt: Annotated[
        list[str] | None,
        typer.Option("--doubt", help="Item in doubt; says why in --note.", show_default=False),
    ] = None,
    by: Annotated[str, typer.Option("--by", help="Initials.")] = "",
    note: Annotated[str, typer.Option("--note", help="What was seen.")] = "",
    as_json: AsJson = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Go through the checklist of the day: list it, or tick items as facts of the job."""
    from pushproof.planning.checklist import LOCAL, item_of, standing
    from pushproof.planning.checklist import checklist as items_of
    from pushproof.recording.ticks import tick, ticks
    from pushproof.store import Job

    items = items_of()
    wanted = [(key, True) for key in done or []] + [(key, False) for key in doubt or []]
    for key, _ in wanted:
        item_of(items, key)
    made = bool(wanted) and not job.exists()
    with Job.create(job) if made else Job.open(job, write=bool(wanted)) as opened:
        if wanted and sounding not in opened.soundings():
            opened.add_sounding(sounding)
        for key, is_done in wanted:
            tick(opened, sounding, key, by, done=is_done, note=note)
        lines = standing(items, ticks(opened, sounding))
    if as_json:
        import json

        typer.echo(json.dumps([_document(line) for line in lines], indent=2, ensure_ascii=False))
        return
    _print(sounding, lines, LOCAL)


def _print(sounding: str, lines: list[Line], local: str) -> None:
    from rich.markup import escape
    from rich.table import Table

    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in ("item", "", "what", "by"):
        table.add_column(heading, no_wrap=heading in ("item", ""))
    sign = {"done": "[green]✓ done[/]", "in doubt": "[bold red]◆ doubt[/]", "open": "○ open"}
    when = ""
    for line in lines:
        if line.item.when != when:
            when = line.item.when
            table.add_row(f"[bold]{when} the push[/]")
        words = escape(line.item.words)
        if line.item.caution:
            words += f"\n[yellow]▲ {escape(line.item.caution)}[/]"
        table.add_row(line.item.key, sign[line.state], words, escape(_by(line)))
    left = sum(line.state == "open" for line in lines)
    out = console()
    out.print(f"[bold]{escape(sounding)}[/]  {left} of {len(lines)} open")
    out.print(table)
    out.print(local)


def _by(line: Line) -> str:
    if line.tick is None:
        return ""
    at = datetime.fromtimestamp(line.tick.at).astimezone()
    return f"{line.tick.by} {at:%Y-%m-%d %H:%M}" + (f", {line.tick.note}" if line.tick.note else "")


def _document(line: Line) -> dict[str, Any]:
    tick = line.tick
    return {
        "item": line.item.key,
        "words": line.item.words,
        "when": line.item.when,
        "caution": line.item.caution,
        "state": line.state,
        "by": None if tick is None else tick.by,
        "at": None if tick is None else tick.at,
        "note": None if tick is None else tick.note,
    }

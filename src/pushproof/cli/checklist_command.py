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
    from pushproof.recording.fieldwork import FieldState


def checklist(
    job: Annotated[Path, typer.Argument(help="The job file; made if something is ticked.")],
    sounding: Annotated[
        str,
        typer.Option("--sounding", help="Which sounding; without it, what is left of each."),
    ] = "",
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
    from pushproof.planning.checklist import LOCAL
    from pushproof.recording.fieldwork import field_states
    from pushproof.recording.ticks import lines_of, tick_all
    from pushproof.store import Job

    wanted = bool(done or doubt)
    if not sounding and not wanted:
        with Job.open(job) as opened:
            _left(field_states(opened), as_json=as_json)
        return
    made = wanted and not job.exists()
    with Job.create(job) if made else Job.open(job, write=wanted) as opened:
        if wanted:
            tick_all(opened, sounding, by, done=done or (), doubt=doubt or (), note=note)
        lines = lines_of(opened, sounding)
    if as_json:
        import json

        typer.echo(json.dumps([_document(line) for line in lines], indent=2, ensure_ascii=False))
        return
    _print(sounding, lines, LOCAL)


def _left(states: list[FieldState], *, as_json: bool) -> None:
    """Tell what is left to do of each sounding."""
    rows = [
        {
            "sounding": one.name,
            "pushed": one.pushed,
            "open_before": one.left("before"),
            "open_after": one.left("after"),
            "in_doubt": [line.item.key for line in one.doubts],
            "closed": one.closed or None,
        }
        for one in states
    ]
    if as_json:
        import json

        typer.echo(json.dumps(rows, indent=2, ensure_ascii=False))
        return
    for one in states:
        hole = one.closed or (
            "hole not closed"
            if one.hole_open
            else "not pushed yet"
            if one.waiting
            else "pushed elsewhere"
        )
        doubts = f", {len(one.doubts)} in doubt" if one.doubts else ""
        console().print(
            f"{one.name}: open before the push {one.left('before')}, after it "
            f"{one.left('after')}{doubts}; {hole}",
            markup=False,
            soft_wrap=True,
        )


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

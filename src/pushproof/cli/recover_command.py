"""``pushproof recover``: salvage a damaged job file into a new one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.options import Debug, Quiet


def recover(
    job: Annotated[Path, typer.Argument(help="The damaged job file; it is not changed.")],
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The new job file.", show_default=False)
    ] = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Salvage everything readable of a damaged job file into a new one."""
    from rich.markup import escape

    from pushproof.recording.recovery import recover as salvage

    target = output or job.with_name(f"{job.stem}-recovered{job.suffix}")
    report = salvage(job, target)
    screen = console()
    screen.print(escape(str(report)), soft_wrap=True)
    for stream, count in report.messages.items():
        gaps = report.gaps.get(stream, [])
        missing = sum(last - first + 1 for first, last in gaps)
        screen.print(escape(f"  {stream}: {count} messages, {missing} missing"))
    for note in report.notes:
        screen.print(escape(f"  note: {note}"), soft_wrap=True)

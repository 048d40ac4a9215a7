"""``pushproof verify``: does a job file prove its own content?"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.options import Debug, Quiet


def verify(
    job: Annotated[Path, typer.Argument(help="A job file.")],
    head: Annotated[
        str,
        typer.Option("--head", help="A head noted before: it must still be in the chain."),
    ] = "",
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Prove the chain of a job file, name the first bad block, and what changed since signing."""
    from rich.markup import escape

    from pushproof.store import verify as prove

    report = prove(job, expected=head or None)
    screen = console(stderr=not report.ok)
    screen.print(escape(str(report)), soft_wrap=True)
    for problem in report.problems[1:10]:
        where = f"link {problem.link}: " if problem.link is not None else ""
        screen.print(escape(f"  {where}{problem.text}"), soft_wrap=True)
    if len(report.problems) > 10 or report.more:
        screen.print(f"  and {len(report.problems) - 10 + report.more} more")
    for note in report.notes:
        screen.print(escape(f"  note: {note}"), soft_wrap=True)
    raise typer.Exit(0 if report.ok and _sign_offs_hold(job) else 1)


def _sign_offs_hold(job: Path) -> bool:
    """Print for each sign-off whether it still holds, or what changed since."""
    from rich.markup import escape

    from pushproof.cli.job import Reading
    from pushproof.model.recipe import Recipe

    holds = True
    for signed, differ in Reading(Recipe()).sign_offs(job):
        text = f"changed since: {'; '.join(differ)}" if differ else "holds"
        line = f"{signed.sounding}: {signed.line}; {text}"
        console(stderr=bool(differ)).print(escape(line), soft_wrap=True)
        holds = holds and not differ
    return holds

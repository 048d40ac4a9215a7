"""Many files in one call: a progress bar, a table of what went well, one bad file stops nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

from pushproof.cli.console import Settings, console
from pushproof.errors import PushproofError

Task = Callable[[Path], list[str]]
"""What is done with one file; returns the lines of the result table (one for each product)."""


@dataclass(frozen=True)
class Outcome:
    """How one file went."""

    path: Path
    lines: tuple[str, ...] = ()
    fault: str = ""


def attempt(task: Task, path: Path) -> Outcome:
    """Run a task on one file and keep its error as text."""
    try:
        return Outcome(path, tuple(task(path)))
    except (PushproofError, ValueError, OSError) as error:
        if Settings.debug:
            raise
        return Outcome(path, fault=" ".join(str(error).split()))


def run_all(task: Task, paths: Sequence[Path], workers: int = 1) -> int:
    """Run a task on every file and print the outcome; return the exit code.

    Parameters
    ----------
    task
        Picklable if ``workers`` is more than 1.
    paths
        The files, in the order in which they are reported.
    workers
        Processes to use.
    """
    if len(paths) == 1 or Settings.debug:
        outcomes = [attempt(task, path) for path in paths]
    else:
        outcomes = _with_progress(task, paths, workers)
    _report(outcomes)
    return 1 if any(outcome.fault for outcome in outcomes) else 0


def _with_progress(task: Task, paths: Sequence[Path], workers: int) -> list[Outcome]:
    from rich.progress import Progress

    outcomes: dict[Path, Outcome] = {}
    with Progress(console=console(stderr=True), transient=True, disable=Settings.quiet) as bar:
        job = bar.add_task("soundings", total=len(paths))
        for outcome in _outcomes(task, paths, workers):
            outcomes[outcome.path] = outcome
            bar.advance(job)
    return [outcomes[path] for path in paths]


def _outcomes(task: Task, paths: Sequence[Path], workers: int) -> Iterator[Outcome]:
    if workers <= 1:
        yield from (attempt(task, path) for path in paths)
        return
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        waiting: dict[Future[Outcome], Path] = {
            pool.submit(attempt, task, path): path for path in paths
        }
        while waiting:
            for done in wait(waiting, return_when=FIRST_COMPLETED).done:
                path = waiting.pop(done)
                error = done.exception()
                if error is None:
                    yield done.result()
                else:
                    yield Outcome(path, fault=f"{type(error).__name__}: {error}")


def _report(outcomes: Sequence[Outcome]) -> None:
    from rich.markup import escape
    from rich.table import Table

    if len(outcomes) == 1:
        (only,) = outcomes
        for line in only.lines:
            console().print(escape(line), soft_wrap=True)
        if only.fault:
            console(stderr=True).print(f"[bold red]error:[/] {escape(only.fault)}", soft_wrap=True)
        return
    table = Table(box=None, header_style="bold", pad_edge=False)
    table.add_column("file")
    table.add_column("", no_wrap=True)
    table.add_column("result")
    for outcome in outcomes:
        mark = "[bold red]failed[/]" if outcome.fault else "[green]done[/]"
        text = outcome.fault or "\n".join(outcome.lines)
        table.add_row(escape(outcome.path.name), mark, escape(text))
    failed = sum(bool(outcome.fault) for outcome in outcomes)
    out = console(stderr=failed > 0)
    out.print(table)
    out.print(f"{len(outcomes) - failed} of {len(outcomes)} files done, {failed} failed")

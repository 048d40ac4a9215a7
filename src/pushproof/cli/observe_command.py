"""``pushproof observe``: keep observations from elsewhere in a job."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.options import AsJson, Debug, Quiet

if TYPE_CHECKING:
    from pushproof.store import Job


def observe(
    job: Annotated[Path, typer.Argument(help="A job file.")],
    file: Annotated[
        Path | None,
        typer.Argument(
            help="Table of observations, .csv or .xlsx; what is kept is listed without one.",
            show_default=False,
        ),
    ] = None,
    sounding: Annotated[
        list[str] | None,
        typer.Option("--sounding", help="Which sounding; give it again for more.", metavar="NAME"),
    ] = None,
    by: Annotated[str, typer.Option("--by", help="Who brings it.")] = "",
    reason: Annotated[
        str, typer.Option("--reason", help="Why it takes the place of the one kept, or goes.")
    ] = "",
    withdraw: Annotated[
        str, typer.Option("--withdraw", help="Name of a table that does not hold any more.")
    ] = "",
    as_json: AsJson = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Keep borings, vane tests and laboratory values as facts of a job.

    A table of the same name takes the place of the one before; the record keeps both.
    """
    from rich.markup import escape

    from pushproof.errors import ConfigurationError
    from pushproof.store import Job
    from pushproof.store.observations import keep_observations, withdraw_observations

    if file is not None and withdraw:
        raise ConfigurationError("give a table to keep, or --withdraw, not both")
    if file is None and not withdraw:
        with Job.open(job) as opened:
            _list(opened, sounding or list(opened.soundings()), as_json=as_json)
        return
    with Job.open(job, write=True, purpose="keep observations") as opened:
        chosen = sounding or _only(opened)
        if file is None:
            withdraw_observations(opened, withdraw, soundings=chosen, author=by, reason=reason)
            text = f"{withdraw}: withdrawn from {', '.join(chosen)}"
        else:
            count = keep_observations(opened, file, soundings=chosen, author=by, reason=reason)
            text = f"{file.name}: {count} observations kept with {', '.join(chosen)}"
    console().print(escape(text), soft_wrap=True)


def _only(job: Job) -> list[str]:
    """Return the one sounding of a job; of several one is to be named."""
    from pushproof.errors import ConfigurationError

    names = list(job.soundings())
    if len(names) != 1:
        found = ", ".join(names) or "none"
        raise ConfigurationError(f"{job.path}: name a sounding with --sounding; there are: {found}")
    return names


def _list(job: Job, names: list[str], *, as_json: bool) -> None:
    import json
    from datetime import UTC, datetime

    from pushproof.store.observations import kept_tables, observations

    document = []
    for name in names:
        seen = observations(job, name)
        for table in kept_tables(job, name):
            when = datetime.fromtimestamp(table.time, UTC)
            before = f", {table.replaced} before it" if table.replaced else ""
            text = f"{name}: {table.name}, by {table.author}, {when:%Y-%m-%d %H:%M} UTC{before}"
            if not as_json:
                console().print(text, markup=False, soft_wrap=True)
        rows = [one.model_dump(exclude_none=True, exclude_defaults=True) for one in seen]
        document.append({"sounding": name, "observations": rows})
        if not as_json:
            console().print(f"{name}: {len(rows)} observations hold", markup=False, soft_wrap=True)
    if as_json:
        typer.echo(json.dumps(document, indent=2, ensure_ascii=False))

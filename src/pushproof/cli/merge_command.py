"""``pushproof merge``: bring a cone's memory in, and tell what link and memory hold."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.options import AsJson, Columns, Debug, Quiet


def merge(
    job: Annotated[Path, typer.Argument(help="A job file.")],
    sounding: Annotated[
        str | None, typer.Option("--sounding", help="One sounding; all if not said.")
    ] = None,
    memory: Annotated[
        Path | None,
        typer.Option(
            "--memory", help="Read-out of the cone's memory, as a text table.", show_default=False
        ),
    ] = None,
    columns: Columns = "",
    as_json: AsJson = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Merge link, encoder and memory; report what was received, restored and lost."""
    import json
    from dataclasses import asdict

    from rich.markup import escape

    from pushproof.cli.findings import findings_table
    from pushproof.recording.assemble import import_memory, merged
    from pushproof.store import Job

    out = console()
    if memory is not None:
        with Job.open(job, write=True) as opened:
            count = import_memory(opened, sounding, memory, columns=columns)
        out.print(escape(f"{memory}: {count} readings of the cone's memory are in the record"))
    documents = []
    with Job.open(job) as opened:
        names = [sounding] if sounding else list(opened.soundings())
        for name in names:
            found = merged(opened, name)
            if as_json:
                documents.append({"sounding": name, **asdict(found.report)})
                continue
            out.print(f"[bold]{escape(name)}[/]")
            out.print(findings_table(found.findings))
    if as_json:
        typer.echo(json.dumps(documents, indent=2))

"""``pushproof import``: keep files in a job, byte for byte."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pushproof.cli.console import Columns, Debug, Quiet, console


def import_files(
    job: Annotated[Path, typer.Argument(help="The job file; made if it is not there.")],
    files: Annotated[list[Path], typer.Argument(help="Sounding files.", show_default=False)],
    columns: Columns = "",
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Keep sounding files in a job, byte for byte."""
    from rich.markup import escape

    from pushproof.store import Job, import_file

    screen = console()
    with Job.open(job, write=True) if job.exists() else Job.create(job) as opened:
        for path in files:
            names = import_file(opened, path, columns=columns)
            screen.print(escape(f"{path.name}: {', '.join(names)}"))

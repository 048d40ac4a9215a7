"""``pushproof import``: keep files in a job, byte for byte."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.console import console, fail
from pushproof.cli.options import Columns, Debug, Quiet

if TYPE_CHECKING:
    from pushproof.store import Job


def import_files(
    job: Annotated[Path, typer.Argument(help="The job file; made if it is not there.")],
    files: Annotated[list[Path], typer.Argument(help="Sounding files.", show_default=False)],
    columns: Columns = "",
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Keep sounding files in a job, byte for byte.

    Files that lie beside one and belong to it, as the dissipation tests of a GEF, are kept with it.
    """
    from rich.markup import escape

    from pushproof.errors import FormatError
    from pushproof.store import Job, import_file

    screen = console()
    refused: list[tuple[Path, FormatError]] = []
    with Job.open(job, write=True) if job.exists() else Job.create(job) as opened:
        for path in files:
            try:
                names = import_file(opened, path, columns=columns)
            except FormatError as error:
                refused.append((path, error))
            else:
                screen.print(escape(f"{path.name}: {', '.join(names)}"))
        # a file of tests may be named before the file that it belongs to
        left = [(path, error) for path, error in refused if not _is_kept(opened, path)]
        for path in [path for path, _ in refused if path not in dict(left)]:
            screen.print(escape(f"{path.name}: kept with the file that names it"))
    for _, cause in left:
        fail(cause)
    if left:
        raise typer.Exit(1)


def _is_kept(job: Job, path: Path) -> bool:
    """Tell whether a job holds a file already, byte for byte, with the file it belongs to."""
    from pushproof.store.imports import COMPANION

    named = [o for o in job.originals() if o.format == COMPANION and o.name == path.name]
    return any(job.original_bytes(one.link) == path.read_bytes() for one in named)

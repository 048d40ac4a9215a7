"""``pushproof formats``: what can be read and written."""

from __future__ import annotations

import typer

from pushproof.cli.console import console
from pushproof.cli.options import AsJson, Debug, Quiet


def formats(
    as_json: AsJson = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """List the file formats that can be read and written."""
    import json

    from pushproof.formats import formats as known
    from pushproof.formats.contract import WritableFormat

    rows = [
        {
            "name": one.name,
            "title": one.title,
            "suffixes": list(one.suffixes),
            "write": isinstance(one, WritableFormat),
        }
        for one in known()
    ]
    if as_json:
        typer.echo(json.dumps(rows, indent=2))
        return
    from rich.table import Table

    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in ("name", "format", "files", "read", "write"):
        table.add_column(heading)
    for one in known():
        can_write = isinstance(one, WritableFormat)
        table.add_row(
            one.name, one.title, " ".join(one.suffixes), "yes", "yes" if can_write else "no"
        )
    console().print(table)

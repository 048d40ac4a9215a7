"""``pushproof demo``: an invented site, and the whole job on it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pushproof.cli.console import Debug, Quiet, console


def demo(
    out: Annotated[Path, typer.Option("--out", help="Folder for the files.")] = Path("demo"),
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Make an invented site with three soundings and run the whole job on it."""
    from rich.markup import escape
    from rich.table import Table

    from pushproof.formats import read
    from pushproof.formats.table import write_table
    from pushproof.interpretation import interpret
    from pushproof.model.findings import by_severity
    from pushproof.processing import process
    from pushproof.report import log_sheet
    from pushproof.sources.rehearsal import scenario
    from pushproof.sources.rehearsal.export import export_text

    out.mkdir(parents=True, exist_ok=True)
    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in ("sounding", "depth", "ended", "gravest finding", "files"):
        table.add_column(heading)
    for pushed in scenario():
        stem = out / pushed.sounding.name
        export_text(pushed.sounding, stem.with_suffix(".csv"))
        derived = interpret(process(read(stem.with_suffix(".csv"))))
        log_sheet(derived, stem.with_suffix(".pdf"))
        write_table(derived, stem.with_suffix(".xlsx"))
        findings = by_severity(derived.findings)
        table.add_row(
            pushed.sounding.name,
            f"{derived.series['depth'][-1]:.2f} m",
            pushed.sounding.stop_reason.value if pushed.sounding.stop_reason else "",
            escape(findings[0].found) if findings else "none",
            f"{stem.name}.csv .pdf .xlsx",
        )
    screen = console()
    screen.print("An invented site, pushed by the rehearsal rig; no real place, no real person.")
    screen.print(table)
    screen.print(f"Files are in {escape(str(out))}. The logs are the .pdf files.")

"""``pushproof demo``: an invented site, and the whole job on it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.options import Debug, Quiet

if TYPE_CHECKING:
    from pushproof.store import Job

FAULTS = {"HM-1": "loose-joint@9,clock=25ppm", "HM-2": "loss=0.05", "HM-3": "noise,clock=-15ppm"}
"""What goes wrong at each point of the invented site."""


def demo(
    out: Annotated[Path, typer.Option("--out", help="Folder for the files.")] = Path("demo"),
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Rehearse, push, merge the memory and set the logs of an invented site."""
    from rich.markup import escape
    from rich.table import Table

    from pushproof.formats.table import write_table
    from pushproof.interpretation import interpret
    from pushproof.processing import process
    from pushproof.recording.assemble import merged, sounding
    from pushproof.report import log_sheet
    from pushproof.sources.rehearsal.export import export_text
    from pushproof.store import Job, verify

    out.mkdir(parents=True, exist_ok=True)
    path = out / "heronmere.job"
    for old in out.glob("heronmere.job*"):
        old.unlink()
    with Job.create(path) as job:
        job.add_project(name="Heronmere Sluice (invented)")
        for name in FAULTS:
            push_rehearsed(job, name, out)
    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in ("sounding", "depth", "link and memory", "files"):
        table.add_column(heading)
    with Job.open(path) as job:
        for name in FAULTS:
            found = sounding(job, name)
            report = merged(job, name).report
            stem = out / name
            export_text(found, stem.with_suffix(".csv"))
            derived = interpret(process(found))
            log_sheet(derived, stem.with_suffix(".pdf"))
            write_table(derived, stem.with_suffix(".xlsx"))
            lost = f"{report.received} received, {report.restored} restored, {report.lost} lost"
            table.add_row(
                name,
                f"{derived.series['depth'][-1]:.2f} m",
                lost,
                f"{name}.pdf .xlsx .csv",
            )
    screen = console()
    screen.print("An invented site, pushed by the rehearsal rig; no real place, no real person.")
    screen.print(table)
    screen.print(escape(str(verify(path))), soft_wrap=True)
    screen.print(f"Files are in {escape(str(out))}. The logs are the .pdf files.")


def push_rehearsed(job: Job, name: str, out: Path) -> None:
    """Push one point of the demo site into a job, as fast as it can be taken, with its memory."""
    from pushproof.recording.assemble import import_memory
    from pushproof.recording.session import Session, equip
    from pushproof.sources.rehearsal import Rehearsal, write_memory
    from pushproof.sources.replay import ReplaySource

    rig = Rehearsal(name, FAULTS[name], 1)
    known = rig.pushed.sounding
    job.add_sounding(name)
    equip(job, name, cone=rig.cone, rods=rig.rods, rig=rig.rig, encoder=rig.encoder)
    job.add_location(name, known.location)
    stated = {
        "predrilled": known.predrilled,
        "water": known.water,
        "started": known.started,
        "removed": known.removed or None,
        "stop_reason": known.stop_reason,
        "standard": known.standard,
    }
    job.add_statement(name, **{key: value for key, value in stated.items() if value is not None})
    source = ReplaySource(rig.messages(), speed=0)
    with Session(job, name, [source], water=known.water, waiting=1_000_000) as session:
        session.wait()
    for moment, zeros in (("before", known.zeros_before), ("after", known.zeros_after)):
        for zero in zeros:
            job.add_zero(name, moment, zero)
    memory = out / f"{name}-memory.csv"
    write_memory(rig, memory)
    import_memory(job, name, memory)

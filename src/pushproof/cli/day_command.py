"""``pushproof day``: the daily report from the record."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from pushproof.cli.console import console
from pushproof.cli.options import Debug, Quiet


def day(
    job: Annotated[Path, typer.Argument(help="The job file.")],
    date: Annotated[
        datetime | None,
        typer.Option(
            "--date", formats=["%Y-%m-%d"], help="The day; else the last.", show_default=False
        ),
    ] = None,
    weather: Annotated[str, typer.Option("--weather", help="Weather of the day: recorded.")] = "",
    crew: Annotated[str, typer.Option("--crew", help="Crew of the day: recorded.")] = "",
    note: Annotated[str, typer.Option("--note", help="Note of the day: recorded.")] = "",
    by: Annotated[str, typer.Option("--by", help="Who says so.")] = "",
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", help="Sheet .pdf, .svg, .png or workbook .xlsx."),
    ] = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Report a day: soundings, metres, stops, dissipations, alarms, grout, notes."""
    from pushproof.recording.daybook import daybook, say_of_day
    from pushproof.report.daysheet import lay_day, source_of, write_workbook
    from pushproof.store import Job

    chosen = None if date is None else date.date()
    said = any(text.strip() for text in (weather, crew, note))
    with Job.open(job, write=said) as opened:
        if said:
            chosen = say_of_day(opened, chosen, by=by, weather=weather, crew=crew, note=note)
        book, source = daybook(opened, chosen), source_of(opened)
    out = console()
    out.print(f"{book.day}: {len(book.soundings)} soundings, {book.metres:.2f} m", markup=False)
    for one in book.soundings:
        rate = "" if one.rate is None else f", {one.rate:.1f} m/h"
        out.print(
            f"  {one.name}  {book.clock(one.first)} to {book.clock(one.last)}  "
            f"{one.metres:.2f} m{rate}  {len(one.stops)} stops, {len(one.tests)} dissipations, "
            f"{sum(n for n, _ in one.alarms.values())} alarms  {one.closed or 'hole not recorded'}",
            markup=False,
            soft_wrap=True,
        )
    out.print(f"job so far: {book.job_soundings} soundings, {book.job_metres:.2f} m", markup=False)
    if output is None:
        return
    if output.suffix.lower() == ".xlsx":
        write_workbook(book, output)
        out.print(str(output), markup=False, soft_wrap=True)
        return
    for path in lay_day(book, source=source).write(output):
        out.print(str(path), markup=False, soft_wrap=True)

"""Calls of the daily report: what the record tells of a day, and what the crew says of it."""

from __future__ import annotations

import io
from datetime import date, datetime
from pathlib import Path as File
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Query, Response
from pydantic import BaseModel, ConfigDict, Field

from pushproof.errors import ConfigurationError
from pushproof.recording.daybook import (
    TESTED,
    DayBook,
    SoundingDay,
    daybook,
    days_of,
    say_of_day,
)
from pushproof.report.daysheet import CAUTION, lay_day, lead_of, source_of, write_workbook
from pushproof.store import Job
from pushproof.web.answers.days import (
    AlarmLine,
    DayDocument,
    DaysDocument,
    DiaryLine,
    SaidLine,
    SoundingDayDocument,
    StopLine,
    TestLine,
)
from pushproof.web.answers.problems import READING, WRITING, file_answer, refusals
from pushproof.web.api.roles import EDIT, DeskOf, SiteOf, may_view
from pushproof.web.attachment import TYPES, attachment
from pushproof.web.site import Site

router = APIRouter(prefix="/days", tags=["field"], dependencies=[Depends(may_view)])
Which = Annotated[
    str, Query(alias="job", max_length=200, description="name of the job file, if there are more")
]


class Said(BaseModel):
    """What the crew says of a day; what is empty is not kept."""

    model_config = ConfigDict(extra="forbid")

    by: str = Field("", max_length=60, description="who says so")
    weather: str = Field("", max_length=2000)
    crew: str = Field("", max_length=2000)
    note: str = Field("", max_length=2000)


@router.get("", responses=refusals(*READING))
def days(site: SiteOf, which: Which = "") -> DaysDocument:
    """Return the days that a job tells of."""
    file = _job(site, which)
    with Job.open(file) as job:
        found = days_of(job)
    return DaysDocument(
        job=file.name,
        jobs=[one.name for one in site.jobs()],
        days=list(found),
        today=datetime.now().astimezone().date(),
    )


@router.get("/{day}", responses=refusals(*READING))
def report_of_day(site: SiteOf, day: date, which: Which = "") -> DayDocument:
    """Return the report of a day: soundings, metres, times, stops, tests, alarms, words."""
    return _document(site, _job(site, which), day)


@router.post("/{day}", dependencies=EDIT, responses=refusals(*WRITING))
def say_of_the_day(desk: DeskOf, day: date, given: Said, which: Which = "") -> DayDocument:
    """Keep weather, crew or a note of a day; the newest stand beside the older ones."""
    if not any(text.strip() for text in (given.weather, given.crew, given.note)):
        raise ValueError("weather, crew, note: say at least one of them")
    file = _job(desk.site, which)
    with desk.writing(file) as job:
        say_of_day(job, day, by=given.by, weather=given.weather, crew=given.crew, note=given.note)
    return _document(desk.site, file, day)


@router.get("/{day}/sheet.pdf", response_class=Response, responses=file_answer(TYPES[".pdf"]))
def day_sheet(
    site: SiteOf, day: date, which: Which = "", paper: Literal["A4", "Letter"] = "A4"
) -> Response:
    """Return the report of a day as a sheet."""
    with Job.open(_job(site, which)) as job:
        book, source = daybook(job, day), source_of(job)
    content = lay_day(book, source=source, paper=paper).pdf()
    return attachment(content, f"day-{day}.pdf")


@router.get("/{day}/book.xlsx", response_class=Response, responses=file_answer(TYPES[".xlsx"]))
def day_workbook(site: SiteOf, day: date, which: Which = "") -> Response:
    """Return the report of a day as a workbook."""
    with Job.open(_job(site, which)) as job:
        book = daybook(job, day)
    content = io.BytesIO()
    write_workbook(book, content)
    return attachment(content.getvalue(), f"day-{day}.xlsx")


def _job(site: Site, name: str) -> File:
    """Return a job file that is served, by its name; the only one if none is named.

    Raises
    ------
    LookupError
        If there is none of that name.
    ConfigurationError
        If none is served, or several are and none is named.
    """
    jobs = {one.name: one for one in site.jobs()}
    if name:
        if name not in jobs:
            raise LookupError(f"no job file {name!r} here")
        return jobs[name]
    if not jobs:
        raise ConfigurationError("no job file is served here; a day is told from the record of one")
    if len(jobs) > 1:
        raise ConfigurationError(f"name the job: {', '.join(jobs)}")
    return next(iter(jobs.values()))


def _document(site: Site, file: File, day: date) -> DayDocument:
    with Job.open(file) as job:
        book = daybook(job, day)
    head, text = lead_of(book)
    ids = {one.name: one.id for one in site.entries() if one.file == file}
    return DayDocument(
        job=file.name,
        day=book.day,
        head=head,
        text=text,
        caution=CAUTION,
        project=book.project,
        place=book.place,
        client=book.client,
        metres=book.metres,
        hours=book.hours,
        grout=book.grout,
        soundings=[_sounding(book, one, ids[one.name]) for one in book.soundings],
        weather=_said(book, book.weather),
        crew=_said(book, book.crew),
        notes=_said(book, book.notes),
        diary=[
            DiaryLine(
                at=one.at,
                clock=book.clock(one.at),
                sounding=one.sounding,
                kind=one.kind,
                length=one.length,
                duration=one.duration,
                text=one.text,
            )
            for one in book.diary()
        ],
        job_soundings=book.job_soundings,
        job_metres=book.job_metres,
    )


def _said(book: DayBook, words: tuple[tuple[float, str], ...]) -> list[SaidLine]:
    return [SaidLine(at=at, clock=book.clock(at), text=text) for at, text in words]


def _sounding(book: DayBook, one: SoundingDay, id: str) -> SoundingDayDocument:
    return SoundingDayDocument(
        name=one.name,
        id=id,
        first=one.first,
        last=one.last,
        first_clock=book.clock(one.first),
        last_clock=book.clock(one.last),
        top=one.top,
        base=one.base,
        metres=one.metres,
        pushing=one.pushing,
        rod_changes=one.rods[0],
        rod_time=one.rods[1],
        testing=one.testing,
        standing=one.standing,
        rate=one.rate,
        stops=[
            StopLine(
                at=stop.at,
                clock=book.clock(stop.at),
                length=stop.length,
                duration=stop.duration,
                reason=stop.reason,
                tested=stop.reason == TESTED,
            )
            for stop in one.stops
        ],
        tests=[
            TestLine(
                at=test.at,
                clock=book.clock(test.at),
                length=test.length,
                duration=test.duration,
                percent=test.percent,
            )
            for test in one.tests
        ],
        alarms=[
            AlarmLine(rule=rule, count=count, level=level)
            for rule, (count, level) in one.alarms.items()
        ],
        closed=one.closed,
        grout=one.grout,
        anchors=one.anchors,
        reason=one.reason,
    )

"""Calls of the field page before and between pushes: the checklist, and what is left to do."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from pydantic import BaseModel, ConfigDict, Field

from pushproof.errors import ConfigurationError
from pushproof.planning.checklist import LOCAL, Line, checklist, standing
from pushproof.recording.fieldwork import FieldState, field_states
from pushproof.recording.ticks import lines_of, tick_all
from pushproof.store import Job
from pushproof.web.answers.field import (
    ChecklistDocument,
    ChecklistLine,
    FieldDocument,
    FieldSounding,
)
from pushproof.web.answers.problems import READING, WRITING, refusals
from pushproof.web.api.roles import EDIT, DeskOf, Id, SiteOf, may_view
from pushproof.web.site import Entry, Site

router = APIRouter(tags=["field"], dependencies=[Depends(may_view)])


class Ticks(BaseModel):
    """Items that somebody looked at: all of them are kept, or none."""

    model_config = ConfigDict(extra="forbid")

    by: str = Field("", max_length=60, description="initials; needed")
    done: list[Annotated[str, Field(max_length=60)]] = Field(
        default_factory=list, max_length=40, description="keys of items that are done"
    )
    doubt: list[Annotated[str, Field(max_length=60)]] = Field(
        default_factory=list, max_length=40, description="keys of items in doubt"
    )
    note: str = Field("", max_length=2000, description="what was seen; a doubt needs it")


class FirstTicks(Ticks):
    """The first ticks of a sounding that is not in the job yet."""

    sounding: str = Field(min_length=1, max_length=80, description="name; it is added to the job")


@router.get("/field", responses=refusals(409))
def left(site: SiteOf) -> FieldDocument:
    """Return what is left to do of each sounding of a job; loose files have no field record."""
    entries = [one for one in site.entries() if one.is_job]
    states: dict[tuple[object, str], FieldState] = {}
    for file in dict.fromkeys(one.file for one in entries):
        with Job.open(file) as job:
            states |= {(file, state.name): state for state in field_states(job)}
    known = [(one, states.get((one.file, one.name))) for one in entries]
    return FieldDocument(
        takes_new=site.job is not None,
        soundings=[_sounding(site, one, state) for one, state in known if state is not None],
    )


@router.get("/checklist")
def blank_checklist() -> ChecklistDocument:
    """Return the list as it is before anybody looked: for a sounding that is not in the job yet."""
    return _document(None, "", standing(checklist(), ()), in_job=True)


@router.post("/checklist", dependencies=EDIT, responses=refusals(*WRITING))
def begin_checklist(desk: DeskOf, given: FirstTicks) -> ChecklistDocument:
    """Keep the first ticks of a sounding that is not in the job yet; it is added."""
    job = desk.site.job
    if job is None:
        raise ConfigurationError("no job file is served here; serve one to keep a checklist")
    name = given.sounding.strip()
    if not name:
        raise ValueError("sounding: expected its name")
    with desk.writing(job) as opened:
        lines = tick_all(
            opened, name, given.by, done=given.done, doubt=given.doubt, note=given.note
        )
    desk.site.forget(job)
    entry = next(one for one in desk.site.entries() if one.name == name)
    return _document(entry.id, name, lines, in_job=True)


@router.get("/soundings/{id}/checklist", responses=refusals(*READING))
def checklist_of(desk: DeskOf, id: Id) -> ChecklistDocument:
    """Return the checklist of a sounding: what is done, in doubt or open, by whom and when."""
    entry = desk.site.entry(id)
    if not entry.is_job:
        return _document(id, entry.name, standing(checklist(), ()), in_job=False)
    with Job.open(entry.file) as job:
        return _document(id, entry.name, lines_of(job, entry.name), in_job=True)


@router.post("/soundings/{id}/checklist", dependencies=EDIT, responses=refusals(*WRITING))
def tick(desk: DeskOf, id: Id, given: Ticks) -> ChecklistDocument:
    """Keep ticks as facts of the job. Nothing is ever unticked: a doubt is a new fact."""
    entry = desk.site.job_entry(id)
    if not given.done and not given.doubt:
        raise ValueError("done, doubt: name at least one item in one of them")
    with desk.writing(entry.file) as job:
        lines = tick_all(
            job, entry.name, given.by, done=given.done, doubt=given.doubt, note=given.note
        )
    return _document(id, entry.name, lines, in_job=True)


def _document(id: str | None, name: str, lines: list[Line], *, in_job: bool) -> ChecklistDocument:
    return ChecklistDocument(
        id=id, sounding=name, in_job=in_job, local=LOCAL, lines=[_line(line) for line in lines]
    )


def _line(line: Line) -> ChecklistLine:
    item, tick = line.item, line.tick
    return ChecklistLine(
        item=item.key,
        words=item.words,
        when=item.when,
        caution=item.caution,
        state=line.state,
        by=None if tick is None else tick.by,
        at=None if tick is None else tick.at,
        note=None if tick is None else tick.note,
    )


def _sounding(site: Site, entry: Entry, state: FieldState) -> FieldSounding:
    session = site.session
    recording = session is not None and (session.job.path.resolve(), session.sounding) == (
        entry.file.resolve(),
        entry.name,
    )
    doubts = [line for line in state.doubts if line.tick is not None]
    return FieldSounding(
        id=entry.id,
        name=entry.name,
        pushed=state.pushed,
        waiting=state.waiting and not recording,
        recording=recording,
        open_before=state.left("before"),
        open_after=state.left("after"),
        in_doubt=[f"{one.item.words}: {one.tick.note}" for one in doubts if one.tick],
        hole_open=state.hole_open and not recording,
        closed=state.closed,
        closed_at=state.closed_at,
    )

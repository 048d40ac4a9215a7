"""Calls to close a hole: the grout to have ready, and the record of what went in.

Lengths and diameters in m, areas in m2, volumes in litres, masses in kg, densities in kg per litre.
"""

from __future__ import annotations

from fastapi import APIRouter, Depends, Response
from pydantic import BaseModel, ConfigDict, Field

from pushproof.errors import ConfigurationError, RecordError
from pushproof.model.findings import Finding, by_severity
from pushproof.planning.closing import LOCAL_LAW, METHODS, GroutOrder, Take, mixes
from pushproof.planning.grouting import (
    ROD_DIAMETER,
    TIP_AREA,
    GroutPlan,
    Hole,
    hole_of,
    plan_grout,
)
from pushproof.recording.closings import Closed, close_hole, closings, known_hole
from pushproof.report.closingsheet import lay_hole, lead_of
from pushproof.store import Job
from pushproof.web.answers.closing import (
    BoreDocument,
    ClosedDocument,
    ClosingDocument,
    FindingLine,
    GroutDocument,
    HoleDocument,
    MethodDocument,
    MixDocument,
)
from pushproof.web.answers.problems import READING, WRITING, file_answer, refusals
from pushproof.web.api.roles import EDIT, DeskOf, Id, may_view
from pushproof.web.attachment import TYPES, attachment
from pushproof.web.desk import Desk
from pushproof.web.site import plain_id

router = APIRouter(
    prefix="/soundings/{id}/closing", tags=["field"], dependencies=[Depends(may_view)]
)


class ClosingOrder(BaseModel):
    """A hole that was closed: what it was planned from, and what went in."""

    model_config = ConfigDict(extra="forbid")

    order: GroutOrder = Field(default_factory=GroutOrder)
    take: Take


@router.get("", responses=refusals(*READING))
def closing(desk: DeskOf, id: Id) -> ClosingDocument:
    """Return what is known of a hole, the grout to have ready, and what was recorded."""
    return _document(desk, id)


@router.post("/plan", responses=refusals(*READING))
def plan_closing(desk: DeskOf, id: Id, order: GroutOrder) -> GroutDocument:
    """Return the grout for a hole; nothing is kept."""
    return _grout(plan_grout(order, _hole(desk, id)))


@router.post("", dependencies=EDIT, responses=refusals(*WRITING))
def record_closing(desk: DeskOf, id: Id, given: ClosingOrder) -> ClosingDocument:
    """Keep that a hole was closed. A wrong record is not changed: record again."""
    entry = desk.site.job_entry(id)
    planned = plan_grout(given.order, _hole(desk, id))
    with desk.writing(entry.file) as job:
        close_hole(job, entry.name, planned, given.take)
    return _document(desk, id)


@router.post("/sheet.pdf", response_class=Response, responses=file_answer(TYPES[".pdf"]))
def closing_sheet(desk: DeskOf, id: Id, order: GroutOrder) -> Response:
    """Return the plan as a sheet, or the decommissioning record if the hole was closed."""
    kept = _closings(desk, id)
    last = kept[-1] if kept else None
    base = order if last is None or last.closing.order is None else last.closing.order
    content = lay_hole(plan_grout(base, _hole(desk, id)), last).pdf()
    name = f"{plain_id(desk.site.entry(id).name)}-hole.pdf"
    return attachment(content, name)


def _hole(desk: Desk, id: str) -> Hole:
    """Return what is known of a hole, from what the desk holds already where it can."""
    try:
        return hole_of(desk.sounding(id))
    except RecordError:
        entry = desk.site.entry(id)
        with Job.open(entry.file) as job:
            return known_hole(job, entry.name)


def _closings(desk: Desk, id: str) -> list[Closed]:
    entry = desk.site.entry(id)
    if not entry.is_job:
        return []
    with Job.open(entry.file) as job:
        return closings(job, entry.name)


def _document(desk: Desk, id: str) -> ClosingDocument:
    entry, hole, kept = desk.site.entry(id), _hole(desk, id), _closings(desk, id)
    order = (kept[-1].closing.order if kept else None) or GroutOrder()
    try:
        planned = _grout(plan_grout(order, hole))
    except ConfigurationError:
        if hole.depth is not None:
            raise
        planned = None
    return ClosingDocument(
        id=id,
        sounding=entry.name,
        in_job=entry.is_job,
        local=LOCAL_LAW,
        hole=HoleDocument(
            about=list(hole.about),
            depth=hole.depth,
            tip_area=hole.tip_area or TIP_AREA,
            rods=hole.rods or ROD_DIAMETER,
            water_level=hole.water_level,
            assumed=[name for name in ("tip_area", "rods") if not getattr(hole, name)],
        ),
        order=order,
        plan=planned,
        mixes=[
            MixDocument(
                name=name,
                words=mix.words,
                ratio=mix.ratio,
                density=mix.density,
                mark=mix.mark,
                source=mix.source,
            )
            for name, mix in mixes().items()
        ],
        methods=[MethodDocument(name=name, words=words) for name, words in METHODS.items()],
        closings=[_closed(one, hole) for one in kept],
    )


def _grout(made: GroutPlan) -> GroutDocument:
    grouting = made.grouting
    water, cement, bentonite = grouting.per_batch
    cement_bags, bentonite_bags = grouting.bags
    level, head, text = lead_of(grouting, None, made.found)
    return GroutDocument(
        level=level,
        head=head,
        text=text,
        depth=grouting.depth,
        bores=[
            BoreDocument(
                top=bore.top,
                base=bore.base,
                diameter=bore.diameter,
                per_metre=bore.per_metre,
                volume=bore.volume,
            )
            for bore in grouting.bores
        ],
        hole_volume=grouting.hole_volume,
        planned=grouting.planned,
        batches=grouting.batches,
        batch=grouting.batch,
        water=water,
        cement=cement,
        bentonite=bentonite,
        cement_bags=cement_bags,
        bentonite_bags=bentonite_bags,
        density=grouting.mix.density,
        findings=_findings(made.found),
    )


def _closed(one: Closed, hole: Hole) -> ClosedDocument:
    done = one.closing
    grouting = plan_grout(done.order or GroutOrder(depth=done.depth), hole).grouting
    found = done.findings()
    level, head, text = lead_of(grouting, done, found)
    return ClosedDocument(
        at=one.at, level=level, head=head, text=text, closing=done, findings=_findings(found)
    )


def _findings(found: tuple[Finding, ...]) -> list[FindingLine]:
    return [
        FindingLine(
            id=one.id,
            severity=one.severity.word,
            found=one.found,
            expected=one.expected,
            source=one.source,
        )
        for one in by_severity(found)
    ]

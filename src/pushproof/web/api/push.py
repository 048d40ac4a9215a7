"""The calls of the push page: what is shown, who controls, and every key."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import StreamingResponse
from pydantic import BaseModel, Field, StringConstraints

from pushproof.recording.guard import SHELF_LIFE
from pushproof.recording.session import Session
from pushproof.web.answers.problems import READING, refusals
from pushproof.web.api.roles import Client, may_control, may_view
from pushproof.web.push import models
from pushproof.web.push.desk import PushDesk
from pushproof.web.push.fan import MOST_ROWS, Fan

router = APIRouter(prefix="/push", tags=["push"])

Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=2000)]
Name = Annotated[str, StringConstraints(strip_whitespace=True, max_length=60)]
CONTROL = [Depends(may_control)]
EVENTS = {"text/event-stream": {"schema": {"type": "string"}}}
SHOWN = refusals(*READING)
REFUSED = refusals(404, 409, 422, 423, 507)


def desk_of(request: Request) -> PushDesk:
    """Return the push desk of what is served."""
    desk = request.app.state.push
    assert isinstance(desk, PushDesk)
    return desk


def fan_of(request: Request) -> Fan:
    """Return what spreads the state to all viewers."""
    fan = request.app.state.fan
    assert isinstance(fan, Fan)
    return fan


DeskOf = Annotated[PushDesk, Depends(desk_of)]


class By(BaseModel):
    """Who presses a key."""

    by: Name = Field("", description="what people call this page, as 'cab tablet'")


class Take(By):
    """Taking control."""

    over: bool = Field(False, description="take it from somebody else")


class Rod(By):
    """A rod in, or out."""

    change: int = Field(1, ge=-1, le=1, description="1 for a rod in, -1 for a rod out")


class Said(By):
    """A note, or why the crew pauses."""

    text: Text


class Acknowledge(By):
    """Alarms that were seen."""

    rule: str | None = Field(None, max_length=60, description="one alarm; all if not given")


class Shelve(By):
    """An alarm that is put aside for a while."""

    rule: str = Field(max_length=60)
    minutes: float = Field(gt=0, le=SHELF_LIFE / 60)


class Metres(By):
    """A length that was measured."""

    metres: float = Field(ge=-5, le=200)


class Record(By):
    """The next push."""

    sounding: Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=80)]


@router.get("", dependencies=[Depends(may_view)], responses=refusals(409))
def push_document(desk: DeskOf, client: Client) -> models.PushDocument:
    """Return what there is to show, and what this server can record."""
    return desk.document(client)


@router.get("/state", dependencies=[Depends(may_view)], responses=SHOWN)
def push_state(desk: DeskOf) -> models.PushState:
    """Return everything that the page shows now."""
    desk.catch_up()
    return desk.state()


@router.get("/rows", dependencies=[Depends(may_view)], responses=SHOWN)
def push_rows(
    desk: DeskOf,
    after: Annotated[int, Query(ge=0, le=2**53, description="number of the last row")] = 0,
    most: Annotated[int, Query(ge=1, le=MOST_ROWS)] = MOST_ROWS,
) -> models.RowBlock:
    """Return the rows after a number of the record, oldest first."""
    return desk.rows(after, most)


@router.get("/rail", dependencies=[Depends(may_view)], responses=SHOWN)
def push_rail(desk: DeskOf) -> models.LiveRailDocument:
    """Return the proof rail so far."""
    desk.catch_up()
    if desk.feed is None:
        raise LookupError("no push is recorded here, and none is in the record")
    return desk.feed.rail.document()


@router.get(
    "/stream",
    dependencies=[Depends(may_view)],
    response_class=StreamingResponse,
    responses={200: {"content": EVENTS, "description": "The events, until the caller leaves."}},
)
async def push_stream(
    request: Request,
    after: Annotated[int, Query(ge=0, le=2**53)] = 0,
    sounding: Annotated[str, Query(max_length=200, description="whose row that is")] = "",
    client: Annotated[str, Query(max_length=64, pattern="^[A-Za-z0-9_-]*$")] = "",
) -> StreamingResponse:
    """Follow the push: server-sent events ``push``, ``rows``, ``state`` and ``rail``.

    The id of ``rows`` is the number of its last row in the record; ``after`` or the header
    Last-Event-ID says where to go on, and nothing is missed or comes twice.
    """
    last = request.headers.get("last-event-id", "")
    begin = max(after, int(last)) if last.isdecimal() and len(last) < 16 else after
    return StreamingResponse(
        fan_of(request).stream(begin, sounding, client),
        media_type="text/event-stream",
        headers={"cache-control": "no-store", "x-accel-buffering": "no"},
    )


@router.post("/control", dependencies=CONTROL, responses=refusals(423))
def take_control(given: Take, desk: DeskOf, client: Client) -> models.Control:
    """Take control: of a push that nobody controls, or over from somebody else."""
    desk.lease.take(client, given.by, over=given.over)
    return desk.control()


@router.delete("/control", dependencies=CONTROL)
def give_control_back(desk: DeskOf, client: Client) -> models.Control:
    """Give control back, if this page has it."""
    desk.lease.release(client)
    return desk.control()


@router.post("/record", dependencies=CONTROL, responses=REFUSED | refusals(503))
def record(given: Record, desk: DeskOf, client: Client) -> models.PushState:
    """Begin to record a sounding from the sources of this server."""
    return desk.record(client, given.by, given.sounding)


@router.post("/stop", dependencies=CONTROL, responses=REFUSED)
def stop(given: By, desk: DeskOf, client: Client) -> models.PushDocument:
    """End the recording; what came is stored and the record is closed."""
    return desk.stop(client, given.by)


@router.post("/zeros", dependencies=CONTROL, responses=REFUSED)
def zeros(given: By, desk: DeskOf, client: Client) -> models.PushState:
    """Take zero readings: before the push, or after it if it was pushed."""
    return desk.act(client, given.by, Session.zeros)


@router.post("/start", dependencies=CONTROL, responses=REFUSED)
def start(given: By, desk: DeskOf, client: Client) -> models.PushState:
    """Say that the push begins or goes on."""
    return desk.act(client, given.by, Session.push)


@router.post("/pause", dependencies=CONTROL, responses=REFUSED)
def pause(given: Said, desk: DeskOf, client: Client) -> models.PushState:
    """Keep why the crew pauses."""
    return desk.act(client, given.by, lambda session: session.pause(given.text))


@router.post("/rod", dependencies=CONTROL, responses=REFUSED)
def rod(given: Rod, desk: DeskOf, client: Client) -> models.PushState:
    """Count a rod in, or out."""
    if given.change == 0:
        raise ValueError("change 0: expected 1 for a rod in or -1 for a rod out")
    return desk.act(client, given.by, lambda session: session.rod_added(given.change))


@router.post("/dissipation", dependencies=CONTROL, responses=REFUSED)
def dissipation(given: By, desk: DeskOf, client: Client) -> models.PushState:
    """Start a dissipation test, or end the running one."""
    return desk.act(client, given.by, Session.dissipation)


@router.post("/note", dependencies=CONTROL, responses=REFUSED)
def note(given: Said, desk: DeskOf, client: Client) -> models.PushState:
    """Keep a note of the crew in the record."""
    return desk.act(client, given.by, lambda session: session.note(given.text))


@router.post("/acknowledge", dependencies=CONTROL, responses=REFUSED)
def acknowledge(given: Acknowledge, desk: DeskOf, client: Client) -> models.PushState:
    """Acknowledge an alarm, or all."""
    return desk.act(client, given.by, lambda session: session.acknowledge(given.rule))


@router.post("/shelve", dependencies=CONTROL, responses=REFUSED)
def shelve(given: Shelve, desk: DeskOf, client: Client) -> models.PushState:
    """Put an alarm aside for a while; never one at stop."""
    seconds = given.minutes * 60
    return desk.act(client, given.by, lambda session: session.shelve(given.rule, seconds))


@router.post("/stick-up", dependencies=CONTROL, responses=REFUSED)
def stick_up(given: Metres, desk: DeskOf, client: Client) -> models.PushState:
    """Compare rods with the encoder from a measured stick-up."""
    return desk.act(client, given.by, lambda s: s.live.measure_stick_up(given.metres))


@router.post("/length", dependencies=CONTROL, responses=REFUSED)
def set_length(given: Metres, desk: DeskOf, client: Client) -> models.PushState:
    """Set the penetration length now: the zero of depth."""
    return desk.act(client, given.by, lambda session: session.live.set_length(given.metres))

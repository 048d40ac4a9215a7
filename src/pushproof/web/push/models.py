"""What the push page is told, as typed documents.

Numbers are in the units people read, judged and rounded here: the page draws them and decides
nothing. None means that it is not known.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Literal

from pydantic import BaseModel, Field

LevelWord = Literal["ok", "caution", "stop"]


class Recording(StrEnum):
    """Who records the push that is shown."""

    HERE = "here"
    ELSEWHERE = "elsewhere"
    ENDED = "ended"
    INTERRUPTED = "interrupted"
    NONE = "none"

    @property
    def runs(self) -> bool:
        """Whether readings still come."""
        return self in (Recording.HERE, Recording.ELSEWHERE)


class Step(BaseModel):
    """Step of the field procedure, by its trade word, and what was left out."""

    name: str
    missing: list[str]


class Advance(BaseModel):
    """Where the tip is and how it moves; lengths in m, rate in mm/s, force in kN."""

    state: str
    pushing: bool
    since: float | None = Field(description="seconds in this state")
    length: float | None
    depth: float | None
    rate: float | None
    rate_low: float
    rate_high: float
    rate_level: LevelWord
    rods: int
    rods_counted_by: str
    strokes: int
    tally_difference: float | None = Field(description="rods minus encoder [m]")
    thrust: float | None
    thrust_share: float | None = Field(description="percent of the usable reaction")
    thrust_level: LevelWord


class Channel(BaseModel):
    """One measured channel: value in ``unit``, share of its capacity in percent."""

    key: str
    symbol: str
    unit: str
    decimals: int
    value: float | None
    share: float | None
    level: LevelWord


class Tilt(BaseModel):
    """Angle from vertical, its bearing in the frame of the cone, change within a metre [deg]."""

    angle: float | None
    bearing: float | None
    change: float | None
    level: LevelWord


class Link(BaseModel):
    """The sound link: levels in dB, loss and certainty in percent, lengths in mm."""

    level: float | None
    margin: float | None
    loss: float | None
    spacing: float | None
    longest_gap: float | None
    verdict: str
    sure: float | None
    advice: str
    joint: int | None = Field(description="the joint above this rod is suspected")
    status: LevelWord


class Stream(BaseModel):
    """One stream: how old its last reading is, and what was counted."""

    connected: bool | None
    freshness: str
    age: float | None
    old: bool = Field(description="too old to be shown as a present value")
    excused: bool = Field(description="silent because the rods are open")
    received: int
    lost: int
    duplicate: int
    late: int
    undecoded: int


class Dissipation(BaseModel):
    """The dissipation test that is running; pressures in kPa, times in s."""

    number: int
    depth: float | None
    elapsed: float
    channel: str
    start: float | None
    present: float | None
    u0: float | None
    u0_assumed: bool
    percent: float | None
    t50: float | None
    logged: int
    interval: float | None = Field(description="time from one logged value to the next [s]")


class Zero(BaseModel):
    """The zero reading that is running."""

    which: str
    elapsed: float
    asked: float
    count: int
    means: list[Channel]


class Forecast(BaseModel):
    """What lies ahead by the plan after what was met: depths in m, chance in percent, kN."""

    target: float
    reached: float | None
    likely_depth: float | None
    thrust: float | None
    thrust_high: float | None
    limit: float | None
    limited_by: str


class Alarm(BaseModel):
    """One alarm that is up, or that cleared and was not acknowledged yet."""

    rule: str
    level: LevelWord
    text: str
    advice: str
    since: float
    acknowledged: bool
    cleared: bool
    shelved: float | None = Field(description="seconds for which it stays put aside")
    sounds: bool
    source: str
    mark: str


class Control(BaseModel):
    """Who steers; one at a time, the others watch."""

    holder: str = Field(description="name of who steers, empty if nobody does")
    client: str = Field(description="a short mark of that page, to know oneself by")
    away: float = Field(description="seconds since that page was last heard")
    viewers: int


class PushState(BaseModel):
    """Everything the push page shows at one moment."""

    recording: Recording
    sounding: str
    time: float
    row: int = Field(description="number of the newest row in the record")
    step: Step
    pause: str | None
    advance: Advance
    channels: list[Channel]
    tilt: Tilt
    link: Link
    cone: Stream
    encoder: Stream
    dissipation: Dissipation | None
    zero: Zero | None
    forecast: Forecast | None
    alarms: list[Alarm]
    worst: LevelWord
    sound: LevelWord = Field(description="the gravest alarm that asks to be heard")
    battery: float | None
    temperature: float | None
    free_disk: float | None = Field(description="GB")
    notes: list[str]
    warnings: list[str] = Field(description="what is wrong with recording itself")
    control: Control


class Column(BaseModel):
    """A column of the rows."""

    key: str
    symbol: str
    unit: str
    decimals: int


class RowBlock(BaseModel):
    """Rows of the record in order, in the units people read; values by column.

    ``after`` is the number after which the block begins, ``last`` that of its last row: the next
    block begins there. A missing value is null.
    """

    sounding: str
    after: int
    last: int
    more: bool = Field(description="whether there are rows after these already")
    number: list[int]
    depth: list[float]
    pushing: list[bool]
    columns: dict[str, list[float | None]]


class RailSpan(BaseModel):
    """A stretch of the proof rail [m]."""

    trace: str
    top: float
    base: float


class RailRate(BaseModel):
    """A stretch [m] pushed outside the band of the rate."""

    fast: bool
    top: float
    base: float


class RailMark(BaseModel):
    """A mark of the proof rail."""

    kind: str
    depth: float
    seconds: float | None


class RailFinding(BaseModel):
    """An alarm that was raised, by its number on the rail."""

    number: int
    id: str
    severity: str
    found: str
    expected: str
    top: float | None
    base: float | None


class LiveRailDocument(BaseModel):
    """The proof rail of a push so far, or what changed of it.

    ``begins`` are the places of the first span, rate stretch, mark and finding that are given:
    they take the place of all from there on.
    """

    begins: list[int]
    spans: list[RailSpan]
    rate: list[RailRate]
    marks: list[RailMark]
    findings: list[RailFinding]


class PushDocument(BaseModel):
    """What there is to show, and what this server can record."""

    recording: Recording
    sounding: str
    soundings: list[str] = Field(description="soundings of the job with readings of a push")
    can_record: bool = Field(description="whether this server has sources to record from")
    sources: list[str]
    columns: list[Column]
    state: PushState | None
    mark: str = Field(description="mark of the page that asks, as in control.client")

"""Answers about one log: its words, rail and findings, its tracks, a window of its curves."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, Field

from pushproof.web.push.models import RailMark, RailRate, RailSpan, Recording

Severity = Literal["info", "caution", "stop"]


class LogFinding(BaseModel):
    """One thing that was noticed, by its number on the proof rail."""

    number: int
    id: str = Field(description="stable name, the same for every occurrence")
    severity: Severity
    found: str = Field(description="what was found, with number and unit")
    expected: str = Field(description="what was expected, or what to do")
    source: str = Field(description="standard or reference behind it, with its mark")
    where: str = Field(description="depths in words; empty for the whole sounding")
    channel: str = Field(description="key of the quantity, or empty")
    top: float | None = Field(description="[m]; null for the whole sounding")
    base: float | None = Field(description="[m]")


class RailPlace(BaseModel):
    """Where on the rail a finding stands."""

    number: int
    severity: Severity
    top: float | None = Field(description="[m]; null for the whole sounding")
    base: float | None = Field(description="[m]")


class RailDocument(BaseModel):
    """The proof rail: for each depth where the values come from, and what happened there."""

    spans: list[RailSpan]
    rate: list[RailRate]
    marks: list[RailMark]
    findings: list[RailPlace]


class WaterMark(BaseModel):
    """The water table."""

    level: float = Field(description="depth below ground level [m]")
    assumed: bool = Field(description="nobody gave it")
    words: str
    origin: str = Field(description="where it is from, in words")


class BlankedMark(BaseModel):
    """An interval whose values were left out by a decision."""

    top: float = Field(description="[m]")
    base: float = Field(description="[m]")
    channels: list[str] = Field(description="keys; empty for all")
    reason: str


class EndMark(BaseModel):
    """Where the sounding ends, and why."""

    depth: float = Field(description="[m]")
    words: str


class LogMarks(BaseModel):
    """Lines across the log."""

    predrilled: float = Field(description="depth of the pre-excavation [m]; 0 for none")
    predrilledWords: str
    water: WaterMark | None
    waterTrack: str = Field(description="name of the track that shows it")
    blanked: list[BlankedMark]
    end: EndMark | None = Field(description="null where there is no row")


class LogVerdict(BaseModel):
    """How one aspect stands under an accuracy scheme."""

    aspect: str = Field(description="key of a channel, interval, needs or zero shift")
    achieved: str | None = Field(description="best class that it allows")
    depth: float | None = Field(description="of the deciding reading [m]")
    text: str = Field(description="what decided, with numbers")


class LogClass(BaseModel):
    """The class that the sounding achieves under one accuracy scheme."""

    scheme: str = Field(description="norm, edition and kind of class")
    achieved: str | None = Field(description="null where none is met or none can be judged")
    proved: bool = Field(description="false where a part of the budget is not known")
    verdicts: list[LogVerdict]


class Assumed(BaseModel):
    """A value that nobody gave."""

    key: str
    text: str = Field(description="the assumption with number and unit")
    reason: str
    affects: list[str] = Field(description="keys that rest on it; empty for all")


class TrackName(BaseModel):
    """A track that can be asked for."""

    name: str
    title: str
    group: Literal["log", "derived", "record"]


class Observed(BaseModel):
    """What was observed elsewhere, to be drawn on the log and told in its notes."""

    kind: str = Field(description="key of the quantity, or water or layer")
    top: float = Field(description="[m]")
    base: float = Field(description="[m]")
    at: float = Field(description="depth of the mark [m]")
    shown: float | None = Field(description="value to draw, in the display unit of the quantity")
    where: str
    value: str = Field(description="value and unit, or the words of a layer")
    test: str
    source: str


class LogDocument(BaseModel):
    """All of a log but its values."""

    id: str
    name: str
    project: str
    place: str
    rows: int
    low: float = Field(description="first depth of the axis [m]")
    high: float = Field(description="last depth of the axis [m]")
    step: float = Field(description="usual step between rows [m]")
    gap: float = Field(description="longer steps are gaps [m]")
    recipe: str = Field(description="fingerprint of the recipe that it was computed with")
    newest: int = Field(description="newest fact in it; 0 where that is not known")
    rail: RailDocument
    marks: LogMarks
    findings: list[LogFinding]
    classes: list[LogClass]
    assumptions: list[Assumed]
    methods: dict[str, list[str]] = Field(description="key to the relations it was computed with")
    zones: dict[str, str] = Field(description="number of a zone of soil behaviour to its words")
    choices: list[TrackName]
    observed: list[Observed]
    usual: list[str] = Field(description="tracks that are shown if none are named")


class GrowthDocument(BaseModel):
    """Who records a sounding, and whether its log as a page has it is still all there is."""

    recording: Recording = Field(description="who records it")
    newest: int = Field(description="newest fact; a log with a smaller number has grown since")
    pace: float = Field(description="a log is made anew after this long at the earliest [s]")


class AxisScale(BaseModel):
    """The axis of a track, in its unit."""

    low: float
    high: float
    step: float


class TrackCurve(BaseModel):
    """A curve of a track."""

    key: str = Field(description="its key in the columns of a window")
    column: str = Field(description="key of the quantity")
    text: str = Field(description="symbol, lowered parts as _{...}")
    look: str
    width: float = Field(description="[px]")
    dash: list[float] | None = Field(description="[px]")
    fill: bool
    marked: bool = Field(description="values beyond the axis get their number")


class TrackDocument(BaseModel):
    """A track: heading, axis and curves, without values."""

    name: str
    kind: Literal["soil", "curves"]
    title: str
    unit: str = Field(description="display unit")
    quantity: str = Field(description="key of the quantity that it shows, or empty")
    weight: float = Field(description="share of the width")
    scale: AxisScale | None = Field(description="null where there is nothing to draw")
    parts: int = Field(description="fine lines of the grid for each step")
    decimals: int
    notes: list[str]
    absent: str = Field(description="why there is nothing to draw, or empty")
    curves: list[TrackCurve]


class ReducedColumn(BaseModel):
    """A column brought to pixel rows: no peak is lost. Null where there is no value."""

    first: list[float | None]
    min: list[float | None]
    max: list[float | None]
    last: list[float | None]


class SoilStretch(BaseModel):
    """A stretch of one kind of soil behaviour."""

    top: float = Field(description="[m]")
    base: float = Field(description="[m]")
    words: str
    main: str = Field(description="the zone that fills most of it, in words")


class SoilColumn(BaseModel):
    """Soil behaviour in rows of about a pixel."""

    top: float = Field(description="of the first row [m]")
    step: float = Field(description="height of a row [m]")
    ic: list[float | None]
    zone: list[int] = Field(description="0 where there is none")
    stretches: list[SoilStretch]


class WindowDocument(BaseModel):
    """Curves between two depths: rows as they are, or brought to pixel rows where denser."""

    top: float = Field(description="[m]")
    base: float = Field(description="[m]")
    gap: float = Field(description="[m]")
    reduced: bool = Field(description="whether rows were brought to pixel rows")
    depth: list[float] = Field(description="of each row [m]")
    join: list[Literal[0, 1]] = Field(description="1 where a row is joined to the one before")
    columns: dict[str, list[float | None] | ReducedColumn] = Field(
        description="display units, by key of the curve; bands as KEY.p10 and KEY.p90"
    )
    soil: SoilColumn | None

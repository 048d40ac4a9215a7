"""A sounding: everything that was read or recorded at one push, as it was found.

The readings keep the order of the file. Sorting, correcting and judging are done later and give
new objects; a sounding is a fact.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum

from pydantic import Field

from pushproof.model.equipment import Cone, Encoder, Frozen, Rig, Rods
from pushproof.model.findings import Finding
from pushproof.model.series import Series


class StopReason(StrEnum):
    """Why a push ended: the closed list of the Dutch register (list Stopcriterium 1.1)."""

    TARGET_DEPTH = "target depth reached"
    TIP = "maximum tip resistance"
    SLEEVE = "maximum sleeve friction"
    PORE_PRESSURE = "maximum pore pressure"
    THRUST = "maximum push force"
    TILT = "maximum tilt"
    OBSTACLE = "obstacle hit"
    BUCKLING = "risk of failure or rod buckling"
    MALFUNCTION = "malfunction"
    UNKNOWN = "unknown"


class WaterOrigin(StrEnum):
    """How a water level is known."""

    MEASURED = "measured"
    STATED = "stated in the file"
    GIVEN = "given by the user"
    ASSUMED = "assumed"


class Location(Frozen):
    """Where the sounding is. Coordinates mean nothing without their system."""

    x: float | None = Field(None, description="easting or x, in the unit of the crs")
    y: float | None = Field(None, description="northing or y, in the unit of the crs")
    crs: str | None = Field(None, description="coordinate system, EPSG:code where known")
    latitude: float | None = Field(None, ge=-90, le=90, description="[deg]")
    longitude: float | None = Field(None, ge=-180, le=180, description="[deg]")
    level: float | None = Field(None, description="level of the zero of depth [m, datum]")
    datum: str | None = None
    zero: str | None = Field(None, description="what depth 0 is: ground level, water bottom")
    water_depth: float | None = Field(None, ge=0, description="water above the bottom [m]")


class Water(Frozen):
    """Depth of the water table below the zero of depth [m]; negative above it."""

    level: float
    origin: WaterOrigin
    remark: str = ""


class Zero(Frozen):
    """One zero reading of one channel, in its inside unit."""

    channel: str
    value: float
    spread: float | None = Field(None, ge=0, description="standard deviation of the average")
    count: int | None = Field(None, ge=1)
    seconds: float | None = Field(None, ge=0, description="averaging time [s]")
    temperature: float | None = Field(None, description="[degC]")
    time: datetime | None = None


class RemovedLayer(Frozen):
    """A layer removed before the push, top and base as depth below ground level [m]."""

    top: float
    base: float
    description: str


class HeaderItem(Frozen):
    """A header line kept as found."""

    key: str
    value: str
    line: int | None = None


class SourceFile(Frozen):
    """The file a sounding came from."""

    name: str
    sha256: str
    size: int
    format: str
    encoding: str | None = None


@dataclass(frozen=True)
class Dissipation:
    """One dissipation test.

    Parameters
    ----------
    depth
        Depth of the tip [m].
    readings
        Series with ``time`` [s from the stop of the push] and qc, u1, u2, u3 [kPa] as measured.
    start
        Wall-clock start, if known.
    header
        Header lines of its own file, kept as found.
    source
        Its own file, if it came from one.
    """

    depth: float
    readings: Series
    start: datetime | None = None
    header: tuple[HeaderItem, ...] = ()
    source: SourceFile | None = None


@dataclass(frozen=True)
class Event:
    """Something that happened at a depth or a time during the push.

    ``kind`` is one of ``rod-change``, ``pause``, ``dissipation``, ``zero``, ``alarm``, ``note``,
    ``step``; ``seconds`` is elapsed time of the push [s].
    """

    kind: str
    depth: float | None = None
    seconds: float | None = None
    duration: float | None = None
    text: str = ""


@dataclass(frozen=True)
class Sounding:
    """One push and all that is known of it. ``length`` or ``depth`` must be in the readings."""

    name: str
    readings: Series
    location: Location = field(default_factory=Location)
    cone: Cone = field(default_factory=Cone)
    rods: Rods | None = None
    rig: Rig | None = None
    encoder: Encoder | None = None
    water: Water | None = None
    predrilled: float | None = None
    removed: tuple[RemovedLayer, ...] = ()
    zeros_before: tuple[Zero, ...] = ()
    zeros_after: tuple[Zero, ...] = ()
    dissipations: tuple[Dissipation, ...] = ()
    events: tuple[Event, ...] = ()
    standard: str | None = None
    quality_class: str | None = None
    stop_reason: StopReason | None = None
    started: datetime | None = None
    project: str | None = None
    client: str | None = None
    operator: str | None = None
    place: str | None = None
    header: tuple[HeaderItem, ...] = ()
    findings: tuple[Finding, ...] = ()
    source: SourceFile | None = None

    def with_findings(self, *findings: Finding) -> Sounding:
        """Return the sounding with findings added."""
        return replace(self, findings=(*self.findings, *findings))

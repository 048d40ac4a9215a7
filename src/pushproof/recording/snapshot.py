"""The live state: one immutable object with everything that the screens show.

The terminal view and the page draw this and compute nothing themselves. Values are in inside
units (m, s, kPa, deg, dB); :func:`pushproof.model.units.to_display` gives what people read. None
means that it is not known. It is filled by :class:`pushproof.recording.live.Live`; nothing here
reads a clock or a source.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass, field
from enum import Enum, IntEnum, StrEnum
from typing import Any

from pushproof.model.stream import Advance


class Level(IntEnum):
    """How far a guarded value is from where it should be."""

    OK = 0
    CAUTION = 1
    STOP = 2

    @property
    def word(self) -> str:
        """Lower-case word for people."""
        return self.name.lower()


class Freshness(StrEnum):
    """State of a stream by the age of its last reading; a state of its own, never a value."""

    NONE = "no reading yet"
    FRESH = "fresh"
    LATE = "late"
    STALE = "stale"


@dataclass(frozen=True, slots=True)
class StreamState:
    """One stream: connected or not, how old its last reading is, what was counted.

    Parameters
    ----------
    connected
        Whether the source says that it is up; None if it said nothing.
    freshness, age
        State by age, and age of the last reading [s].
    received, duplicate, late, lost, undecoded
        Readings taken, repeated, out of order, missing by their sequence, and not decodable.
    text
        What the source last said about itself.
    """

    connected: bool | None = None
    freshness: Freshness = Freshness.NONE
    age: float | None = None
    received: int = 0
    duplicate: int = 0
    late: int = 0
    lost: int = 0
    undecoded: int = 0
    text: str = ""


@dataclass(frozen=True, slots=True)
class ChannelState:
    """One measured channel of the cone: last value, share of its capacity, level."""

    key: str
    value: float | None
    capacity: float | None = None
    share: float | None = None
    level: Level = Level.OK


@dataclass(frozen=True, slots=True)
class AdvanceState:
    """Where the tip is and how it moves.

    Parameters
    ----------
    state
        What the rods are doing.
    length, depth
        Penetration length, and depth corrected for the measured tilt [m].
    rate
        Over the moving window [m/s]; None when not pushing long enough.
    rate_low, rate_high
        The band of the rule ``rate`` at its caution level [m/s].
    since
        Seconds in this state.
    stroke
        Strokes counted, and metres into the present one.
    rods
        Rods in the string, and how they are counted: ``"operator"`` or ``"strokes"``.
    tally_difference
        Rods minus stick-up against encoder length [m], at the last check; None if not checked.
    thrust, thrust_share
        Push force [kN] and its share of the usable reaction.
    """

    state: Advance = Advance.WAITING
    length: float | None = None
    depth: float | None = None
    rate: float | None = None
    rate_low: float = 0.015
    rate_high: float = 0.025
    since: float | None = None
    strokes: int = 0
    stroke: float | None = None
    rods: int = 0
    rods_counted_by: str = "operator"
    tally_difference: float | None = None
    thrust: float | None = None
    thrust_share: float | None = None


@dataclass(frozen=True, slots=True)
class TiltState:
    """Tilt from vertical [deg], its bearing in the cone's own frame [deg], change per metre."""

    angle: float | None = None
    bearing: float | None = None
    change: float | None = None
    level: Level = Level.OK


@dataclass(frozen=True, slots=True)
class LinkState:
    """The sound link.

    Parameters
    ----------
    level, margin
        Received level [dB], the median of the last few readings; the same over the noise where the
        receiver tells it, else the level itself.
    age
        Age of the last cone reading [s].
    loss
        Share of the readings lost in the last metre, 0 to 1.
    spacing, longest_gap
        Mean spacing of the readings in the last metre, and the longest hole there [m].
    verdict
        What the link watch says in words: ``"joint above rod 12"``, ``"steady loss with length"``,
        ``"rig noise with the engine"``; empty if nothing is wrong.
    sure
        Probability of the verdict from its stated model, 0 to 1.
    advice
        What to try.
    joint
        The joint above this rod is suspected; None if no joint is.
    """

    level: float | None = None
    age: float | None = None
    loss: float | None = None
    spacing: float | None = None
    longest_gap: float | None = None
    verdict: str = ""
    sure: float | None = None
    advice: str = ""
    joint: int | None = None
    status: Level = Level.OK
    margin: float | None = None


@dataclass(frozen=True, slots=True)
class AlarmState:
    """One alarm that is up, or that cleared and was not acknowledged yet.

    ``since`` is the arrival time of the reading that raised it [s since 1970]; ``limit`` and
    ``value`` are in ``unit``, the unit people read. ``shelved`` is how long it stays put aside
    [s], None if it is not.
    """

    rule: str
    level: Level
    text: str
    advice: str
    since: float
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    acknowledged: bool = False
    cleared: bool = False
    source: str = ""
    mark: str = ""
    shelved: float | None = None

    @property
    def sounds(self) -> bool:
        """Whether it asks to be heard: up, and neither acknowledged nor put aside."""
        return not self.cleared and not self.acknowledged and self.shelved is None


@dataclass(frozen=True, slots=True)
class DissipationState:
    """A dissipation test that is running.

    ``percent`` is None while no in-situ pressure is known; ``u0_assumed`` marks one that nobody
    measured.
    """

    number: int
    depth: float | None
    elapsed: float
    channel: str
    start: float | None = None
    present: float | None = None
    u0: float | None = None
    u0_assumed: bool = False
    percent: float | None = None
    t50: float | None = None
    logged: int = 0
    interval: float | None = None
    interval_asked: float | None = None


@dataclass(frozen=True, slots=True)
class ZeroState:
    """A zero reading that is running: seconds done of seconds asked, and the averages so far."""

    which: str
    elapsed: float
    asked: float
    count: int
    mean: dict[str, float] = field(default_factory=dict)
    spread: dict[str, float] = field(default_factory=dict)
    temperature: float | None = None


@dataclass(frozen=True, slots=True)
class StepState:
    """The step of the field procedure, by its trade word, and what is still missing."""

    name: str = "set up"
    since: float | None = None
    done: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ForecastState:
    """What lies ahead, as the forecast of the plan sees it after what was met.

    Parameters
    ----------
    target, reached
        Depth to be reached [m], and the chance that it is [0 to 1].
    likely_depth
        Depth above which the push ends with even odds [m]; None if the target is likelier.
    thrust, thrust_high
        Thrust expected within the next metre, and the one that 9 of 10 draws stay below [kN].
    limit, limited_by
        The force that ends the push [kN], and what it is.
    harder
        Resistance met over resistance expected [-].
    """

    target: float
    reached: float
    likely_depth: float | None
    thrust: float | None
    thrust_high: float | None
    limit: float
    limited_by: str
    harder: float


@dataclass(frozen=True, slots=True)
class LiveState:
    """Everything the screens show, at one moment.

    Parameters
    ----------
    sounding
        Its name.
    time
        Surface wall clock [s since 1970] for which ages are given.
    free_disk
        Free space on the disk of the record [bytes].
    number
        Messages seen so far; two states with the same number differ only in ages.
    pause
        Why the crew paused, in its words; None if it did not say so.
    """

    sounding: str
    time: float
    number: int
    step: StepState = field(default_factory=StepState)
    advance: AdvanceState = field(default_factory=AdvanceState)
    channels: tuple[ChannelState, ...] = ()
    tilt: TiltState = field(default_factory=TiltState)
    link: LinkState = field(default_factory=LinkState)
    cone: StreamState = field(default_factory=StreamState)
    encoder: StreamState = field(default_factory=StreamState)
    dissipation: DissipationState | None = None
    zero: ZeroState | None = None
    alarms: tuple[AlarmState, ...] = ()
    battery: float | None = None
    temperature: float | None = None
    free_disk: float | None = None
    notes: tuple[str, ...] = ()
    pause: str | None = None
    forecast: ForecastState | None = None

    @property
    def sound(self) -> Level:
        """The highest level among the alarms that ask to be heard."""
        return max((a.level for a in self.alarms if a.sounds), default=Level.OK)

    @property
    def worst(self) -> Level:
        """The highest level among the alarms that are up."""
        return max((a.level for a in self.alarms if not a.cleared), default=Level.OK)

    def channel(self, key: str) -> ChannelState | None:
        """Return the state of one channel, or None."""
        return next((c for c in self.channels if c.key == key), None)


def as_json(state: Any) -> Any:
    """Return a snapshot as plain dicts, lists, numbers, text and None, ready for ``json.dumps``.

    NaN and infinity become None; levels and states become their words.

    Examples
    --------
    >>> as_json(TiltState(angle=1.5, change=float("nan")))
    {'angle': 1.5, 'bearing': None, 'change': None, 'level': 'ok'}
    """
    if isinstance(state, Level):
        return state.word
    if isinstance(state, Enum):
        return state.value
    if isinstance(state, float):
        return float(state) if math.isfinite(state) else None
    if state is None or isinstance(state, str | int):
        return state
    if isinstance(state, dict):
        return {str(key): as_json(value) for key, value in state.items()}
    if isinstance(state, tuple | list):
        return [as_json(item) for item in state]
    if dataclasses.is_dataclass(state):
        return {f.name: as_json(getattr(state, f.name)) for f in dataclasses.fields(state)}
    raise ValueError(f"no JSON form for {type(state).__name__}")

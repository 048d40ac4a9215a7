"""The day from the record itself: what was pushed, when, why it stopped, what else was done.

Everything comes from the facts of the job. Weather and crew are facts too, entered once
(events ``weather`` and ``crew``). Times are seconds since 1970; lengths in m.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from typing import Literal

from pushproof.errors import RecordError
from pushproof.store import Job, StoredEvent

OF_THE_PUSH = frozenset(
    {"start", "stop", "stroke", "pause", "rod-change", "dissipation-start", "dissipation-end"}
)
"""Events that say when a sounding was pushed."""
NOT_SAID = "not said"
TESTED = "dissipation test"
"""Reason of a stop for a dissipation test."""
OF_THE_DAY = ("weather", "crew", "note")
"""What is said of a day as a whole."""
SHORTEST = 30.0
"""A shorter pause is not listed [s]: own choice."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A pause of the push: when, how deep [m], how long [s] and why."""

    at: float
    length: float | None
    duration: float
    reason: str


@dataclass(frozen=True, slots=True)
class Test:
    """A dissipation test: when, how deep [m], how long [s] and how far dissipated [%]."""

    at: float
    length: float | None
    duration: float | None
    percent: float | None


@dataclass(frozen=True)
class SoundingDay:
    """One sounding on one day.

    Parameters
    ----------
    name
        Its name.
    first, last
        When it was first and last pushed.
    top, base
        Penetration length at the first and at the deepest point of the day [m].
    pushing
        Time during which the rods went down [s].
    rods
        Rod changes, and the time they took [s].
    stops, tests
        Pauses and dissipation tests.
    alarms
        Rule to how often it was raised, and to the gravest level, in words.
    notes
        When and what the crew noted.
    closed, closed_at
        How the hole was closed, in words, and when that was recorded; empty if it is not.
    grout
        Grout that went in [L].
    anchors
        Number of anchors; None if nobody said.
    reason
        Why the sounding ended; empty if nobody said.
    """

    name: str
    first: float
    last: float
    top: float
    base: float
    pushing: float
    rods: tuple[int, float]
    stops: tuple[Stop, ...] = ()
    tests: tuple[Test, ...] = ()
    alarms: Mapping[str, tuple[int, str]] = field(default_factory=dict)
    notes: tuple[tuple[float, str], ...] = ()
    closed: str = ""
    closed_at: float | None = None
    grout: float = 0.0
    anchors: int | None = None
    reason: str = ""

    @property
    def metres(self) -> float:
        """Metres pushed on the day."""
        return self.base - self.top

    @property
    def rate(self) -> float | None:
        """Metres an hour from the first to the last push, stops included."""
        hours = (self.last - self.first) / 3600
        return self.metres / hours if hours > 0 else None

    @property
    def testing(self) -> float:
        """Time for which the push stood for dissipation tests [s]."""
        return sum(stop.duration for stop in self.stops if stop.reason == TESTED)

    @property
    def standing(self) -> float:
        """Time for which the push stood for anything else: the downtime [s]."""
        return sum(stop.duration for stop in self.stops) - self.testing


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the diary of a day: when, of which sounding, what, and in words."""

    at: float
    sounding: str
    kind: Literal["began", "stop", "test", "note", "ended", "closed", "weather", "crew"]
    length: float | None
    duration: float | None
    text: str


@dataclass(frozen=True)
class DayBook:
    """One day of a job, and the job so far.

    Parameters
    ----------
    day
        The day.
    project, place, client
        What the job belongs to; empty if not known.
    soundings
        In the order in which they began.
    weather, crew, notes
        When and what was said of the day itself.
    job_soundings, job_metres
        Soundings and metres of the whole job up to this day.
    zone
        Zone in which times are told; None for that of the machine.
    """

    day: date
    project: str
    place: str
    client: str
    soundings: tuple[SoundingDay, ...]
    weather: tuple[tuple[float, str], ...] = ()
    crew: tuple[tuple[float, str], ...] = ()
    notes: tuple[tuple[float, str], ...] = ()
    job_soundings: int = 0
    job_metres: float = 0.0
    zone: tzinfo | None = None

    @property
    def metres(self) -> float:
        """Metres pushed on the day."""
        return sum(one.metres for one in self.soundings)

    @property
    def grout(self) -> float:
        """Grout of the day [L]."""
        return sum(one.grout for one in self.soundings)

    @property
    def hours(self) -> float:
        """Hours from the first to the last push of the day."""
        if not self.soundings:
            return 0.0
        first = min(one.first for one in self.soundings)
        return (max(one.last for one in self.soundings) - first) / 3600

    def clock(self, at: float) -> str:
        """Return the time of day."""
        return datetime.fromtimestamp(at, self.zone).strftime("%H:%M")

    def diary(self) -> tuple[Entry, ...]:
        """Return the day as it went: pushes, stops, tests, notes, closings, in order."""
        found: list[Entry] = []
        for one in self.soundings:
            name = one.name
            found.append(Entry(one.first, name, "began", one.top, None, ""))
            found += [
                Entry(s.at, name, "stop", s.length, s.duration, s.reason)
                for s in one.stops
                if s.reason != TESTED
            ]
            found += [
                Entry(t.at, name, "test", t.length, t.duration, _dissipated(t)) for t in one.tests
            ]
            found += [Entry(at, name, "note", None, None, text) for at, text in one.notes]
            found.append(Entry(one.last, name, "ended", one.base, None, one.reason))
            if one.closed_at is not None:
                found.append(Entry(one.closed_at, name, "closed", None, None, one.closed))
        found += [Entry(at, "", "weather", None, None, text) for at, text in self.weather]
        found += [Entry(at, "", "crew", None, None, text) for at, text in self.crew]
        found += [Entry(at, "", "note", None, None, text) for at, text in self.notes]
        mine = [e for e in found if datetime.fromtimestamp(e.at, self.zone).date() == self.day]
        return tuple(sorted(mine, key=lambda entry: entry.at))


def days_of(job: Job, zone: tzinfo | None = None) -> tuple[date, ...]:
    """Return the days on which something was pushed, and those of which something was said."""
    return _days(job.events(), zone)


def _days(events: Sequence[StoredEvent], zone: tzinfo | None) -> tuple[date, ...]:
    pushed = {datetime.fromtimestamp(e.at, zone).date() for e in events if e.kind in OF_THE_PUSH}
    said = {
        date.fromisoformat(str(e.details["day"]))
        for e in events
        if e.sounding is None and e.kind in OF_THE_DAY and "day" in e.details
    }
    return tuple(sorted(pushed | said))


def say_of_day(
    job: Job,
    day: date | None,
    *,
    by: str = "",
    weather: str = "",
    crew: str = "",
    note: str = "",
    zone: tzinfo | None = None,
) -> date:
    """Keep what the crew says of a day, also of one on which nothing could be pushed.

    Parameters
    ----------
    job
        Open for writing.
    day
        The day it is about; the last one of the record if None.
    by
        Who says so; may be empty.
    weather, crew, note
        Words; empty ones are not kept.
    zone
        Zone of the days; that of the machine if None.

    Raises
    ------
    RecordError
        If no day is given and the record has none.
    """
    if day is None:
        days = days_of(job, zone)
        if not days:
            raise RecordError(f"{job.path}: no push is in the record; say of which day it is")
        day = days[-1]
    for kind, text in (("weather", weather), ("crew", crew), ("note", note)):
        if text.strip():
            job.add_event(
                kind,
                text=text.strip(),
                author=by.strip() or None,
                details={"day": day.isoformat()},
            )
    return day


def daybook(job: Job, day: date | None = None, *, zone: tzinfo | None = None) -> DayBook:
    """Return a day of a job from its record.

    Parameters
    ----------
    job
        The job.
    day
        The day; the last one on which something was pushed or said if None.
    zone
        Zone of the day and its times; that of the machine if None.

    Raises
    ------
    RecordError
        If nothing was pushed in this job or on this day, and nothing was said of it.
    """
    everything = job.events()
    days = _days(everything, zone)
    if not days:
        raise RecordError(f"{job.path}: no push is in the record, so there is no day to report")
    day = days[-1] if day is None else day
    if day not in days:
        told = ", ".join(map(str, days))
        raise RecordError(f"{job.path}: nothing was pushed on {day}; days in the record: {told}")

    def on_the_day(event: StoredEvent) -> bool:
        return datetime.fromtimestamp(event.at, zone).date() == day

    by_sounding: dict[str, list[StoredEvent]] = {name: [] for name in job.soundings()}
    for event in everything:
        if event.sounding is not None:
            by_sounding[event.sounding].append(event)
    rows, whole, count = [], 0.0, 0
    for name, events in by_sounding.items():
        until = [e for e in events if datetime.fromtimestamp(e.at, zone).date() <= day]
        lengths = _lengths(until)
        if lengths:
            count += 1
            whole += max(lengths) - min(lengths)
        today = [e for e in until if on_the_day(e) and e.kind in OF_THE_PUSH]
        if today:
            # what was entered later (a closing, a note) belongs to the sounding, not to a clock
            said = [e for e in events if e.kind not in OF_THE_PUSH | {"alarm"}]
            alarms = [e for e in until if on_the_day(e) and e.kind == "alarm"]
            rows.append(_sounding(job, name, today, alarms, said))
    own = [e for e in everything if e.sounding is None]
    project = job.project()
    return DayBook(
        day,
        project.name or "",
        project.place or "",
        project.client or "",
        tuple(sorted(rows, key=lambda row: row.first)),
        _of_the_day(own, "weather", day),
        _of_the_day(own, "crew", day),
        _of_the_day(own, "note", day),
        count,
        whole,
        zone,
    )


def _of_the_day(
    events: Sequence[StoredEvent], kind: str, day: date
) -> tuple[tuple[float, str], ...]:
    """Return what was said of a day: the entry names the day it is about."""
    mine = (e for e in events if e.kind == kind and e.details.get("day") == day.isoformat())
    return tuple((e.at, e.text + (f" ({e.author})" if e.author else "")) for e in mine)


def _lengths(events: Sequence[StoredEvent]) -> list[float]:
    found = (e.details.get("length") for e in events if e.kind in OF_THE_PUSH)
    return [float(length) for length in found if length is not None]


def _sounding(
    job: Job,
    name: str,
    today: Sequence[StoredEvent],
    alarms: Sequence[StoredEvent],
    said: Sequence[StoredEvent],
) -> SoundingDay:
    lengths = _lengths(today) or [0.0]
    moves = [e for e in today if e.kind in ("start", "stop")] or list(today)
    changes = [float(e.details.get("duration") or 0.0) for e in today if e.kind == "rod-change"]
    closings = [e for e in said if e.kind == "closing"]
    return SoundingDay(
        name,
        min(e.at for e in moves),
        max(e.at for e in moves),
        min(lengths),
        max(lengths),
        _pushing(today),
        (len(changes), sum(changes)),
        _stops(today, said),
        _tests(today),
        _raised(alarms),
        tuple((e.at, e.text) for e in said if e.kind == "note" and "by" not in e.details),
        closings[-1].text if closings else "",
        closings[-1].at if closings else None,
        float(closings[-1].details.get("take") or 0.0) if closings else 0.0,
        _anchors(job, name),
        str(job.statements(name).get("stop_reason") or ""),
    )


def _pushing(events: Sequence[StoredEvent]) -> float:
    """Return the time between each start and the stop that follows it [s]."""
    total, started = 0.0, None
    for event in sorted(events, key=lambda e: e.at):
        if event.kind == "start":
            started = event.at
        elif event.kind == "stop" and started is not None:
            total, started = total + event.at - started, None
    return total


def _stops(today: Sequence[StoredEvent], said: Sequence[StoredEvent]) -> tuple[Stop, ...]:
    found = []
    for event in today:
        duration = float(event.details.get("duration") or 0.0)
        if event.kind != "pause" or duration < SHORTEST:
            continue
        end = event.at + duration
        inside = [e for e in (*today, *said) if event.at - 5.0 <= e.at <= end + 5.0]
        found.append(Stop(event.at, event.details.get("length"), duration, _reason(inside)))
    return tuple(found)


def _reason(inside: Sequence[StoredEvent]) -> str:
    """Return why the push paused: as the crew said, else a test, else a note."""
    for event in inside:
        if event.kind == "pause-called":
            return str(event.details.get("reason") or event.text)
    if any(event.kind == "dissipation-start" for event in inside):
        return TESTED
    notes = [e.text for e in inside if e.kind == "note" and "by" not in e.details]
    return f"note: {notes[0]}" if notes else NOT_SAID


def _dissipated(test: Test) -> str:
    return "" if test.percent is None else f"{test.percent:.0f} % dissipated"


def _tests(today: Sequence[StoredEvent]) -> tuple[Test, ...]:
    ends = [e for e in today if e.kind == "dissipation-end"]
    found = []
    for event in ends:
        details = event.details
        found.append(
            Test(event.at, details.get("length"), details.get("elapsed"), details.get("percent"))
        )
    return tuple(found)


def _raised(alarms: Sequence[StoredEvent]) -> dict[str, tuple[int, str]]:
    count: Counter[str] = Counter()
    level: dict[str, str] = {}
    for event in alarms:
        rule, change = str(event.details.get("rule")), event.details.get("change")
        if change == "raised":
            count[rule] += 1
        if change in ("raised", "rose to stop"):
            now = str(event.details.get("level"))
            level[rule] = "stop" if "stop" in (now, level.get(rule)) else now
    return {rule: (count[rule], level[rule]) for rule in sorted(level)}


def _anchors(job: Job, name: str) -> int | None:
    used = job.equipment(name)
    plan, rig = used.get("plan"), used.get("rig")
    if isinstance(plan, dict):
        anchors = plan.get("plan", {}).get("anchors")
        if isinstance(anchors, dict):
            return int(anchors["count"])
    return getattr(rig, "anchors", None)

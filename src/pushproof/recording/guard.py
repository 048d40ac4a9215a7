"""The guard: rules against limits, once, in Python, for page, terminal and report alike.

A pure state machine: messages, the passing of time and acknowledgements go in, alarm events come
out. It reads no clock and no source. An alarm is raised, acknowledged and cleared; one that
cleared before anybody acknowledged it stays visible until somebody does.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from pushproof.model.sounding import Event
from pushproof.model.stream import Message
from pushproof.recording.limits import Bound, Rule, load_limits
from pushproof.recording.signals import Setup, Signals
from pushproof.recording.snapshot import AlarmState, Level

SHELF_LIFE = 1800.0
"""An alarm is shelved for half an hour at most [s]; our own choice."""

INTERVAL_MARGIN = 1.1
"""A push at 20 mm/s with one reading a second stands exactly at 20 mm; allow a tenth more."""


class Change(StrEnum):
    """What happened to an alarm."""

    RAISED = "raised"
    ROSE = "rose to stop"
    FELL = "fell to caution"
    CLEARED = "cleared"
    ACKNOWLEDGED = "acknowledged"
    SHELVED = "shelved"
    BACK = "back from the shelf"


@dataclass(frozen=True, slots=True)
class AlarmEvent:
    """One change of one alarm: a fact for the record.

    Parameters
    ----------
    change, rule, level
        What happened, to the alarm of which rule, and its level now.
    monotonic, arrival, length
        When [s] and at which penetration length [m], None if it is not known.
    text
        The alarm in one sentence, with number, unit and limit.
    advice
        What to do.
    value, limit
        In ``unit``, the unit people read.
    source, mark
        Where the limit comes from, and how sure it is.
    """

    change: Change
    rule: str
    level: Level
    monotonic: float
    arrival: float
    length: float | None
    text: str
    advice: str = ""
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str = ""
    mark: str = ""

    def event(self) -> Event:
        """Return it as an event of the sounding."""
        return Event("alarm", self.length, text=f"{self.change}: {self.text}")


@dataclass(slots=True)
class _Alarm:
    """State of one rule."""

    level: Level = Level.OK
    beyond: dict[Level, float] = field(default_factory=dict)
    """Since when the value is beyond the limit of a level."""
    inside: float | None = None
    """Since when the value is back inside the level that is up."""
    worst: AlarmState | None = None
    """As it was shown when it was worst: what a cleared alarm goes on saying."""
    shown: AlarmState | None = None
    shelved: float | None = None
    """Until when it is shelved, on the clock of the messages."""


class Guard:
    """Watch a push.

    Parameters
    ----------
    setup
        What must be known of the job.
    limits
        Rules by id; the table of the package if None.

    Examples
    --------
    >>> from pushproof.model.stream import Reading, StreamKind
    >>> guard = Guard()
    >>> for s in (0, 6):
    ...     events = guard.message(Reading(StreamKind.CONE, s, s, {"battery": 3.4}))
    >>> events[0].text
    'battery of the cone 3.4 V, below 3.5 V'
    """

    def __init__(
        self, setup: Setup | None = None, limits: Mapping[str, Rule] | None = None
    ) -> None:
        self.setup = setup or Setup()
        self.rules = dict(load_limits() if limits is None else limits)
        if self.setup.interval is not None:
            self._order_interval(self.setup.interval)
        self.signals = Signals(self.setup)
        self._alarms = {key: _Alarm() for key in self.rules}
        self._now = -math.inf
        self._arrival = 0.0

    def _order_interval(self, interval: float) -> None:
        """Draw the caution limit of the reading interval from the class ordered."""
        rule = self.rules.get("interval")
        if rule is None:
            return
        high = interval * INTERVAL_MARGIN
        note = f"{1000 * interval:g} mm for the class ordered, and a tenth for the rate"
        bounds = tuple(
            dataclasses.replace(b, high=high, mark="set by the project", source="", note=note)
            if b.level is Level.CAUTION
            else dataclasses.replace(b, high=max(b.high, high))
            for b in rule.bounds
        )
        self.rules["interval"] = dataclasses.replace(rule, bounds=bounds)

    # -- what comes in -------------------------------------------------------------------------

    @property
    def step(self) -> str:
        """Step of the field procedure; rules apply only in their steps."""
        return self.signals.step

    @step.setter
    def step(self, step: str) -> None:
        if step != self.signals.step:
            self.signals.step, self.signals.step_since = step, self._now

    def message(self, message: Message) -> list[AlarmEvent]:
        """Take one message and return what it changes."""
        self.signals.message(message)
        self._arrival = message.arrival
        return self._judge(message.monotonic)

    def tick(self, monotonic: float, wall: float | None = None) -> list[AlarmEvent]:
        """Let time pass without a message; call it a few times a second.

        Parameters
        ----------
        monotonic
            Surface monotonic clock [s].
        wall
            Surface wall clock [s since 1970]; tells a laptop that slept.
        """
        self.signals.tick(monotonic, wall)
        if wall is not None:
            self._arrival = wall
        return self._judge(monotonic)

    def observe(self, signal: str, value: float, monotonic: float) -> list[AlarmEvent]:
        """Set a signal that no stream carries (``free_disk`` [MB], ``tally`` [%])."""
        self.signals.observe(signal, value)
        return self._judge(monotonic)

    def acknowledge(
        self, rule: str | None = None, *, monotonic: float | None = None
    ) -> list[AlarmEvent]:
        """Acknowledge the alarm of a rule, or all.

        Raises
        ------
        ValueError
            If there is no such rule.
        """
        if rule is not None and rule not in self._alarms:
            raise ValueError(f"no rule {rule!r}; rules: {' '.join(self._alarms)}")
        if monotonic is not None:
            self._now = max(self._now, monotonic)
        events = []
        for key, alarm in self._alarms.items():
            if rule not in (None, key) or alarm.shown is None or alarm.shown.acknowledged:
                continue
            events.append(self._event(Change.ACKNOWLEDGED, self.rules[key], alarm, None))
            cleared = alarm.shown.cleared
            alarm.shown = None if cleared else dataclasses.replace(alarm.shown, acknowledged=True)
        return events

    def shelve(
        self, rule: str, seconds: float, *, monotonic: float | None = None
    ) -> list[AlarmEvent]:
        """Put an alarm aside for a while: it stays visible and does not sound.

        One that stops the push cannot be shelved, and one that rises to stop comes back at once.

        Raises
        ------
        ValueError
            If there is no such alarm now, it is at stop, or the time is none or too long.
        """
        alarm = self._alarms.get(rule)
        faults = []
        if alarm is None or alarm.shown is None:
            faults.append(f"no alarm {rule!r} is up")
        elif alarm.level is Level.STOP:
            faults.append(f"the alarm {rule!r} is at stop and cannot be shelved")
        if not 0 < seconds <= SHELF_LIFE:
            faults.append(f"seconds {seconds:g}: above 0 and at most {SHELF_LIFE:g}")
        if faults or alarm is None or alarm.shown is None:
            raise ValueError("; ".join(faults))
        if monotonic is not None:
            self._now = max(self._now, monotonic)
        alarm.shelved = self._now + seconds
        event = self._event(Change.SHELVED, self.rules[rule], alarm, None)
        cleared = alarm.shown.cleared
        alarm.shown = None if cleared else dataclasses.replace(alarm.shown, acknowledged=True)
        text = f"{event.text}; shelved for {seconds / 60:.0f} min"
        return [dataclasses.replace(event, text=text, value=seconds, limit=None, unit="s")]

    def alarms(self) -> tuple[AlarmState, ...]:
        """Return the alarms that are up or not acknowledged, gravest and newest first."""
        shown = [
            a.shown
            if a.shelved is None
            else dataclasses.replace(a.shown, shelved=max(a.shelved - self._now, 0.0))
            for a in self._alarms.values()
            if a.shown is not None
        ]
        return tuple(sorted(shown, key=lambda a: (a.cleared, -a.level, a.acknowledged, -a.since)))

    def level(self, rule: str) -> Level:
        """Return the level of a rule now."""
        alarm = self._alarms.get(rule)
        return Level.OK if alarm is None else alarm.level

    # -- judging -------------------------------------------------------------------------------

    def _judge(self, monotonic: float) -> list[AlarmEvent]:
        if monotonic < self._now - 1.0:  # another run of the clock: holds begin anew
            for alarm in self._alarms.values():
                alarm.beyond = dict.fromkeys(alarm.beyond, monotonic)
                alarm.inside = None if alarm.inside is None else monotonic
        self._now = monotonic
        values, step = self.signals.values, self.step
        events: list[AlarmEvent] = []
        for key, rule in self.rules.items():
            value = values.get(rule.signal)
            if value is None:
                continue
            if (rule.steps and step not in rule.steps) or (rule.settle and not self._settled(rule)):
                value = math.nan  # inside every limit: it does not apply now
            alarm = self._alarms[key]
            if alarm.shelved is not None and self._now >= alarm.shelved:
                self._take_back(rule, alarm, events)
            if alarm.level or alarm.beyond or rule.level(value):
                self._move(rule, alarm, value, events)
        return events

    def _take_back(self, rule: Rule, alarm: _Alarm, events: list[AlarmEvent]) -> None:
        """End the shelving of an alarm; one that is still up asks to be acknowledged again."""
        alarm.shelved = None
        if alarm.shown is not None and alarm.level:
            alarm.shown = dataclasses.replace(alarm.shown, acknowledged=False)
            events.append(self._event(Change.BACK, rule, alarm, None))

    def _settled(self, rule: Rule) -> bool:
        point = self.signals.point
        return point is not None and point.since >= rule.settle

    def _move(self, rule: Rule, alarm: _Alarm, value: float, events: list[AlarmEvent]) -> None:
        """Move one alarm: up after its hold time, down with hysteresis."""
        beyond = {
            b.level: alarm.beyond.get(b.level, self._now) for b in rule.bounds if b.exceeded(value)
        }
        alarm.beyond = beyond
        reached = max(
            (x for x, t in beyond.items() if self._now - t >= rule.hold), default=Level.OK
        )
        if reached > alarm.level:
            change = Change.RAISED if alarm.level is Level.OK else Change.ROSE
            alarm.level, alarm.inside = reached, None
            if reached is Level.STOP:
                alarm.shelved = None
            self._show(change, rule, alarm, value, events)
            return
        held = rule.held(value)
        if held < alarm.level and self._rested(rule, alarm, value):
            change = Change.CLEARED if held is Level.OK else Change.FELL
            alarm.level, alarm.inside = held, None
            self._show(change, rule, alarm, value, events)
            return
        if held >= alarm.level:
            alarm.inside = None
        if alarm.shown is not None and alarm.level and not math.isnan(value):
            shown = value * rule.factor
            if shown != alarm.shown.value:
                text = _text(rule, _bound(rule, alarm.level), value)
                alarm.shown = dataclasses.replace(alarm.shown, value=shown, text=text)
                if alarm.worst is None or _farther(rule, alarm.shown, alarm.worst):
                    alarm.worst = alarm.shown

    def _rested(self, rule: Rule, alarm: _Alarm, value: float) -> bool:
        """Tell whether a value was back inside long enough; what does not apply clears at once."""
        if alarm.inside is None:
            alarm.inside = self._now
        return math.isnan(value) or self._now - alarm.inside >= rule.rest

    def _show(
        self, change: Change, rule: Rule, alarm: _Alarm, value: float, events: list[AlarmEvent]
    ) -> None:
        before = alarm.shown
        event = self._event(change, rule, alarm, value)
        events.append(event)
        if change is Change.CLEARED:
            worst, alarm.worst = alarm.worst or before, None
            seen = before is None or before.acknowledged or alarm.shelved is not None
            if before is None or worst is None or seen:
                alarm.shown = None
            else:
                alarm.shown = dataclasses.replace(worst, since=before.since, cleared=True)
            return
        alarm.shown = AlarmState(
            rule.id,
            alarm.level,
            event.text,
            rule.advice,
            self._arrival if change is Change.RAISED or before is None else before.since,
            event.value,
            event.limit,
            rule.unit,
            acknowledged=change is Change.FELL and before is not None and before.acknowledged,
            source=event.source,
            mark=event.mark,
        )
        if alarm.worst is None or alarm.level >= alarm.worst.level:
            alarm.worst = alarm.shown

    def _event(self, change: Change, rule: Rule, alarm: _Alarm, value: float | None) -> AlarmEvent:
        level = alarm.level
        if level is Level.OK or value is None:
            shown = alarm.shown
            text = rule.name if shown is None else shown.text
            bound = rule.bounds[0] if shown is None else _bound(rule, shown.level)
        else:
            bound = _bound(rule, level)
            text = _text(rule, bound, value)
        known = value is not None and not math.isnan(value)
        return AlarmEvent(
            change,
            rule.id,
            level,
            self._now,
            self._arrival,
            self.signals.length,
            text,
            rule.advice,
            value * rule.factor if known and value is not None else None,
            _limit(bound, value) * rule.factor,
            rule.unit,
            bound.source or bound.note,
            bound.mark,
        )


def _farther(rule: Rule, one: AlarmState, other: AlarmState) -> bool:
    """Tell whether one is as high as the other and its value farther beyond its limit."""
    if one.level != other.level or one.value is None or other.value is None:
        return one.level > other.level
    if rule.test == "outside":
        return abs(one.value - (one.limit or 0.0)) > abs(other.value - (other.limit or 0.0))
    return one.value > other.value if rule.test == "above" else one.value < other.value


def _bound(rule: Rule, level: Level) -> Bound:
    return next((b for b in rule.bounds if b.level is level), rule.bounds[0])


def _limit(bound: Bound, value: float | None) -> float:
    """Return the limit of a bound that the value is nearest to."""
    if math.isinf(bound.low):
        return bound.high
    if math.isinf(bound.high):
        return bound.low
    if value is None or math.isnan(value):
        return bound.high
    return bound.high if abs(value - bound.high) < abs(value - bound.low) else bound.low


def _text(rule: Rule, bound: Bound, value: float) -> str:
    if math.isnan(value):
        return rule.name
    limit = _limit(bound, value)
    side = "limit"
    if bound.exceeded(value):
        side = "above" if value > limit else "below"
    shown = rule.shown(value)
    return rule.text.format(name=rule.name, value=shown, side=side, limit=rule.shown(limit))

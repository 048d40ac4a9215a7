"""The field procedure: named steps in trade words, zero readings, dissipations, what is missing.

A crew is never blocked: any step may follow any other, and a step that was left out is a finding.
Nothing here reads a clock; times come with the messages.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TypeAlias

from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import Dissipation, Event, Water, Zero
from pushproof.model.stream import Advance, Reading
from pushproof.processing.streams.depth import DepthEvent, DepthPoint
from pushproof.processing.streams.dissipation import DissipationLog, hydrostatic, interval_asked
from pushproof.recording.snapshot import DissipationState, StepState
from pushproof.recording.zeroreading import ZERO_SECONDS, ZeroReading

Details: TypeAlias = dict[str, float | str | None]

AUTO_DISSIPATION = 60.0
"""A pause with pore pressure longer than this is logged as a dissipation [s]; our own choice."""


class Step(StrEnum):
    """Steps of a sounding."""

    SET_UP = "set up"
    ZEROS_BEFORE = "zeros before"
    PUSH = "push"
    DISSIPATION = "dissipation"
    ZEROS_AFTER = "zeros after"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class ProcedureEvent:
    """Something of the procedure: a fact for the record.

    ``kind`` is one of ``step``, ``zero``, ``dissipation-start``, ``dissipation-end``,
    ``rod-added``, ``rod-removed``, ``note``, ``stick-up``, ``reference``; ``details`` are numbers
    and words for a program to read.
    """

    kind: str
    monotonic: float
    arrival: float
    length: float | None
    text: str = ""
    details: Details = field(default_factory=dict)

    def event(self) -> Event:
        """Return it as an event of the sounding."""
        kind = self.kind.split("-")[0] if self.kind.startswith("dissipation") else self.kind
        return Event(kind, self.length, text=self.text)


class Procedure:
    """Follow a sounding through its steps.

    Parameters
    ----------
    water
        Water level, for the percent dissipated.
    auto_dissipation
        A pause longer than this is logged as a dissipation by itself [s]; None only on the word
        of the operator.
    zero_seconds
        Averaging time of a zero reading [s].

    Examples
    --------
    >>> procedure = Procedure()
    >>> [event.text for event in procedure.go(Step.PUSH, 0.0, 0.0)]
    ['push']
    >>> [finding.id for finding in procedure.findings()]
    ['zeros-before-missing']
    """

    def __init__(
        self,
        water: Water | None = None,
        auto_dissipation: float | None = AUTO_DISSIPATION,
        zero_seconds: float = ZERO_SECONDS,
    ) -> None:
        self.water = water
        self.auto_dissipation = auto_dissipation
        self.zero_seconds = zero_seconds
        self.step = Step.SET_UP
        self.since: float | None = None
        self.done: list[Step] = []
        self.zero: ZeroReading | None = None
        self.zero_readings: dict[str, ZeroReading] = {}
        self.test: DissipationLog | None = None
        self.tests: list[DissipationLog] = []
        self._point: DepthPoint | None = None
        self._stopped: tuple[float, float] | None = None  # surface time and length of the stop
        self._recent: deque[tuple[float, Mapping[str, float]]] = deque(maxlen=2000)
        self._pause: list[tuple[float, Mapping[str, float]]] = []
        self._before: Mapping[str, float] = {}  # last reading while pushing
        self._refused_pause: float | None = None
        self._moved_from: float | None = None
        self._untold = False  # the running test began by itself

    # -- the crew --------------------------------------------------------------------------------

    def go(self, step: Step, monotonic: float, arrival: float) -> list[ProcedureEvent]:
        """Go to a step; any step may follow any other."""
        events = self._leave(monotonic, arrival)
        if step is Step.DISSIPATION:
            return events + self.start_dissipation(monotonic, arrival)
        self._enter(step, monotonic)
        if step in (Step.ZEROS_BEFORE, Step.ZEROS_AFTER):
            self.zero = ZeroReading(step.value.split()[1], self.zero_seconds)
        return [*events, self._event("step", monotonic, arrival, step.value)]

    def start_dissipation(self, monotonic: float, arrival: float) -> list[ProcedureEvent]:
        """Start a dissipation test; its time zero is when the push stopped."""
        if self.test is not None:
            return []
        length = self._point.length if self._point is not None else 0.0
        stopped, depth = self._stopped or (monotonic, length)
        seen = self._before or (self._pause[-1][1] if self._pause else {})
        channel = next((k for k in ("u2", "u1", "u3") if k in seen), "u2")
        u0 = hydrostatic(depth, self.water)
        test = DissipationLog(stopped, depth, channel, u0, self._before.get(channel))
        for time, values in self._pause:
            test.push(time, values)
        self.test = test
        self._untold = False
        self._enter(Step.DISSIPATION, monotonic)
        text = f"dissipation {len(self.tests) + 1} at {depth:.2f} m"
        details: Details = {"stopped": stopped, "channel": channel, "u0": u0}
        return [self._event("dissipation-start", monotonic, arrival, text, details)]

    def end_dissipation(
        self, monotonic: float, arrival: float, reason: str = "ended by the operator"
    ) -> list[ProcedureEvent]:
        """End the running test and go back to the push."""
        if self.test is None:
            return []
        test, self.test = self.test, None
        self.tests.append(test)
        self._refused_pause = self._stopped[0] if self._stopped else None
        self._enter(Step.PUSH, monotonic)
        percent = "" if test.percent is None else f", {test.percent:.0f} % dissipated"
        text = f"dissipation {len(self.tests)}: {test.elapsed:.0f} s{percent}; {reason}"
        details: Details = {
            "elapsed": test.elapsed,
            "percent": test.percent,
            "t50": test.t50,
            "logged": float(test.logged),
        }
        return [self._event("dissipation-end", monotonic, arrival, text, details)]

    # -- what comes in ---------------------------------------------------------------------------

    def cone(self, reading: Reading) -> list[ProcedureEvent]:
        """Take a reading of the cone."""
        now = (reading.monotonic, reading.arrival)
        if self.zero is not None and self.zero.push(reading):
            return self._finish_zero(*now)
        if self.test is not None:
            self.test.push(reading.monotonic, reading.values)
        elif self._stopped is not None:
            if len(self._pause) < 20_000:
                self._pause.append((reading.monotonic, reading.values))
            return self._by_itself(reading)
        else:
            self._recent.append((reading.monotonic, reading.values))
        return []

    def depth(self, point: DepthPoint, events: list[DepthEvent]) -> list[ProcedureEvent]:
        """Take what the encoder says; a new push ends a test."""
        out: list[ProcedureEvent] = []
        self._point = point
        for event in events:
            if event.kind == "stop":
                self._stop(event)
            elif event.kind == "start":
                if self.test is not None:
                    reason = "the push went on"
                    out += self.end_dissipation(point.monotonic, point.arrival, reason)
                self._stopped, self._pause = None, []
        if self.test is not None and self._untold and point.state is Advance.ROD_CHANGE:
            reason = "a rod is changed"
            out += self.end_dissipation(point.monotonic, point.arrival, reason)
        out += self._push_untold(point)
        return out

    def _stop(self, event: DepthEvent) -> None:
        """A stop is recognised after a while: sort the readings since by when it was."""
        self._stopped = (event.monotonic, event.length)
        self._pause = [one for one in self._recent if one[0] >= event.monotonic]
        before = [values for time, values in self._recent if time < event.monotonic]
        self._before = before[-1] if before else {}
        self._recent.clear()

    def _by_itself(self, reading: Reading) -> list[ProcedureEvent]:
        """Start a dissipation in a long pause that nobody called one."""
        if self.auto_dissipation is None or self._stopped is None or self.step is not Step.PUSH:
            return []
        stopped = self._stopped[0]
        measured = any(key in reading.values for key in ("u1", "u2", "u3"))
        state = None if self._point is None else self._point.state
        waited = reading.monotonic - stopped >= self.auto_dissipation
        if not measured or not waited or state is not Advance.PAUSED:
            return []
        if self._refused_pause == stopped:
            return []
        events = self.start_dissipation(reading.monotonic, reading.arrival)
        self._untold = True
        return events

    def _push_untold(self, point: DepthPoint) -> list[ProcedureEvent]:
        """Go to the push when the rods plainly go down and nobody said so."""
        if self.step not in (Step.SET_UP, Step.ZEROS_BEFORE):
            self._moved_from = None
            return []
        if point.state is not Advance.PUSHING:
            self._moved_from = None
            return []
        if self._moved_from is None:
            self._moved_from = point.length
        if point.length - self._moved_from < 0.1:
            return []
        events = self.go(Step.PUSH, point.monotonic, point.arrival)
        said = "the push began untold"
        note = self._event("note", point.monotonic, point.arrival, said, {"by": "recorder"})
        return [*events, note]

    # -- what is there and what is missing -------------------------------------------------------

    @property
    def zeros_before(self) -> tuple[Zero, ...]:
        """Zero readings before the push."""
        return self._zeros("before")

    @property
    def zeros_after(self) -> tuple[Zero, ...]:
        """Zero readings after the push."""
        return self._zeros("after")

    def _zeros(self, which: str) -> tuple[Zero, ...]:
        reading = self.zero_readings.get(which)
        return () if reading is None else reading.zeros()

    @property
    def dissipations(self) -> tuple[Dissipation, ...]:
        """Dissipation tests that ended."""
        return tuple(test.result() for test in self.tests)

    def missing(self) -> tuple[str, ...]:
        """Return the steps that should have been done by now and were not, in trade words."""
        order = (Step.ZEROS_BEFORE, Step.PUSH, Step.ZEROS_AFTER)
        place = {
            Step.SET_UP: 0,
            Step.ZEROS_BEFORE: 0,
            Step.PUSH: 1,
            Step.DISSIPATION: 1,
            Step.ZEROS_AFTER: 2,
            Step.CLOSED: 3,
        }
        return tuple(step.value for step in order[: place[self.step]] if not self._was_done(step))

    def _was_done(self, step: Step) -> bool:
        if step is Step.PUSH:
            return Step.PUSH in self.done or self.step in (Step.PUSH, Step.DISSIPATION)
        reading = self.zero_readings.get(step.value.split()[1])
        return reading is not None and reading.count > 0

    def findings(self) -> tuple[Finding, ...]:
        """Return a finding for each missing step, short zero and short test."""
        words = {
            "zeros before": "nothing shows drift of the zeros, and none can be corrected",
            "zeros after": "nothing shows drift of the zeros; the class achieved cannot be shown",
            "push": "no push was recorded",
        }
        found = [
            Finding(
                f"{step.replace(' ', '-')}-missing",
                Severity.CAUTION,
                f"the step {step!r} was left out",
                words[step],
                source="good practice, from memory",
            )
            for step in self.missing()
        ]
        for reading in self.zero_readings.values():
            found += reading.findings()
        for test in self.tests:
            found += test.findings()
        return tuple(found)

    def step_state(self) -> StepState:
        """Return the step as screens show it."""
        done = tuple(dict.fromkeys(step.value for step in self.done))
        return StepState(self.step.value, self.since, done, self.missing())

    def dissipation_state(self, now: float) -> DissipationState | None:
        """Return the running test as screens show it."""
        test = self.test
        if test is None:
            return None
        elapsed = max(now - test.stopped, test.elapsed)
        assumed = self.water is not None and self.water.origin == "assumed"
        return DissipationState(
            len(self.tests) + 1,
            test.depth,
            elapsed,
            test.channel,
            test.peak,
            test.present,
            test.u0,
            assumed,
            test.percent,
            test.t50,
            test.logged,
            test.interval,
            interval_asked(elapsed),
        )

    # -- inside ----------------------------------------------------------------------------------

    def _enter(self, step: Step, monotonic: float) -> None:
        if step is not self.step:
            self.done.append(self.step)
        self.step, self.since = step, monotonic

    def _leave(self, monotonic: float, arrival: float) -> list[ProcedureEvent]:
        """Finish what the present step left open."""
        events: list[ProcedureEvent] = []
        if self.zero is not None:
            events += self._finish_zero(monotonic, arrival)
        if self.test is not None:
            events += self.end_dissipation(monotonic, arrival)
        return events

    def _finish_zero(self, monotonic: float, arrival: float) -> list[ProcedureEvent]:
        assert self.zero is not None
        reading, self.zero = self.zero, None
        self.zero_readings[reading.which] = reading
        details: Details = {"which": reading.which}
        details |= {"seconds": reading.elapsed, "count": float(reading.count)}
        for zero in reading.zeros():
            details[zero.channel] = zero.value
            details[f"{zero.channel}_spread"] = zero.spread
        details["temperature"] = reading.mean("temperature")
        text = f"zeros {reading.which}: {reading.elapsed:.0f} s, {reading.count} readings"
        return [self._event("zero", monotonic, arrival, text, details)]

    def _event(
        self,
        kind: str,
        monotonic: float,
        arrival: float,
        text: str,
        details: Details | None = None,
    ) -> ProcedureEvent:
        length = None if self._point is None else self._point.length
        return ProcedureEvent(kind, monotonic, arrival, length, text, details or {})

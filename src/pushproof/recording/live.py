"""The live listener: messages and the words of the crew in, one snapshot for the screens out.

It joins guard, link watch and procedure. Each message is judged as it comes; the snapshot is made
when a screen asks. Every event (alarm, procedure, encoder) is handed to ``on_event`` for the
record. Safe to call from several threads.

``LiveState`` and its parts are in :mod:`pushproof.recording.snapshot`; they are named here too,
because this is where screens look for them.
"""

from __future__ import annotations

import dataclasses
import math
import threading
import time
from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Literal

from pushproof.model.findings import Finding
from pushproof.model.sounding import Water
from pushproof.model.stream import Advance, Message, Reading, StreamKind
from pushproof.processing.streams.depth import DepthEvent, DepthPoint
from pushproof.processing.streams.encoder import RodTally, rod_tally
from pushproof.recording.guard import Guard
from pushproof.recording.limits import Rule
from pushproof.recording.linkwatch import LinkModel, LinkVerdict, LinkWatch, Trouble
from pushproof.recording.liveevents import LiveEvent, event_fields
from pushproof.recording.liverow import LiveRow
from pushproof.recording.procedure import Procedure, ProcedureEvent, Step
from pushproof.recording.signals import Setup, Signals
from pushproof.recording.snapshot import (
    AdvanceState,
    ChannelState,
    ForecastState,
    Level,
    LinkState,
    LiveState,
    TiltState,
    as_json,
)
from pushproof.store import Stored

__all__ = ["Live", "LiveEvent", "LiveRow", "LiveState", "as_json", "event_fields"]

CHANNELS = ("qc", "fs", "u1", "u2", "u3")
_CAPACITY_RULE = {"qc": "qc-capacity", "fs": "fs-capacity"}
REAL_TIME = 30.0
"""A source whose clock is further from ours than this is a replay [s]."""
NOTES = 5


class Live:
    """Listen to a sounding.

    Parameters
    ----------
    sounding
        Its name.
    setup
        What the guard must know of the job.
    limits
        Rules by id; the table of the package if None.
    water
        Water level, for the percent dissipated.
    rods
        Rods in the string at the start.
    count_rods
        ``"strokes"`` counts a rod with every stroke that ends half a rod length or more after the
        last rod; ``"operator"`` only on the word of the crew.
    auto_dissipation
        A pause longer than this is logged as a dissipation [s]; None only on the word of the crew.
    link_model
        Numbers of the link watch.
    on_event
        Called with every event, in the thread that caused it.

    Examples
    --------
    >>> from pushproof.model.stream import Reading, StreamKind
    >>> live = Live("A-1")
    >>> live(Reading(StreamKind.CONE, 0.0, 0.0, {"qc": 1500.0, "link_level": 31.0}))
    >>> state = live.state()
    >>> state.channel("qc").value, state.link.level, state.step.name
    (1500.0, 31.0, 'set up')
    """

    def __init__(
        self,
        sounding: str,
        setup: Setup | None = None,
        *,
        limits: Mapping[str, Rule] | None = None,
        water: Water | None = None,
        rods: int = 1,
        count_rods: Literal["operator", "strokes"] = "operator",
        auto_dissipation: float | None = 60.0,
        link_model: LinkModel | None = None,
        on_event: Callable[[LiveEvent], object] | None = None,
    ) -> None:
        setup = setup or Setup()
        if water is not None and setup.water_level is None:
            setup = dataclasses.replace(setup, water_level=water.level)
        self.sounding = sounding
        self.guard = Guard(setup, limits)
        self.procedure = Procedure(water, auto_dissipation)
        self.watch = LinkWatch(link_model)
        self.count_rods = count_rods
        self.rows: list[LiveRow] = []
        self.tallies: list[RodTally] = []
        self._on_event = on_event
        self._lock = threading.RLock()
        self._notes: list[str] = []
        self._pause: str | None = None
        self._silent = False
        self._engine: float | None = None
        self._rod_length = -math.inf  # length at which the top rod came in
        self._arrival = self._monotonic = 0.0
        self._ahead = 0.0  # source clock minus ours, for a replay
        self.signals.rods = rods
        self._step()

    @property
    def signals(self) -> Signals:
        """The signals of the guard."""
        return self.guard.signals

    # -- messages --------------------------------------------------------------------------------

    def __call__(self, message: Message | Stored) -> None:
        """Take a message of a source, or one with its number in the record."""
        number = 0
        if isinstance(message, Stored):
            number, message = message.number, message.message
        with self._lock:
            self._watch_clock(message)
            encoder_events = len(self.signals.tracker.events)
            before = self.signals.point
            self._tell(self.guard.message(message))
            if not isinstance(message, Reading):
                return
            if message.stream is StreamKind.DEPTH and self.signals.point is not before:
                self._depth(message, self.signals.tracker.events[encoder_events:])
            elif message.stream is StreamKind.CONE and self.signals.fresh:
                self._cone(message, number)
            self._step()

    def tick(self, monotonic: float | None = None, wall: float | None = None) -> None:
        """Let time pass; call it a few times a second, with no arguments for the real clock."""
        with self._lock:
            monotonic, wall = self._now(monotonic, wall)
            self._tell(self.guard.tick(monotonic, wall))

    def _watch_clock(self, message: Message) -> None:
        self._arrival, self._monotonic = message.arrival, message.monotonic
        ahead = message.monotonic - time.monotonic()
        self._ahead = ahead if abs(ahead) > REAL_TIME or self._ahead else 0.0

    def _now(self, monotonic: float | None, wall: float | None) -> tuple[float, float | None]:
        if monotonic is not None:
            return monotonic, wall
        now = time.monotonic() + self._ahead
        if self._ahead:  # a replay: the time of day is its own
            return max(now, self._monotonic), None
        return now, time.time()

    def _depth(self, reading: Reading, events: list[DepthEvent]) -> None:
        point = self.signals.point
        if point is None:
            return
        self._engine = reading.values.get("engine", self._engine)
        self._tell(events)
        self._tell(self.procedure.depth(point, events))
        if self._rod_length == -math.inf:
            self._rod_length = self._first_rod(point.length)
        if any(event.kind == "stroke" for event in events):
            self._count_stroke(point)
        if any(event.kind == "start" for event in events):
            self._pause = None
            self.signals.tally()

    def _first_rod(self, length: float) -> float:
        """Return at which length the top rod came in, where the push begins [m]."""
        setup = self.guard.setup
        if setup.rods is None:
            return length
        return min(length, setup.lead + (self.signals.rods - 1) * setup.rods.length)

    def _count_stroke(self, point: DepthPoint) -> None:
        rods = self.guard.setup.rods
        if self.count_rods != "strokes" or rods is None:
            return
        if point.length - self._rod_length > 0.5 * rods.length:
            self._rod(1, "counted by the stroke")

    def _cone(self, reading: Reading, number: int) -> None:
        self._tell(self.procedure.cone(reading))
        point: DepthPoint | None = self.signals.point
        if self.procedure.step in (Step.PUSH, Step.DISSIPATION):
            self._listen(reading, point)
        if point is None:
            return
        values = {k: v for k, v in reading.values.items() if not math.isnan(v)}
        pushing = point.state is Advance.PUSHING
        self.rows.append(
            LiveRow(
                len(self.rows),
                reading.arrival,
                point.length,
                self.signals.depth,
                pushing,
                values,
                rate=point.rate if pushing else math.nan,
                stored=number,
            )
        )

    def _listen(self, reading: Reading, point: DepthPoint | None) -> None:
        """Feed the link watch."""
        pushing = self.signals.pushing
        engine = pushing if self._engine is None else self._engine >= 0.5
        rods = self.guard.setup.rods
        along = 0.0
        if point is not None and rods is not None and self._rod_length > -math.inf:
            along = (point.length - self._rod_length) / rods.length
        self.watch.missed(self.signals.missed, self.signals.rods, along, engine)
        level = reading.values.get("link_level", math.nan)
        noise = reading.values.get("link_noise", math.nan)
        self.watch.heard(level, self.signals.rods, along, engine, noise)

    # -- the crew --------------------------------------------------------------------------------

    def go(self, step: Step | str) -> None:
        """Go to a step of the procedure, by its trade word."""
        with self._lock:
            self._pause = None
            self._tell(self.procedure.go(Step(step), *self._moment()))
            self._step()

    def end_dissipation(self) -> None:
        """End the running dissipation test and go back to the push."""
        with self._lock:
            self._tell(self.procedure.end_dissipation(*self._moment()))
            self._step()

    def rod_added(self, number: int = 1) -> None:
        """Count a rod in, or out with -1."""
        with self._lock:
            self._rod(number, "counted by the operator")

    def measure_stick_up(self, stick_up: float) -> RodTally | None:
        """Compare rods with the encoder from a measured stick-up [m]; None without rods.

        The stick-up is what stands above the zero of depth.
        """
        with self._lock:
            setup, length = self.guard.setup, self.signals.length
            if setup.rods is None or length is None or self.signals.rods == 0:
                return None
            tally = rod_tally(
                self.signals.rods, setup.rods.length, stick_up, length, lead=setup.lead
            )
            self.tallies.append(tally)
            monotonic, _ = self._moment()
            text = f"stick-up {stick_up:.2f} m: rods minus encoder {tally.difference:+.2f} m"
            details = {"stick_up": stick_up, "difference": tally.difference}
            self._procedure_event("stick-up", text, {**details, "rods": float(tally.rods)})
            self._tell(self.guard.observe("tally", 100 * tally.share, monotonic))
            return tally

    def set_length(self, length: float) -> None:
        """Set the zero of depth: the penetration length now [m]."""
        with self._lock:
            self.signals.reference(length)
            self._rod_length = length
            text = f"penetration length set to {length:.3f} m"
            self._procedure_event("reference", text, {"length": length})

    def note(self, text: str) -> None:
        """Keep a note of the crew."""
        with self._lock:
            self._notes = [*self._notes, text][-NOTES:]
            self._procedure_event("note", text, {})

    def pause(self, reason: str) -> None:
        """Keep why the crew pauses; it ends with the next step, or when the rods go down."""
        with self._lock:
            self._pause = reason
            self._procedure_event("pause-called", f"pause: {reason}", {"reason": reason})

    def acknowledge(self, rule: str | None = None) -> None:
        """Acknowledge the alarm of a rule, or all."""
        with self._lock:
            self._tell(self.guard.acknowledge(rule))

    def shelve(self, rule: str, seconds: float) -> None:
        """Put the alarm of a rule aside for a while [s]."""
        with self._lock:
            self._tell(self.guard.shelve(rule, seconds))

    @contextmanager
    def silently(self) -> Iterator[None]:
        """Tell nobody of any event: what comes now was in the record before."""
        with self._lock:
            before, self._silent = self._silent, True
            try:
                yield
            finally:
                self._silent = before

    def free_disk(self, size: float) -> None:
        """Tell the free space on the disk of the record [bytes]."""
        with self._lock:
            self._tell(self.guard.observe("free_disk", size / 1e6, self._moment()[0]))

    # -- what is shown ---------------------------------------------------------------------------

    def state(self, monotonic: float | None = None, wall: float | None = None) -> LiveState:
        """Return the snapshot now; with no arguments by the real clock."""
        with self._lock:
            now, shown_wall = self._now(monotonic, wall)
            signals = self.signals
            verdict = self.watch.verdict()
            setup = self.guard.setup
            streams = {
                kind: signals.streams[kind].state(
                    now, shown_wall, fresh=setup.fresh, stale=setup.stale
                )
                for kind in (StreamKind.CONE, StreamKind.DEPTH)
            }
            zero = self.procedure.zero
            disk = signals.values.get("free_disk")
            return LiveState(
                self.sounding,
                self._arrival if shown_wall is None else shown_wall,
                signals.number,
                self.procedure.step_state(),
                self._advance_state(now),
                self._channel_states(),
                self._tilt_state(),
                self._link_state(streams[StreamKind.CONE].age, verdict),
                streams[StreamKind.CONE],
                streams[StreamKind.DEPTH],
                self.procedure.dissipation_state(now),
                None if zero is None else zero.state(),
                self.guard.alarms(),
                signals.cone.get("battery"),
                signals.cone.get("temperature"),
                None if disk is None else disk * 1e6,
                tuple(self._notes),
                self._pause,
                self._forecast_state(),
            )

    def rows_since(self, number: int) -> list[LiveRow]:
        """Return the rows from ``number`` on, for a screen that draws as they come."""
        with self._lock:
            return self.rows[number:]

    def rows_after(self, stored: int) -> list[LiveRow]:
        """Return the rows whose number in the record is above ``stored``."""
        with self._lock:
            return self.rows[bisect_right(self.rows, stored, key=lambda row: row.stored) :]

    def findings(self) -> tuple[Finding, ...]:
        """Return the findings of procedure and rods so far."""
        with self._lock:
            tallies = (finding for tally in self.tallies for finding in tally.findings())
            return (*self.procedure.findings(), *tallies)

    def _advance_state(self, now: float) -> AdvanceState:
        signals, point = self.signals, self.signals.point
        band = next((b for r in self._rules("rate") for b in r.bounds), None)
        low, high = (0.015, 0.025) if band is None else (band.low, band.high)
        thrust = signals.streams[StreamKind.DEPTH].last
        state = AdvanceState(
            rate_low=low,
            rate_high=high,
            rods=signals.rods,
            rods_counted_by=self.count_rods,
            tally_difference=self.tallies[-1].difference if self.tallies else None,
            thrust=None if thrust is None else thrust.values.get("thrust"),
            thrust_share=_share(signals.values.get("thrust_share")),
        )
        if point is None:
            return state
        return dataclasses.replace(
            state,
            state=point.state,
            length=point.length,
            depth=signals.depth,
            rate=None if math.isnan(point.rate) else point.rate,
            since=point.since + max(now - point.monotonic, 0.0),
            strokes=point.strokes,
            stroke=point.stroke,
        )

    def _forecast_state(self) -> ForecastState | None:
        forecast, ahead = self.guard.setup.forecast, self.signals.ahead
        if forecast is None or ahead is None:
            return None
        near = ahead.depth <= forecast.met + 1.0
        name, force = forecast.limits.least
        return ForecastState(
            forecast.target,
            ahead.reached,
            ahead.depth_at(0.5),
            float(ahead.expected[near].max()) if near.any() else None,
            float(ahead.high[near].max()) if near.any() else None,
            force,
            name,
            forecast.harder,
        )

    def _channel_states(self) -> tuple[ChannelState, ...]:
        setup, cone = self.guard.setup, self.signals.cone
        states = []
        for key in CHANNELS:
            if key not in cone:
                continue
            capacity = setup.capacity(key)
            share = abs(cone[key]) / capacity if capacity else None
            level = self.guard.level(_CAPACITY_RULE.get(key, "u-capacity"))
            if share is None:
                level = Level.OK
            states.append(ChannelState(key, cone[key], capacity, share, level))
        return tuple(states)

    def _tilt_state(self) -> TiltState:
        values = self.signals.values
        level = max(self.guard.level("tilt"), self.guard.level("tilt-change"))
        return TiltState(values.get("tilt"), self.signals.bearing, values.get("tilt_change"), level)

    def _link_state(self, age: float | None, verdict: LinkVerdict) -> LinkState:
        values = self.signals.values
        rules = ("silence", "loss", "level", "gap", "interval")
        status = max(self.guard.level(rule) for rule in rules)
        named = verdict.trouble is not Trouble.NONE
        return LinkState(
            self.signals.level,
            age,
            _share(values.get("loss")),
            values.get("spacing"),
            values.get("gap"),
            verdict.words,
            verdict.probability if named else None,
            verdict.advice,
            verdict.joint,
            max(status, Level.CAUTION if named else Level.OK),
            values.get("link_margin"),
        )

    # -- inside ----------------------------------------------------------------------------------

    def _rules(self, key: str) -> Iterable[Rule]:
        rule = self.guard.rules.get(key)
        return () if rule is None else (rule,)

    def _moment(self) -> tuple[float, float]:
        """Return monotonic and wall time of something the crew does now.

        Never before the last message: a source that runs fast is ahead of our clock.
        """
        monotonic, wall = self._now(None, None)
        if monotonic < self._monotonic or wall is None:
            return max(monotonic, self._monotonic), self._arrival
        return monotonic, wall

    def _rod(self, number: int, how: str) -> None:
        self.signals.count_rod(number)
        if self.signals.length is not None:
            self._rod_length = self.signals.length
        kind = "rod-added" if number > 0 else "rod-removed"
        text = f"{self.signals.rods} rods in the string, {how}"
        self._procedure_event(kind, text, {"rods": float(self.signals.rods)})

    def _procedure_event(
        self, kind: str, text: str, details: dict[str, float | str | None]
    ) -> None:
        monotonic, arrival = self._moment()
        length = self.signals.length
        self._tell([ProcedureEvent(kind, monotonic, arrival, length, text, details)])

    def _step(self) -> None:
        self.guard.step = self.procedure.step.value

    def _tell(self, events: Iterable[LiveEvent]) -> None:
        if self._on_event is not None and not self._silent:
            for event in events:
                self._on_event(event)


def _share(percent: float | None) -> float | None:
    return None if percent is None or math.isnan(percent) else percent / 100

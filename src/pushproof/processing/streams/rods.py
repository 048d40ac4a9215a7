"""The rods in time, from a whole depth stream: length, motion, pauses and starts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pushproof.model.stream import Advance, Reading
from pushproof.processing.streams.clocks import Start
from pushproof.processing.streams.depth import DepthEvent, DepthSettings, DepthTracker

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Rods:
    """What the encoder says, on surface time.

    Parameters
    ----------
    time, length
        Surface time [s] and greatest penetration length so far [m] at each reading, shape (n,).
    pushes
        Begin and end of each stretch in which the rods went down [s].
    pauses
        Stop and start around each pause [s], and whether the rods were changed in it.
    blind
        Begin and end of each stretch without readings in which the rods moved so far that a
        reading between could be placed wrongly by more than ``DOUBT`` [s].
    events
        Everything the tracker showed; its times are surface time.
    """

    time: FloatArray
    length: FloatArray
    pushes: tuple[tuple[float, float], ...]
    pauses: tuple[tuple[float, float, bool], ...]
    blind: tuple[tuple[float, float], ...]
    events: tuple[DepthEvent, ...]

    def at(self, time: FloatArray) -> FloatArray:
        """Return the length at surface times [m]; NaN outside the record and where blind."""
        length = np.interp(time, self.time, self.length, left=np.nan, right=np.nan)
        for begin, end in self.blind:
            length[(time > begin) & (time < end)] = np.nan
        return length

    def pushing(self, time: FloatArray) -> NDArray[np.bool_]:
        """Tell at which surface times the rods went down."""
        inside = np.zeros(len(time), dtype=bool)
        for begin, end in self.pushes:
            inside |= (time >= begin) & (time <= end)
        return inside

    @property
    def starts(self) -> tuple[Start, ...]:
        """The starts after pauses."""
        ends = dict(self.pushes)
        return tuple(Start(stop, start, ends.get(start, start)) for stop, start, _ in self.pauses)


DOUBT = 0.1
"""A reading that could be misplaced by more than this is not placed [m]: the depth accuracy of
the stricter classes as remembered. Between two depth readings the worst error is half of what the
rods moved."""


def follow(
    readings: Sequence[Reading],
    time: FloatArray,
    settings: DepthSettings | None = None,
    references: Sequence[tuple[float, float]] = (),
) -> Rods:
    """Follow a whole depth stream.

    Parameters
    ----------
    readings
        In the order of the record.
    time
        Surface time of each, shape (n,) [s].
    settings
        How counts become length.
    references
        Surface times and penetration lengths that the crew set [s, m].
    """
    tracker = DepthTracker(settings)
    waiting = sorted(references)
    times: list[float] = []
    lengths: list[float] = []
    blind: list[tuple[float, float]] = []
    for reading, at in zip(readings, time.tolist(), strict=True):
        while waiting and waiting[0][0] <= at and times:
            tracker.reference(waiting.pop(0)[1])
        point = tracker.push(replace(reading, monotonic=at, arrival=at))
        if point is None:
            continue
        if times and point.deepest - lengths[-1] > 2 * DOUBT:
            blind.append((times[-1], at))
        times.append(at)
        lengths.append(point.deepest)
    end = times[-1] if times else 0.0
    pushes, pauses = _stretches(tracker.events, end, tracker.state)
    array = np.array(lengths, dtype=np.float64)
    return Rods(
        np.array(times, dtype=np.float64),
        array,
        pushes,
        pauses,
        tuple(blind),
        tuple(tracker.events),
    )


def _stretches(
    events: Sequence[DepthEvent], end: float, state: Advance
) -> tuple[tuple[tuple[float, float], ...], tuple[tuple[float, float, bool], ...]]:
    """Return pushes and pauses from the stops and starts."""
    pushes: list[tuple[float, float]] = []
    pauses: list[tuple[float, float, bool]] = []
    started: float | None = None
    stopped: float | None = None
    changed = False
    for event in events:
        if event.kind == "rod-change":
            changed = True
        elif event.kind == "start":
            if stopped is not None:
                pauses.append((stopped, event.monotonic, changed))
            started, changed = event.monotonic, False
        elif event.kind == "stop":
            if started is not None:
                pushes.append((started, max(event.monotonic, started)))
            started, stopped = None, event.monotonic
    if started is not None and state in (Advance.PUSHING, Advance.LIFTING):
        pushes.append((started, end))
    return tuple(pushes), tuple(pauses)

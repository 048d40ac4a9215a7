"""Counters, noise and age of one stream of a push."""

from __future__ import annotations

from collections import deque

from pushproof.model.stream import Reading
from pushproof.processing.streams.sequence import SequenceWatch
from pushproof.recording.snapshot import Freshness, StreamState


class StreamSignals:
    """Counters and age of one stream."""

    def __init__(self, modulus: int | None = None) -> None:
        self.order = SequenceWatch(modulus)
        self.undecoded = 0
        self.noise: deque[bool] = deque([False] * 50, maxlen=50)
        self.noisy = 0
        self.connected: bool | None = None
        self.text = ""
        self.last: Reading | None = None

    def age(self, monotonic: float, wall: float | None) -> float | None:
        """Return the age of the last reading [s]; the wall clock counts where it ran further."""
        if self.last is None:
            return None
        age = monotonic - self.last.monotonic
        if wall is not None and wall - self.last.arrival > age + 1.0:
            age = wall - self.last.arrival  # the monotonic clock stood: the computer slept
        return max(age, 0.0)

    def state(
        self, monotonic: float, wall: float | None, *, fresh: float, stale: float
    ) -> StreamState:
        """Return counters, age and freshness now.

        Parameters
        ----------
        monotonic, wall
            Time now on both clocks [s]; None for the wall clock of a replay.
        fresh, stale
            Age up to which the stream is fresh, and beyond which it is stale [s].
        """
        age = self.age(monotonic, wall)
        if age is None:
            freshness = Freshness.NONE
        elif age <= fresh:
            freshness = Freshness.FRESH
        else:
            freshness = Freshness.LATE if age <= stale else Freshness.STALE
        o = self.order
        return StreamState(
            self.connected,
            freshness,
            age,
            o.received,
            o.duplicate,
            o.late,
            o.lost,
            self.undecoded,
            self.text,
        )

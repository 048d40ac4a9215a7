"""The last metre pushed: how many readings were lost there, how far apart the others are."""

from __future__ import annotations

from collections import deque
from statistics import median

from pushproof.model.stream import Reading
from pushproof.processing.streams.windows import SlidingRange, SlidingSum


class LastMetre:
    """Loss, mean spacing and longest gap of the readings in the last metre pushed."""

    def __init__(self) -> None:
        self._received = SlidingSum(1.0)
        self._missing = SlidingSum(1.0)
        self._gaps = SlidingRange(1.0)
        self._last: float | None = None
        self._time: float | None = None
        self._interval: deque[float] = deque(maxlen=15)
        self._pushing = False

    def reading(self, reading: Reading, length: float, gap: int) -> int:
        """Take a new reading at a length; return how many were lost on the way to it.

        ``gap`` are the readings missing before it; what is lost in a pause is no ground.
        """
        if reading.sequence is None:
            gap = self._missing_by_time(reading)
        self._received.push(length, 1)
        lost = gap if self._pushing else 0
        self._missing.push(length, lost)
        if self._last is None:
            self._last = length
        elif length > self._last:
            self._gaps.push(length, length - self._last)
            self._last = length
        self._pushing = True
        return lost

    def pause(self) -> None:
        """Note that the rods stand: what is lost meanwhile is no ground."""
        self._pushing = False
        self._time = None

    def found(self) -> None:
        """Note that a reading that counted as missing came late."""
        if self._missing.total >= 1 and self._last is not None:
            self._missing.push(self._last, -1)
            self._received.push(self._last, 1)

    def gap(self, length: float) -> float:
        """Return the longest gap, counting the one that is open now [m]."""
        now = 0.0 if self._last is None else length - self._last
        return max(now, self._gaps.high if self._gaps.count else 0.0)

    @property
    def loss(self) -> float | None:
        """Share of the readings missing [%]; None while there are too few."""
        total = self._received.total + self._missing.total
        return 100 * max(self._missing.total, 0.0) / total if total >= 10 else None

    @property
    def spacing(self) -> float | None:
        """Mean spacing [m]; None while there are too few."""
        if self._gaps.count < 5 or self._gaps.span < 0.3 or self._gaps.first is None:
            return None
        return self._gaps.span / (self._gaps.count - 1)

    def _missing_by_time(self, reading: Reading) -> int:
        """Count missing readings from the usual interval, for a cone without a counter."""
        time = reading.values.get("cone_time", reading.monotonic)
        before, self._time = self._time, time
        if before is None or time <= before:
            return 0
        step = time - before
        usual = median(self._interval) if len(self._interval) >= 5 else step
        self._interval.append(step)
        return max(round(step / usual) - 1, 0)

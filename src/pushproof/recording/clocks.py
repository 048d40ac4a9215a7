"""Noticing that the wall clock was set, or that the computer slept.

Each message is stored with its arrival on the wall clock and on the monotonic clock, so nothing
is ever shifted. What is noticed here becomes an event, so that a later reader knows why the two
went apart.

Linux keeps a third clock that also runs while the computer sleeps; Windows counts sleep in the
monotonic clock, and it shows as a wait that took far too long. macOS shows sleep only as a step
of the wall clock; the event then says that it may be either.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

STEP = 1.0
"""A change of the wall clock against the others beyond this is told [s]. Our own choice."""

ASLEEP = 5.0
"""A stretch in which nothing ran, beyond this, is told [s]. Our own choice."""


class SurfaceClock:
    """The clocks of this computer."""

    def wall(self) -> float:
        """Seconds since 1970 UTC; may jump."""
        return time.time()

    def monotonic(self) -> float:
        """Seconds that never go back; may or may not count sleep."""
        return time.monotonic()

    def running(self) -> float:
        """Seconds that count sleep too, where the system has such a clock."""
        boot = getattr(time, "CLOCK_BOOTTIME", None)
        return time.monotonic() if boot is None else time.clock_gettime(boot)


@dataclass(frozen=True, slots=True)
class ClockEvent:
    """Something that happened to the clocks: ``clock-step`` or ``asleep``, and by how much."""

    kind: str
    seconds: float
    text: str


class ClockWatch:
    """Compares the clocks from look to look."""

    def __init__(self, clock: SurfaceClock) -> None:
        self._clock = clock
        self._last = self._now()

    def begin(self) -> None:
        """Start comparing from now."""
        self._last = self._now()

    def look(self, overdue: float = 0.0) -> list[ClockEvent]:
        """Return what happened to the clocks since the last look.

        Parameters
        ----------
        overdue
            How much longer a wait took than was asked for [s].
        """
        before, self._last = self._last, self._now()
        wall, monotonic, running = (new - old for new, old in zip(self._last, before, strict=True))
        found = []
        asleep = max(running - monotonic, overdue)
        if asleep > ASLEEP:
            text = f"the computer slept or was held up for {asleep:.0f} s"
            found.append(ClockEvent("asleep", asleep, text))
        step = wall - max(running, monotonic)
        if step < -STEP:
            text = f"the wall clock went back by {-step:.1f} s"
            found.append(ClockEvent("clock-step", step, text))
        elif step > STEP:
            text = f"the wall clock went forward by {step:.1f} s: it was set, or the computer slept"
            found.append(ClockEvent("clock-step", step, text))
        return found

    def _now(self) -> tuple[float, float, float]:
        return self._clock.wall(), self._clock.monotonic(), self._clock.running()

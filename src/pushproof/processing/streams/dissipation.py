"""A dissipation test while it runs: schedule, percent dissipated, t50. Not its interpretation.

Time zero is when the push stopped, as the encoder saw it. The sampling schedule is the usual
practice as remembered (no clause read): twice a second in the first minute, once to 10 min, every
2 s to 100 min, every 5 s after. Percent dissipated is ``100 (ui - u) / (ui - u0)``; ui is the
highest reading since the stop, so that a record that rises first is counted from its peak.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from pushproof.model.findings import Finding, Severity
from pushproof.model.series import FloatArray, Series
from pushproof.model.sounding import Dissipation, Water

SCHEDULE = ((60.0, 0.5), (600.0, 1.0), (6000.0, 2.0), (math.inf, 5.0))
"""Elapsed time up to which, and interval between readings that is asked for [s]."""

LEAST_EXCESS = 5.0
"""Excess pore pressure below which percent and t50 mean nothing [kPa]; our own choice."""

JITTER = 0.1
"""A reading this much early is kept: packets do not come to the beat [s]."""

SOURCE = "sampling schedule of common practice, from memory"
GAMMA_WATER = 9.81
CHANNELS = ("qc", "fs", "u1", "u2", "u3", "temperature")
ENOUGH = 50.0
"""Percent dissipated that a test should reach: the routine measure is t50."""


def interval_asked(elapsed: float) -> float:
    """Return the interval between readings that the schedule asks for [s].

    Examples
    --------
    >>> [interval_asked(t) for t in (0, 60, 601, 7000)]
    [0.5, 0.5, 2.0, 5.0]
    """
    return next(step for until, step in SCHEDULE if elapsed <= until)


def hydrostatic(depth: float, water: Water | None) -> float | None:
    """Return the still-water pressure at a depth [kPa], or None without a water level."""
    return None if water is None else max(GAMMA_WATER * (depth - water.level), 0.0)


class DissipationLog:
    """Take the readings of one test.

    Parameters
    ----------
    stopped
        Surface time at which the push stopped [s].
    depth
        Depth of the tip [m].
    channel
        The pore pressure that is followed.
    u0
        In-situ pore pressure [kPa]; None leaves percent and t50 open.
    before
        Last reading while still pushing [kPa], if known: it counts as time zero.

    Examples
    --------
    >>> log = DissipationLog(100.0, 8.0, u0=50.0)
    >>> for t, u in [(100.5, 250.0), (110.0, 200.0), (130.0, 140.0)]:
    ...     kept = log.push(t, {"u2": u})
    >>> log.percent, round(log.t50, 1)
    (55.0, 26.7)
    """

    def __init__(
        self,
        stopped: float,
        depth: float,
        channel: str = "u2",
        u0: float | None = None,
        before: float | None = None,
    ) -> None:
        self.stopped, self.depth, self.channel, self.u0 = stopped, depth, channel, u0
        self.peak = before
        self.present: float | None = None
        self.elapsed = 0.0
        self.t50: float | None = None
        self.first: float | None = None
        self._rows: list[tuple[float, Mapping[str, float]]] = []
        self._last: tuple[float, float] | None = None
        self._early = 0  # readings in the first minute

    def push(self, time: float, values: Mapping[str, float]) -> bool:
        """Take a reading at a surface time [s]; return whether the schedule kept it."""
        elapsed = time - self.stopped
        if elapsed < 0 or elapsed < self.elapsed:
            return False
        self.elapsed = elapsed
        if self.first is None:
            self.first = elapsed
        self._early += elapsed <= 60.0
        u = values.get(self.channel, math.nan)
        if not math.isnan(u):
            self._follow(elapsed, u)
        due = not self._rows or elapsed - self._rows[-1][0] >= interval_asked(elapsed) - JITTER
        if due:
            kept = {key: values[key] for key in CHANNELS if key in values}
            self._rows.append((elapsed, kept))
        return due

    def _follow(self, elapsed: float, u: float) -> None:
        self.present = u
        if self.peak is None or u > self.peak:
            self.peak, self.t50 = u, None
        if self.t50 is None and self.u0 is not None and self.peak - self.u0 >= LEAST_EXCESS:
            half = 0.5 * (self.peak + self.u0)
            if u <= half:
                self.t50 = elapsed
                if self._last is not None and self._last[1] > half:
                    time, before = self._last
                    self.t50 = time + (elapsed - time) * (before - half) / (before - u)
        self._last = (elapsed, u)

    @property
    def percent(self) -> float | None:
        """Percent dissipated; None without an in-situ pressure or an excess to speak of."""
        if self.u0 is None or self.peak is None or self.present is None:
            return None
        if self.peak - self.u0 < LEAST_EXCESS:
            return None
        return 100.0 * (self.peak - self.present) / (self.peak - self.u0)

    @property
    def logged(self) -> int:
        """Readings that the schedule kept."""
        return len(self._rows)

    @property
    def interval(self) -> float | None:
        """Interval between the last readings kept [s]."""
        if len(self._rows) < 2:
            return None
        rows = self._rows[-6:]
        return round((rows[-1][0] - rows[0][0]) / (len(rows) - 1), 2)

    def result(self) -> Dissipation:
        """Return the test with the readings kept."""
        keys = [key for key in CHANNELS if any(key in row for _, row in self._rows)]
        columns = {"time": [t for t, _ in self._rows]}
        columns |= {key: [row.get(key, math.nan) for _, row in self._rows] for key in keys}
        return Dissipation(self.depth, Series({k: _array(v) for k, v in columns.items()}))

    def findings(self) -> tuple[Finding, ...]:
        """Return what the test fell short of."""
        found = []
        if self.first is None or self.first > 1.0:
            late = "none came" if self.first is None else f"the first came after {self.first:.1f} s"
            found.append(
                Finding(
                    "dissipation-first-reading",
                    Severity.INFO,
                    f"no reading within 1 s of the stop: {late}",
                    "elapsed time true to 1 s; the memory of the cone may hold it",
                    self.depth,
                    source="elapsed time to 1 s or better: Dutch register (verified)",
                    channel=self.channel,
                )
            )
        minute = min(self.elapsed, 60.0)
        if minute >= 10 and self._early < 0.8 * minute / interval_asked(0.0):
            found.append(
                Finding(
                    "dissipation-schedule",
                    Severity.INFO,
                    f"{self._early / minute:.1f} readings a second in the first minute",
                    "2 a second; a sound link gives less, the memory may fill it",
                    self.depth,
                    source=SOURCE,
                    channel=self.channel,
                )
            )
        percent = self.percent
        if percent is not None and percent < ENOUGH:
            found.append(
                Finding(
                    "dissipation-short",
                    Severity.INFO,
                    f"ended at {percent:.0f} % after {self.elapsed:.0f} s",
                    "50 % or more for t50 without extrapolation",
                    self.depth,
                    source="t50 is the routine measure (common practice)",
                    channel=self.channel,
                )
            )
        return tuple(found)


def _array(values: list[float]) -> FloatArray:
    return np.array(values, dtype=np.float64)

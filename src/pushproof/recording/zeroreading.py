"""A zero reading: the cone at rest, averaged, and what it fell short of."""

from __future__ import annotations

import math
from datetime import UTC, datetime

from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import Zero
from pushproof.model.stream import Reading
from pushproof.recording.snapshot import ZeroState

ZERO_SECONDS = 60.0
"""Averaging time of a zero reading [s]: good practice as remembered, no clause read."""

ZERO_CHANNELS = ("qc", "fs", "u1", "u2", "u3", "tilt", "tilt_x", "tilt_y")

UNSTEADY = {"qc": 10.0, "fs": 0.5, "u1": 1.0, "u2": 1.0, "u3": 1.0}
"""Change within one zero reading from which it counts as unsteady [kPa]; our own choice."""


class ZeroReading:
    """Average the cone at rest.

    Parameters
    ----------
    which
        ``"before"`` or ``"after"``.
    asked
        Averaging time [s].
    """

    def __init__(self, which: str, asked: float = ZERO_SECONDS) -> None:
        self.which, self.asked = which, asked
        self.begun: float | None = None
        self.arrival = 0.0
        self.elapsed = 0.0
        self.count = 0
        self._values: dict[str, list[float]] = {}

    def push(self, reading: Reading) -> bool:
        """Take a reading of the cone; return whether the averaging time is over."""
        if self.begun is None:
            self.begun, self.arrival = reading.monotonic, reading.arrival
        self.elapsed = max(reading.monotonic - self.begun, 0.0)
        self.count += 1
        for key in (*ZERO_CHANNELS, "temperature"):
            value = reading.values.get(key, math.nan)
            if not math.isnan(value):
                self._values.setdefault(key, []).append(value)
        return self.elapsed >= self.asked

    def mean(self, key: str) -> float | None:
        """Return the average of a channel so far."""
        values = self._values.get(key)
        return math.fsum(values) / len(values) if values else None

    def spread(self, key: str) -> float | None:
        """Return the standard deviation of a channel so far; None below two readings."""
        values = self._values.get(key, [])
        if len(values) < 2:
            return None
        middle = math.fsum(values) / len(values)
        return math.sqrt(math.fsum((v - middle) ** 2 for v in values) / (len(values) - 1))

    def zeros(self) -> tuple[Zero, ...]:
        """Return the zero of every channel."""
        time = datetime.fromtimestamp(self.arrival, UTC) if self.count else None
        return tuple(
            Zero(
                channel=key,
                value=self.mean(key) or 0.0,
                spread=self.spread(key),
                count=len(values),
                seconds=round(self.elapsed, 3),
                temperature=self.mean("temperature"),
                time=time,
            )
            for key, values in self._values.items()
            if key in ZERO_CHANNELS
        )

    def state(self) -> ZeroState:
        """Return what screens show."""
        keys = [key for key in self._values if key in ZERO_CHANNELS]
        return ZeroState(
            self.which,
            min(self.elapsed, self.asked),
            self.asked,
            self.count,
            {key: self.mean(key) or 0.0 for key in keys},
            {key: s for key in keys if (s := self.spread(key)) is not None},
            self.mean("temperature"),
        )

    def findings(self) -> tuple[Finding, ...]:
        """Return what the zero reading fell short of."""
        found = []
        name = f"zeros {self.which}"
        if self.elapsed < self.asked:
            found.append(
                Finding(
                    "zero-short",
                    Severity.CAUTION,
                    f"{name}: {self.elapsed:.0f} s, {self.count} readings",
                    f"{self.asked:.0f} s at rest",
                    source="good practice, from memory",
                )
            )
        if self.count and "temperature" not in self._values:
            found.append(
                Finding(
                    "zero-temperature",
                    Severity.INFO,
                    f"{name}: no temperature",
                    "the temperature of the cone, or of the ground it stands in",
                    source="good practice, from memory",
                )
            )
        found += [f for key, limit in UNSTEADY.items() if (f := self._unsteady(name, key, limit))]
        return tuple(found)

    def _unsteady(self, name: str, key: str, limit: float) -> Finding | None:
        values = self._values.get(key, [])
        third = len(values) // 3
        if third < 3:
            return None
        change = (math.fsum(values[-third:]) - math.fsum(values[:third])) / third
        noise = (self.spread(key) or 0.0) * math.sqrt(2 / third)
        if abs(change) < max(limit, 2 * noise):
            return None
        return Finding(
            "zero-unsteady",
            Severity.CAUTION,
            f"{name}: {key} moved by {change:+.1f} kPa while it was read",
            f"less than {limit:g} kPa: let the cone take the temperature of the ground first",
            source="our own choice",
            channel=key,
        )

"""Uncertainty budget of each channel, from what is known of the cone and its zero readings.

Parts are standard uncertainties, added in quadrature; the expanded uncertainty is twice their sum
(k = 2, about 95 %), as the Guide to the expression of uncertainty in measurement (JCGM 100) sets
out. A change of the zero counts as a rectangular distribution of that half-width, a resolution as
one of half a step. A part that nobody gave is named as missing and never put in as a guess.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pushproof.model.profile import Profile
from pushproof.model.sounding import Zero

CHANNELS = ("qc", "fs", "u2")


@dataclass(frozen=True)
class Part:
    """One part of a budget: what it is and its standard uncertainty in the inside unit."""

    name: str
    value: float
    how: str


@dataclass(frozen=True)
class Budget:
    """The budget of one channel.

    Parameters
    ----------
    channel
        Key of the quantity.
    parts
        Known parts.
    missing
        Names of the parts that nobody gave.
    zero_shift
        Change of the zero over the push, in the inside unit; None if not known.
    """

    channel: str
    parts: tuple[Part, ...]
    missing: tuple[str, ...]
    zero_shift: float | None

    @property
    def expanded(self) -> float | None:
        """Expanded uncertainty (k = 2) of the known parts; None if none is known."""
        if not self.parts:
            return None
        return 2.0 * math.sqrt(sum(part.value**2 for part in self.parts))

    @property
    def complete(self) -> bool:
        """Whether calibration and zero shift, without which nothing is proved, are known."""
        return not {"calibration", "zero shift"} & set(self.missing)


def zero_shift(before: tuple[Zero, ...], after: tuple[Zero, ...], channel: str) -> float | None:
    """Return the change of the zero of a channel, after minus before; None if not known."""
    first = next((z.value for z in before if z.channel == channel), None)
    last = next((z.value for z in after if z.channel == channel), None)
    return None if first is None or last is None else last - first


def budget(profile: Profile, channel: str) -> Budget:
    """Return the uncertainty budget of a channel of a profile."""
    sounding = profile.sounding
    calibration = sounding.cone.calibration(channel)
    shift = zero_shift(sounding.zeros_before, sounding.zeros_after, channel)
    parts: list[Part] = []
    missing: list[str] = []
    if calibration is not None and calibration.uncertainty is not None:
        half = calibration.uncertainty / 2.0
        parts.append(Part("calibration", half, f"certificate of {calibration.date}, k = 2"))
    else:
        missing.append("calibration")
    if shift is None:
        missing.append("zero shift")
    else:
        text = f"zero moved by {shift:+.3g} over the push, rectangular"
        parts.append(Part("zero shift", abs(shift) / math.sqrt(3), text))
    resolution = _resolution(profile, channel)
    if calibration is not None and calibration.resolution is not None:
        resolution = calibration.resolution
    if resolution is not None:
        text = f"step of {resolution:.3g}, rectangular"
        parts.append(Part("resolution", resolution / math.sqrt(12), text))
    if calibration is not None and calibration.temperature is not None:
        span = _temperature_span(profile)
        if span is None:
            missing.append("temperature")
        else:
            value = abs(calibration.temperature) * span / math.sqrt(12)
            parts.append(Part("temperature", value, f"{span:.1f} degC of range in the cone"))
    else:
        missing.append("temperature")
    return Budget(channel, tuple(parts), tuple(missing), shift)


def _resolution(profile: Profile, channel: str) -> float | None:
    """Return the smallest step that the readings show."""
    values = profile.series.get(channel)
    steps = np.abs(np.diff(np.unique(values[np.isfinite(values)])))
    steps = steps[steps > 1e-6]
    return float(np.quantile(steps, 0.02)) if steps.size > 20 else None


def _temperature_span(profile: Profile) -> float | None:
    values = profile.series.get("temperature")
    values = values[np.isfinite(values)]
    return float(np.ptp(values)) if values.size else None

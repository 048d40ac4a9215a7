"""The record itself: stuck values, spikes, sensor limits, negative values."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.quality.checks.intervals import running_median, stretches
from pushproof.quality.checks.registry import check

CHANNELS = ("qc", "fs", "u2")
STUCK_LENGTH = 0.3
"""Length over which a value that never changes is reported [m]; common practice."""
SPIKE = 12.0
"""Distance from the running median, in robust deviations, that makes a spike; tuned on simulated
soundings, see the detection table."""
FULL = 0.9
"""Share of the capacity that is reported; common practice (refusal at 90 to 100 % of range)."""


def _present(profile: Profile, key: str) -> NDArray[np.intp]:
    return np.flatnonzero(np.isfinite(profile.series.get(key)))


@check("stationary", "values that do not change", "common practice")
def stationary(profile: Profile) -> Iterator[Finding]:
    """Report a channel that shows the same number over a length."""
    for key in CHANNELS:
        rows = _present(profile, key)
        if rows.size < 30:
            continue
        values, length = profile.series[key][rows], profile.series["length"][rows]
        same = np.concatenate((np.diff(values) == 0, [False]))
        runs = [
            (first, last + 1)
            for first, last in stretches(same, 5)
            if length[last + 1] - length[first] >= STUCK_LENGTH
        ]
        coarse = float(np.mean(same)) > 0.5
        if not runs or coarse:
            continue
        first, last = max(runs, key=lambda run: length[run[1]] - length[run[0]])
        depth = profile.series["depth"][rows]
        yield Finding(
            "value-stuck",
            Severity.CAUTION,
            f"{key} stays at {values[first]:.4g} kPa over {length[last] - length[first]:.2f} m "
            f"({len(runs)} such stretches)",
            "readings that change with the ground",
            top=float(depth[first]),
            base=float(depth[last]),
            channel=key,
        )


@check("spikes", "single readings far from their neighbours", "common practice")
def spikes(profile: Profile) -> Iterator[Finding]:
    """Report single readings far from a short running median."""
    for key in CHANNELS:
        rows = _present(profile, key)
        if rows.size < 50:
            continue
        values = profile.series[key][rows]
        off = np.abs(values - running_median(values, 5))
        scale = running_median(off, 101) * 1.4826
        floor = {"qc": 30.0, "fs": 3.0, "u2": 5.0}[key] + 0.02 * np.abs(values)
        spike = off > SPIKE * np.maximum(scale, floor / 3)
        spike &= ~(np.roll(spike, 1) | np.roll(spike, -1))
        if not spike.any():
            continue
        where = np.flatnonzero(spike)
        worst = where[int(np.argmax(off[where]))]
        depth = profile.series["depth"][rows]
        yield Finding(
            "spike",
            Severity.INFO,
            f"{where.size} single readings of {key} stand far off; the largest is "
            f"{off[worst]:.4g} kPa from its neighbours",
            top=float(depth[worst]),
            channel=key,
        )


@check("capacity", "readings near the end of the range", "common practice; capacity of the cone")
def capacity(profile: Profile) -> Iterator[Finding]:
    """Report readings near the capacity of the sensor, and a flat top that looks like it."""
    for key in CHANNELS:
        rows = _present(profile, key)
        if rows.size < 20:
            continue
        values, depth = profile.series[key][rows], profile.series["depth"][rows]
        calibration = profile.sounding.cone.calibration(key)
        largest = float(values.max())
        full = calibration.capacity if calibration is not None else None
        if full and largest > FULL * full:
            yield Finding(
                "near-capacity",
                Severity.CAUTION,
                f"{key} reached {largest:.4g} kPa, {largest / full:.0%} of the capacity",
                f"below {FULL:.0%}",
                top=float(depth[int(np.argmax(values))]),
                channel=key,
            )
        top = values >= largest * (1 - 1e-9)
        runs = stretches(top, 4)
        if runs and largest > 5 * abs(float(np.median(values))):
            yield Finding(
                "flat-top",
                Severity.CAUTION,
                f"{key} stays at its largest value, {largest:.4g} kPa, for "
                f"{runs[0][1] - runs[0][0] + 1} readings; the sensor may be at its limit",
                top=float(depth[runs[0][0]]),
                base=float(depth[runs[0][1]]),
                channel=key,
            )


@check("negative", "values below zero are kept and explained", "Dutch register accepts them")
def negative(profile: Profile) -> Iterator[Finding]:
    """Report negative qc and fs: drift, temperature or a worn sleeve."""
    why = {"qc": "zero drift or temperature", "fs": "zero drift, seal friction or a worn sleeve"}
    for key, reason in why.items():
        rows = _present(profile, key)
        values = profile.series.get(key)[rows]
        below = values < 0
        if not below.any():
            continue
        depth = profile.series["depth"][rows][below]
        yield Finding(
            f"{key}-negative",
            Severity.CAUTION,
            f"{key} is below zero in {int(below.sum())} readings, at least "
            f"{float(values.min()):.4g} kPa; kept as measured",
            f"{reason}: check the zero readings",
            top=float(depth.min()),
            base=float(depth.max()),
            channel=key,
        )

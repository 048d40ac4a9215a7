"""The record itself: stuck values, spikes, sensor limits, negative values."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.model.series import Origin, Reason
from pushproof.processing.spikes import spikes as single_readings
from pushproof.quality.checks.intervals import stretches
from pushproof.quality.checks.registry import check

CHANNELS = ("qc", "fs", "u2")
STUCK_LENGTH = 0.16
"""Length over which a value that should have changed is reported [m]; tuned, see the table."""
STUCK_ALWAYS = 1.0
"""Length over which a value that never changes is reported whatever the ground does [m]."""
EXPECTED_STEPS = 4.0
"""Steps of its output by which a channel should have changed over a stretch; tuned."""
FULL = 0.9
"""Share of the capacity that is reported; common practice (refusal at 90 to 100 % of range)."""


def _present(profile: Profile, key: str) -> NDArray[np.intp]:
    return np.flatnonzero(np.isfinite(profile.series.get(key)))


def _same(values: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell which values equal the next one; the last never does."""
    return np.concatenate((np.diff(values) == 0, [False]))


@check("stationary", "values that do not change", "common practice")
def stationary(profile: Profile) -> Iterator[Finding]:
    """Report a channel that shows the same number while the ground changes.

    A coarse output repeats itself in even ground, so a stretch counts only where the channel
    should have moved by some steps of its output, judged by how it moves close by.
    """
    for key in CHANNELS:
        rows = _present(profile, key)
        if rows.size < 30:
            continue
        values, length = profile.series[key][rows], profile.series["length"][rows]
        same = _same(values)
        runs = [
            (first, last + 1)
            for first, last in stretches(same, 4)
            if _stands_still(values, length, first, last + 1)
        ]
        if not runs:
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


def _stands_still(
    values: NDArray[np.float64], length: NDArray[np.float64], first: int, last: int
) -> bool:
    """Tell whether a run of equal values is longer than its surroundings explain."""
    reach = length[last] - length[first]
    if reach < STUCK_LENGTH - 1e-9:
        return False
    span = max(20, 2 * (last - first))
    around = np.concatenate(
        (values[max(0, first - span) : first], values[last + 1 : last + 1 + span])
    )
    steps = np.abs(np.diff(around))
    moving = steps[steps > 0]
    if moving.size < 5:
        return False  # nothing moves here; an output this coarse cannot stand still
    quiet = 1.0 - moving.size / steps.size
    if reach >= STUCK_ALWAYS and quiet < 0.5:
        return True
    step = float(moving.min())
    typical = float(np.median(steps))
    return typical >= EXPECTED_STEPS * step or quiet ** (last - first) * values.size < 0.001


@check("repeated", "whole readings that repeat", "common practice")
def repeated(profile: Profile) -> Iterator[Finding]:
    """Report rows in which every channel repeats: a record that stood still, or was filled up."""
    series = profile.series
    keys = [key for key in CHANNELS if series.measured(key)]
    if len(keys) < 2 or len(series) < 30:
        return
    rows = np.flatnonzero(np.all([np.isfinite(series[key]) for key in keys], axis=0))
    if rows.size < 30:
        return
    same = np.all([_same(series[key][rows]) for key in keys], axis=0)
    length, depth = series["length"][rows], series["depth"][rows]
    same &= np.concatenate((np.diff(length) > 0, [False]))
    chance = float(np.mean(same))
    runs = [run for run in stretches(same, 3) if chance ** (run[1] - run[0] + 1) * rows.size < 0.1]
    if not runs:
        return
    first, last = max(runs, key=lambda run: run[1] - run[0])
    yield Finding(
        "reading-repeated",
        Severity.CAUTION,
        f"{', '.join(keys)} repeat together in {sum(b - a + 1 for a, b in runs)} readings "
        f"({len(runs)} stretches)",
        "a new reading at every depth; look for a stopped record or filled gaps",
        top=float(depth[first]),
        base=float(depth[last + 1]),
    )


@check("spikes", "single readings far from their neighbours", "common practice")
def spikes(profile: Profile) -> Iterator[Finding]:
    """Report single readings far from a short running median."""
    for key in CHANNELS:
        rows = _present(profile, key)
        values = profile.series[key][rows] if rows.size else np.empty(0)
        spike, off = single_readings(values, key)
        if not spike.any():
            continue
        where = np.flatnonzero(spike)
        worst = where[int(np.argmax(off[where]))]
        yield Finding(
            "spike",
            Severity.INFO,
            f"{where.size} single readings of {key} stand far off; the largest is "
            f"{off[worst]:.4g} kPa from its neighbours",
            top=float(profile.series["depth"][rows][worst]),
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
        yield from _flat_top(key, values, depth)


def _flat_top(
    key: str, values: NDArray[np.float64], depth: NDArray[np.float64]
) -> Iterator[Finding]:
    """Report readings that share the largest value more often than those just below theirs."""
    largest = float(values.max())
    at = values >= largest * (1 - 1e-9)
    high = values[(values > 0.8 * largest) & ~at]
    often = int(np.unique(high, return_counts=True)[1].max()) if high.size else 1
    runs = stretches(at, 3)
    if largest <= 0 or not runs or np.count_nonzero(at) < 3 * often:
        return
    first, last = max(runs, key=lambda run: run[1] - run[0])
    yield Finding(
        "flat-top",
        Severity.CAUTION,
        f"{key} stays at its largest value, {largest:.4g} kPa, for {last - first + 1} readings "
        f"and shows it {int(at.sum())} times; the sensor may be at its limit",
        "a cone of larger capacity, or a reason",
        top=float(depth[first]),
        base=float(depth[last]),
        channel=key,
    )


NEAR_ZERO = {"qc": 35.0, "fs": 5.0}
"""Negative values within this are worth knowing, not a caution [kPa]: the tolerance of application
class 1 of ISO 22476-1:2012, from memory."""


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
        small = float(values.min()) >= -NEAR_ZERO[key]
        yield Finding(
            f"{key}-negative",
            Severity.INFO if small else Severity.CAUTION,
            f"{key} is below zero in {int(below.sum())} readings, at least "
            f"{float(values.min()):.4g} kPa; kept as measured",
            f"{reason}: check the zero readings",
            top=float(depth.min()),
            base=float(depth.max()),
            channel=key,
        )


@check("origin", "where the readings came from", "the record itself")
def origin(profile: Profile) -> Iterator[Finding]:
    """Report readings that were lost on the link, and those that the memory of the cone gave."""
    series = profile.series
    if len(series) == 0:
        return
    source = series.get("origin")
    memory = source == int(Origin.MEMORY)
    if memory.any() and (source == int(Origin.LIVE)).any():
        yield Finding(
            "filled-from-memory",
            Severity.INFO,
            f"{int(memory.sum())} readings ({memory.mean():.1%}) came from the memory of the cone, "
            "the others over the link",
        )
    lost = series.reason("qc") == Reason.LOST_ON_LINK
    if lost.any():
        depth = series["depth"][lost]
        yield Finding(
            "lost-on-link",
            Severity.CAUTION,
            f"{int(lost.sum())} readings ({lost.mean():.1%}) were lost on the link and are not in "
            "the memory read-out",
            "read the memory of the cone out and merge it, or push again",
            top=float(depth.min()),
            base=float(depth.max()),
        )

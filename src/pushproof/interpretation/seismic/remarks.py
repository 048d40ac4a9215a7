"""What is to be said about measured velocities."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from pushproof.model.findings import Finding, Severity
from pushproof.model.seismic import PLAUSIBLE, IntervalKind, VelocityInterval

LOW, HIGH = PLAUSIBLE
CORRELATION = 0.8
"""Correlation below which two traces are not of the same shape [-]; our own choice."""
SPREAD = 0.15
"""Half range over strikes, as a share, that is told [-]; our own choice."""
BEND = 0.10
"""Difference between straight and bent rays, as a share, that is told [-]; our own choice."""
ZIGZAG = 2.0
"""An interval that is so many times as fast, or as slow, as both neighbours is told [-]."""


def remarks(intervals: Sequence[VelocityInterval]) -> tuple[Finding, ...]:
    """Return the findings on the intervals of a test."""
    found: list[Finding] = []
    for one in intervals:
        found += _of_one(one)
    for kind in IntervalKind:
        found += _zigzag([one for one in intervals if one.kind is kind])
    return tuple(found)


def notes(intervals: Sequence[VelocityInterval]) -> tuple[str, ...]:
    """Return what is to be known of the numbers."""
    said = [
        "Vs is that of the interval; the source is taken to be at the level from which depths "
        "count.",
        "Depths are those of the receivers, not of the tip.",
    ]
    if any(one.kind is IntervalKind.PSEUDO for one in intervals):
        said.append("Pseudo intervals take the trigger to be as late at every strike.")
    if any(one.top < 4.0 for one in intervals):
        said.append(
            "Above about 3 to 5 m the slant path weighs most, and near the surface a straight ray "
            "is not the path (from memory)."
        )
    return tuple(said)


def _of_one(one: VelocityInterval) -> Iterator[Finding]:
    place = (one.top, one.base)
    if math.isnan(one.time):
        yield _finding(
            "seismic-no-shift",
            f"no shift of the traces gives a velocity between the limits ({one.kind.value})",
            "a peak inside the range of velocities; look at window and filter",
            place,
        )
        return
    if one.time <= 0 or one.path <= 0:
        yield _finding(
            "seismic-backward",
            f"the wave arrives {-one.time * 1e3:.2f} ms earlier at the lower depth, so there is no "
            "velocity"
            if one.time <= 0
            else "the path to the lower depth is shorter; check depths and offsets",
            "later below; check the picks and the trigger",
            place,
        )
        return
    if not LOW <= one.Vs <= HIGH:
        yield _finding(
            "seismic-implausible",
            f"Vs of {one.Vs:.0f} m/s",
            f"{LOW:g} to {HIGH:g} m/s in soil and weak rock; check the picks",
            place,
        )
    if one.correlation < CORRELATION:
        yield _finding(
            "seismic-correlation",
            f"correlation {one.correlation:.2f} between the traces",
            f"{CORRELATION:g} or more, for waves of the same shape; look at window and filter",
            place,
        )
    if one.spread > SPREAD:
        yield _finding(
            "seismic-strikes-differ",
            f"Vs differs by ±{100 * one.spread:.0f} % between {one.strikes} pairs of strikes",
            f"±{100 * SPREAD:.0f} % or less; check trigger and picks",
            place,
        )
    if abs(one.refracted / one.Vs - 1.0) > BEND:
        yield Finding(
            "seismic-bent-rays",
            Severity.INFO,
            f"Vs is {one.Vs:.0f} m/s by the straight path and {one.refracted:.0f} m/s by rays that "
            "bend at the receiver depths",
            "both alike; bent rays need a true trigger time",
            one.top,
            one.base,
            channel="Vs",
        )


def _zigzag(intervals: Sequence[VelocityInterval]) -> Iterator[Finding]:
    """Say where one interval stands out from both neighbours: a time that both share is off."""
    known = [one for one in intervals if math.isfinite(one.Vs)]
    for (above, one), (_, below) in pairwise(pairwise(known)):
        ratios = (one.Vs / above.Vs, one.Vs / below.Vs)
        if min(ratios) > ZIGZAG or max(ratios) < 1.0 / ZIGZAG:
            yield Finding(
                "seismic-stands-out",
                Severity.INFO,
                f"Vs of {one.Vs:.0f} m/s between {above.Vs:.0f} above and {below.Vs:.0f} below",
                "a stiff or soft layer in the log too; else a pick is off",
                one.top,
                one.base,
                channel="Vs",
            )


def _finding(name: str, found: str, expected: str, place: tuple[float, float]) -> Finding:
    return Finding(name, Severity.CAUTION, found, expected, *place, channel="Vs")

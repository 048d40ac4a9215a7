"""Is the filter saturated? Four signs from the record itself make a grade.

In clean sand u2 follows the hydrostatic line; in soft clay it rises well above it; at a boundary
between the two it changes together with the resistance; and no fluid holds a pull near a vacuum.
Common practice: no published grade is followed, and the limits were tuned on half of the soundings
of ``docs/explanation/detection-power.md``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.stress import u0_hydrostatic
from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.model.sounding import WaterOrigin
from pushproof.processing.windows import running_median
from pushproof.quality.checks.intervals import stretches
from pushproof.quality.checks.registry import check

FloatArray = NDArray[np.float64]
Rows = NDArray[np.bool_]
EXCESS = 0.20
"""Excess pore pressure over net resistance below which soft clay is doubtful [-]; the usual 0.4 to
0.8 of a normally consolidated clay is common knowledge, no limit was seen."""
LATE = 0.22
"""Distance by which u2 may follow a layer boundary after the resistance [m]."""
_SIDE = 0.8
"""Length of ground of one kind that makes a side of a boundary [m]."""


@dataclass(frozen=True)
class Saturation:
    """How well the filter responded: a grade in words and what it rests on."""

    grade: str
    reasons: tuple[str, ...]


def sand_rows(profile: Profile) -> Rows:
    """Tell which rows are clean sand by plain resistance and friction ratio."""
    qt, ratio = profile.series["qt"], profile.series.get("Rf")
    return np.asarray((qt > 5000) & (ratio < 1.0) & np.isfinite(profile.series.get("u2")))


def soft_clay_rows(profile: Profile, level: float) -> Rows:
    """Tell which rows are soft clay: net resistance near that of a clay that was never loaded more.

    A unit weight of 17 kN/m3 is good enough for that. Peat and organic clay (high friction ratio),
    silt and stiff clay (high resistance for their depth) are left out: a small excess is no fault
    of the filter there.
    """
    series = profile.series
    qt, ratio, depth = series["qt"], series.get("Rf"), series["depth"]
    total = 17.0 * depth
    effective = np.maximum(total - 9.81 * np.maximum(depth - level, 0.0), 5.0)
    soft = (qt - total > 0) & (qt - total < 7.0 * effective) & (qt < 2500)
    kind = (ratio > 1.3) & (ratio < 4.0)
    return np.asarray(soft & kind & np.isfinite(series.get("u2")) & (depth > level + 1.5))


def saturation(profile: Profile) -> Saturation | None:
    """Grade the response of the filter; None without u2 or without anything to judge by.

    Where the water level is only assumed, the one that u2 in sand points to is taken; without sand
    nothing is judged.
    """
    series = profile.series
    if not series.measured("u2") or profile.water is None:
        return None
    level: float | None = profile.water.level
    if profile.water.origin is WaterOrigin.ASSUMED:
        level = _level_of_sand(profile)
    if level is None:
        return None
    excess = series["u2"] - u0_hydrostatic(series["depth"], level)
    good: list[str] = []
    bad: list[str] = []
    for sign in (_in_sand, _in_soft_clay, _at_boundaries):
        found = sign(profile, excess, level)
        if found is not None:
            text, fine = found
            (good if fine else bad).append(text)
    if not good and not bad:
        return None
    grade = "good" if not bad else ("doubtful" if len(good) >= len(bad) else "poor")
    return Saturation(grade, tuple(good + bad))


def _level_of_sand(profile: Profile) -> float | None:
    """Return the water level that u2 in clean sand points to, for want of a known one [m]."""
    sand = sand_rows(profile)
    if np.count_nonzero(sand) < 60:
        return None
    head = profile.series["depth"][sand] - profile.series["u2"][sand] / 9.81
    return float(np.median(head))


def _in_sand(profile: Profile, excess: FloatArray, level: float) -> tuple[str, bool] | None:
    depth = profile.series["depth"]
    sand = sand_rows(profile) & (depth > level + 0.5)
    if np.count_nonzero(sand) <= 30:
        return None
    off = float(np.median(np.abs(excess[sand])))
    allowed = max(20.0, 0.15 * 9.81 * float(np.median(depth[sand] - level)))
    return f"in sand u2 is {off:.0f} kPa off hydrostatic (median)", off < allowed


def _in_soft_clay(profile: Profile, excess: FloatArray, level: float) -> tuple[str, bool] | None:
    clay = soft_clay_rows(profile, level)
    if np.count_nonzero(clay) <= 40:
        return None
    net = profile.series["qt"][clay] - 17.0 * profile.series["depth"][clay]
    ratio = float(np.median(excess[clay] / np.maximum(net, 1.0)))
    return f"in soft clay the excess is {ratio:.0%} of the net resistance (median)", ratio > EXCESS


def _at_boundaries(profile: Profile, excess: FloatArray, level: float) -> tuple[str, bool] | None:
    delays = delays_of_u2(profile, excess, level)
    if not delays:
        return None
    middle = float(np.median(delays))
    text = f"at {len(delays)} layer boundaries u2 follows {middle * 1000:+.0f} mm after qc (median)"
    return text.replace("1 layer boundaries", "1 layer boundary"), middle < LATE


def delays_of_u2(profile: Profile, excess: FloatArray, level: float) -> list[float]:
    """Return by how much u2 changes after qc at each boundary of fine and coarse ground [m].

    At each the depth is sought where the logarithm of qt, and where the excess pore pressure, has
    gone half of the way from one side to the other. In coarse ground it should become nothing, in
    fine ground what it is further down.
    """
    series = profile.series
    known = np.isfinite(series["qt"]) & np.isfinite(excess) & np.isfinite(series.get("Rf"))
    depth = series["depth"][known]
    if depth.size < 100:
        return []
    qt = running_median(np.maximum(series["qt"][known], 10.0), 5)
    ratio = running_median(series["Rf"][known], 9)
    over = running_median(excess[known], 3)
    coarse = (qt > 3500) & (ratio < 1.4) & (depth > level)
    fine = (qt < 2000) & (ratio > 1.2) & (depth > level + 1.0)
    found = []
    runs = sorted(
        (a, b, kind)
        for kind, mask in ((True, coarse), (False, fine))
        for a, b in stretches(running_median(mask.astype(np.float64), 9) > 0.5)
        if depth[b] - depth[a] >= _SIDE
    )
    for (a, b, upper), (c, d, lower) in pairwise(runs):
        if upper == lower or depth[c] - depth[b] > 0.6:
            continue
        above, below = slice(a, b + 1), slice(c, d + 1)
        near = depth[above] > depth[b] - _SIDE
        # coarse ground has no excess, fine ground what it shows away from the boundary
        ends = (
            (0.0, float(np.median(over[below])))
            if upper
            else (float(np.median(over[above][near])), 0.0)
        )
        delay = _delay(depth, np.log(qt), over, (b, d), ends)
        if delay is not None:
            found.append(delay)
    return found


def _delay(
    depth: FloatArray,
    resistance: FloatArray,
    over: FloatArray,
    rows: tuple[int, int],
    ends: tuple[float, float],
) -> float | None:
    """Return how much deeper the excess goes half of its way than the resistance [m]."""
    if abs(ends[1] - ends[0]) < 40.0:
        return None
    start, stop = rows
    top = int(np.searchsorted(depth, depth[start] - 0.3))
    window = slice(top, min(stop, int(np.searchsorted(depth, depth[start] + 2.5))) + 1)
    first = float(np.median(resistance[top : start + 1]))
    last = float(np.median(resistance[window][-20:]))
    places = []
    for values, (one, other) in ((resistance, (first, last)), (over, ends)):
        gone = (values[window] - one) / (other - one)
        after = np.flatnonzero(gone > 0.5)
        if not after.size:
            return None
        places.append(float(depth[window][after[0]]))
    return places[1] - places[0]


@check("saturation", "the filter responds as a saturated one does", "common practice")
def check_saturation(profile: Profile) -> Iterator[Finding]:
    """Report a filter that responds late or little."""
    found = saturation(profile)
    if found is None or found.grade == "good":
        return
    yield Finding(
        "filter-not-saturated",
        Severity.CAUTION,
        f"the filter responded {'poorly' if found.grade == 'poor' else 'doubtfully'}: "
        + "; ".join(found.reasons),
        "a saturated filter: hydrostatic in clean sand, a clear rise in soft clay, and no delay at "
        "layer boundaries",
        channel="u2",
    )

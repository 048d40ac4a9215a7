"""Neighbours: what the soundings nearby met, and where a new one disagrees with all of them.

At every level the neighbours span a range of cone resistance; each counts with what it met within a
window above and below, since layers dip and wander. A stretch of the new sounding that lies beyond
that range, widened by a factor, is told while the rig is still there: a fault of the cone, a wrong
place, or ground that nobody expected. Common practice put into numbers; window, factor and least
length are our own choice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.model.sounding import Sounding
from pushproof.planning.ground import STEP, mean_in_steps

FloatArray = NDArray[np.float64]
WINDOW = 1.0
"""Distance above and below over which a neighbour counts [m]."""
FACTOR = 1.6
"""Factor beyond the range of the neighbours from which a resistance is another [-]."""
LEAST = 0.6
"""Shortest stretch that is told [m]."""


@dataclass(frozen=True)
class Neighbour:
    """One sounding nearby: its name, how far away it is [m], how deep it went [m], why it ended."""

    name: str
    distance: float | None
    depth: float
    ended: str


@dataclass(frozen=True)
class Comparison:
    """A new sounding against its neighbours.

    Parameters
    ----------
    neighbours
        The neighbours, the nearest first.
    by_level
        Whether levels were compared; else depths, since a level or a datum is not known.
    z
        Shape (n,): depth of the new sounding on the grid [m].
    qt, low, high
        Shape (n,): resistance of the new one, and range of the neighbours [kPa]; NaN where no
        neighbour reaches.
    findings
        Stretches that disagree, and what could not be compared.
    """

    neighbours: tuple[Neighbour, ...]
    by_level: bool
    z: FloatArray
    qt: FloatArray
    low: FloatArray
    high: FloatArray
    findings: tuple[Finding, ...]

    @property
    def covered(self) -> float:
        """Share of the new sounding for which neighbours have values [-]."""
        known = np.isfinite(self.qt)
        return float(np.mean(np.isfinite(self.low[known]))) if known.any() else 0.0


def compare(new: Profile, others: Sequence[Profile]) -> Comparison:
    """Compare a sounding with those nearby.

    Parameters
    ----------
    new
        The new one; it may be unfinished.
    others
        Two at least, for a range that means something; one is taken, and said so.

    Raises
    ------
    ValueError
        If there is no other.
    """
    if not others:
        raise ValueError("others: expected at least one sounding nearby")
    places = [new.sounding.location, *(one.sounding.location for one in others)]
    by_level = all(p.level is not None for p in places) and len({p.datum for p in places}) == 1
    zero = places[0].level if by_level else None
    depth, qt = _resistance(new)
    last = float(depth.max()) if depth.size else 0.0
    z = np.arange(STEP / 2, last + STEP / 2, STEP)
    mine = _on_grid(z, depth, qt)
    reach = [_reach(z, one, zero) for one in others]
    with np.errstate(invalid="ignore"):
        low = np.fmin.reduce([lowest for lowest, _ in reach])
        high = np.fmax.reduce([highest for _, highest in reach])
    found = _stretches(z, mine, low, high)
    if len(others) == 1:
        text = f"only one sounding nearby ({others[0].sounding.name}): its scatter is not known"
        found.append(Finding("one-neighbour", Severity.INFO, text, "two or more"))
    if not by_level:
        text = "compared by depth: a level or a common datum is not known"
        found.append(Finding("compared-by-depth", Severity.INFO, text, "levels of all soundings"))
    near = sorted((_neighbour(new.sounding, one) for one in others), key=_away)
    return Comparison(tuple(near), by_level, z, mine, low, high, tuple(found))


def _resistance(profile: Profile) -> tuple[FloatArray, FloatArray]:
    qt, depth = profile.series["qt"], profile.series["depth"]
    known = np.isfinite(qt) & np.isfinite(depth) & (qt > 0)
    return depth[known], qt[known]


def _on_grid(z: FloatArray, depth: FloatArray, qt: FloatArray) -> FloatArray:
    """Return the geometric mean of each cell of the grid; NaN where there is no reading."""
    return np.asarray(np.exp(mean_in_steps(depth, np.log(qt), z.size)))


def _reach(z: FloatArray, other: Profile, zero: float | None) -> tuple[FloatArray, FloatArray]:
    """Return the least and the largest resistance of a neighbour within the window."""
    from scipy.ndimage import maximum_filter1d, minimum_filter1d

    depth, qt = _resistance(other)
    if zero is not None and other.sounding.location.level is not None:
        depth = depth + zero - other.sounding.location.level
    pad = round(WINDOW / STEP)
    grid = np.asarray(np.arange(-pad, z.size + pad) * STEP + STEP / 2, dtype=np.float64)
    values = _on_grid(grid, depth - grid[0] + STEP / 2, qt)
    there = np.isfinite(values)
    width = 2 * pad + 1
    low = minimum_filter1d(np.where(there, values, np.inf), width)[pad : pad + z.size]
    high = maximum_filter1d(np.where(there, values, -np.inf), width)[pad : pad + z.size]
    beyond = ~there[pad : pad + z.size]
    return np.where(beyond, np.nan, low), np.where(beyond, np.nan, high)


def _stretches(z: FloatArray, qt: FloatArray, low: FloatArray, high: FloatArray) -> list[Finding]:
    found = []
    for outside, words in ((qt < low / FACTOR, "below"), (qt > high * FACTOR, "above")):
        padded = np.concatenate(([False], outside, [False])).astype(np.int8)
        edges = np.flatnonzero(np.diff(padded))
        for first, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
            if (end - first) * STEP < LEAST - 1e-9:
                continue
            rows = slice(first, end)
            limit = low[rows] if words == "below" else high[rows]
            off = float(np.median(np.maximum(qt[rows] / limit, limit / qt[rows])))
            found.append(
                Finding(
                    "unlike-neighbours",
                    Severity.CAUTION,
                    f"resistance is {words} what every neighbour met within {WINDOW:g} m, by a "
                    f"factor of {off:.1f} (median)",
                    "check cone, zeros, place and level before the rig leaves; else the ground "
                    "differs here",
                    top=float(z[first] - STEP / 2),
                    base=float(z[end - 1] + STEP / 2),
                    source="common practice; window and factor are our own choice",
                    channel="qc",
                )
            )
    return sorted(found, key=lambda one: one.top or 0.0)


def _neighbour(new: Sounding, other: Profile) -> Neighbour:
    depth, _ = _resistance(other)
    reason = other.sounding.stop_reason
    return Neighbour(
        other.sounding.name,
        distance(new, other.sounding),
        float(depth.max()) if depth.size else math.nan,
        "" if reason is None else reason.value,
    )


def _away(one: Neighbour) -> float:
    return math.inf if one.distance is None else one.distance


def distance(one: Sounding, other: Sounding) -> float | None:
    """Return the distance of two soundings [m]; None unless both are in one plane system.

    Geographic positions are compared on a sphere, which is good to some per mille.
    """
    a, b = one.location, other.location
    if None not in (a.x, a.y, b.x, b.y) and a.crs == b.crs:
        return math.hypot(float(a.x or 0) - float(b.x or 0), float(a.y or 0) - float(b.y or 0))
    if None in (a.latitude, a.longitude, b.latitude, b.longitude):
        return None
    north = math.radians(float(b.latitude or 0) - float(a.latitude or 0))
    middle = math.radians((float(b.latitude or 0) + float(a.latitude or 0)) / 2)
    east = math.radians(float(b.longitude or 0) - float(a.longitude or 0)) * math.cos(middle)
    return 6_371_000.0 * math.hypot(north, east)

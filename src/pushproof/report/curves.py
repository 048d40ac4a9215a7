"""Curves on paper: broken at gaps, cut at page ends, thinned without losing a peak.

A line never bridges a missing value or a jump in depth. Thinning keeps the first, lowest,
highest and last value of every paper row, so that the drawn line covers the same ink.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_LONG_STEP = 4.0
"""A step longer than this many usual steps is a gap."""
_SHORT_GAP = 0.15
"""No step up to this length [m] is called a gap."""


def usual_step(depth: FloatArray) -> float:
    """Return the median positive step of a depth column [m], NaN if there is none."""
    steps = np.diff(depth[np.isfinite(depth)])
    steps = steps[steps > 0]
    return float(np.median(steps)) if steps.size else float("nan")


def gap_length(depth: FloatArray) -> float:
    """Return the step [m] above which two neighbouring rows are not joined."""
    step = usual_step(depth)
    return max(_SHORT_GAP, _LONG_STEP * step) if np.isfinite(step) else _SHORT_GAP


def stretches(depth: FloatArray, values: FloatArray, gap: float) -> list[slice]:
    """Return the row ranges that are drawn as one line each.

    Parameters
    ----------
    depth, values
        Shape (n,), sorted by depth.
    gap
        Steps longer than this [m] break the line.
    """
    present = np.isfinite(values) & np.isfinite(depth)
    joined = np.zeros(len(values) + 1, dtype=bool)
    joined[1:-1] = present[1:] & present[:-1] & (np.diff(depth) <= gap)
    starts = np.flatnonzero(present & ~joined[:-1])
    ends = np.flatnonzero(present & ~joined[1:]) + 1
    return [slice(int(a), int(b)) for a, b in zip(starts, ends, strict=True)]


def cut(
    depth: FloatArray, values: FloatArray, top: float, base: float
) -> tuple[FloatArray, FloatArray]:
    """Return the part of one stretch inside [top, base], with points set on the cuts."""
    if depth[0] >= top and depth[-1] <= base:
        return depth, values
    if depth[-1] < top or depth[0] > base:
        return depth[:0], values[:0]
    inside = (depth >= top) & (depth <= base)
    ends = np.array([z for z in (top, base) if depth[0] < z < depth[-1]])
    all_depth = np.concatenate([depth[inside], ends])
    all_values = np.concatenate([values[inside], np.interp(ends, depth, values)])
    order = np.argsort(all_depth, kind="stable")
    return all_depth[order], all_values[order]


def thin(depth: FloatArray, values: FloatArray, row: float) -> tuple[FloatArray, FloatArray]:
    """Keep the first, lowest, highest and last point of every paper row.

    Parameters
    ----------
    depth, values
        One stretch, shape (n,).
    row
        Height of a paper row in depth [m].
    """
    if len(depth) < 8 or len(depth) * row < 2.5 * (depth[-1] - depth[0]):
        return depth, values
    rows = np.floor((depth - depth[0]) / row).astype(np.int64)
    starts = np.flatnonzero(np.diff(rows, prepend=rows[0] - 1))
    ends = np.append(starts[1:], len(rows)) - 1
    number = np.cumsum(np.diff(rows, prepend=rows[0]) != 0)
    order = np.lexsort((values, number))
    keep = np.unique(np.concatenate([starts, ends, order[starts], order[ends]]))
    return depth[keep], values[keep]


def lines(
    depth: FloatArray, values: FloatArray, top: float, base: float, *, row: float, gap: float
) -> list[FloatArray]:
    """Return a column as lines of (value, depth) points, shape (k, 2) each, inside one page.

    Parameters
    ----------
    depth, values
        The whole column, shape (n,), sorted by depth.
    top, base
        Depth of the page [m].
    row
        Height of a paper row [m].
    gap
        Steps longer than this [m] break the line.
    """
    found = []
    for part in stretches(depth, values, gap):
        z, v = cut(depth[part], values[part], top, base)
        if len(z):
            z, v = thin(z, v, row)
            found.append(np.column_stack([v, z]))
    return found


@dataclass(frozen=True, slots=True)
class Excursion:
    """A run of values beyond one end of an axis: where, and how far."""

    depth: float
    value: float
    high: bool


def excursions(
    depth: FloatArray, values: FloatArray, low: float, high: float, *, apart: float
) -> list[Excursion]:
    """Return the peaks of all runs beyond the axis; runs closer than ``apart`` [m] share one.

    Parameters
    ----------
    depth, values
        Shape (n,).
    low, high
        Ends of the axis, in the unit of ``values``.
    apart
        Smallest distance between two peaks on the same side [m].
    """
    found: list[Excursion] = []
    for is_high in (True, False):
        rows = np.flatnonzero(values > high if is_high else values < low)
        if not rows.size:
            continue
        groups = np.split(rows, np.flatnonzero(np.diff(depth[rows]) > apart) + 1)
        for group in groups:
            peak = group[np.argmax(values[group]) if is_high else np.argmin(values[group])]
            found.append(Excursion(float(depth[peak]), float(values[peak]), is_high))
    return sorted(found, key=lambda e: e.depth)

"""A profile made ready for the search of layers: features in cells, and where nothing was read.

Cells of equal thickness stand for the rows, so that the work depends on metres and not on how
often the cone was read. A feature is divided by the step that matters, so that one is a step in
any of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.profile import Interpretation
from pushproof.model.series import Reason

FloatArray = NDArray[np.float64]

CELL = 0.05
"""Thickness of a cell [m]: a cone of 36 mm feels no less."""
MOST_CELLS = 2000
GAP = 0.5
"""Rows without a value over more than this [m] are a unit of their own."""
BLANKED_GAP = 0.1
"""The same where an interval was blanked on purpose [m]."""
STEP_OF = {"Ic": 0.30, "Qtn": 0.20, "Qt": 0.20, "qt": 0.20}
"""The step that matters: half a zone of soil behaviour, and a factor of 1.6 in resistance (on the
logarithm). Common sense, no source; decision record 0012."""


@dataclass(frozen=True)
class Ground:
    """The rows that the search can use.

    Parameters
    ----------
    depth
        Shape (n,), rising [m].
    row
        Shape (n,): row in the series.
    features
        Shape (n, d): each divided by its step.
    names
        Keys of the features; resistances are taken as logarithms.
    """

    depth: FloatArray
    row: NDArray[np.intp]
    features: FloatArray
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """An interval read without a gap: rows ``first`` to ``last`` (not included) of the ground."""

    top: float
    base: float
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Void:
    """An interval [m] without values, and why, in words."""

    top: float
    base: float
    kind: str
    words: str


def ground_of(interpretation: Interpretation) -> Ground:
    """Return what the search works on.

    The features are Ic and log Qtn; without sleeve friction log Qt, and without a water level
    log qt.
    """
    series = interpretation.series
    names: tuple[str, ...] = ("Ic", "Qtn")
    if not (series.measured("Ic") and series.measured("Qtn")):
        names = ("Qt",) if series.measured("Qt") else ("qt",)
    columns = []
    for name in names:
        values = series.get(name)
        if name != "Ic":
            with np.errstate(divide="ignore", invalid="ignore"):
                values = np.where(values > 0, np.log10(values), np.nan)
        columns.append(values / STEP_OF[name])
    features = np.column_stack(columns)
    depth = series.get("depth")
    use = np.isfinite(depth) & np.isfinite(features).all(axis=1)
    use &= depth >= predrilled(interpretation)
    row = np.flatnonzero(use)
    row = row[np.argsort(depth[row], kind="stable")]
    return Ground(depth[row], row, features[row], names)


def predrilled(interpretation: Interpretation) -> float:
    """Return the depth down to which the ground was taken out before the push [m]."""
    given = interpretation.profile.recipe.predrilled
    return given if given is not None else interpretation.profile.sounding.predrilled or 0.0


def parts_of(interpretation: Interpretation, ground: Ground) -> tuple[list[Part], list[Void]]:
    """Divide a sounding at its gaps.

    Returns
    -------
    list of Part, list of Void
        Together they cover the depth from ground level to the last reading, without overlap.
    """
    every = interpretation.series.get("depth")
    known = every[np.isfinite(every)]
    end = float(known.max()) if known.size else 0.0
    if not len(ground.depth):
        return [], [_void(interpretation, 0.0, end)] if end > 0 else []
    parts: list[Part] = []
    voids: list[Void] = []
    breaks = [int(k) + 1 for k in np.flatnonzero(np.diff(ground.depth) > BLANKED_GAP)]
    first = 0
    top = _start(interpretation, ground, voids)
    for k in breaks:
        a, b = float(ground.depth[k - 1]), float(ground.depth[k])
        if b - a <= GAP and not _is_blanked(interpretation, a, b):
            continue
        parts.append(Part(top, a, first, k))
        voids.append(_void(interpretation, a, b))
        top, first = b, k
    parts.append(Part(top, float(ground.depth[-1]), first, len(ground.depth)))
    if end - parts[-1].base > GAP:
        voids.append(_void(interpretation, parts[-1].base, end))
    else:
        parts[-1] = Part(parts[-1].top, end, parts[-1].first, parts[-1].last)
    return parts, voids


def _start(interpretation: Interpretation, ground: Ground, voids: list[Void]) -> float:
    """Return where the first part begins, and keep what is above it."""
    removed, first = predrilled(interpretation), float(ground.depth[0])
    if removed > 0:
        layers = interpretation.profile.sounding.removed
        words = "; ".join(one.description for one in layers if one.top < removed)
        voids.append(Void(0.0, removed, "pre-excavated", words or "pre-excavated"))
    if first - removed > GAP:
        voids.append(_void(interpretation, removed, first))
        return first
    return removed if removed > 0 else min(0.0, first)


def _is_blanked(interpretation: Interpretation, top: float, base: float) -> bool:
    return bool(_blanking(interpretation, top, base))


def _blanking(interpretation: Interpretation, top: float, base: float) -> list[str]:
    return [
        one.reason
        for one in interpretation.profile.recipe.blanked
        if one.top < base and one.base > top and (not one.channels or "qc" in one.channels)
    ]


def _void(interpretation: Interpretation, top: float, base: float) -> Void:
    reasons = _blanking(interpretation, top, base)
    if reasons:
        return Void(top, base, "blanked", "; ".join(reasons))
    series = interpretation.series
    depth = series.get("depth")
    inside = (depth > top) & (depth < base)
    if not inside.any():
        return Void(top, base, "no readings", "no readings")
    key = "Ic" if series.measured("Ic") else "qt"
    codes = series.reason(key)[inside]
    codes = codes[codes != Reason.PRESENT]
    if not codes.size:
        return Void(top, base, "no readings", "no readings")
    values, counts = np.unique(codes, return_counts=True)
    words = Reason(int(values[counts.argmax()])).words
    return Void(top, base, "no values", f"no soil behaviour: {words}")


def cells_of(ground: Ground, part: Part, height: float) -> tuple[FloatArray, float]:
    """Return the means of a part in cells, shape (m, d), and the exact cell height [m]."""
    depth = ground.depth[part.first : part.last]
    features = ground.features[part.first : part.last]
    count = max(1, round((part.base - part.top) / height))
    exact = max(part.base - part.top, 1e-6) / count
    place = np.clip(((depth - part.top) / exact).astype(np.intp), 0, count - 1)
    rows = np.bincount(place, minlength=count)
    have = rows > 0
    cells = np.empty((count, features.shape[1]))
    middle = np.arange(count)
    for k in range(features.shape[1]):
        sums = np.bincount(place, weights=features[:, k], minlength=count)
        means = sums[have] / rows[have]
        cells[:, k] = np.interp(middle, middle[have], means)
    return cells, exact


def cell_height(ground: Ground) -> float:
    """Return the thickness of cells for a sounding [m]."""
    if len(ground.depth) < 2:
        return CELL
    span = float(ground.depth[-1] - ground.depth[0])
    return max(CELL, float(np.median(np.diff(ground.depth))), span / MOST_CELLS)

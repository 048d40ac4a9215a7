"""Columns brought to pixel rows: what a screen can show of a depth window, and no more.

Where rows are denser than pixels, each pixel row keeps the first, lowest, highest and last value
of its rows, so that no peak is lost however far a reader zooms out. Where they are not, the rows
are sent as they are. This thins for a screen only; nothing computes with the result.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

DENSE = 2
"""Rows to a pixel row above which rows are reduced: four numbers must replace more than four."""


@dataclass(frozen=True)
class Reduced:
    """One column in pixel rows, shape (m,) each; NaN where there is no value.

    ``first`` and ``last`` are those of the first and the last row, missing if that row's value is
    missing; ``low`` and ``high`` are the extremes of what is there.
    """

    first: FloatArray
    low: FloatArray
    high: FloatArray
    last: FloatArray


@dataclass(frozen=True)
class Window:
    """A depth window of some columns.

    Parameters
    ----------
    top, base
        The window that was asked for [m].
    depth
        Depth of each row or pixel row [m], shape (m,).
    join
        Whether a row is joined to the one before it, shape (m,); not where a gap lies between.
    columns
        Values as they are, shape (m,), or brought to pixel rows.
    is_reduced
        Whether they were brought to pixel rows.
    """

    top: float
    base: float
    depth: FloatArray
    join: NDArray[np.bool_]
    columns: Mapping[str, FloatArray | Reduced]
    is_reduced: bool


def window(
    depth: FloatArray,
    columns: Mapping[str, FloatArray],
    *,
    top: float,
    base: float,
    pixels: int,
    gap: float,
) -> Window:
    """Return columns between two depths, at most some four numbers for each pixel row.

    Parameters
    ----------
    depth
        Sorted, shape (n,) [m]; rows without a depth are left out.
    columns
        Key to values, shape (n,).
    top, base
        The window [m]; one row beyond each end is included, so that lines reach its edges.
    pixels
        Height of the window in pixel rows.
    gap
        Steps longer than this [m] are not joined.

    Raises
    ------
    ValueError
        If the window has no height or no pixels.

    Examples
    --------
    >>> z = np.linspace(0, 1, 1001)
    >>> found = window(z, {"qc": np.sin(50 * z)}, top=0, base=1, pixels=10, gap=0.1)
    >>> len(found.depth), float(found.columns["qc"].high.max()) == float(np.sin(50 * z).max())
    (11, True)
    """
    faults = []
    if not base > top:
        faults.append(f"base {base:g} m is not below top {top:g} m")
    if pixels < 1:
        faults.append(f"pixels: {pixels}, expected at least 1")
    if faults:
        raise ValueError("; ".join(faults))
    present = np.isfinite(depth)
    if not present.all():
        depth = depth[present]
        columns = {key: values[present] for key, values in columns.items()}
    first = max(int(np.searchsorted(depth, top, side="left")) - 1, 0)
    last = min(int(np.searchsorted(depth, base, side="right")) + 1, len(depth))
    part = slice(first, last)
    z = depth[part]
    if len(z) <= DENSE * pixels:
        join = np.diff(z, prepend=np.inf) <= gap
        join[:1] = False
        return Window(top, base, z, join, {k: v[part] for k, v in columns.items()}, False)
    starts, ends = _pixel_rows(z, (base - top) / pixels)
    join = np.zeros(len(starts), dtype=bool)
    join[1:] = z[starts[1:]] - z[ends[:-1]] <= gap
    middle = (z[starts] + z[ends]) / 2
    found = {key: _column(values[part], starts, ends) for key, values in columns.items()}
    return Window(top, base, middle, join, found, True)


def _pixel_rows(depth: FloatArray, height: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return first and last row of each pixel row; their edges do not move when a reader pans."""
    pixel = np.floor(depth / height)
    starts = np.flatnonzero(np.diff(pixel, prepend=pixel[0] - 1))
    return starts, np.append(starts[1:], len(depth)) - 1


def _column(values: FloatArray, starts: NDArray[np.intp], ends: NDArray[np.intp]) -> Reduced:
    return Reduced(
        first=values[starts],
        low=np.fmin.reduceat(values, starts),
        high=np.fmax.reduceat(values, starts),
        last=values[ends],
    )

"""Scales of the tracks: one per quantity for a whole sounding, robust to outliers.

A single wild value must not squash the axis for everything else. The end of an axis is chosen so
that nearly all values lie inside; what lies beyond is drawn clipped, with a marker and the value.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

_ENDS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)
"""Mantissas an axis may end at."""
_STEPS = {1.0: 0.2, 1.5: 0.5, 2.0: 0.5, 3.0: 1.0, 4.0: 1.0, 5.0: 1.0, 6.0: 2.0, 8.0: 2.0}
_ROOM_FOR_ALL = 1.6
"""If the axis that shows every value is at most this much longer, it is taken instead."""
_MOST_RUNS = 4
"""More runs of values beyond the axis than this are no outliers: the axis grows."""


@dataclass(frozen=True, slots=True)
class Scale:
    """A linear axis from ``low`` to ``high`` with a labelled step, in display units."""

    low: float
    high: float
    step: float

    def place(self, values: ArrayLike, left: float, right: float) -> FloatArray:
        """Return positions [mm] between ``left`` and ``right``; not clipped."""
        share = (np.asarray(values, dtype=np.float64) - self.low) / (self.high - self.low)
        return left + share * (right - left)

    def ticks(self) -> list[float]:
        """Return the labelled values from low to high.

        Examples
        --------
        >>> Scale(0.0, 6.0, 2.0).ticks()
        [0.0, 2.0, 4.0, 6.0]
        """
        first = math.ceil(self.low / self.step - 1e-9)
        last = math.floor(self.high / self.step + 1e-9)
        return [round(k * self.step, 10) for k in range(first, last + 1)]

    def between(self, parts: int) -> list[float]:
        """Return the values of the fine grid, labelled values left out."""
        fine = self.step / parts
        first = math.ceil(self.low / fine - 1e-9)
        last = math.floor(self.high / fine + 1e-9)
        return [round(k * fine, 10) for k in range(first, last + 1) if k % parts]


def tick_text(value: float, step: float) -> str:
    """Return a tick label with just the decimals its step needs.

    Examples
    --------
    >>> tick_text(0.5, 0.5), tick_text(20.0, 10.0)
    ('0.5', '20')
    """
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return f"{value + 0.0:.{decimals}f}"


def axis_end(value: float) -> float:
    """Return the nearest round number at or above ``value`` at which an axis may end.

    Examples
    --------
    >>> axis_end(17.2), axis_end(31), axis_end(0.7)
    (20.0, 40.0, 0.8)
    """
    if not value > 0 or not math.isfinite(value):
        return 1.0
    power = 10.0 ** math.floor(math.log10(value))
    for mantissa in (*_ENDS, 10.0):
        if value <= mantissa * power * (1 + 1e-9):
            return round(mantissa * power, 10)
    return round(10 * power, 10)


def _step(end: float) -> float:
    power = 10.0 ** math.floor(math.log10(end) + 1e-9)
    return round(_STEPS[round(end / power, 6)] * power, 10)


def positive_scale(
    arrays: Sequence[FloatArray], *, least: float, most: float = math.inf, share: float = 0.985
) -> Scale:
    """Choose an axis from zero for quantities that are positive.

    Parameters
    ----------
    arrays
        Columns drawn on the axis, shape (n,) each [display unit].
    least, most
        The axis ends no lower than ``least`` and no higher than ``most``.
    share
        Share of the values that must lie inside [-].

    Examples
    --------
    >>> values = np.append(np.linspace(0, 10, 400), 900.0)
    >>> positive_scale([values], least=1.0).high
    10.0
    """
    values = _finite(arrays)
    if not values.size:
        return Scale(0.0, least, _step(least))
    robust = axis_end(float(np.quantile(values, share)))
    whole = axis_end(float(values.max()))
    end = whole if whole <= robust * _ROOM_FOR_ALL else robust
    while end < whole and _runs_beyond(arrays, end) > _MOST_RUNS:
        end = axis_end(end * 1.01)
    end = min(max(end, axis_end(least)), axis_end(most) if math.isfinite(most) else most)
    return Scale(0.0, end, _step(end))


def signed_scale(
    arrays: Sequence[FloatArray],
    *,
    inside: Sequence[float] = (),
    least: float,
    share: float = 0.985,
) -> Scale:
    """Choose an axis that may begin below zero, for pore pressure.

    Parameters
    ----------
    arrays
        Columns drawn on the axis, shape (n,) each [display unit].
    inside
        Values that must be inside whatever their share (the ends of the u0 line).
    least
        The axis ends no lower than this.
    share
        Share of the values that must lie inside [-].
    """
    values = _finite(arrays)
    tail = (1 - share) / 2
    high = float(np.quantile(values, 1 - tail)) if values.size else least
    low = float(np.quantile(values, tail)) if values.size else 0.0
    if values.size and values.max() <= high * _ROOM_FOR_ALL:
        high = float(values.max())
    if values.size and values.min() >= low * _ROOM_FOR_ALL and low < 0:
        low = float(values.min())
    high = axis_end(max(high, least, *inside))
    step = _step(high)
    low = min(low, *inside) if inside else low
    if low > -0.02 * high:
        return Scale(0.0, high, step)
    below = math.ceil(-low / (step / 2) - 1e-9) * step / 2
    return Scale(-round(below, 10), high, step)


def _runs_beyond(arrays: Sequence[FloatArray], end: float) -> int:
    """Count the runs of rows beyond the axis; runs closer than 1 % of the rows count as one."""
    count = 0
    for array in arrays:
        rows = np.flatnonzero(array > end)
        count += int(rows.size > 0) + int((np.diff(rows) > max(1, len(array) // 100)).sum())
    return count


def _finite(arrays: Iterable[FloatArray]) -> FloatArray:
    kept = [array[np.isfinite(array)] for array in arrays]
    return np.concatenate(kept) if kept else np.empty(0)

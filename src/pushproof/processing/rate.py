"""Penetration rate from time and length, as the rods moved: pauses do not count.

A clock that counts whole seconds, or tenths, is too coarse for the time between two readings, so
the rate is taken over as many readings as the clock needs, and never across a pause.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pushproof.model.series import Reason, Series

FloatArray = NDArray[np.float64]
TICKS = 20.0
"""Ticks of the clock over which a rate is taken: an error of at most 5 %."""
LONGEST = 0.5
"""Longest length over which a rate is taken [m]."""
PAUSE = 2.0
"""Time between two readings from which they may have a pause between them [s]."""


def with_rate(series: Series) -> Series:
    """Add the penetration rate [m/s] where time is known and no rate is given."""
    if series.measured("rate") or not series.measured("time") or len(series) < 2:
        return series
    rate = penetration_rate(series["length"], series["time"])
    return series.with_column("rate", rate, Reason.NOT_MEASURED)


def penetration_rate(length: FloatArray, time: FloatArray) -> FloatArray:
    """Return the rate of penetration while the rods moved.

    Parameters
    ----------
    length, time
        Penetration length [m] and elapsed time [s], shape (n,), in the order of length; a time
        may be missing.

    Returns
    -------
    FloatArray
        Rate [m/s], shape (n,); NaN where there is no time, or none but a pause.

    Examples
    --------
    >>> length, time = np.array([1.0, 1.02, 1.04, 1.06]), np.array([0.0, 1.0, 31.0, 32.0])
    >>> penetration_rate(length, time).round(6).tolist()
    [0.02, 0.02, 0.02, 0.02]
    """
    rate = np.full(len(length), np.nan)
    rows = np.flatnonzero(np.isfinite(time) & np.isfinite(length))
    if rows.size < 2:
        return rate
    z, t = length[rows], time[rows]
    step = np.diff(t)
    pause = _pauses(step)
    reach = _reach(step[~pause], float(np.median(np.diff(z))))
    run = np.concatenate(([0], np.cumsum(pause)))
    index = np.arange(rows.size)
    low = np.maximum(index - reach, np.searchsorted(run, run, side="left"))
    high = np.minimum(index + reach, np.searchsorted(run, run, side="right") - 1)
    took = t[high] - t[low]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        found = (z[high] - z[low]) / took
    # a time too short to divide by says nothing about the rate
    rate[rows] = np.where((took > 0) & np.isfinite(found), found, np.nan)
    return rate


def _pauses(step: FloatArray) -> NDArray[np.bool_]:
    """Tell which steps of time hold a pause: long, and much longer than those around them."""
    before = np.concatenate((step[:1], step[:-1]))
    after = np.concatenate((step[1:], step[-1:]))
    around = np.minimum(before, after) if step.size > 1 else step
    return np.asarray((step > PAUSE) & (step > 3.0 * np.maximum(around, 0.0)))


def _reach(step: FloatArray, spacing: float) -> int:
    """Return how many readings to look ahead and back, from the ticks of the clock."""
    forward = step[step >= 0]
    ticks = np.diff(np.unique(np.round(np.concatenate(([0.0], forward)), 3)))
    if not ticks.size:
        return 1
    mean = max(float(np.mean(forward)), 1e-6)
    need = int(np.ceil(TICKS * float(ticks.min()) / mean / 2))
    return max(1, min(need, int(LONGEST / max(spacing, 1e-3) / 2)))

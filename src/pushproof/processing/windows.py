"""Running median and running rank along a record."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
MANY = 2_000_000
"""Values times width from which the ranking filter of scipy pays for its import."""


def running_median(values: FloatArray, width: int) -> FloatArray:
    """Return the median over a centred window of odd width; the ends repeat the end value.

    Examples
    --------
    >>> running_median(np.array([1.0, 9.0, 2.0, 3.0]), 3).tolist()
    [1.0, 2.0, 3.0, 3.0]
    """
    if values.size * width > MANY:
        from scipy.ndimage import median_filter

        return np.asarray(median_filter(values, width, mode="nearest"), dtype=np.float64)
    return np.asarray(np.median(_windows(values, width), axis=1))


def running_rank(values: FloatArray, width: int, rank: int) -> FloatArray:
    """Return the ``rank``-th largest value of a centred window of odd width.

    Examples
    --------
    >>> running_rank(np.array([1.0, 9.0, 2.0, 3.0]), 3, 2).tolist()
    [1.0, 2.0, 3.0, 3.0]
    """
    if values.size * width > MANY:
        from scipy.ndimage import rank_filter

        return np.asarray(rank_filter(values, -rank, width, mode="nearest"), dtype=np.float64)
    place = width - rank
    return np.asarray(np.partition(_windows(values, width), place, axis=1)[:, place])


def _windows(values: FloatArray, width: int) -> FloatArray:
    padded = np.pad(values, width // 2, mode="edge")
    return np.lib.stride_tricks.sliding_window_view(padded, width)

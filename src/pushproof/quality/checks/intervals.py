"""Stretches of rows: from a mask along depth to the intervals it covers."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def stretches(mask: NDArray[np.bool_], least: int = 1) -> list[tuple[int, int]]:
    """Return (first, last) rows of every run of True of at least a length.

    Examples
    --------
    >>> stretches(np.array([False, True, True, False, True]), least=2)
    [(1, 2)]
    """
    padded = np.concatenate(([0], mask.astype(np.int8), [0]))
    edges = np.flatnonzero(np.diff(padded))
    runs = zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
    return [(first, end - 1) for first, end in runs if end - first >= least]


MANY = 2_000_000
"""Values times width from which the ranking filter of scipy pays for its import."""


def running_median(values: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """Return the median over a centred window of odd width; the ends repeat the end value.

    Examples
    --------
    >>> running_median(np.array([1.0, 9.0, 2.0, 3.0]), 3).tolist()
    [1.0, 2.0, 3.0, 3.0]
    """
    if values.size * width > MANY:
        from scipy.ndimage import median_filter

        return np.asarray(median_filter(values, width, mode="nearest"), dtype=np.float64)
    half = width // 2
    padded = np.pad(values, half, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, width), axis=1))

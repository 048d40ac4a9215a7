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

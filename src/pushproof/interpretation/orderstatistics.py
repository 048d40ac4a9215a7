"""The values at given places in order, without putting all values in order.

Numbers are counted in bins that keep their order; only the bins that hold a wanted place are looked
at more closely. The result is the same as by sorting, in a third of the time from some thousands
of values on.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Singles = NDArray[np.float32]

FEW = 2_000
"""Up to so many values sorting is as quick: found by trial."""

BITS = 11
"""Two to the power of this is the number of bins: found by trial for 10,000 values."""


def order_statistics(values: Singles, places: Sequence[int]) -> list[float]:
    """Return the values at places in ascending order, counted from zero.

    Parameters
    ----------
    values
        Shape (n,), none of them NaN, as single floats.
    places
        Each from 0 to n - 1.

    Examples
    --------
    >>> order_statistics(np.array([3.0, 1.0, 2.0], np.float32), (0, 2))
    [1.0, 3.0]
    """
    low, high = values.min(), values.max()
    if low == high:
        return [float(low)] * len(places)
    if len(values) <= FEW or not 1e-30 < float(high) - float(low) < 1e38:  # bins need a width
        ordered = np.sort(values)
        return [float(ordered[place]) for place in places]
    bins = _bins(values, low, high)
    below = np.bincount(bins).cumsum()
    found = []
    for place, one in zip(places, below.searchsorted(places, "right").tolist(), strict=True):
        near = values[bins == one]
        rank = place - (int(below[one - 1]) if one else 0)
        near.partition(rank)
        found.append(float(near[rank]))
    return found


def _bins(values: Singles, low: np.float32, high: np.float32) -> NDArray[np.int32]:
    """Return a bin for each value; a larger value is never in a lower bin.

    Above zero the bits of a float are in the order of its value, and about even in its logarithm:
    right for values that reach over several powers of ten.
    """
    if low > 0:
        first = int(low.view(np.int32))
        bins = values.view(np.int32) - np.int32(first)
        bins >>= max((int(high.view(np.int32)) - first).bit_length() - BITS, 0)
        return bins
    return ((values - low) * np.float32((2**BITS - 1) / (high - low))).astype(np.int32)

"""How many decimals a column of numbers carries, so that a writer neither adds nor drops any.

Readings are kept as binary numbers in the inside unit; the decimals of the file they came from are
found again as the fewest that give the same number back.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pushproof.formats.digits import fixed_texts

MOST = 9
"""Most decimals that are written."""
_ULPS = 16
"""Conversion to the inside unit and back costs a few last bits."""


def decimals(values: ArrayLike, most: int = MOST, least: int = 0) -> int:
    """Return the fewest decimals that give the values back.

    Parameters
    ----------
    values
        Any shape; missing values are passed over.
    most, least
        Bounds. Values that are no decimal fractions give ``most``.

    Examples
    --------
    >>> decimals([1.25, 3.0, float("nan")])
    2
    >>> decimals([0.0994 * 1000 / 1000])
    4
    >>> decimals([1 / 3])
    9
    """
    found = np.asarray(values, dtype=np.float64).ravel()
    found = found[np.isfinite(found)]
    if not found.size:
        return least
    # a part of the column settles most of the answer; the whole of it is looked at from there on
    start = _fewest(found[:: max(1, found.size // 500)], least, most)
    return _fewest(found, start, most)


def _fewest(values: NDArray[np.float64], least: int, most: int) -> int:
    room = _ULPS * np.spacing(np.abs(values))
    for count in range(least, most):
        if (np.abs(np.round(values, count) - values) <= room).all():
            return count
    return most


def fixed(values: NDArray[np.float64], count: int) -> list[str]:
    """Return numbers as text with so many decimals, empty where missing.

    Examples
    --------
    >>> fixed(np.array([1.005, np.nan, -0.0001]), 2)
    ['1.00', '', '0.00']
    """
    return fixed_texts(np.round(values, count) + 0.0, count)  # no minus before zero


def plain(value: float, least: int = 0) -> str:
    """Return one number as text with the decimals it has.

    Examples
    --------
    >>> plain(0.0015 * 1e6), plain(0.8), plain(1 / 3)
    ('1500', '0.8', '0.333333333')
    """
    return fixed(np.array([value]), decimals([value], least=least))[0]


def exact(values: NDArray[np.float64]) -> list[str]:
    """Return numbers as the texts that give them back, conversion bits left out; empty if missing.

    Examples
    --------
    >>> exact(np.array([0.0994 * 1000 * 10, np.nan, 2.5])), exact(np.array([1 / 3]))
    (['994.0', '', '2.5'], ['0.3333333333333333'])

    Raises
    ------
    ValueError
        If a number is infinite.
    """
    if np.isinf(values).any():
        raise ValueError("an infinite number cannot be written")
    count = decimals(values, most=12, least=1)
    if count < 12:
        return fixed(values, count)
    return ["" if v != v else repr(v) for v in values.tolist()]


def clean(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return values without the last bits that a conversion of units left.

    Examples
    --------
    >>> clean(np.array([0.0994 * 1000 * 10])).tolist()
    [994.0]
    """
    count = decimals(values, most=12)
    if count < 12:
        return np.asarray(np.round(values, count) + 0.0)
    return np.asarray(values, dtype=np.float64)

"""When a record crosses a pressure, and how sure that is."""

from __future__ import annotations

import math

import numpy as np

from pushproof.equations.arrays import FloatArray


def crossings(time: FloatArray, u: FloatArray, level: float) -> FloatArray:
    """Return every time at which a falling record crosses a level downward, by linear reading.

    Parameters
    ----------
    time, u
        Shape (n,) [s, kPa].
    level
        Pressure [kPa].

    Examples
    --------
    >>> crossings(np.array([0.0, 10.0, 20.0]), np.array([9.0, 5.0, 1.0]), 4.0).tolist()
    [12.5]
    """
    above = u > level
    rows = np.flatnonzero(above[:-1] & ~above[1:])
    share = (u[rows] - level) / (u[rows] - u[rows + 1])
    return np.asarray(time[rows] + share * (time[rows + 1] - time[rows]))


def time_at(time: FloatArray, u: FloatArray, level: float) -> tuple[float, float, float]:
    """Return when a record falls to a level for good, and its first and last crossing [s].

    Where noise makes it cross several times, the time is the geometric mean of first and last.
    NaN if it never does, or if it ends above the level again.
    """
    found = crossings(time, u, level)
    if not found.size or np.median(u[-3:]) > level:
        return math.nan, math.nan, math.nan
    first, last = float(found[0]), float(found[-1])
    middle = math.sqrt(first * last) if first > 0 else last
    return (first if first == last else middle), first, last


def evenly(x: FloatArray, u: FloatArray, at: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return a record evenly over x, so that a dense tail does not outweigh the start.

    Readings between the middles of neighbouring places are averaged, their x too; where there are
    fewer than three, the record is read linearly.

    Parameters
    ----------
    x
        Time in the scale that is wanted (its logarithm, its root), rising, shape (n,).
    u
        Pressure [kPa], shape (n,).
    at
        Places, rising, shape (k,).

    Returns
    -------
    tuple
        x and u, shape (k,) each.
    """
    edges = np.concatenate([[at[0]], (at[1:] + at[:-1]) / 2.0, [at[-1]]])
    begin = np.searchsorted(x, edges[:-1], side="left")
    end = np.searchsorted(x, edges[1:], side="right")
    count = end - begin
    many = count > 2

    def mean(values: FloatArray) -> FloatArray:
        total = np.concatenate([[0.0], np.cumsum(values)])
        return np.asarray((total[end] - total[begin]) / np.maximum(count, 1))

    return (
        np.asarray(np.where(many, mean(x), at)),
        np.asarray(np.where(many, mean(u), np.interp(at, x, u))),
    )

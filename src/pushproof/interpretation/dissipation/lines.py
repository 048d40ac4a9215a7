"""Straight lines in a record: over root time at its start, over inverse time at its end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pushproof.equations.arrays import FloatArray
from pushproof.interpretation.dissipation.crossing import evenly

POINTS = 48
"""Points of equal distance over root time on which the straight part is looked for."""
SHORTEST = 0.3
"""Least length of the straight part, as a share of the root of the time it is looked for in."""


@dataclass(frozen=True)
class Line:
    """A line ``u = start + slope x`` over a part of a record.

    ``window`` is the part [s], ``residual`` the root mean square of the fit [kPa], ``error`` the
    standard error of ``start`` [kPa].
    """

    start: float
    slope: float
    window: tuple[float, float]
    residual: float
    error: float
    count: int


def fit_line(x: FloatArray, u: FloatArray, window: tuple[float, float]) -> Line | None:
    """Fit a line by least squares; None with fewer than three readings or no spread of x."""
    if len(x) < 3 or float(np.ptp(x)) <= 0:
        return None
    design = np.column_stack([np.ones_like(x), x])
    coefficients, *_ = np.linalg.lstsq(design, u, rcond=None)
    residual = u - design @ coefficients
    spread = float(np.sqrt((residual**2).sum() / max(len(x) - 2, 1)))
    covariance = np.linalg.inv(design.T @ design)
    error = spread * float(np.sqrt(covariance[0, 0]))
    rms = float(np.sqrt(np.mean(residual**2)))
    return Line(float(coefficients[0]), float(coefficients[1]), window, rms, error, len(x))


def root_time_line(time: FloatArray, u: FloatArray, window: tuple[float, float]) -> Line | None:
    """Fit u over the root of time within a window [s]."""
    inside = (time >= window[0]) & (time <= window[1])
    return fit_line(np.sqrt(time[inside]), u[inside], window)


def straight_part(
    time: FloatArray, u: FloatArray, begin: float, end: float, tolerance: float
) -> tuple[float, float] | None:
    """Find the longest part of a record that is straight over root time.

    Parameters
    ----------
    time, u
        Shape (n,) [s, kPa].
    begin, end
        Where to look [s].
    tolerance
        Root mean square about the line up to which a part counts as straight [kPa].

    Returns
    -------
    tuple or None
        From and to [s]; the longest part, the steepest where several are nearly as long. None if
        no part of at least 0.3 of the root of time is straight.
    """
    even = np.linspace(np.sqrt(begin), np.sqrt(end), POINTS)
    roots, values = evenly(np.sqrt(time), u, even)
    shortest = max(4, int(SHORTEST * POINTS))
    found: list[tuple[float, float, int, int]] = []
    for first in range(POINTS - shortest):
        for last in range(first + shortest, POINTS):
            x, y = roots[first : last + 1], values[first : last + 1]
            slope, start = np.polyfit(x, y, 1)
            rms = float(np.sqrt(np.mean((y - start - slope * x) ** 2)))
            if slope < 0 and rms <= tolerance:
                found.append((float(last - first), float(slope), first, last))
    if not found:
        return None
    longest = max(one[0] for one in found)
    best = min((one for one in found if one[0] >= 0.85 * longest), key=lambda one: one[1])
    return float(even[best[2]] ** 2), float(even[best[3]] ** 2)

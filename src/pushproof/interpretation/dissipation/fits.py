"""Whole-curve fits: the tabulated curve to a falling record, the dilatory solution to any.

Both are linear in the pressures, so the pressures are solved exactly for each trial of the time
scale and only that one number is searched for: a grid over its logarithm, then a bounded search
between the neighbours of the best. Readings are taken evenly over log time, so that the long tail
of a record does not outweigh its start.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pushproof.equations.arrays import FloatArray
from pushproof.equations.consolidation import DEGREES
from pushproof.interpretation.dissipation.crossing import evenly
from pushproof.interpretation.dissipation.record import Record

POINTS = 90
"""Points over log time to which a curve is fitted."""
TRIALS = 121
"""Trials of the time scale."""
TOLERANCE = 1e-6
"""Of the natural logarithm of the time scale, at the end of the search."""
FEWEST = 8
"""Points inside the tabulated range below which the tabulated curve is not fitted."""
LEAST_DECADES = 0.7
"""Decades of time that the tabulated curve must be compared over; the whole table has 1.6."""


@dataclass(frozen=True)
class CurveFit:
    """A fitted curve.

    ``scale`` is the time factor reached in one second [1/s], ``parts`` the pressures that were
    solved for [kPa], ``residual`` the root mean square over the points [kPa], ``window`` the part
    of the record [s].
    """

    scale: float
    parts: tuple[float, ...]
    residual: float
    window: tuple[float, float]


def tabulated_curve(record: Record, u0: float, time_factors: FloatArray) -> CurveFit | None:
    """Fit the curve of tabulated time factors to a falling record.

    Parameters
    ----------
    record
        The record.
    u0
        In-situ pore pressure [kPa].
    time_factors
        T* at the tabulated degrees, shape (7,).

    Returns
    -------
    CurveFit or None
        ``parts`` is (u_i - u0,); None where too little of the record lies in the table.
    """
    time, u = _points(record)
    table = np.log(time_factors)
    left = 1.0 - np.array(DEGREES) / 100.0
    if len(time) < FEWEST:
        return None

    def solve(scale: float) -> tuple[float, tuple[float, ...], tuple[float, float]]:
        at = np.log(time) + scale
        inside = (at >= table[0]) & (at <= table[-1])
        if inside.sum() < FEWEST:
            return math.inf, (), (0.0, 0.0)
        window = (float(time[inside][0]), float(time[inside][-1]))
        if math.log10(window[1] / window[0]) < LEAST_DECADES:
            return math.inf, (), window
        shape = np.interp(at[inside], table, left)
        excess = u[inside] - u0
        amplitude = float(shape @ excess / (shape @ shape))
        if amplitude <= 0:
            return math.inf, (), window
        rms = float(np.sqrt(np.mean((excess - amplitude * shape) ** 2)))
        return rms / amplitude, (amplitude,), window

    low, high = table[0] - math.log(time[-1]), table[-1] - math.log(time[0])
    return _search(solve, low, high, lambda parts: parts[0])


def dilatory_curve(record: Record, u0: float) -> CurveFit | None:
    """Fit ``u0 + A / (1 + 50 T') + B / (1 + 5000 T')`` with free A and B.

    Returns
    -------
    CurveFit or None
        ``scale`` is T' in one second, ``parts`` is (A, B): the octahedral part, and the shear
        part, which is negative where a record rises first. None where no positive A fits.
    """
    time, u = _points(record)
    if len(time) < FEWEST:
        return None
    window = (float(time[0]), float(time[-1]))
    excess = u - u0

    def solve(scale: float) -> tuple[float, tuple[float, ...], tuple[float, float]]:
        factor = np.exp(scale) * time
        design = np.column_stack([1.0 / (1.0 + 50.0 * factor), 1.0 / (1.0 + 5000.0 * factor)])
        parts, *_ = np.linalg.lstsq(design, excess, rcond=None)
        if parts[0] <= 0:
            return math.inf, (), window
        rms = float(np.sqrt(np.mean((excess - design @ parts) ** 2)))
        return rms, (float(parts[0]), float(parts[1])), window

    low, high = math.log(1e-4 / time[-1]), math.log(10.0 / time[-1])
    return _search(solve, low, high, lambda _: 1.0)


def _points(record: Record) -> tuple[FloatArray, FloatArray]:
    """Return the record evenly over log time, from its first reading after zero."""
    later = record.time > 0
    time, u = record.time[later], record.u[later]
    if len(time) < FEWEST or time[-1] <= time[0]:
        return np.empty(0), np.empty(0)
    logs = np.log(time)
    at, values = evenly(logs, u, np.linspace(logs[0], logs[-1], POINTS))
    return np.exp(at), values


def _search(
    solve: Callable[[float], tuple[float, tuple[float, ...], tuple[float, float]]],
    low: float,
    high: float,
    unit: Callable[[tuple[float, ...]], float],
) -> CurveFit | None:
    """Return the best time scale between two logarithms; None where none fits."""
    from scipy.optimize import minimize_scalar

    trials = np.linspace(low, high, TRIALS)
    misfits = [solve(float(trial))[0] for trial in trials]
    best = int(np.argmin(misfits))
    if not math.isfinite(misfits[best]):
        return None
    bounds = (trials[max(best - 1, 0)], trials[min(best + 1, TRIALS - 1)])
    found = minimize_scalar(
        lambda one: min(solve(float(one))[0], 1e30),
        bounds=bounds,
        method="bounded",
        options={"xatol": TOLERANCE, "maxiter": 200},
    )
    at = float(found.x) if found.fun < misfits[best] else float(trials[best])
    misfit, parts, window = solve(at)
    return CurveFit(math.exp(at), parts, misfit * unit(parts), window)

"""Rays that bend: velocities from the top down, by Snell's law at the depths of the receivers.

Each layer reaches from one receiver to the next. The velocity of a layer is the one for which the
ray from the source arrives at its base at the time picked, the layers above being known. Unlike
the straight path this needs arrival times that are true, not only their differences: a trigger
that is late by a constant goes into the first layer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy.optimize import brentq

from pushproof.equations.arrays import FloatArray

SLOWEST, FASTEST = 5.0, 5000.0
"""Velocities between which a layer is looked for [m/s]."""
TOLERANCE = 1e-9
"""Relative tolerance of both searches, at most 100 steps each."""
STEPS = 100


def travel_time(thickness: FloatArray, velocity: FloatArray, offset: float) -> float:
    """Return the travel time of the direct ray through level layers [s].

    Parameters
    ----------
    thickness, velocity
        Of the layers from the source down, shape (n,) [m, m/s].
    offset
        Horizontal distance of the source [m].

    Examples
    --------
    >>> float(travel_time(np.array([4.0]), np.array([100.0]), 3.0))
    0.05
    """
    if offset <= 0:
        return float((thickness / velocity).sum())
    slowness = _ray(thickness, velocity, offset)
    sine = slowness * velocity
    return float((thickness / (velocity * np.sqrt(1.0 - sine * sine))).sum())


def _ray(thickness: FloatArray, velocity: FloatArray, offset: float) -> float:
    """Return the horizontal slowness of the ray that comes out at an offset [s/m]."""
    fastest = float(velocity.max())

    def reach(tangent: float) -> float:
        # the tangent of the angle in the fastest layer runs free, so that no root is near an end
        sine = tangent / math.sqrt(1.0 + tangent * tangent) * velocity / fastest
        return float((thickness * sine / np.sqrt(1.0 - sine * sine)).sum()) - offset

    high = 1.0
    while reach(high) < 0:
        high *= 4.0
    tangent = brentq(reach, 0.0, high, rtol=TOLERANCE, maxiter=STEPS)
    return float(tangent / math.sqrt(1.0 + tangent * tangent) / fastest)


def velocities(
    depths: Sequence[float], times: Sequence[float], offsets: Sequence[float]
) -> FloatArray:
    """Return the velocity of each layer, shape (n,) [m/s].

    Parameters
    ----------
    depths, times, offsets
        Of the arrivals, from the top down [m, s, m].

    Returns
    -------
    FloatArray
        NaN from the first layer for which no velocity fits.
    """
    found = np.full(len(depths), np.nan)
    thickness = np.diff(np.array([0.0, *depths]))
    for k, (time, offset) in enumerate(zip(times, offsets, strict=True)):
        known = found[:k]
        layers = thickness[: k + 1]

        def misfit(
            logarithm: float,
            known: FloatArray = known,
            layers: FloatArray = layers,
            offset: float = offset,
            time: float = time,
        ) -> float:
            return travel_time(layers, np.append(known, math.exp(logarithm)), offset) - time

        low, high = math.log(SLOWEST), math.log(FASTEST)
        if layers[-1] <= 0 or misfit(low) < 0 or misfit(high) > 0:
            break
        found[k] = math.exp(brentq(misfit, low, high, rtol=TOLERANCE, maxiter=STEPS))
    return found

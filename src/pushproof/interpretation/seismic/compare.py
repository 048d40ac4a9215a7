"""A measured velocity beside the estimate from the cone over the same depths."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pushproof.equations.stiffness import G0_wave_velocity
from pushproof.model.profile import Interpretation
from pushproof.model.seismic import SeismicResult, VelocityInterval


@dataclass(frozen=True)
class Compared:
    """One interval with what the cone gives there.

    ``estimate`` is the velocity that gives the same travel time as the estimates of the rows
    [m/s], ``G0`` the modulus of the measured velocity with the mean unit weight [kPa].
    """

    interval: VelocityInterval
    estimate: float
    ratio: float
    G0: float


def compared(result: SeismicResult, interpretation: Interpretation) -> tuple[Compared, ...]:
    """Return each interval beside the estimate, NaN where the cone gives none.

    Parameters
    ----------
    result
        Measured velocities.
    interpretation
        Of the same push, without these velocities in its recipe.
    """
    series = interpretation.series
    depth = series["depth"]
    rows = []
    for one in result.intervals:
        inside = (depth >= one.top) & (depth < one.base)
        slowness = 1.0 / series["Vs"][inside]
        slowness = slowness[np.isfinite(slowness)]
        estimate = 1.0 / float(slowness.mean()) if slowness.size else math.nan
        gamma = series["gamma"][inside]
        gamma = gamma[np.isfinite(gamma)]
        weight = float(gamma.mean()) if gamma.size else math.nan
        G0 = float(G0_wave_velocity(weight, one.Vs))
        rows.append(Compared(one, estimate, one.Vs / estimate, G0))
    return tuple(rows)

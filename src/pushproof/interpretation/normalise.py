"""Normalised parameters: the stress exponent and the index Ic, found together by iteration."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.behaviour import Ic_robertson_wride_1998
from pushproof.equations.normalised import (
    Qtn_stress,
    n_robertson_2009,
    n_robertson_wride_1998,
    n_zhang_2002,
)

FloatArray = NDArray[np.float64]

START = 1.0
"""First stress exponent of the iteration."""
TOLERANCE = 1e-4
"""Change of the exponent at which a row is done. The paper stops at 0.01; a tighter stop costs
two passes and makes the result independent of the start."""
MAXIMUM = 50
"""Passes after which a row counts as not converged."""


@dataclass(frozen=True)
class Normalised:
    """Exponent, normalised resistance and index of shape (n,), and which rows did not converge."""

    n: FloatArray
    Qtn: FloatArray
    Ic: FloatArray
    stuck: NDArray[np.bool_]


def normalise(
    method: str, qn: FloatArray, Fr: FloatArray, sigma_v0_eff: FloatArray, pa: float
) -> Normalised:
    """Find stress exponent, Qtn and Ic together.

    Parameters
    ----------
    method
        Name of the exponent relation, or ``"linear"`` for n = 1.
    qn, sigma_v0_eff
        Net cone resistance and effective vertical stress [kPa], shape (n,).
    Fr
        Normalised friction ratio [%], shape (n,).
    pa
        Reference stress [kPa].

    Notes
    -----
    Start value, tolerance and maximum are the module's constants. Rows that are done leave the
    iteration, so the cost follows the rows that still move.
    """
    usable = np.isfinite(qn) & (qn > 0) & (Fr > 0) & (sigma_v0_eff > 0)
    rows = np.flatnonzero(usable)
    n = np.full(len(qn), np.nan)
    Qtn = np.full(len(qn), np.nan)
    Ic = np.full(len(qn), np.nan)
    stuck = np.zeros(len(qn), dtype=bool)
    q, f, s = qn[rows], Fr[rows], sigma_v0_eff[rows]
    if method in ("linear", "n_robertson_wride_1998"):
        exponent = np.ones(rows.size)
        if method == "n_robertson_wride_1998":
            first = Ic_robertson_wride_1998(Qtn_stress(q, s, 1.0, pa), f)
            half = Ic_robertson_wride_1998(Qtn_stress(q, s, 0.5, pa), f)
            exponent = n_robertson_wride_1998(first, half)
    else:
        exponent, late = _iterate(method, q, f, s, pa)
        stuck[rows] = late
        exponent = np.where(late, np.nan, exponent)
    n[rows] = exponent
    Qtn[rows] = Qtn_stress(q, s, exponent, pa)
    Ic[rows] = Ic_robertson_wride_1998(Qtn[rows], f)
    return Normalised(n, Qtn, Ic, stuck)


def _iterate(
    method: str, qn: FloatArray, Fr: FloatArray, sigma_v0_eff: FloatArray, pa: float
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Iterate log10 Qtn = log10(qn/pa) + n log10(pa/sigma), in logs to save the powers."""
    resistance = 3.47 - np.log10(qn / pa)
    per_exponent = np.log10(pa / sigma_v0_eff)
    friction = np.log10(Fr) + 1.22
    friction *= friction
    exponent = np.full(len(qn), START)
    active = np.arange(len(qn))
    stress = sigma_v0_eff
    for _ in range(MAXIMUM):
        current = exponent[active]
        across = resistance - current * per_exponent
        Ic = np.sqrt(across * across + friction)
        if method == "n_zhang_2002":
            new = n_zhang_2002(Ic, stress)
        else:
            new = n_robertson_2009(Ic, stress, pa)
        exponent[active] = new
        moving = np.abs(new - current) > TOLERANCE
        if not moving.any():
            active = active[:0]
            break
        if np.count_nonzero(moving) < 0.7 * active.size:
            active, resistance, per_exponent = (
                active[moving],
                resistance[moving],
                per_exponent[moving],
            )
            friction, stress = friction[moving], stress[moving]
    late = np.zeros(len(qn), dtype=bool)
    late[active] = True
    return exponent, late

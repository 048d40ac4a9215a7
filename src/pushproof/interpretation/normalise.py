"""The stress exponent: found together with the index Ic that it depends on."""

from __future__ import annotations

import numpy as np

from pushproof.equations.arrays import FloatArray, positive
from pushproof.equations.behaviour import Ic_robertson_wride_1998
from pushproof.equations.normalised import (
    Qtn_stress,
    n_robertson_2009,
    n_robertson_wride_1998,
    n_youd_2001,
    n_zhang_2002,
)

START = 1.0
"""First stress exponent of the iteration."""
TOLERANCE = 1e-4
"""Last change of the exponent at which a row is done. The paper stops at 0.01, which leaves a
result that depends on the start; the steps below converge quadratically, so that the error left
behind is of the order of the tolerance squared."""
LEAST = -0.15
"""Lower end of the search: the rule of Robertson 2009 where Ic and the stress are zero."""
MAXIMUM = 30
"""Passes after which a row counts as not converged."""


def stress_exponent(
    method: str,
    qn: FloatArray,
    Fr: FloatArray,
    sigma_v0_eff: FloatArray,
    pa: float,
    start: FloatArray | float = START,
    tolerance: float = TOLERANCE,
) -> tuple[FloatArray, FloatArray]:
    """Find the stress exponent.

    Parameters
    ----------
    method
        Name of the relation, or ``"linear"`` for n = 1 everywhere.
    qn, sigma_v0_eff
        Net cone resistance and effective vertical stress [kPa], shape (n,).
    Fr
        Normalised friction ratio [%], shape (n,).
    pa
        Reference stress [kPa].
    start
        First exponent of the iteration; one that is near saves passes.
    tolerance
        Last change of the exponent at which a row is done.

    Returns
    -------
    tuple of FloatArray
        The exponent, NaN where an input is missing or not positive, or where the iteration did
        not converge; and the change of the exponent in the last pass, NaN where none was made.
    """
    usable = (qn > 0) & (Fr > 0) & (sigma_v0_eff > 0)
    if method == "linear":
        exponent = np.where(usable, 1.0, np.nan)
        return exponent, exponent * 0.0
    if method in ("n_robertson_wride_1998", "n_youd_2001"):
        linear = Ic_robertson_wride_1998(Qtn_stress(qn, sigma_v0_eff, 1.0, pa), Fr)
        half = Ic_robertson_wride_1998(Qtn_stress(qn, sigma_v0_eff, 0.5, pa), Fr)
        rule = n_youd_2001 if method == "n_youd_2001" else n_robertson_wride_1998
        exponent = rule(linear, half)
        return exponent, exponent * 0.0
    exponent, change = _iterate(method, qn, Fr, sigma_v0_eff, pa, start, tolerance)
    return np.where(change <= tolerance, exponent, np.nan), change


def _iterate(
    method: str,
    qn: FloatArray,
    Fr: FloatArray,
    sigma_v0_eff: FloatArray,
    pa: float,
    start: FloatArray | float,
    tolerance: float,
) -> tuple[FloatArray, FloatArray]:
    """Solve n = rule(Ic(n)) by Newton's method, which ends where direct substitution ends.

    In logarithms, 3.47 - log10 Qtn is linear in n, so that a pass needs one square root and no
    power. A row that is done stays as it is, so that no row depends on its neighbours. Steps are
    held between the least exponent that the rule can give and 1; the slope is held below 0.9,
    where, far outside the ground, the rule would have more than one solution.
    """
    resistance = 3.47 - np.log10(positive(qn) / pa)
    per_exponent = np.log10(pa / positive(sigma_v0_eff))
    friction = np.log10(positive(Fr)) + 1.22
    friction *= friction
    exponent = np.empty(qn.shape)
    exponent[...] = start
    change = np.full(qn.shape, np.inf)
    for _ in range(MAXIMUM):
        across = resistance - exponent * per_exponent
        Ic = np.sqrt(across * across + friction)
        if method == "n_zhang_2002":
            new = n_zhang_2002(Ic, sigma_v0_eff)
            steep = (Ic > 1.64) & (Ic <= 3.30) & (sigma_v0_eff <= 300.0)
            gain = 0.3 * steep
        else:
            new = n_robertson_2009(Ic, sigma_v0_eff, pa)
            gain = 0.381 * (new < 1.0)
        slope = np.minimum(-gain * across * per_exponent / np.maximum(Ic, 1e-9), 0.9)
        moved = np.maximum(exponent + (new - exponent) / (1.0 - slope), LEAST)
        moving = change > tolerance
        np.copyto(change, np.abs(moved - exponent), where=moving)
        np.copyto(exponent, moved, where=moving)
        if not (change > tolerance).any():
            break
    return exponent, change

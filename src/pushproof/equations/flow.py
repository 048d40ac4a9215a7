"""Hydraulic conductivity from soil behaviour: an order of magnitude."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, exp10, floats
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import factor_of


@equation(
    gives="k",
    formula="k = 10^(0.952 - 3.04 Ic) for 1 < Ic <= 3.27; 10^(-4.52 - 1.37 Ic) to Ic 4",
    reference="robertson-2010-flow",
    mark=Mark.MEMORY,
    units={"Ic": "-", "return": "m/s"},
    validity="1 < Ic < 4; steps by 2.6 % at Ic 3.27",
    scatter=factor_of(10.0, "about an order of magnitude either way"),
)
def k_robertson_2010(Ic: ArrayLike) -> FloatArray:
    """Hydraulic conductivity from the behaviour index.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Hydraulic conductivity [m/s]; NaN outside the range.

    Examples
    --------
    >>> f"{float(k_robertson_2010(3.27)):.3e}"
    '1.026e-09'
    """
    (Ic,) = floats(Ic)
    inside = np.where((Ic > 1.0) & (Ic < 4.0), Ic, np.nan)
    return exp10(np.where(inside <= 3.27, 0.952 - 3.04 * inside, -4.52 - 1.37 * inside))


@equation(
    gives="kh",
    formula="kh = ch gamma_w / M",
    reference="ufc-3-220-10",
    where="Ch. 3 (k = cv mv gamma_w), with mv = 1 / M",
    mark=Mark.VERIFIED,
    units={"ch": "m2/s", "M": "kPa", "gamma_w": "kN/m3", "return": "m/s"},
    validity="clay and silt; ch from a dissipation, M in the same direction of flow and load",
)
def kh_consolidation(ch: ArrayLike, M: ArrayLike, gamma_w: float = 9.81) -> FloatArray:
    """Hydraulic conductivity from the coefficient of consolidation.

    Parameters
    ----------
    ch
        Coefficient of consolidation [m2/s].
    M
        Constrained modulus [kPa].
    gamma_w
        Unit weight of water [kN/m3].

    Returns
    -------
    FloatArray
        Hydraulic conductivity [m/s]; NaN where the modulus is not positive.

    Examples
    --------
    >>> f"{float(kh_consolidation(1e-7, 1e4)):.3e}"
    '9.810e-11'
    """
    ch, M = floats(ch, M)
    return ch * gamma_w / np.where(M > 0, M, np.nan)


@equation(
    gives="kh",
    formula="kh = (1 / (251 t50))^1.25 cm/s, t50 in s",
    reference="parez-fauriel-1988",
    mark=Mark.MEMORY,
    units={"t50": "s", "return": "m/s"},
    validity="first guess from one time, u2 filter, standard cone",
    scatter=factor_of(10.0, "about an order of magnitude either way"),
)
def kh_parez_fauriel_1988(t50: ArrayLike) -> FloatArray:
    """Hydraulic conductivity straight from the time of half dissipation.

    Parameters
    ----------
    t50
        Time of 50 % dissipation [s].

    Returns
    -------
    FloatArray
        Hydraulic conductivity [m/s]; NaN where the time is not positive.

    Examples
    --------
    >>> f"{float(kh_parez_fauriel_1988(60.0)):.3e}"
    '5.994e-08'
    """
    (t50,) = floats(t50)
    return np.asarray(0.01 * (251.0 * np.where(t50 > 0, t50, np.nan)) ** -1.25)

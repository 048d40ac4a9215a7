"""Unit weight of soil estimated from the cone (methods that need no iteration over stress)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation


@equation(
    gives="gamma",
    formula="gamma / gamma_w = 0.27 log10(Rf) + 0.36 log10(qt / pa) + 1.236",
    reference="robertson-cabal-2010",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "Rf": "%", "pa": "kPa", "gamma_w": "kN/m3", "return": "kN/m3"},
    validity="mineral soil with specific gravity near 2.65; not peat or organic soil",
)
def gamma_robertson_2010(
    qt: ArrayLike, Rf: ArrayLike, pa: float = 100.0, gamma_w: float = 9.81
) -> FloatArray:
    """Unit weight from cone resistance and friction ratio.

    Parameters
    ----------
    qt
        Corrected cone resistance [kPa].
    Rf
        Friction ratio [%].
    pa
        Reference stress [kPa].
    gamma_w
        Unit weight of water [kN/m3].

    Returns
    -------
    FloatArray
        Unit weight [kN/m3]; NaN where qt or Rf is not positive.

    Examples
    --------
    >>> round(float(gamma_robertson_2010(1000.0, 1.0)), 2)
    15.66
    """
    qt, Rf = floats(qt, Rf)
    friction = 0.27 * np.log10(positive(Rf))
    resistance = 0.36 * np.log10(positive(qt) / pa)
    return np.asarray((friction + resistance + 1.236) * gamma_w)


@equation(
    gives="gamma",
    formula="gamma = 26 - 14 / (1 + (0.5 log10(fs + 1))^2)",
    reference="mayne-2014",
    mark=Mark.MEMORY,
    units={"fs": "kPa", "return": "kN/m3"},
    validity="fs > 0",
)
def gamma_mayne_2014(fs: ArrayLike) -> FloatArray:
    """Unit weight from sleeve friction alone.

    Parameters
    ----------
    fs
        Sleeve friction [kPa].

    Returns
    -------
    FloatArray
        Unit weight [kN/m3]; NaN where fs is not positive.

    Examples
    --------
    >>> round(float(gamma_mayne_2014(50.0)), 2)
    17.9
    """
    (fs,) = floats(fs)
    half = 0.5 * np.log10(positive(fs) + 1.0)
    return np.asarray(26.0 - 14.0 / (1.0 + half * half))

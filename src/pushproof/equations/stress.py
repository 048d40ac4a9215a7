"""Stresses in the ground along a profile."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import DEFINITION


@equation(
    gives="sigma_v0",
    formula="sigma_v0 = surcharge + sum(gamma dz)",
    reference="ufc-3-220-10",
    where="Ch. 4",
    mark=Mark.VERIFIED,
    units={"depth": "m", "gamma": "kN/m3", "surcharge": "kPa", "return": "kPa"},
    validity="level ground; depth grows along the array",
    scatter=DEFINITION,
)
def sigma_v0_layers(depth: ArrayLike, gamma: ArrayLike, surcharge: float = 0.0) -> FloatArray:
    """Total vertical stress, each row's unit weight holding from the row above down to it.

    Parameters
    ----------
    depth
        Depth of each row [m], shape (n,), not decreasing; the first row reaches up to depth 0.
    gamma
        Unit weight between the row above and this row [kN/m3], shape (n,).
    surcharge
        Stress at depth 0 [kPa], such as open water.

    Returns
    -------
    FloatArray
        Total vertical stress [kPa], shape (n,).

    Examples
    --------
    >>> sigma_v0_layers([2.0, 5.0], [17.0, 19.0]).tolist()
    [34.0, 91.0]
    """
    depth, gamma = floats(depth, gamma)
    step = np.diff(depth, prepend=0.0)
    return np.asarray(surcharge + np.cumsum(gamma * step))


@equation(
    gives="u0",
    formula="u0 = gamma_w max(0, z - zw)",
    reference="ufc-3-220-10",
    where="Ch. 4",
    mark=Mark.VERIFIED,
    units={"depth": "m", "water_level": "m", "gamma_w": "kN/m3", "return": "kPa"},
    validity="hydrostatic water; no seepage and no suction above the water table",
    scatter=DEFINITION,
)
def u0_hydrostatic(depth: ArrayLike, water_level: ArrayLike, gamma_w: float = 9.81) -> FloatArray:
    """Hydrostatic pore pressure.

    Parameters
    ----------
    depth
        Depth below ground level [m].
    water_level
        Depth of the water table [m]; negative above ground level.
    gamma_w
        Unit weight of water [kN/m3].

    Returns
    -------
    FloatArray
        Pore pressure [kPa]; zero above the water table.

    Examples
    --------
    >>> round(float(u0_hydrostatic(5.0, 2.0)), 2)
    29.43
    """
    depth, water_level = floats(depth, water_level)
    return np.asarray(gamma_w * np.maximum(0.0, depth - water_level))


@equation(
    gives="sigma_v0_eff",
    formula="sigma_v0_eff = sigma_v0 - u0",
    reference="ufc-3-220-10",
    where="Ch. 4",
    mark=Mark.VERIFIED,
    units={"sigma_v0": "kPa", "u0": "kPa", "return": "kPa"},
    validity="saturated soil, and dry soil where u0 is zero; no suction",
    scatter=DEFINITION,
)
def sigma_v0_eff_terzaghi(sigma_v0: ArrayLike, u0: ArrayLike) -> FloatArray:
    """Effective vertical stress.

    Parameters
    ----------
    sigma_v0, u0
        Total vertical stress and in-situ pore pressure [kPa].

    Returns
    -------
    FloatArray
        Effective vertical stress [kPa].

    Examples
    --------
    >>> round(float(sigma_v0_eff_terzaghi(91.0, 29.43)), 2)
    61.57
    """
    sigma_v0, u0 = floats(sigma_v0, u0)
    return sigma_v0 - u0

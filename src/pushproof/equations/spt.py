"""Equivalent SPT blow count from the cone."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, exp10, floats, positive
from pushproof.equations.registry import Mark, equation


@equation(
    gives="(qc/pa)/N60",
    formula="(qc / pa) / N60 = 8.5 (1 - Ic / 4.6)",
    reference="jefferies-davies-1993",
    mark=Mark.MEMORY,
    units={"Ic": "-", "return": "-"},
    validity="Ic < 4.6",
)
def n60_ratio_jefferies_davies_1993(Ic: ArrayLike) -> FloatArray:
    """Ratio of cone resistance to blow count, linear in the index.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Ratio (qc/pa)/N60 [-]; NaN where Ic is 4.6 or more.

    Examples
    --------
    >>> round(float(n60_ratio_jefferies_davies_1993(2.05)), 3)
    4.712
    """
    (Ic,) = floats(Ic)
    return positive(8.5 * (1.0 - Ic / 4.6))


@equation(
    gives="(qt/pa)/N60",
    formula="(qt / pa) / N60 = 10^(1.1268 - 0.2817 Ic)",
    reference="robertson-2012",
    mark=Mark.MEMORY,
    units={"Ic": "-", "return": "-"},
    validity="all soils with a defined Ic",
)
def n60_ratio_robertson_2012(Ic: ArrayLike) -> FloatArray:
    """Ratio of cone resistance to blow count, exponential in the index.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Ratio (qt/pa)/N60 [-].

    Examples
    --------
    >>> round(float(n60_ratio_robertson_2012(2.05)), 3)
    3.543
    """
    (Ic,) = floats(Ic)
    return exp10(1.1268 - 0.2817 * Ic)


@equation(
    gives="N60",
    formula="N60 = (qt / pa) / ratio",
    reference="das-sobhan-9",
    where="Problem 17.9 (there with qc)",
    mark=Mark.VERIFIED,
    units={"qt": "kPa", "n60_ratio": "-", "pa": "kPa", "return": "-"},
    validity="ratio > 0, from one of the relations for it",
)
def N60_from_ratio(qt: ArrayLike, n60_ratio: ArrayLike, pa: float = 100.0) -> FloatArray:
    """Equivalent SPT blow count at 60 % energy.

    Parameters
    ----------
    qt
        Corrected cone resistance [kPa].
    n60_ratio
        Ratio of qt/pa to N60 [-].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Blow count [-]; NaN where the ratio or qt is not positive.

    Examples
    --------
    >>> round(float(N60_from_ratio(2667.0, 4.4454)), 2)
    6.0
    """
    qt, n60_ratio = floats(qt, n60_ratio)
    return positive(qt) / (pa * positive(n60_ratio))


@equation(
    gives="N1_60",
    formula="(N1)60 = N60 CN, CN = min(1.7, (pa / sigma_v0_eff)^0.5)",
    reference="liao-whitman-1986",
    where="form with the limit of 1.7 in GEC-5, Ch. 5",
    mark=Mark.VERIFIED,
    units={"N60": "-", "sigma_v0_eff": "kPa", "pa": "kPa", "return": "-"},
    validity="sigma_v0_eff > 0; made for sand",
)
def N1_60_liao_whitman_1986(
    N60: ArrayLike, sigma_v0_eff: ArrayLike, pa: float = 100.0
) -> FloatArray:
    """Blow count normalised to a stress of one atmosphere.

    Parameters
    ----------
    N60
        Blow count at 60 % energy [-].
    sigma_v0_eff
        Effective vertical stress [kPa].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Normalised blow count [-]; NaN where the stress is not positive.

    Examples
    --------
    >>> N1_60_liao_whitman_1986(10.0, [25.0, 100.0, 200.0]).round(3).tolist()
    [17.0, 10.0, 7.071]
    """
    N60, sigma_v0_eff = floats(N60, sigma_v0_eff)
    return N60 * np.minimum(1.7, np.sqrt(pa / positive(sigma_v0_eff)))

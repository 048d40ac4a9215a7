"""Unit weight of soil estimated from the cone.

A relation with ``sigma_v0_eff`` among its arguments is repeated by the interpretation until unit
weight and stress agree. Which one is the default, and why, is in decision record 0003.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import UNKNOWN


@equation(
    gives="gamma",
    formula="gamma / gamma_w = 0.27 log10(Rf) + 0.36 log10(qt / pa) + 1.236",
    reference="robertson-cabal-2010",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "Rf": "%", "pa": "kPa", "gamma_w": "kN/m3", "return": "kN/m3"},
    validity="mineral soil with specific gravity Gs near 2.65 (else multiply by Gs / 2.65); not "
    "peat or organic soil",
    scatter=UNKNOWN,
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
    scatter=UNKNOWN,
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


@equation(
    gives="gamma",
    formula="gamma = 1.95 gamma_w (sigma_v0_eff / pa)^0.06 (fs / pa)^0.06",
    reference="mayne-2010",
    mark=Mark.MEMORY,
    units={"fs": "kPa", "sigma_v0_eff": "kPa", "pa": "kPa", "gamma_w": "kN/m3", "return": "kN/m3"},
    validity="fs > 0 and sigma_v0_eff > 0; repeated with the stress from the top down",
    scatter=UNKNOWN,
)
def gamma_mayne_2010(
    fs: ArrayLike, sigma_v0_eff: ArrayLike, pa: float = 100.0, gamma_w: float = 9.81
) -> FloatArray:
    """Unit weight from sleeve friction and effective stress.

    Parameters
    ----------
    fs, sigma_v0_eff
        Sleeve friction and effective vertical stress [kPa].
    pa
        Reference stress [kPa].
    gamma_w
        Unit weight of water [kN/m3].

    Returns
    -------
    FloatArray
        Unit weight [kN/m3]; NaN where either stress is not positive.

    Examples
    --------
    >>> round(float(gamma_mayne_2010(100.0, 100.0)), 2)
    19.13
    """
    fs, sigma_v0_eff = floats(fs, sigma_v0_eff)
    product = positive(sigma_v0_eff) * positive(fs) / (pa * pa)
    return np.asarray(1.95 * gamma_w * product**0.06)


@equation(
    gives="gamma",
    formula="gamma = 19.0 - 4.12 log10(5 MPa / qt) / log10(30 / Rf)",
    reference="lengkeek-2018",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "Rf": "%", "return": "kN/m3"},
    validity="saturated sand to organic soil and peat; 0 < Rf < 30",
    scatter=UNKNOWN,
)
def gamma_lengkeek_2018(qt: ArrayLike, Rf: ArrayLike) -> FloatArray:
    """Saturated unit weight, made for soft organic soil too.

    Parameters
    ----------
    qt
        Corrected cone resistance [kPa].
    Rf
        Friction ratio [%].

    Returns
    -------
    FloatArray
        Unit weight [kN/m3]; NaN outside the range.

    Examples
    --------
    >>> round(float(gamma_lengkeek_2018(300.0, 5.0)), 2)
    12.53
    """
    qt, Rf = floats(qt, Rf)
    return _lengkeek(qt, Rf, 19.0, 4.12, 5000.0, 30.0)


@equation(
    gives="gamma",
    formula="gamma = 19.5 - 2.87 log10(9 MPa / qt) / log10(20 / Rf)",
    reference="lengkeek-brinkgreve-2022",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "Rf": "%", "return": "kN/m3"},
    validity="saturated sand to organic soil and peat; 0 < Rf < 20",
    scatter=UNKNOWN,
)
def gamma_lengkeek_2022(qt: ArrayLike, Rf: ArrayLike) -> FloatArray:
    """Saturated unit weight, the later fit of the relation of 2018.

    Parameters
    ----------
    qt
        Corrected cone resistance [kPa].
    Rf
        Friction ratio [%].

    Returns
    -------
    FloatArray
        Unit weight [kN/m3]; NaN outside the range.

    Examples
    --------
    >>> round(float(gamma_lengkeek_2022(900.0, 2.0)), 2)
    16.63
    """
    qt, Rf = floats(qt, Rf)
    return _lengkeek(qt, Rf, 19.5, 2.87, 9000.0, 20.0)


def _lengkeek(
    qt: FloatArray, Rf: FloatArray, top: float, slope: float, qt_ref: float, Rf_ref: float
) -> FloatArray:
    spread = np.log10(Rf_ref / positive(Rf))
    return np.asarray(top - slope * np.log10(qt_ref / positive(qt)) / positive(spread))


@equation(
    gives="gamma",
    formula="gamma = 2.6 log10(fs) + 15 Gs - 26.5",
    reference="mayne-2007",
    mark=Mark.MEMORY,
    units={"fs": "kPa", "Gs": "-", "return": "kN/m3"},
    validity="fs > 0; specific gravity of the grains known",
    scatter=UNKNOWN,
)
def gamma_mayne_2007(fs: ArrayLike, Gs: ArrayLike = 2.65) -> FloatArray:
    """Unit weight from sleeve friction and the specific gravity of the grains.

    Parameters
    ----------
    fs
        Sleeve friction [kPa].
    Gs
        Specific gravity of the grains [-].

    Returns
    -------
    FloatArray
        Unit weight [kN/m3]; NaN where fs is not positive.

    Examples
    --------
    >>> round(float(gamma_mayne_2007(100.0)), 2)
    18.45
    """
    fs, Gs = floats(fs, Gs)
    return np.asarray(2.6 * np.log10(positive(fs)) + 15.0 * Gs - 26.5)


@equation(
    gives="gamma",
    formula="gamma = 8.32 log10(Vs) - 1.61 log10(z)",
    reference="mayne-2007",
    mark=Mark.MEMORY,
    units={"Vs": "m/s", "depth": "m", "return": "kN/m3"},
    validity="saturated soil; measured shear wave velocity",
)
def gamma_vs_mayne_2007(Vs: ArrayLike, depth: ArrayLike) -> FloatArray:
    """Saturated unit weight from shear wave velocity and depth.

    Parameters
    ----------
    Vs
        Shear wave velocity [m/s].
    depth
        Depth below ground level [m].

    Returns
    -------
    FloatArray
        Unit weight [kN/m3]; NaN where either is not positive.

    Examples
    --------
    >>> round(float(gamma_vs_mayne_2007(200.0, 10.0)), 2)
    17.53
    """
    Vs, depth = floats(Vs, depth)
    return np.asarray(8.32 * np.log10(positive(Vs)) - 1.61 * np.log10(positive(depth)))


@equation(
    gives="dry unit weight",
    formula="gamma_dry = 1.89 log10(qt1) + 11.8, qt1 = (qt / pa) (pa / sigma_v0_eff)^0.5",
    reference="mayne-2007",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "sigma_v0_eff": "kPa", "pa": "kPa", "return": "kN/m3"},
    validity="sand; qt > 0 and sigma_v0_eff > 0",
)
def gamma_dry_mayne_2007(qt: ArrayLike, sigma_v0_eff: ArrayLike, pa: float = 100.0) -> FloatArray:
    """Dry unit weight of sand.

    Parameters
    ----------
    qt, sigma_v0_eff
        Corrected cone resistance and effective vertical stress [kPa].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Dry unit weight [kN/m3]; NaN where either is not positive.

    Examples
    --------
    >>> round(float(gamma_dry_mayne_2007(10000.0, 100.0)), 2)
    15.58
    """
    qt, sigma_v0_eff = floats(qt, sigma_v0_eff)
    qt1 = positive(qt) / np.sqrt(pa * positive(sigma_v0_eff))
    return np.asarray(1.89 * np.log10(qt1) + 11.8)


@equation(
    gives="gamma",
    formula="gamma = gamma_w + m / 8, m the slope of qn with depth",
    reference="mayne-peuchen-2012",
    mark=Mark.MEMORY,
    units={"qn_slope": "kN/m3", "gamma_w": "kN/m3", "return": "kN/m3"},
    validity="soft offshore clay whose qn grows steadily with depth",
)
def gamma_mayne_peuchen_2012(qn_slope: ArrayLike, gamma_w: float = 9.81) -> FloatArray:
    """Unit weight of soft clay from the growth of net resistance with depth.

    Parameters
    ----------
    qn_slope
        Growth of net cone resistance with depth [kPa/m, that is kN/m3].
    gamma_w
        Unit weight of water [kN/m3].

    Returns
    -------
    FloatArray
        Unit weight [kN/m3]; NaN where the slope is not positive.

    Examples
    --------
    >>> round(float(gamma_mayne_peuchen_2012(40.0)), 2)
    14.81
    """
    (qn_slope,) = floats(qn_slope)
    return gamma_w + positive(qn_slope) / 8.0

"""Shear wave velocity estimated from the cone. A measured velocity is better than any of these."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, exp10, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import UNKNOWN, remembered_share


@equation(
    gives="Vs",
    formula="Vs = (10^(0.55 Ic + 1.68) qn / pa)^0.5",
    reference="robertson-2009",
    mark=Mark.MEMORY,
    units={"qn": "kPa", "Ic": "-", "pa": "kPa", "return": "m/s"},
    validity="young uncemented soil (Holocene to Pleistocene); more in older soil",
    scatter=remembered_share(0.25, "about 20 to 30 %, 25 % used"),
)
def Vs_robertson_2009(qn: ArrayLike, Ic: ArrayLike, pa: float = 100.0) -> FloatArray:
    """Shear wave velocity of any ordinary soil.

    Parameters
    ----------
    qn
        Net cone resistance [kPa].
    Ic
        Soil behaviour type index [-].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Shear wave velocity [m/s]; NaN where qn is not positive.

    Examples
    --------
    >>> round(float(Vs_robertson_2009(10000.0, 1.6)), 1)
    190.5
    """
    qn, Ic = floats(qn, Ic)
    return np.asarray(np.sqrt(exp10(0.55 * Ic + 1.68) * positive(qn) / pa))


@equation(
    gives="Vs",
    formula="Vs = 1.75 qt^0.627, qt in kPa",
    reference="mayne-rix-1995",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "return": "m/s"},
    validity="clay",
    scatter=UNKNOWN,
)
def Vs_mayne_rix_1995(qt: ArrayLike) -> FloatArray:
    """Shear wave velocity of clay.

    Parameters
    ----------
    qt
        Corrected cone resistance [kPa].

    Returns
    -------
    FloatArray
        Shear wave velocity [m/s]; NaN where qt is not positive.

    Examples
    --------
    >>> round(float(Vs_mayne_rix_1995(1000.0)), 1)
    133.1
    """
    (qt,) = floats(qt)
    return np.asarray(1.75 * positive(qt) ** 0.627)


@equation(
    gives="Vs",
    formula="Vs = 2.27 qt^0.412 Ic^0.989 z^0.033 ASF, qt in kPa",
    reference="andrus-2007",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "Ic": "-", "depth": "m", "ASF": "-", "return": "m/s"},
    validity="Holocene and Pleistocene soil; factor for age 1 in Holocene soil",
    scatter=UNKNOWN,
)
def Vs_andrus_2007(
    qt: ArrayLike, Ic: ArrayLike, depth: ArrayLike, ASF: ArrayLike = 1.0
) -> FloatArray:
    """Shear wave velocity with a factor for age.

    Parameters
    ----------
    qt
        Corrected cone resistance [kPa].
    Ic
        Soil behaviour type index [-].
    depth
        Depth below ground level [m].
    ASF
        Factor for age [-].

    Returns
    -------
    FloatArray
        Shear wave velocity [m/s]; NaN where an input is not positive.

    Examples
    --------
    >>> round(float(Vs_andrus_2007(5000.0, 2.0, 10.0)), 1)
    162.5
    """
    qt, Ic, depth, ASF = floats(qt, Ic, depth, ASF)
    return _andrus(qt, Ic, depth, (2.27, 0.412, 0.989, 0.033)) * ASF


@equation(
    gives="Vs",
    formula="Vs = 2.62 qt^0.395 Ic^0.912 z^0.124 SF, qt in kPa",
    reference="andrus-2007",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "Ic": "-", "depth": "m", "SF": "-", "return": "m/s"},
    validity="SF 0.92 in Holocene and 1.12 in Pleistocene soil",
    scatter=UNKNOWN,
)
def Vs_andrus_2007_all_soils(
    qt: ArrayLike, Ic: ArrayLike, depth: ArrayLike, SF: ArrayLike = 1.0
) -> FloatArray:
    """Shear wave velocity from the fit over soils of both ages.

    Parameters
    ----------
    qt
        Corrected cone resistance [kPa].
    Ic
        Soil behaviour type index [-].
    depth
        Depth below ground level [m].
    SF
        Factor for age [-].

    Returns
    -------
    FloatArray
        Shear wave velocity [m/s]; NaN where an input is not positive.

    Examples
    --------
    >>> round(float(Vs_andrus_2007_all_soils(5000.0, 2.0, 10.0)), 1)
    189.6
    """
    qt, Ic, depth, SF = floats(qt, Ic, depth, SF)
    return _andrus(qt, Ic, depth, (2.62, 0.395, 0.912, 0.124)) * SF


def _andrus(
    qt: FloatArray, Ic: FloatArray, depth: FloatArray, fit: tuple[float, float, float, float]
) -> FloatArray:
    factor, of_qt, of_Ic, of_depth = fit
    return np.asarray(
        factor * positive(qt) ** of_qt * positive(Ic) ** of_Ic * positive(depth) ** of_depth
    )


@equation(
    gives="Vs",
    formula="Vs = (10.1 log10 qt - 11.4)^1.67 (100 fs / qt)^0.3, kPa",
    reference="hegazy-mayne-1995",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "fs": "kPa", "return": "m/s"},
    validity="all soils",
    scatter=UNKNOWN,
)
def Vs_hegazy_mayne_1995(qt: ArrayLike, fs: ArrayLike) -> FloatArray:
    """Shear wave velocity from resistance and friction.

    Parameters
    ----------
    qt, fs
        Corrected cone resistance and sleeve friction [kPa].

    Returns
    -------
    FloatArray
        Shear wave velocity [m/s]; NaN where either is not positive.

    Examples
    --------
    >>> round(float(Vs_hegazy_mayne_1995(5000.0, 50.0)), 1)
    230.1
    """
    qt, fs = floats(qt, fs)
    first = positive(10.1 * np.log10(positive(qt)) - 11.4) ** 1.67
    return np.asarray(first * (100.0 * positive(fs) / positive(qt)) ** 0.3)


@equation(
    gives="Vs",
    formula="Vs = 0.0831 Qtn exp(1.786 Ic) (sigma_v0_eff / pa)^0.25",
    reference="hegazy-mayne-2006",
    mark=Mark.MEMORY,
    units={"Qtn": "-", "Ic": "-", "sigma_v0_eff": "kPa", "pa": "kPa", "return": "m/s"},
    validity="all soils",
    scatter=UNKNOWN,
)
def Vs_hegazy_mayne_2006(
    Qtn: ArrayLike, Ic: ArrayLike, sigma_v0_eff: ArrayLike, pa: float = 100.0
) -> FloatArray:
    """Shear wave velocity from normalised resistance and soil behaviour.

    Parameters
    ----------
    Qtn, Ic
        Normalised cone resistance and soil behaviour type index [-].
    sigma_v0_eff
        Effective vertical stress [kPa].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Shear wave velocity [m/s]; NaN where an input is not positive.

    Examples
    --------
    >>> round(float(Vs_hegazy_mayne_2006(60.0, 2.0, 100.0)), 1)
    177.4
    """
    Qtn, Ic, sigma_v0_eff = floats(Qtn, Ic, sigma_v0_eff)
    stress = (positive(sigma_v0_eff) / pa) ** 0.25
    return np.asarray(0.0831 * positive(Qtn) * np.exp(1.786 * Ic) * stress)


@equation(
    gives="Vs",
    formula="Vs = 118.8 log10(fs) + 18.5, fs in kPa",
    reference="mayne-2006",
    mark=Mark.MEMORY,
    units={"fs": "kPa", "return": "m/s"},
    validity="saturated clay, silt and sand",
    scatter=UNKNOWN,
)
def Vs_mayne_2006(fs: ArrayLike) -> FloatArray:
    """Shear wave velocity from sleeve friction alone.

    Parameters
    ----------
    fs
        Sleeve friction [kPa].

    Returns
    -------
    FloatArray
        Shear wave velocity [m/s]; NaN where fs is not positive or the result would not be.

    Examples
    --------
    >>> round(float(Vs_mayne_2006(50.0)), 1)
    220.3
    """
    (fs,) = floats(fs)
    return positive(118.8 * np.log10(positive(fs)) + 18.5)

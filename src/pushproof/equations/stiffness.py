"""Stiffness: constrained modulus, Young's modulus, small-strain shear modulus."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, exp10, floats, positive
from pushproof.equations.friction_angle import by_class
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import DEFINITION, UNKNOWN, factor_of, remembered_share, unknown

GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s2]."""


@equation(
    gives="M",
    formula="M = a qn; a = min(14, Qtn) for Ic > 2.2, else 0.0188 10^(0.55 Ic + 1.68)",
    reference="robertson-2009",
    where="rule seen in a one-page note by its author",
    mark=Mark.VERIFIED,
    units={"qn": "kPa", "Ic": "-", "Qtn": "-", "return": "kPa"},
    validity="young uncemented soil; a step of 4 % at Ic 2.2 where Qtn is 14 or more",
    scatter=factor_of(2.0, "about a factor of two without a site fit"),
)
def M_robertson_2009(qn: ArrayLike, Ic: ArrayLike, Qtn: ArrayLike) -> FloatArray:
    """Constrained modulus of any ordinary soil.

    Parameters
    ----------
    qn
        Net cone resistance [kPa].
    Ic, Qtn
        Soil behaviour type index and normalised cone resistance [-].

    Returns
    -------
    FloatArray
        Constrained modulus [kPa]; NaN where qn or Qtn is not positive.

    Examples
    --------
    >>> round(float(M_robertson_2009(1000.0, 3.0, 10.0)), 1)
    10000.0
    """
    qn, Ic, Qtn = floats(qn, Ic, Qtn)
    factor = np.where(Ic > 2.2, np.minimum(positive(Qtn), 14.0), 0.0188 * exp10(0.55 * Ic + 1.68))
    return np.where(np.isfinite(Ic) & (Qtn > 0), factor * positive(qn), np.nan)


@equation(
    gives="M",
    formula="M = alpha qc",
    reference="en-1997-2",
    where="Eq. 4.3",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "alpha": "-", "return": "kPa"},
    validity="alpha by soil and resistance, Table D.2",
    scatter=UNKNOWN,
)
def M_en_1997_2(qc: ArrayLike, alpha: ArrayLike) -> FloatArray:
    """Constrained modulus in proportion to cone resistance.

    Parameters
    ----------
    qc
        Cone resistance [kPa].
    alpha
        Factor [-].

    Returns
    -------
    FloatArray
        Constrained modulus [kPa]; NaN where qc is not positive.

    Examples
    --------
    >>> float(M_en_1997_2(4000.0, 2.0))
    8000.0
    """
    qc, alpha = floats(qc, alpha)
    return alpha * positive(qc)


@equation(
    gives="alpha",
    formula="alpha = 2 for qc < 5 MPa, 1.5 for qc > 10 MPa, none between",
    reference="en-1997-2",
    where="Annex D, Table D.2, sand",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "return": "-"},
    validity="sand; 5 to 10 MPa is not in the table",
    scatter=UNKNOWN,
)
def alpha_sand_en_1997_2(qc: ArrayLike) -> FloatArray:
    """Factor of the constrained modulus of sand, Eurocode 7, Table D.2.

    Parameters
    ----------
    qc
        Cone resistance [kPa].

    Returns
    -------
    FloatArray
        Factor [-]; NaN from 5 to 10 MPa.

    Examples
    --------
    >>> alpha_sand_en_1997_2([4000.0, 7000.0, 12000.0]).tolist()
    [2.0, nan, 1.5]
    """
    (qc,) = floats(qc)
    low = np.where((qc > 0) & (qc < 5000.0), 2.0, np.nan)
    return np.where(qc > 10000.0, 1.5, low)


@equation(
    gives="alpha",
    formula="alpha = 3 up to 0.7 MPa, 2 up to 2 MPa, 1 above",
    reference="en-1997-2",
    where="Annex D, Table D.2, clay of low plasticity, lower values; class bounds from a digest",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "return": "-"},
    validity="clay of low plasticity",
    scatter=unknown("the table gives lower and upper values; look at both"),
)
def alpha_clay_low_en_1997_2(qc: ArrayLike) -> FloatArray:
    """Lower factor of the constrained modulus of clay of low plasticity.

    Parameters
    ----------
    qc
        Cone resistance [kPa].

    Returns
    -------
    FloatArray
        Factor [-]; NaN where qc is not positive.

    Examples
    --------
    >>> alpha_clay_low_en_1997_2([500.0, 1000.0, 3000.0]).tolist()
    [3.0, 2.0, 1.0]
    """
    (qc,) = floats(qc)
    return _clay(qc, 3.0, 2.0, 1.0)


@equation(
    gives="alpha",
    formula="alpha = 8 up to 0.7 MPa, 5 up to 2 MPa, 2.5 above",
    reference="en-1997-2",
    where="Annex D, Table D.2, clay of low plasticity, upper values; class bounds from a digest",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "return": "-"},
    validity="clay of low plasticity",
    scatter=unknown("the table gives lower and upper values; look at both"),
)
def alpha_clay_high_en_1997_2(qc: ArrayLike) -> FloatArray:
    """Upper factor of the constrained modulus of clay of low plasticity.

    Parameters
    ----------
    qc
        Cone resistance [kPa].

    Returns
    -------
    FloatArray
        Factor [-]; NaN where qc is not positive.

    Examples
    --------
    >>> alpha_clay_high_en_1997_2([500.0, 1000.0, 3000.0]).tolist()
    [8.0, 5.0, 2.5]
    """
    (qc,) = floats(qc)
    return _clay(qc, 8.0, 5.0, 2.5)


def _clay(qc: FloatArray, soft: float, firm: float, stiff: float) -> FloatArray:
    factor = np.where(qc <= 700.0, soft, np.where(qc <= 2000.0, firm, stiff))
    return np.where(qc > 0, factor, np.nan)


@equation(
    gives="E",
    formula="E = 0.015 10^(0.55 Ic + 1.68) qn",
    reference="robertson-2009",
    mark=Mark.MEMORY,
    units={"qn": "kPa", "Ic": "-", "return": "kPa"},
    validity="young uncemented sand, Ic < 2.6; strain of about 0.1 %",
    scatter=UNKNOWN,
)
def E_robertson_2009(qn: ArrayLike, Ic: ArrayLike) -> FloatArray:
    """Drained Young's modulus of sand at a strain of about 0.1 %.

    Parameters
    ----------
    qn
        Net cone resistance [kPa].
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Young's modulus [kPa]; NaN where Ic is 2.6 or more.

    Examples
    --------
    >>> round(float(E_robertson_2009(10000.0, 1.6)) / 1000, 1)
    54.5
    """
    qn, Ic = floats(qn, Ic)
    inside = np.where(Ic < 2.6, Ic, np.nan)
    return 0.015 * exp10(0.55 * inside + 1.68) * positive(qn)


@equation(
    gives="E",
    formula="by qc up to 2.5, 5, 10, 20 MPa and above: 0, 10, 20, 30, 60 MPa",
    reference="en-1997-2",
    where="Annex D.1, Table D.1, lower values",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "return": "kPa"},
    validity="quartz and feldspar sand; secant value for settlement after 10 years; half as much "
    "in silty soil, half as much again in gravel",
    scatter=unknown("the table gives lower and upper values; look at both"),
)
def E_en_1997_2_d1_low(qc: ArrayLike) -> FloatArray:
    """Lower drained Young's modulus of sand by class of resistance, Eurocode 7, Table D.1.

    Parameters
    ----------
    qc
        Cone resistance [kPa].

    Returns
    -------
    FloatArray
        Young's modulus [kPa]; NaN where qc is not positive.

    Examples
    --------
    >>> E_en_1997_2_d1_low([1000.0, 7000.0, 25000.0]).tolist()
    [0.0, 20000.0, 60000.0]
    """
    (qc,) = floats(qc)
    return by_class(qc, (0.0, 10000.0, 20000.0, 30000.0, 60000.0))


@equation(
    gives="E",
    formula="by qc up to 2.5, 5, 10, 20 MPa and above: 10, 20, 30, 60, 90 MPa",
    reference="en-1997-2",
    where="Annex D.1, Table D.1, upper values",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "return": "kPa"},
    validity="quartz and feldspar sand; secant value for settlement after 10 years; half as much "
    "in silty soil, half as much again in gravel",
    scatter=unknown("the table gives lower and upper values; look at both"),
)
def E_en_1997_2_d1_high(qc: ArrayLike) -> FloatArray:
    """Upper drained Young's modulus of sand by class of resistance, Eurocode 7, Table D.1.

    Parameters
    ----------
    qc
        Cone resistance [kPa].

    Returns
    -------
    FloatArray
        Young's modulus [kPa]; NaN where qc is not positive.

    Examples
    --------
    >>> E_en_1997_2_d1_high([1000.0, 7000.0, 25000.0]).tolist()
    [10000.0, 30000.0, 90000.0]
    """
    (qc,) = floats(qc)
    return by_class(qc, (10000.0, 20000.0, 30000.0, 60000.0, 90000.0))


@equation(
    gives="G0",
    formula="G0 = (gamma / g) Vs^2",
    reference="gec-5",
    where="Gmax = rho Vs^2",
    mark=Mark.VERIFIED,
    units={"gamma": "kN/m3", "Vs": "m/s", "return": "kPa"},
    validity="definition; as good as Vs and the unit weight",
    scatter=DEFINITION,
)
def G0_wave_velocity(gamma: ArrayLike, Vs: ArrayLike) -> FloatArray:
    """Small-strain shear modulus from shear wave velocity.

    Parameters
    ----------
    gamma
        Unit weight [kN/m3].
    Vs
        Shear wave velocity [m/s].

    Returns
    -------
    FloatArray
        Shear modulus [kPa].

    Examples
    --------
    >>> round(float(G0_wave_velocity(1.9 * 9.80665, 200.0)), 1)
    76000.0
    """
    gamma, Vs = floats(gamma, Vs)
    return gamma / GRAVITY * Vs * Vs


@equation(
    gives="G0",
    formula="G0 = 0.0188 10^(0.55 Ic + 1.68) qn",
    reference="robertson-2009",
    mark=Mark.MEMORY,
    units={"qn": "kPa", "Ic": "-", "return": "kPa"},
    validity="young uncemented soil; the constant stands for a density of 1.88 t/m3",
    scatter=remembered_share(
        0.5, "twice that of the velocity of the same paper, since it goes with the square"
    ),
)
def G0_robertson_2009(qn: ArrayLike, Ic: ArrayLike) -> FloatArray:
    """Small-strain shear modulus from net resistance and soil behaviour.

    Parameters
    ----------
    qn
        Net cone resistance [kPa].
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Shear modulus [kPa]; NaN where qn is not positive.

    Examples
    --------
    >>> round(float(G0_robertson_2009(10000.0, 1.6)) / 1000, 1)
    68.3
    """
    qn, Ic = floats(qn, Ic)
    return 0.0188 * exp10(0.55 * Ic + 1.68) * positive(qn)

"""Effective friction angle of sand and of clay.

At qc 10 MPa and 100 kPa the forms for sand spread over four degrees: a result without the name of
its form means little.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import UNKNOWN, remembered_added, unknown


@equation(
    gives="phi",
    formula="phi = 17.6 + 11 log10((qt / pa) / (sigma_v0_eff / pa)^0.5)",
    reference="ufc-3-220-10",
    where="Eq. 8-7 (after Kulhawy & Mayne 1990, Mayne 2007)",
    mark=Mark.VERIFIED,
    units={"qt": "kPa", "sigma_v0_eff": "kPa", "pa": "kPa", "return": "deg"},
    validity="clean uncemented quartz sand",
    scatter=remembered_added(2.8, "standard deviation of 2.8 deg in calibration chambers"),
)
def phi_kulhawy_mayne_1990(qt: ArrayLike, sigma_v0_eff: ArrayLike, pa: float = 100.0) -> FloatArray:
    """Peak friction angle of clean sand from stress-normalised resistance.

    Parameters
    ----------
    qt, sigma_v0_eff
        Corrected cone resistance and effective vertical stress [kPa].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Friction angle [deg]; NaN where either is not positive.

    Examples
    --------
    >>> round(float(phi_kulhawy_mayne_1990(10000.0, 50.0)), 4)
    41.2557
    """
    qt, sigma_v0_eff = floats(qt, sigma_v0_eff)
    qt1 = positive(qt) / np.sqrt(pa * positive(sigma_v0_eff))
    return np.asarray(17.6 + 11.0 * np.log10(qt1))


@equation(
    gives="phi",
    formula="tan phi = (log10(qc / sigma_v0_eff) + 0.29) / 2.68",
    reference="robertson-campanella-1983",
    mark=Mark.MEMORY,
    units={"qc": "kPa", "sigma_v0_eff": "kPa", "return": "deg"},
    validity="uncemented moderately compressible quartz sand",
    scatter=UNKNOWN,
)
def phi_robertson_campanella_1983(qc: ArrayLike, sigma_v0_eff: ArrayLike) -> FloatArray:
    """Peak friction angle of sand, the original fit.

    Parameters
    ----------
    qc, sigma_v0_eff
        Cone resistance and effective vertical stress [kPa].

    Returns
    -------
    FloatArray
        Friction angle [deg]; NaN where either is not positive.

    Examples
    --------
    >>> round(float(phi_robertson_campanella_1983(10000.0, 100.0)), 4)
    40.5131
    """
    qc, sigma_v0_eff = floats(qc, sigma_v0_eff)
    ratio = positive(qc) / positive(sigma_v0_eff)
    return np.asarray(np.degrees(np.arctan((np.log10(ratio) + 0.29) / 2.68)))


@equation(
    gives="phi",
    formula="tan phi = 0.1 + 0.38 log10(qc / sigma_v0_eff)",
    reference="gec-12",
    where="Eq. 5-17",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "sigma_v0_eff": "kPa", "return": "deg"},
    validity="quartz sand; rounded coefficients of the fit of 1983, about 0.2 deg above it",
    scatter=UNKNOWN,
)
def phi_gec_12(qc: ArrayLike, sigma_v0_eff: ArrayLike) -> FloatArray:
    """Peak friction angle of sand, the rounded textbook fit.

    Parameters
    ----------
    qc, sigma_v0_eff
        Cone resistance and effective vertical stress [kPa].

    Returns
    -------
    FloatArray
        Friction angle [deg]; NaN where either is not positive.

    Examples
    --------
    >>> round(float(phi_gec_12(10000.0, 100.0)), 4)
    40.6955
    """
    qc, sigma_v0_eff = floats(qc, sigma_v0_eff)
    ratio = positive(qc) / positive(sigma_v0_eff)
    return np.asarray(np.degrees(np.arctan(0.1 + 0.38 * np.log10(ratio))))


@equation(
    gives="phi",
    formula="phi = phi_cv + 15.84 log10(Qtn_cs) - 26.88",
    reference="robertson-2010-state",
    mark=Mark.MEMORY,
    units={"Qtn_cs": "-", "phi_cv": "deg", "return": "deg"},
    validity="sand and silty sand; constant-volume angle known, about 33 deg in quartz sand",
    scatter=UNKNOWN,
)
def phi_robertson_2010(Qtn_cs: ArrayLike, phi_cv: ArrayLike = 33.0) -> FloatArray:
    """Peak friction angle of sand from the clean-sand equivalent resistance.

    Parameters
    ----------
    Qtn_cs
        Clean-sand equivalent of the normalised cone resistance [-].
    phi_cv
        Friction angle at constant volume [deg].

    Returns
    -------
    FloatArray
        Friction angle [deg]; NaN where the resistance is not positive.

    Examples
    --------
    >>> round(float(phi_robertson_2010(100.0)), 2)
    37.8
    """
    Qtn_cs, phi_cv = floats(Qtn_cs, phi_cv)
    return np.asarray(phi_cv + 15.84 * np.log10(positive(Qtn_cs)) - 26.88)


@equation(
    gives="phi",
    formula="phi = 29.5 Bq^0.121 (0.256 + 0.336 Bq + log10 Qt)",
    reference="mayne-campanella-2005",
    mark=Mark.MEMORY,
    units={"Bq": "-", "Qt": "-", "return": "deg"},
    validity="clay and silt with 0.1 <= Bq <= 1; result of 20 to 45 deg",
    scatter=UNKNOWN,
)
def phi_mayne_campanella_2005(Bq: ArrayLike, Qt: ArrayLike) -> FloatArray:
    """Effective friction angle of clay, short form of the bearing capacity solution.

    Parameters
    ----------
    Bq
        Pore pressure ratio [-].
    Qt
        Cone resistance normalised linearly [-].

    Returns
    -------
    FloatArray
        Friction angle [deg]; NaN outside the range.

    Examples
    --------
    >>> round(float(phi_mayne_campanella_2005(0.5, 5.0)), 2)
    30.46
    """
    Bq, Qt = floats(Bq, Qt)
    ratio = np.where((Bq >= 0.1) & (Bq <= 1.0), Bq, np.nan)
    phi = 29.5 * ratio**0.121 * (0.256 + 0.336 * ratio + np.log10(positive(Qt)))
    return np.where((phi >= 20.0) & (phi <= 45.0), phi, np.nan)


@equation(
    gives="phi",
    formula="Qt = (Nq - 1) / (1 + Nu Bq), Nq = tan^2(45 + phi/2) exp(pi tan phi), "
    "Nu = 6 tan phi (1 + tan phi)",
    reference="mayne-campanella-2005",
    where="the full form that the short one fits, angle of plastification zero",
    mark=Mark.MEMORY,
    units={"Bq": "-", "Qt": "-", "return": "deg"},
    validity="clay and silt with 0 <= Bq <= 1; result of 5 to 45 deg",
    scatter=UNKNOWN,
)
def phi_bearing_capacity(Bq: ArrayLike, Qt: ArrayLike) -> FloatArray:
    """Effective friction angle of clay from the full bearing capacity solution.

    Parameters
    ----------
    Bq
        Pore pressure ratio [-].
    Qt
        Cone resistance normalised linearly [-].

    Returns
    -------
    FloatArray
        Friction angle [deg]; NaN outside the range.

    Notes
    -----
    Solved by halving the interval from 0 to 50 deg forty times, to 5e-11 deg.

    Examples
    --------
    >>> round(float(phi_bearing_capacity(0.5, 5.0)), 2)
    30.87
    """
    Bq, Qt = floats(Bq, Qt)
    target = np.where((Bq >= 0.0) & (Bq <= 1.0), positive(Qt), np.nan)
    low = np.zeros(np.broadcast(Bq, Qt).shape)
    width = 50.0
    for _ in range(40):
        width /= 2.0
        tangent = np.tan(np.radians(low + width))
        factor = np.tan(np.radians(45.0 + (low + width) / 2.0)) ** 2 * np.exp(np.pi * tangent)
        found = (factor - 1.0) / (1.0 + 6.0 * tangent * (1.0 + tangent) * Bq)
        low = np.where(found < target, low + width, low)
    inside = np.isfinite(target) & (low >= 5.0) & (low <= 45.0)
    return np.where(inside, low, np.nan)


@equation(
    gives="phi",
    formula="phi = 13.5 log10(qc in MPa) + 23",
    reference="en-1997-2",
    where="Annex D.2",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "return": "deg"},
    validity="poorly graded sand above ground water, 5 <= qc <= 28 MPa",
    scatter=UNKNOWN,
)
def phi_en_1997_2_d2(qc: ArrayLike) -> FloatArray:
    """Friction angle of poorly graded sand as in Eurocode 7, Annex D.2.

    Parameters
    ----------
    qc
        Cone resistance [kPa].

    Returns
    -------
    FloatArray
        Friction angle [deg]; NaN outside the range.

    Examples
    --------
    >>> round(float(phi_en_1997_2_d2(10000.0)), 2)
    36.5
    """
    (qc,) = floats(qc)
    inside = np.where((qc >= 5000.0) & (qc <= 28000.0), qc, np.nan)
    return np.asarray(13.5 * np.log10(inside / 1000.0) + 23.0)


_CLASSES = (2500.0, 5000.0, 10000.0, 20000.0)
"""Upper ends of the classes of Table D.1 [kPa]."""


@equation(
    gives="phi",
    formula="by qc up to 2.5, 5, 10, 20 MPa and above: 29, 32, 35, 37, 40 deg",
    reference="en-1997-2",
    where="Annex D.1, Table D.1, lower values",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "return": "deg"},
    validity="quartz and feldspar sand; 3 deg less in silty soil, 2 deg more in gravel",
    scatter=unknown("the table gives lower and upper values; look at both"),
)
def phi_en_1997_2_d1_low(qc: ArrayLike) -> FloatArray:
    """Lower friction angle of sand by class of cone resistance, Eurocode 7, Table D.1.

    Parameters
    ----------
    qc
        Cone resistance [kPa].

    Returns
    -------
    FloatArray
        Friction angle [deg]; NaN where qc is not positive.

    Examples
    --------
    >>> phi_en_1997_2_d1_low([1000.0, 7000.0, 25000.0]).tolist()
    [29.0, 35.0, 40.0]
    """
    (qc,) = floats(qc)
    return by_class(qc, (29.0, 32.0, 35.0, 37.0, 40.0))


@equation(
    gives="phi",
    formula="by qc up to 2.5, 5, 10, 20 MPa and above: 32, 35, 37, 40, 42 deg",
    reference="en-1997-2",
    where="Annex D.1, Table D.1, upper values",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "return": "deg"},
    validity="quartz and feldspar sand; 3 deg less in silty soil, 2 deg more in gravel",
    scatter=unknown("the table gives lower and upper values; look at both"),
)
def phi_en_1997_2_d1_high(qc: ArrayLike) -> FloatArray:
    """Upper friction angle of sand by class of cone resistance, Eurocode 7, Table D.1.

    Parameters
    ----------
    qc
        Cone resistance [kPa].

    Returns
    -------
    FloatArray
        Friction angle [deg]; NaN where qc is not positive.

    Examples
    --------
    >>> phi_en_1997_2_d1_high([1000.0, 7000.0, 25000.0]).tolist()
    [32.0, 37.0, 42.0]
    """
    (qc,) = floats(qc)
    return by_class(qc, (32.0, 35.0, 37.0, 40.0, 42.0))


def by_class(qc: FloatArray, values: tuple[float, ...]) -> FloatArray:
    """Return the value of the class of Table D.1 that each cone resistance [kPa] falls in."""
    found = np.full(np.shape(qc), values[-1])
    for top, value in zip(reversed(_CLASSES), reversed(values[:-1]), strict=True):
        found = np.where(qc <= top, value, found)
    return np.where(qc > 0, found, np.nan)


@equation(
    gives="slope of the critical state line",
    formula="Mc = 6 sin phi / (3 - sin phi)",
    reference="burns-mayne-1998",
    mark=Mark.MEMORY,
    units={"phi": "deg", "return": "-"},
    validity="triaxial compression",
)
def Mc_critical_state(phi: ArrayLike) -> FloatArray:
    """Slope of the critical state line in compression from the friction angle.

    Parameters
    ----------
    phi
        Effective friction angle [deg].

    Returns
    -------
    FloatArray
        Slope [-].

    Examples
    --------
    >>> round(float(Mc_critical_state(30.0)), 6)
    1.2
    """
    (phi,) = floats(phi)
    sine = np.sin(np.radians(phi))
    return np.asarray(6.0 * sine / (3.0 - sine))

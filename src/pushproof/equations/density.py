"""Relative density and state parameter of sand.

At the same normalised resistance the published forms differ by 0.15 and more in relative density:
never mix two in one piece of work.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import DEFINITION, TENTH, UNKNOWN, remembered_added, unknown


@equation(
    gives="Dr",
    formula="Dr = 100 / 2.41 ln(qc / (157 sigma_v0_eff^0.55)), kPa",
    reference="baldi-1986",
    mark=Mark.MEMORY,
    units={"qc": "kPa", "sigma_v0_eff": "kPa", "return": "%"},
    validity="normally consolidated, moderately compressible clean quartz sand (one sand tested)",
    scatter=UNKNOWN,
)
def Dr_baldi_1986(qc: ArrayLike, sigma_v0_eff: ArrayLike) -> FloatArray:
    """Relative density of normally consolidated sand, with vertical stress.

    Parameters
    ----------
    qc, sigma_v0_eff
        Cone resistance and effective vertical stress [kPa].

    Returns
    -------
    FloatArray
        Relative density [%]; NaN where it would be negative.

    Examples
    --------
    >>> round(float(Dr_baldi_1986(10000.0, 100.0)), 1)
    67.3
    """
    qc, sigma_v0_eff = floats(qc, sigma_v0_eff)
    return _logarithmic(qc, 157.0 * positive(sigma_v0_eff) ** 0.55, 2.41)


@equation(
    gives="Dr",
    formula="Dr = 100 / 2.61 ln(qc / (181 sigma_m0_eff^0.55)), kPa",
    reference="baldi-1986",
    mark=Mark.MEMORY,
    units={"qc": "kPa", "sigma_m0_eff": "kPa", "return": "%"},
    validity="moderately compressible clean quartz sand; mean stress known, so K0 known",
)
def Dr_mean_stress_baldi_1986(qc: ArrayLike, sigma_m0_eff: ArrayLike) -> FloatArray:
    """Relative density of sand, with mean effective stress.

    Parameters
    ----------
    qc, sigma_m0_eff
        Cone resistance and mean effective stress [kPa].

    Returns
    -------
    FloatArray
        Relative density [%]; NaN where it would be negative.

    Examples
    --------
    >>> round(float(Dr_mean_stress_baldi_1986(10000.0, 100.0)), 1)
    56.7
    """
    qc, sigma_m0_eff = floats(qc, sigma_m0_eff)
    return _logarithmic(qc, 181.0 * positive(sigma_m0_eff) ** 0.55, 2.61)


def _logarithmic(qc: FloatArray, loose: FloatArray, slope: float) -> FloatArray:
    dense = 100.0 / slope * np.log(positive(qc) / loose)
    return np.where(dense >= 0, dense, np.nan)


@equation(
    gives="Dr",
    formula="Dr = 68 log10(qc / (pa sigma_v0_eff)^0.5) - 68",
    reference="jamiolkowski-1985",
    mark=Mark.MEMORY,
    units={"qc": "kPa", "sigma_v0_eff": "kPa", "pa": "kPa", "return": "%"},
    validity="normally consolidated clean quartz sand",
    scatter=UNKNOWN,
)
def Dr_jamiolkowski_1985(qc: ArrayLike, sigma_v0_eff: ArrayLike, pa: float = 100.0) -> FloatArray:
    """Relative density of sand, older chamber fit.

    Parameters
    ----------
    qc, sigma_v0_eff
        Cone resistance and effective vertical stress [kPa].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Relative density [%]; NaN where it would be negative.

    Examples
    --------
    >>> round(float(Dr_jamiolkowski_1985(10000.0, 100.0)), 1)
    68.0
    """
    qc, sigma_v0_eff = floats(qc, sigma_v0_eff)
    dense = 68.0 * np.log10(positive(qc) / np.sqrt(pa * positive(sigma_v0_eff))) - 68.0
    return np.where(dense >= 0, dense, np.nan)


@equation(
    gives="Dr",
    formula="Dr = 100 (0.268 ln(qt1) - b), qt1 = (qt / pa) (pa / sigma_v0_eff)^0.5",
    reference="jamiolkowski-2001",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "sigma_v0_eff": "kPa", "Dr_b": "-", "pa": "kPa", "return": "%"},
    validity="clean sand; b 0.675, 0.525 for high and 0.825 for low compressibility",
    scatter=remembered_added(
        100.0 * 0.15 / TENTH,
        "b 0.525 to 0.825 is 15 % of density either way",
        low=0.0,
        factor="Dr_b",
    ),
)
def Dr_jamiolkowski_2001(
    qt: ArrayLike, sigma_v0_eff: ArrayLike, Dr_b: ArrayLike = 0.675, pa: float = 100.0
) -> FloatArray:
    """Relative density of sand by compressibility, corrected for the size of the chamber.

    Parameters
    ----------
    qt, sigma_v0_eff
        Corrected cone resistance and effective vertical stress [kPa].
    Dr_b
        Offset by compressibility [-].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Relative density [%]; NaN where it would be negative.

    Examples
    --------
    >>> round(float(Dr_jamiolkowski_2001(10000.0, 100.0)), 1)
    55.9
    """
    qt, sigma_v0_eff, Dr_b = floats(qt, sigma_v0_eff, Dr_b)
    qt1 = positive(qt) / np.sqrt(pa * positive(sigma_v0_eff))
    dense = 100.0 * (0.268 * np.log(qt1) - Dr_b)
    return np.where(dense >= 0, dense, np.nan)


@equation(
    gives="Dr",
    formula="Dr = 100 (Qtn / (305 QC QA OCR^0.18))^0.5, QA = 1.2 + 0.05 log10(age / 100 yr)",
    reference="kulhawy-mayne-1990",
    mark=Mark.MEMORY,
    units={"Qtn": "-", "OCR": "-", "QC": "-", "age": "yr", "return": "%"},
    validity="clean sand; QC 0.91, 1.0, 1.09 for high, medium, low compressibility",
    scatter=unknown("QC 0.91 to 1.09 alone is 9 % of the square"),
)
def Dr_kulhawy_mayne_1990(
    Qtn: ArrayLike, OCR: ArrayLike = 1.0, QC: ArrayLike = 1.0, age: ArrayLike = 0.01
) -> FloatArray:
    """Relative density of sand with compressibility, age and overconsolidation.

    Parameters
    ----------
    Qtn
        Normalised cone resistance [-].
    OCR
        Overconsolidation ratio [-].
    QC
        Factor for compressibility [-].
    age
        Time since deposition [yr]; the default of 0.01 makes the factor for age 1.

    Returns
    -------
    FloatArray
        Relative density [%]; NaN where the resistance is not positive.

    Examples
    --------
    >>> round(float(Dr_kulhawy_mayne_1990(100.0)), 1)
    57.3
    """
    Qtn, OCR, QC, age = floats(Qtn, OCR, QC, age)
    factor = (1.2 + 0.05 * np.log10(positive(age) / 100.0)) * positive(QC)
    overconsolidation = positive(OCR) ** 0.18
    return np.asarray(100.0 * np.sqrt(positive(Qtn) / (305.0 * factor * overconsolidation)))


@equation(
    gives="Dr",
    formula="Dr = 100 (Qtn / 350)^0.5",
    reference="robertson-cabal-2015",
    mark=Mark.MEMORY,
    units={"Qtn": "-", "return": "%"},
    validity="clean quartz sand about 1000 years old",
    scatter=UNKNOWN,
)
def Dr_robertson_cabal_2015(Qtn: ArrayLike) -> FloatArray:
    """Relative density of ordinary sand, short form with one constant.

    Parameters
    ----------
    Qtn
        Normalised cone resistance [-].

    Returns
    -------
    FloatArray
        Relative density [%]; NaN where the resistance is not positive.

    Examples
    --------
    >>> round(float(Dr_robertson_cabal_2015(100.0)), 1)
    53.5
    """
    (Qtn,) = floats(Qtn)
    return np.asarray(100.0 * np.sqrt(positive(Qtn) / 350.0))


@equation(
    gives="Dr",
    formula="Dr = 100 (0.478 qc1N^0.264 - 1.063)",
    reference="idriss-boulanger-2008",
    mark=Mark.MEMORY,
    units={"qc1N": "-", "return": "%"},
    validity="clean sand; qc1N by the same authors' normalisation",
)
def Dr_idriss_boulanger_2008(qc1N: ArrayLike) -> FloatArray:
    """Relative density of sand as used in liquefaction procedures.

    Parameters
    ----------
    qc1N
        Cone resistance normalised to one atmosphere [-].

    Returns
    -------
    FloatArray
        Relative density [%]; NaN where it would be negative.

    Examples
    --------
    >>> round(float(Dr_idriss_boulanger_2008(100.0)), 1)
    54.9
    """
    (qc1N,) = floats(qc1N)
    dense = 100.0 * (0.478 * positive(qc1N) ** 0.264 - 1.063)
    return np.where(dense >= 0, dense, np.nan)


@equation(
    gives="clean-sand factor",
    formula="Kc = -0.403 Ic^4 + 5.581 Ic^3 - 21.63 Ic^2 + 33.75 Ic - 17.88; 1 up to Ic 1.64, "
    "and between 1.64 and 2.36 with Fr < 0.5",
    reference="robertson-wride-1998",
    mark=Mark.MEMORY,
    units={"Ic": "-", "Fr": "%", "return": "-"},
    validity="Ic up to 2.6",
    scatter=UNKNOWN,
)
def Kc_robertson_wride_1998(Ic: ArrayLike, Fr: ArrayLike) -> FloatArray:
    """Factor that turns the resistance of silty sand into that of clean sand.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].
    Fr
        Normalised friction ratio [%].

    Returns
    -------
    FloatArray
        Factor [-], at least 1; NaN where Ic is above 2.6.

    Examples
    --------
    >>> Kc_robertson_wride_1998([1.5, 1.985, 2.0], [0.5, 1.8, 0.4]).round(3).tolist()
    [1.0, 1.281, 1.0]
    """
    Ic, Fr = floats(Ic, Fr)
    inside = np.where((Ic <= 2.6) & np.isfinite(Fr), Ic, np.nan)
    factor = (((-0.403 * inside + 5.581) * inside - 21.63) * inside + 33.75) * inside - 17.88
    clean = (inside <= 1.64) | ((inside < 2.36) & (Fr < 0.5))
    return np.where(clean, 1.0, np.maximum(factor, 1.0))


@equation(
    gives="Qtn of clean sand",
    formula="Qtn_cs = Kc Qtn",
    reference="robertson-wride-1998",
    mark=Mark.MEMORY,
    units={"Kc": "-", "Qtn": "-", "return": "-"},
    validity="sand and silty sand",
    scatter=DEFINITION,
)
def Qtn_cs_robertson_wride_1998(Kc: ArrayLike, Qtn: ArrayLike) -> FloatArray:
    """Clean-sand equivalent of the normalised cone resistance.

    Parameters
    ----------
    Kc
        Clean-sand factor [-].
    Qtn
        Normalised cone resistance [-].

    Returns
    -------
    FloatArray
        Equivalent resistance [-]; NaN where Qtn is not positive.

    Examples
    --------
    >>> round(float(Qtn_cs_robertson_wride_1998(1.281, 143.5)), 1)
    183.8
    """
    Kc, Qtn = floats(Kc, Qtn)
    return Kc * positive(Qtn)


@equation(
    gives="psi",
    formula="psi = 0.56 - 0.33 log10(Qtn_cs)",
    reference="robertson-2010-state",
    mark=Mark.MEMORY,
    units={"Qtn_cs": "-", "return": "-"},
    validity="young uncemented sand and silty sand; -0.05 at Qtn_cs 70",
    scatter=UNKNOWN,
)
def psi_robertson_2010(Qtn_cs: ArrayLike) -> FloatArray:
    """State parameter of sand from the clean-sand equivalent resistance.

    Parameters
    ----------
    Qtn_cs
        Clean-sand equivalent of the normalised cone resistance [-].

    Returns
    -------
    FloatArray
        State parameter [-], positive where the sand is loose; NaN where Qtn_cs is not positive.

    Examples
    --------
    >>> round(float(psi_robertson_2010(100.0)), 3)
    -0.1
    """
    (Qtn_cs,) = floats(Qtn_cs)
    return np.asarray(0.56 - 0.33 * np.log10(positive(Qtn_cs)))


@equation(
    gives="psi",
    formula="Q (1 - Bq) = k exp(-m psi), k = Mc (3 + 0.85 / lam), m = 11.9 - 13.3 lam, lam = Fr/10",
    reference="plewes-1992",
    mark=Mark.MEMORY,
    units={"Qt": "-", "Bq": "-", "Fr": "%", "Mc": "-", "return": "-"},
    validity="sand to silt; 0 < Fr < 8.9; Q normalised by mean stress, here taken as Qt",
    scatter=UNKNOWN,
)
def psi_plewes_1992(Qt: ArrayLike, Bq: ArrayLike, Fr: ArrayLike, Mc: ArrayLike = 1.2) -> FloatArray:
    """State parameter by a screening method that takes compressibility from friction.

    Parameters
    ----------
    Qt
        Cone resistance normalised linearly [-].
    Bq
        Pore pressure ratio [-].
    Fr
        Normalised friction ratio [%].
    Mc
        Slope of the critical state line [-].

    Returns
    -------
    FloatArray
        State parameter [-]; NaN outside the range.

    Examples
    --------
    >>> round(float(psi_plewes_1992(50.0, 0.0, 1.0)), 3)
    -0.122
    """
    Qt, Bq, Fr, Mc = floats(Qt, Bq, Fr, Mc)
    return _plewes(positive(Qt) * (1.0 - Bq), Fr, Mc)


@equation(
    gives="psi",
    formula="Q (1 - Bq) + 1 = k exp(-m psi), k = Mc (3 + 0.85 / lam), m = 11.9 - 13.3 lam",
    reference="plewes-1992",
    where="with the + 1 of later use",
    mark=Mark.MEMORY,
    units={"Qt": "-", "Bq": "-", "Fr": "%", "Mc": "-", "return": "-"},
    validity="sand to silt; 0 < Fr < 8.9; stays defined where Bq is 1 or more",
    scatter=UNKNOWN,
)
def psi_plewes_1992_plus_one(
    Qt: ArrayLike, Bq: ArrayLike, Fr: ArrayLike, Mc: ArrayLike = 1.2
) -> FloatArray:
    """State parameter by the screening method in its later form.

    Parameters
    ----------
    Qt
        Cone resistance normalised linearly [-].
    Bq
        Pore pressure ratio [-].
    Fr
        Normalised friction ratio [%].
    Mc
        Slope of the critical state line [-].

    Returns
    -------
    FloatArray
        State parameter [-]; NaN outside the range.

    Examples
    --------
    >>> round(float(psi_plewes_1992_plus_one(50.0, 0.0, 1.0)), 3)
    -0.124
    """
    Qt, Bq, Fr, Mc = floats(Qt, Bq, Fr, Mc)
    return _plewes(positive(Qt) * (1.0 - Bq) + 1.0, Fr, Mc)


def _plewes(across: FloatArray, Fr: FloatArray, Mc: FloatArray) -> FloatArray:
    slope = positive(Fr) / 10.0
    exponent = positive(11.9 - 13.3 * slope)
    return np.asarray(-np.log(positive(across) / (Mc * (3.0 + 0.85 / slope))) / exponent)

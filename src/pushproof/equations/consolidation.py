"""Dissipation of pore pressure: time factors, coefficient of consolidation, rigidity.

The table of Teh & Houlsby is from memory (high confidence, no page seen). Between its degrees the
logarithm of the time factor is interpolated linearly.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, exp10, floats, positive
from pushproof.equations.registry import Mark, equation

DEGREES = (20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0)
"""Degrees of dissipation of the table [%]."""
TIME_FACTORS = {
    "u1": (0.014, 0.032, 0.063, 0.118, 0.226, 0.463, 1.04),
    "u2": (0.038, 0.078, 0.142, 0.245, 0.439, 0.804, 1.60),
    "5r": (0.294, 0.503, 0.756, 1.11, 1.65, 2.43, 4.10),
    "10r": (0.378, 0.662, 0.995, 1.46, 2.14, 3.24, 5.24),
}
"""Time factors T* by filter: cone face, shoulder, five and ten radii above the shoulder."""


def _time_factor(degree: FloatArray, filter_position: str) -> FloatArray:
    inside = np.where((degree >= DEGREES[0]) & (degree <= DEGREES[-1]), degree, np.nan)
    table = np.log10(np.array(TIME_FACTORS[filter_position]))
    return exp10(np.asarray(np.interp(inside, DEGREES, table)))


@equation(
    gives="T*",
    formula="table by degree of dissipation; T* = ch t / (r^2 Ir^0.5)",
    reference="teh-houlsby-1991",
    where="Table, filter on the cone face",
    mark=Mark.MEMORY,
    units={"degree": "%", "return": "-"},
    validity="20 to 80 % dissipation, filter on the cone face (u1)",
)
def time_factor_u1_teh_houlsby_1991(degree: ArrayLike) -> FloatArray:
    """Time factor for a filter on the cone face.

    Parameters
    ----------
    degree
        Degree of dissipation [%].

    Returns
    -------
    FloatArray
        Time factor T* [-]; NaN outside 20 to 80 %.

    Examples
    --------
    >>> round(float(time_factor_u1_teh_houlsby_1991(50.0)), 3)
    0.118
    """
    (degree,) = floats(degree)
    return _time_factor(degree, "u1")


@equation(
    gives="T*",
    formula="table by degree of dissipation; T* = ch t / (r^2 Ir^0.5)",
    reference="teh-houlsby-1991",
    where="Table, filter at the shoulder",
    mark=Mark.MEMORY,
    units={"degree": "%", "return": "-"},
    validity="20 to 80 % dissipation, filter behind the cone (u2)",
)
def time_factor_u2_teh_houlsby_1991(degree: ArrayLike) -> FloatArray:
    """Time factor for a filter behind the cone.

    Parameters
    ----------
    degree
        Degree of dissipation [%].

    Returns
    -------
    FloatArray
        Time factor T* [-]; NaN outside 20 to 80 %.

    Examples
    --------
    >>> round(float(time_factor_u2_teh_houlsby_1991(50.0)), 3)
    0.245
    """
    (degree,) = floats(degree)
    return _time_factor(degree, "u2")


@equation(
    gives="T*",
    formula="table by degree of dissipation; T* = ch t / (r^2 Ir^0.5)",
    reference="teh-houlsby-1991",
    where="Table, five radii above the shoulder",
    mark=Mark.MEMORY,
    units={"degree": "%", "return": "-"},
    validity="20 to 80 % dissipation, filter five radii above the shoulder",
)
def time_factor_5r_teh_houlsby_1991(degree: ArrayLike) -> FloatArray:
    """Time factor for a filter five radii above the shoulder.

    Parameters
    ----------
    degree
        Degree of dissipation [%].

    Returns
    -------
    FloatArray
        Time factor T* [-]; NaN outside 20 to 80 %.

    Examples
    --------
    >>> round(float(time_factor_5r_teh_houlsby_1991(50.0)), 3)
    1.11
    """
    (degree,) = floats(degree)
    return _time_factor(degree, "5r")


@equation(
    gives="T*",
    formula="table by degree of dissipation; T* = ch t / (r^2 Ir^0.5)",
    reference="teh-houlsby-1991",
    where="Table, ten radii above the shoulder",
    mark=Mark.MEMORY,
    units={"degree": "%", "return": "-"},
    validity="20 to 80 % dissipation, filter ten radii above the shoulder",
)
def time_factor_10r_teh_houlsby_1991(degree: ArrayLike) -> FloatArray:
    """Time factor for a filter ten radii above the shoulder.

    Parameters
    ----------
    degree
        Degree of dissipation [%].

    Returns
    -------
    FloatArray
        Time factor T* [-]; NaN outside 20 to 80 %.

    Examples
    --------
    >>> round(float(time_factor_10r_teh_houlsby_1991(50.0)), 3)
    1.46
    """
    (degree,) = floats(degree)
    return _time_factor(degree, "10r")


@equation(
    gives="ch",
    formula="ch = T* r^2 Ir^0.5 / t",
    reference="teh-houlsby-1991",
    mark=Mark.MEMORY,
    units={"T_star": "-", "t": "s", "radius": "m", "Ir": "-", "return": "m2/s"},
    validity="the time at which the degree of T* is reached; Ir 50 to 500 moves ch by 3.2",
)
def ch_teh_houlsby_1991(
    T_star: ArrayLike, t: ArrayLike, radius: ArrayLike, Ir: ArrayLike
) -> FloatArray:
    """Coefficient of consolidation from a time and its time factor.

    Parameters
    ----------
    T_star
        Time factor [-].
    t
        Time at that degree of dissipation [s].
    radius
        Radius of the cone [m].
    Ir
        Rigidity index [-].

    Returns
    -------
    FloatArray
        Coefficient of consolidation [m2/s]; NaN where the time or Ir is not positive.

    Examples
    --------
    >>> f"{float(ch_teh_houlsby_1991(0.245, 600.0, 0.01785, 100.0)):.3e}"
    '1.301e-06'
    """
    T_star, t, radius, Ir = floats(T_star, t, radius, Ir)
    return np.asarray(T_star * radius * radius * np.sqrt(positive(Ir)) / positive(t))


@equation(
    gives="ch",
    formula="ch = 1.67e-6 10^(1 - log10 t50), t50 in minutes",
    reference="robertson-1992",
    mark=Mark.MEMORY,
    units={"t50": "s", "return": "m2/s"},
    validity="cone of 10 cm2 with u2 (1.5 times as much for 15 cm2); stands for Ir of about 165",
)
def ch_robertson_1992(t50: ArrayLike) -> FloatArray:
    """Coefficient of consolidation straight from the time of half dissipation.

    Parameters
    ----------
    t50
        Time of 50 % dissipation [s].

    Returns
    -------
    FloatArray
        Coefficient of consolidation [m2/s]; NaN where the time is not positive.

    Examples
    --------
    >>> f"{float(ch_robertson_1992(600.0)):.3e}"
    '1.670e-06'
    """
    (t50,) = floats(t50)
    return 1.67e-5 * 60.0 / positive(t50)


@equation(
    gives="Ir",
    formula="Ir = exp((137 - PI) / 23) / (1 + ln(1 + (OCR - 1)^3.2 / 26))^0.8",
    reference="keaveny-mitchell-1986",
    where="fit of their chart",
    mark=Mark.MEMORY,
    units={"PI": "%", "OCR": "-", "return": "-"},
    validity="clay, OCR of 1 to 10, PI of 10 to 50 %",
)
def Ir_keaveny_mitchell_1986(PI: ArrayLike, OCR: ArrayLike) -> FloatArray:
    """Rigidity index from plasticity and overconsolidation.

    Parameters
    ----------
    PI
        Plasticity index [%].
    OCR
        Overconsolidation ratio [-].

    Returns
    -------
    FloatArray
        Rigidity index [-]; NaN where OCR is below 1.

    Examples
    --------
    >>> round(float(Ir_keaveny_mitchell_1986(30.0, 1.0)), 1)
    104.8
    """
    PI, OCR = floats(PI, OCR)
    above = np.where(OCR >= 1.0, OCR - 1.0, np.nan)
    damping = (1.0 + np.log1p(above**3.2 / 26.0)) ** 0.8
    return np.asarray(np.exp((137.0 - PI) / 23.0) / damping)


@equation(
    gives="Ir",
    formula="Ir = exp((1.5 + 2.925 Mc aq) / (Mc (1 - aq))), aq = (u2 - sigma_v0) / qn",
    reference="agaiby-mayne-2018",
    mark=Mark.MEMORY,
    units={"aq": "-", "Mc": "-", "return": "-"},
    validity="soft to firm clay; aq below 1, taken as one value for a layer",
)
def Ir_agaiby_mayne_2018(aq: ArrayLike, Mc: ArrayLike = 1.2) -> FloatArray:
    """Rigidity index of clay from the sounding itself.

    Parameters
    ----------
    aq
        Slope of u2 - sigma_v0 against qn in the layer [-].
    Mc
        Slope of the critical state line [-].

    Returns
    -------
    FloatArray
        Rigidity index [-]; NaN where aq is 1 or more.

    Examples
    --------
    >>> round(float(Ir_agaiby_mayne_2018(0.5)), 1)
    227.0
    """
    aq, Mc = floats(aq, Mc)
    inside = np.where(aq < 1.0, aq, np.nan)
    return np.asarray(np.exp((1.5 + 2.925 * Mc * inside) / (Mc * (1.0 - inside))))


@equation(
    gives="excess pore pressure",
    formula="du = s (2 Mc / 3) (OCR / 2)^L ln(Ir) / (1 + 50 T') + s (1 - (OCR / 2)^L) / "
    "(1 + 5000 T'), s = sigma_v0_eff, T' = ch t / (r^2 Ir^0.75)",
    reference="burns-mayne-1998",
    mark=Mark.MEMORY,
    units={
        "T_prime": "-",
        "sigma_v0_eff": "kPa",
        "OCR": "-",
        "Ir": "-",
        "Mc": "-",
        "Lambda": "-",
        "return": "kPa",
    },
    validity="clay, u2; rises before it falls where OCR is well above 2",
)
def du_burns_mayne_1998(
    T_prime: ArrayLike,
    sigma_v0_eff: ArrayLike,
    OCR: ArrayLike,
    Ir: ArrayLike,
    Mc: ArrayLike = 1.2,
    Lambda: ArrayLike = 0.8,
) -> FloatArray:
    """Excess pore pressure during dissipation, monotonic or rising first.

    Parameters
    ----------
    T_prime
        Time factor ch t / (r^2 Ir^0.75) [-].
    sigma_v0_eff
        Effective vertical stress [kPa].
    OCR, Ir
        Overconsolidation ratio and rigidity index [-].
    Mc
        Slope of the critical state line [-].
    Lambda
        Plastic volumetric strain ratio [-].

    Returns
    -------
    FloatArray
        Excess pore pressure behind the cone [kPa].

    Examples
    --------
    >>> du_burns_mayne_1998([0.0, 0.001, 0.1], 1.0, 10.0, 100.0).round(3).tolist()
    [10.727, 12.278, 2.22]
    """
    T_prime, sigma_v0_eff, OCR = floats(T_prime, sigma_v0_eff, OCR)
    Ir, Mc, Lambda = floats(Ir, Mc, Lambda)
    history = (positive(OCR) / 2.0) ** Lambda
    octahedral = sigma_v0_eff * (2.0 * Mc / 3.0) * history * np.log(positive(Ir))
    shear = sigma_v0_eff * (1.0 - history)
    return np.asarray(octahedral / (1.0 + 50.0 * T_prime) + shear / (1.0 + 5000.0 * T_prime))

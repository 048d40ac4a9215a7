"""Yield stress, overconsolidation ratio and earth pressure at rest."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import DEFINITION, UNKNOWN, factor_of, factor_range


@equation(
    gives="exponent of the yield stress",
    formula="m = 1 - 0.28 / (1 + (Ic / 2.65)^25)",
    reference="mayne-agaiby-dasenbrock-2017",
    mark=Mark.MEMORY,
    units={"Ic": "-", "return": "-"},
    validity="0.72 in clean sand to 1 in clay",
    scatter=UNKNOWN,
)
def m_yield_mayne_2017(Ic: ArrayLike) -> FloatArray:
    """Exponent of net resistance in the yield stress, by soil behaviour.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Exponent [-].

    Examples
    --------
    >>> m_yield_mayne_2017([1.5, 2.65, 3.5]).round(4).tolist()
    [0.72, 0.86, 0.9997]
    """
    (Ic,) = floats(Ic)
    return np.asarray(1.0 - 0.28 / (1.0 + (positive(Ic) / 2.65) ** 25))


@equation(
    gives="sigma_p",
    formula="sigma_p = 0.33 qn^m (pa / 100)^(1 - m), stresses in kPa",
    reference="mayne-2009",
    mark=Mark.MEMORY,
    units={"qn": "kPa", "m_yield": "-", "pa": "kPa", "return": "kPa"},
    validity="young uncemented soil, sand to clay; m by soil behaviour",
    scatter=factor_of(1.5, "about a factor of 1.5 in clay, more in sand"),
)
def sigma_p_mayne_2009(qn: ArrayLike, m_yield: ArrayLike, pa: float = 100.0) -> FloatArray:
    """Yield stress of any ordinary soil from net cone resistance.

    Parameters
    ----------
    qn
        Net cone resistance [kPa].
    m_yield
        Exponent, 0.72 in clean sand to 1 in clay [-].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Yield stress [kPa]; NaN where qn is not positive.

    Notes
    -----
    The exponent acts on kPa. A form with pa^(1 - m) in place of (pa / 100)^(1 - m) would give
    sand at 5 m an OCR above 10 and is taken as a slip; see decision record 0005.

    Examples
    --------
    >>> round(float(sigma_p_mayne_2009(700.0, 1.0)), 1)
    231.0
    """
    qn, m_yield = floats(qn, m_yield)
    return np.asarray(0.33 * positive(qn) ** m_yield * (pa / 100.0) ** (1.0 - m_yield))


@equation(
    gives="sigma_p",
    formula="sigma_p = 0.53 (u2 - u0)",
    reference="mayne-2007",
    mark=Mark.MEMORY,
    units={"u2": "kPa", "u0": "kPa", "return": "kPa"},
    validity="intact soft to firm clay, saturated filter",
    scatter=UNKNOWN,
)
def sigma_p_excess_mayne_2007(u2: ArrayLike, u0: ArrayLike) -> FloatArray:
    """Yield stress of clay from excess pore pressure.

    Parameters
    ----------
    u2, u0
        Pore pressure behind the cone and in-situ pore pressure [kPa].

    Returns
    -------
    FloatArray
        Yield stress [kPa]; NaN where there is no excess pressure.

    Examples
    --------
    >>> round(float(sigma_p_excess_mayne_2007(350.0, 50.0)), 1)
    159.0
    """
    u2, u0 = floats(u2, u0)
    return 0.53 * positive(u2 - u0)


@equation(
    gives="sigma_p",
    formula="sigma_p = 0.60 (qt - u2)",
    reference="mayne-2007",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "u2": "kPa", "return": "kPa"},
    validity="intact clay, saturated filter",
    scatter=UNKNOWN,
)
def sigma_p_effective_mayne_2007(qt: ArrayLike, u2: ArrayLike) -> FloatArray:
    """Yield stress of clay from effective cone resistance.

    Parameters
    ----------
    qt, u2
        Corrected cone resistance and pore pressure behind the cone [kPa].

    Returns
    -------
    FloatArray
        Yield stress [kPa]; NaN where qt is not above u2.

    Examples
    --------
    >>> round(float(sigma_p_effective_mayne_2007(870.0, 350.0)), 1)
    312.0
    """
    qt, u2 = floats(qt, u2)
    return 0.60 * positive(qt - u2)


@equation(
    gives="OCR",
    formula="OCR = sigma_p / sigma_v0_eff",
    reference="ufc-3-220-10",
    where="Ch. 5",
    mark=Mark.VERIFIED,
    units={"sigma_p": "kPa", "sigma_v0_eff": "kPa", "return": "-"},
    validity="definition",
    scatter=DEFINITION,
)
def OCR_definition(sigma_p: ArrayLike, sigma_v0_eff: ArrayLike) -> FloatArray:
    """Overconsolidation ratio from the yield stress.

    Parameters
    ----------
    sigma_p, sigma_v0_eff
        Yield stress and effective vertical stress [kPa].

    Returns
    -------
    FloatArray
        Overconsolidation ratio [-]; NaN where the stress is not positive.

    Examples
    --------
    >>> float(OCR_definition(300.0, 100.0))
    3.0
    """
    sigma_p, sigma_v0_eff = floats(sigma_p, sigma_v0_eff)
    return sigma_p / positive(sigma_v0_eff)


@equation(
    gives="sigma_p",
    formula="sigma_p = OCR sigma_v0_eff",
    reference="ufc-3-220-10",
    where="Ch. 5",
    mark=Mark.VERIFIED,
    units={"OCR": "-", "sigma_v0_eff": "kPa", "return": "kPa"},
    validity="definition",
    scatter=DEFINITION,
)
def sigma_p_definition(OCR: ArrayLike, sigma_v0_eff: ArrayLike) -> FloatArray:
    """Yield stress from the overconsolidation ratio.

    Parameters
    ----------
    OCR
        Overconsolidation ratio [-].
    sigma_v0_eff
        Effective vertical stress [kPa].

    Returns
    -------
    FloatArray
        Yield stress [kPa].

    Examples
    --------
    >>> float(sigma_p_definition(3.0, 100.0))
    300.0
    """
    OCR, sigma_v0_eff = floats(OCR, sigma_v0_eff)
    return OCR * sigma_v0_eff


@equation(
    gives="OCR",
    formula="OCR = k Qt",
    reference="kulhawy-mayne-1990",
    mark=Mark.MEMORY,
    units={"Qt": "-", "OCR_k": "-", "return": "-"},
    validity="clay; k 0.33, 0.2 to 0.5",
    scatter=factor_range(0.2, 0.5, "k is usually 0.2 to 0.5", "OCR_k"),
)
def OCR_kulhawy_mayne_1990(Qt: ArrayLike, OCR_k: ArrayLike = 0.33) -> FloatArray:
    """Overconsolidation ratio of clay, in proportion to normalised resistance.

    Parameters
    ----------
    Qt
        Cone resistance normalised linearly [-].
    OCR_k
        Factor k [-].

    Returns
    -------
    FloatArray
        Overconsolidation ratio [-]; NaN where Qt is not positive.

    Examples
    --------
    >>> round(float(OCR_kulhawy_mayne_1990(7.65)), 2)
    2.52
    """
    Qt, OCR_k = floats(Qt, OCR_k)
    return positive(Qt) * OCR_k


@equation(
    gives="OCR",
    formula="OCR = 0.25 Qt^1.25",
    reference="robertson-2009",
    mark=Mark.MEMORY,
    units={"Qt": "-", "return": "-"},
    validity="clay",
    scatter=UNKNOWN,
)
def OCR_robertson_2009(Qt: ArrayLike) -> FloatArray:
    """Overconsolidation ratio of clay by a power of normalised resistance.

    Parameters
    ----------
    Qt
        Cone resistance normalised linearly [-].

    Returns
    -------
    FloatArray
        Overconsolidation ratio [-]; NaN where Qt is not positive.

    Examples
    --------
    >>> round(float(OCR_robertson_2009(16.0)), 2)
    8.0
    """
    (Qt,) = floats(Qt)
    return np.asarray(0.25 * positive(Qt) ** 1.25)


@equation(
    gives="OCR",
    formula="OCR = 2 (((qt - u2) / sigma_v0_eff) / (1.95 Mc + 1))^1.33",
    reference="mayne-1991",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "u2": "kPa", "sigma_v0_eff": "kPa", "Mc": "-", "return": "-"},
    validity="clay, saturated filter; Mc the slope of the critical state line, about 1.2",
    scatter=UNKNOWN,
)
def OCR_mayne_1991(
    qt: ArrayLike, u2: ArrayLike, sigma_v0_eff: ArrayLike, Mc: ArrayLike = 1.2
) -> FloatArray:
    """Overconsolidation ratio of clay by cavity expansion and critical state theory.

    Parameters
    ----------
    qt, u2, sigma_v0_eff
        Corrected cone resistance, pore pressure behind the cone, effective vertical stress [kPa].
    Mc
        Slope of the critical state line [-].

    Returns
    -------
    FloatArray
        Overconsolidation ratio [-]; NaN where qt is not above u2.

    Examples
    --------
    >>> round(float(OCR_mayne_1991(870.0, 350.0, 91.52)), 2)
    4.05
    """
    qt, u2, sigma_v0_eff, Mc = floats(qt, u2, sigma_v0_eff, Mc)
    ratio = positive(qt - u2) / positive(sigma_v0_eff) / (1.95 * Mc + 1.0)
    return np.asarray(2.0 * ratio**1.33)


@equation(
    gives="K0",
    formula="K0 = (1 - sin phi) OCR^(sin phi)",
    reference="ufc-3-220-20",
    where="Eq. 4-2",
    mark=Mark.VERIFIED,
    units={"phi": "deg", "OCR": "-", "return": "-"},
    validity="soil unloaded once; below the passive limit",
    scatter=UNKNOWN,
)
def K0_mayne_kulhawy_1982(phi: ArrayLike, OCR: ArrayLike) -> FloatArray:
    """Earth pressure at rest from friction angle and overconsolidation ratio.

    Parameters
    ----------
    phi
        Effective friction angle [deg].
    OCR
        Overconsolidation ratio [-].

    Returns
    -------
    FloatArray
        Coefficient [-]; NaN where OCR is not positive or the passive limit is passed.

    Examples
    --------
    >>> round(float(K0_mayne_kulhawy_1982(30.0, 4.0)), 6)
    1.0
    """
    phi, OCR = floats(phi, OCR)
    sine = np.sin(np.radians(phi))
    return _below_passive((1.0 - sine) * np.exp(sine * np.log(positive(OCR))), sine)


@equation(
    gives="K0",
    formula="K0 = (1 - sin phi) OCR^0.5",
    reference="en-1997-1",
    where="Eq. 9.1",
    mark=Mark.VERIFIED,
    units={"phi": "deg", "OCR": "-", "return": "-"},
    validity="not for very high OCR; below the passive limit",
    scatter=UNKNOWN,
)
def K0_en_1997_1(phi: ArrayLike, OCR: ArrayLike) -> FloatArray:
    """Earth pressure at rest as in Eurocode 7.

    Parameters
    ----------
    phi
        Effective friction angle [deg].
    OCR
        Overconsolidation ratio [-].

    Returns
    -------
    FloatArray
        Coefficient [-]; NaN where OCR is not positive or the passive limit is passed.

    Examples
    --------
    >>> round(float(K0_en_1997_1(35.0, 4.0)), 4)
    0.8528
    """
    phi, OCR = floats(phi, OCR)
    sine = np.sin(np.radians(phi))
    return _below_passive((1.0 - sine) * np.sqrt(positive(OCR)), sine)


def _below_passive(K0: FloatArray, sine: FloatArray) -> FloatArray:
    return np.where((1.0 + sine) / (1.0 - sine) >= K0, K0, np.nan)


@equation(
    gives="K0",
    formula="K0 = 0.1 Qt",
    reference="kulhawy-mayne-1990",
    mark=Mark.MEMORY,
    units={"Qt": "-", "return": "-"},
    validity="clay; a first estimate",
    scatter=UNKNOWN,
)
def K0_kulhawy_mayne_1990(Qt: ArrayLike) -> FloatArray:
    """Earth pressure at rest of clay from normalised resistance.

    Parameters
    ----------
    Qt
        Cone resistance normalised linearly [-].

    Returns
    -------
    FloatArray
        Coefficient [-]; NaN where Qt is not positive.

    Examples
    --------
    >>> round(float(K0_kulhawy_mayne_1990(7.65)), 3)
    0.765
    """
    (Qt,) = floats(Qt)
    return 0.1 * positive(Qt)


@equation(
    gives="K0",
    formula="K0 = 0.192 (qt / pa)^0.22 (pa / sigma_v0_eff)^0.31 OCR^0.27",
    reference="mayne-2007",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "sigma_v0_eff": "kPa", "OCR": "-", "pa": "kPa", "return": "-"},
    validity="clean sand, from calibration chambers; OCR known",
    scatter=UNKNOWN,
)
def K0_mayne_2007(
    qt: ArrayLike, sigma_v0_eff: ArrayLike, OCR: ArrayLike, pa: float = 100.0
) -> FloatArray:
    """Earth pressure at rest of clean sand.

    Parameters
    ----------
    qt, sigma_v0_eff
        Corrected cone resistance and effective vertical stress [kPa].
    OCR
        Overconsolidation ratio [-].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Coefficient [-]; NaN where an input is not positive.

    Examples
    --------
    >>> round(float(K0_mayne_2007(10000.0, 100.0, 1.0)), 3)
    0.529
    """
    qt, sigma_v0_eff, OCR = floats(qt, sigma_v0_eff, OCR)
    resistance = (positive(qt) / pa) ** 0.22
    return np.asarray(
        0.192 * resistance * (pa / positive(sigma_v0_eff)) ** 0.31 * positive(OCR) ** 0.27
    )

"""Net and normalised cone parameters, and the exponents that normalise by stress."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, exp10, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import DEFINITION


@equation(
    gives="qn",
    formula="qn = qt - sigma_v0",
    reference="gec-5",
    where="Sec. 4.16",
    mark=Mark.VERIFIED,
    units={"qt": "kPa", "sigma_v0": "kPa", "return": "kPa"},
    validity="any soil; not positive where qt is below the overburden",
    scatter=DEFINITION,
)
def qn_net(qt: ArrayLike, sigma_v0: ArrayLike) -> FloatArray:
    """Net cone resistance.

    Parameters
    ----------
    qt, sigma_v0
        Corrected cone resistance and total vertical stress [kPa].

    Returns
    -------
    FloatArray
        Net cone resistance [kPa].

    Examples
    --------
    >>> float(qn_net(870.0, 170.0))
    700.0
    """
    qt, sigma_v0 = floats(qt, sigma_v0)
    return qt - sigma_v0


@equation(
    gives="Qt",
    formula="Qt = qn / sigma_v0_eff",
    reference="gec-5",
    where="Eq. for Q, Sec. 4.16",
    mark=Mark.VERIFIED,
    units={"qn": "kPa", "sigma_v0_eff": "kPa", "return": "-"},
    validity="qn > 0 and sigma_v0_eff > 0",
    scatter=DEFINITION,
)
def Qt_linear(qn: ArrayLike, sigma_v0_eff: ArrayLike) -> FloatArray:
    """Cone resistance normalised linearly by effective stress.

    Parameters
    ----------
    qn, sigma_v0_eff
        Net cone resistance and effective vertical stress [kPa].

    Returns
    -------
    FloatArray
        Normalised cone resistance [-]; NaN where either is not positive.

    Examples
    --------
    >>> round(float(Qt_linear(700.0, 91.52)), 4)
    7.6486
    """
    qn, sigma_v0_eff = floats(qn, sigma_v0_eff)
    return positive(qn) / positive(sigma_v0_eff)


@equation(
    gives="Fr",
    formula="Fr = 100 fs / qn",
    reference="gec-5",
    where="Eq. 4-28",
    mark=Mark.VERIFIED,
    units={"fs": "kPa", "qn": "kPa", "return": "%"},
    validity="qn > 0",
    scatter=DEFINITION,
)
def Fr_normalised(fs: ArrayLike, qn: ArrayLike) -> FloatArray:
    """Friction ratio on the net cone resistance.

    Parameters
    ----------
    fs, qn
        Sleeve friction and net cone resistance [kPa].

    Returns
    -------
    FloatArray
        Normalised friction ratio [%]; NaN where qn is not positive.

    Examples
    --------
    >>> round(float(Fr_normalised(15.0, 700.0)), 5)
    2.14286
    """
    fs, qn = floats(fs, qn)
    return 100.0 * fs / positive(qn)


@equation(
    gives="Bq",
    formula="Bq = (u2 - u0) / qn",
    reference="gec-5",
    where="Sec. 7.4",
    mark=Mark.VERIFIED,
    units={"u2": "kPa", "u0": "kPa", "qn": "kPa", "return": "-"},
    validity="qn > 0; u2 from a saturated filter behind the cone",
    scatter=DEFINITION,
)
def Bq_ratio(u2: ArrayLike, u0: ArrayLike, qn: ArrayLike) -> FloatArray:
    """Pore pressure ratio.

    Parameters
    ----------
    u2, u0, qn
        Pore pressure behind the cone, in-situ pore pressure and net cone resistance [kPa].

    Returns
    -------
    FloatArray
        Pore pressure ratio [-]; NaN where qn is not positive.

    Examples
    --------
    >>> round(float(Bq_ratio(350.0, 78.48, 700.0)), 6)
    0.387886
    """
    u2, u0, qn = floats(u2, u0, qn)
    return (u2 - u0) / positive(qn)


@equation(
    gives="Qtn",
    formula="Qtn = (qn / pa) (pa / sigma_v0_eff)^n",
    reference="robertson-2009",
    mark=Mark.MEMORY,
    units={"qn": "kPa", "sigma_v0_eff": "kPa", "n": "-", "pa": "kPa", "return": "-"},
    validity="qn > 0 and sigma_v0_eff > 0; n from a stress exponent relation",
    scatter=DEFINITION,
)
def Qtn_stress(
    qn: ArrayLike, sigma_v0_eff: ArrayLike, n: ArrayLike, pa: float = 100.0
) -> FloatArray:
    """Cone resistance normalised with a stress exponent.

    Parameters
    ----------
    qn, sigma_v0_eff
        Net cone resistance and effective vertical stress [kPa].
    n
        Stress exponent [-].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Normalised cone resistance [-]; NaN where either stress is not positive.

    Examples
    --------
    >>> round(float(Qtn_stress(9900.0, 60.0, 0.5069)), 2)
    128.26
    """
    qn, sigma_v0_eff, n = floats(qn, sigma_v0_eff, n)
    return positive(qn) / pa * exp10(n * np.log10(pa / positive(sigma_v0_eff)))


@equation(
    gives="n",
    formula="n = min(1, 0.381 Ic + 0.05 sigma_v0_eff / pa - 0.15)",
    reference="robertson-2009",
    mark=Mark.MEMORY,
    units={"Ic": "-", "sigma_v0_eff": "kPa", "pa": "kPa", "return": "-"},
    validity="all soils; found by iteration with Ic",
    scatter=DEFINITION,
)
def n_robertson_2009(Ic: ArrayLike, sigma_v0_eff: ArrayLike, pa: float = 100.0) -> FloatArray:
    """Stress exponent that follows soil behaviour and stress.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].
    sigma_v0_eff
        Effective vertical stress [kPa].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Stress exponent [-].

    Examples
    --------
    >>> round(float(n_robertson_2009(1.6454, 60.0)), 4)
    0.5069
    """
    Ic, sigma_v0_eff = floats(Ic, sigma_v0_eff)
    return np.minimum(1.0, 0.381 * Ic + 0.05 * sigma_v0_eff / pa - 0.15)


@equation(
    gives="n",
    formula="n = 0.5 where Ic <= 2.6, else 1; 0.75 where n = 0.5 brings Ic above 2.6",
    reference="robertson-wride-1998",
    mark=Mark.MEMORY,
    units={"Ic_linear": "-", "Ic_half": "-", "return": "-"},
    validity="all soils; two trial values of Ic, with n = 1 and n = 0.5",
    scatter=DEFINITION,
)
def n_robertson_wride_1998(Ic_linear: ArrayLike, Ic_half: ArrayLike) -> FloatArray:
    """Stress exponent in three steps.

    Parameters
    ----------
    Ic_linear
        Index computed with n = 1 [-].
    Ic_half
        Index computed with n = 0.5 [-].

    Returns
    -------
    FloatArray
        Stress exponent, 0.5, 0.75 or 1 [-].

    Examples
    --------
    >>> n_robertson_wride_1998([2.9, 2.4, 2.3], [2.95, 2.5, 2.7]).tolist()
    [1.0, 0.5, 0.75]
    """
    first, half = floats(Ic_linear, Ic_half)
    return _three_steps(first, half, 0.75)


@equation(
    gives="n",
    formula="n = 0.5 where Ic <= 2.6, else 1; 0.7 where n = 0.5 brings Ic above 2.6",
    reference="youd-2001",
    mark=Mark.MEMORY,
    units={"Ic_linear": "-", "Ic_half": "-", "return": "-"},
    validity="all soils; two trial values of Ic, with n = 1 and n = 0.5",
    scatter=DEFINITION,
)
def n_youd_2001(Ic_linear: ArrayLike, Ic_half: ArrayLike) -> FloatArray:
    """Stress exponent in three steps, the later middle step.

    Parameters
    ----------
    Ic_linear
        Index computed with n = 1 [-].
    Ic_half
        Index computed with n = 0.5 [-].

    Returns
    -------
    FloatArray
        Stress exponent, 0.5, 0.7 or 1 [-].

    Examples
    --------
    >>> n_youd_2001([2.9, 2.4, 2.3], [2.95, 2.5, 2.7]).tolist()
    [1.0, 0.5, 0.7]
    """
    first, half = floats(Ic_linear, Ic_half)
    return _three_steps(first, half, 0.7)


def _three_steps(first: FloatArray, half: FloatArray, between: float) -> FloatArray:
    steps = np.where(first > 2.6, 1.0, np.where(half > 2.6, between, 0.5))
    return np.where(np.isfinite(first) & np.isfinite(half), steps, np.nan)


@equation(
    gives="n",
    formula="n = 0.5 (Ic <= 1.64); 0.5 + 0.3 (Ic - 1.64) to 3.30; 1 above or sigma_v0_eff > 300",
    reference="zhang-2002",
    mark=Mark.MEMORY,
    units={"Ic": "-", "sigma_v0_eff": "kPa", "return": "-"},
    validity="all soils; found by iteration with Ic",
    scatter=DEFINITION,
)
def n_zhang_2002(Ic: ArrayLike, sigma_v0_eff: ArrayLike) -> FloatArray:
    """Stress exponent rising linearly between clean sand and clay.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].
    sigma_v0_eff
        Effective vertical stress [kPa].

    Returns
    -------
    FloatArray
        Stress exponent [-].

    Examples
    --------
    >>> n_zhang_2002([1.5, 2.64, 3.5], 100.0).round(3).tolist()
    [0.5, 0.8, 1.0]
    """
    Ic, sigma_v0_eff = floats(Ic, sigma_v0_eff)
    ramp = 0.5 + 0.3 * (np.clip(Ic, 1.64, 3.30) - 1.64)
    n = np.where(Ic > 3.30, 1.0, ramp)
    n = np.where(sigma_v0_eff > 300.0, 1.0, n)
    return np.where(np.isfinite(Ic) & np.isfinite(sigma_v0_eff), n, np.nan)

"""Soil behaviour: the index Ic and the nine zones.

Behaviour is what the cone feels, not a soil name from a sieve; the words say so.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import DEFINITION

BOUNDARIES = (1.31, 2.05, 2.60, 2.95, 3.60)
"""Ic at the boundaries of zones 7|6|5|4|3|2 (Robertson 1990 and 2009; from memory)."""

WORDS = {
    1: "sensitive fine-grained",
    2: "organic soil",
    3: "clay",
    4: "silt mixture",
    5: "sand mixture",
    6: "sand",
    7: "gravelly sand",
    8: "very stiff sand",
    9: "very stiff fine-grained",
}
"""Plain words for each zone."""


def zone_words(ic: float) -> str:
    """Return the words for an index; empty where it is missing.

    Examples
    --------
    >>> zone_words(1.9), zone_words(3.2), zone_words(float("nan"))
    ('sand', 'clay', '')
    """
    if not np.isfinite(ic):
        return ""
    return WORDS[7 - int(np.searchsorted(BOUNDARIES, ic, side="right"))]


@equation(
    gives="Ic",
    formula="Ic = sqrt((3.47 - log10 Qtn)^2 + (log10 Fr + 1.22)^2)",
    reference="gec-5",
    where="Eq. 4-28",
    mark=Mark.VERIFIED,
    units={"Qtn": "-", "Fr": "%", "return": "-"},
    validity="Qtn > 0 and Fr > 0; not for zones 1, 8 and 9",
    scatter=DEFINITION,
)
def Ic_robertson_wride_1998(Qtn: ArrayLike, Fr: ArrayLike) -> FloatArray:
    """Soil behaviour type index, the radius of circles on the normalised chart.

    Parameters
    ----------
    Qtn
        Normalised cone resistance [-].
    Fr
        Normalised friction ratio [%].

    Returns
    -------
    FloatArray
        Index [-]; NaN where either is not positive.

    Examples
    --------
    >>> round(float(Ic_robertson_wride_1998(7.6486, 2.14286)), 5)
    3.01581
    """
    Qtn, Fr = floats(Qtn, Fr)
    resistance = 3.47 - np.log10(positive(Qtn))
    friction = np.log10(positive(Fr)) + 1.22
    return np.asarray(np.sqrt(resistance * resistance + friction * friction))


@equation(
    gives="Ic, not normalised",
    formula="ISBT = sqrt((3.47 - log10(qc / pa))^2 + (log10 Rf + 1.22)^2)",
    reference="robertson-2010",
    mark=Mark.MEMORY,
    units={"qc": "kPa", "Rf": "%", "pa": "kPa", "return": "-"},
    validity="qc > 0 and Rf > 0; near Ic where sigma_v0_eff is 50 to 150 kPa",
)
def Ic_robertson_2010(qc: ArrayLike, Rf: ArrayLike, pa: float = 100.0) -> FloatArray:
    """Soil behaviour type index without normalisation by stress.

    Parameters
    ----------
    qc
        Cone resistance [kPa].
    Rf
        Friction ratio [%].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Index [-]; NaN where either is not positive.

    Examples
    --------
    >>> round(float(Ic_robertson_2010(1000.0, 2.0)), 3)
    2.901
    """
    qc, Rf = floats(qc, Rf)
    resistance = 3.47 - np.log10(positive(qc) / pa)
    friction = np.log10(positive(Rf)) + 1.22
    return np.asarray(np.sqrt(resistance * resistance + friction * friction))


@equation(
    gives="Qtn of the boundary of zones 8 and 9",
    formula="1 / (0.005 (Fr - 1) - 0.0003 (Fr - 1)^2 - 0.002)",
    reference="robertson-2009",
    mark=Mark.MEMORY,
    units={"Fr": "%", "return": "-"},
    validity="Fr > 1.5",
    scatter=DEFINITION,
)
def curve_robertson_2009(Fr: ArrayLike) -> FloatArray:
    """Normalised resistance above which soil is very stiff (zones 8 and 9).

    Parameters
    ----------
    Fr
        Normalised friction ratio [%].

    Returns
    -------
    FloatArray
        Qtn of the curve [-]; NaN where Fr <= 1.5, infinite where the curve has no value.

    Examples
    --------
    >>> round(float(curve_robertson_2009(4.0)), 2)
    97.09
    """
    (Fr,) = floats(Fr)
    x = np.where(Fr > 1.5, Fr - 1.0, np.nan)
    return _reciprocal(0.005 * x - 0.0003 * x * x - 0.002)


@equation(
    gives="Qtn of the boundary of zones 8 and 9",
    formula="1 / (0.006 (Fr - 0.9) - 0.0004 (Fr - 0.9)^2 - 0.002)",
    reference="robertson-2009",
    where="a second form in circulation; the paper has not been seen",
    mark=Mark.MEMORY,
    units={"Fr": "%", "return": "-"},
    validity="Fr > 1.5",
    scatter=DEFINITION,
)
def curve_alternative(Fr: ArrayLike) -> FloatArray:
    """The other circulating form of the boundary of zones 8 and 9.

    Parameters
    ----------
    Fr
        Normalised friction ratio [%].

    Returns
    -------
    FloatArray
        Qtn of the curve [-]; NaN where Fr <= 1.5, infinite where the curve has no value.

    Examples
    --------
    >>> round(float(curve_alternative(4.0)), 2)
    78.39
    """
    (Fr,) = floats(Fr)
    x = np.where(Fr > 1.5, Fr - 0.9, np.nan)
    return _reciprocal(0.006 * x - 0.0004 * x * x - 0.002)


def _reciprocal(denominator: FloatArray) -> FloatArray:
    inverse = 1.0 / np.where(denominator > 0, denominator, np.nan)
    return np.where(np.isfinite(denominator) & (denominator <= 0), np.inf, inverse)


@equation(
    gives="zone",
    formula="zones 2 to 7 by Ic; 1 where Qtn < 12 exp(-1.4 Fr); 8 and 9 above the curve, split at "
    "Fr = 4.5",
    reference="robertson-2009",
    mark=Mark.MEMORY,
    units={"Ic": "-", "Qtn": "-", "Fr": "%", "curve": "-", "return": "-"},
    validity="Ic defined; the curve of zones 8 and 9 is a choice (decision record 0002)",
    scatter=DEFINITION,
)
def zone_robertson_2009(
    Ic: ArrayLike, Qtn: ArrayLike, Fr: ArrayLike, curve: ArrayLike
) -> FloatArray:
    """Soil behaviour zone, 1 to 9.

    Parameters
    ----------
    Ic, Qtn
        Index and normalised cone resistance [-].
    Fr
        Normalised friction ratio [%].
    curve
        Qtn of the boundary of zones 8 and 9 at this Fr [-].

    Returns
    -------
    FloatArray
        Zone number as float; NaN where Ic is missing.

    Examples
    --------
    >>> zone_robertson_2009([3.0158, 1.6454], [7.65, 128.3], [2.14, 0.505], [500, 500]).tolist()
    [3.0, 6.0]
    """
    Ic, Qtn, Fr, curve = floats(Ic, Qtn, Fr, curve)
    zone = np.full(np.shape(Ic), 7.0)
    for boundary in BOUNDARIES:
        zone = zone - (Ic >= boundary)
    zone = np.where(Qtn < 12.0 * np.exp(-1.4 * Fr), 1.0, zone)
    stiff = (Fr > 1.5) & (Qtn > curve)
    zone = np.where(stiff, np.where(Fr < 4.5, 8.0, 9.0), zone)
    return np.where(np.isfinite(Ic + Qtn + Fr), zone, np.nan)

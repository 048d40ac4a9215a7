"""Soil behaviour by groups: clay-like, transitional or sand-like, contractive or dilative.

The groups of 2016 replace soil names by behaviour. The purpose and structure were confirmed from
the abstract; the equations are from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import DEFINITION

SAND_LIKE, CLAY_LIKE = 32.0, 22.0
"""IB above which ground is sand-like, below which it is clay-like; between, transitional."""
DILATIVE = 70.0
"""CD above which ground is dilative at large strain."""

CHART_END = 10.0
"""Fr at which the chart ends [%]."""

GROUPS = {
    1: "clay-like, contractive, sensitive",
    2: "clay-like, contractive",
    3: "clay-like, dilative",
    4: "transitional, contractive",
    5: "transitional, dilative",
    6: "sand-like, contractive",
    7: "sand-like, dilative",
}
"""Words for each group. The numbers are ours; the paper uses letters."""


@equation(
    gives="IB",
    formula="IB = 100 (Qtn + 10) / (Qtn Fr + 70)",
    reference="robertson-2016",
    mark=Mark.MEMORY,
    units={"Qtn": "-", "Fr": "%", "return": "-"},
    validity="on the chart, Fr up to 10 %; sand-like above 32, clay-like below 22",
    scatter=DEFINITION,
)
def IB_robertson_2016(Qtn: ArrayLike, Fr: ArrayLike) -> FloatArray:
    """Index that parts sand-like from clay-like behaviour by a hyperbola.

    Parameters
    ----------
    Qtn
        Normalised cone resistance [-].
    Fr
        Normalised friction ratio [%].

    Returns
    -------
    FloatArray
        Index [-]; NaN where Qtn is not positive or Fr is off the chart.

    Examples
    --------
    >>> round(float(IB_robertson_2016(20.0, 2.0)), 2)
    27.27
    """
    Qtn, Fr = floats(Qtn, Fr)
    friction = _on_chart(Fr)
    return 100.0 * (positive(Qtn) + 10.0) / (Qtn * friction + 70.0)


@equation(
    gives="CD",
    formula="CD = (Qtn - 11) (1 + 0.06 Fr)^17",
    reference="robertson-2016",
    mark=Mark.MEMORY,
    units={"Qtn": "-", "Fr": "%", "return": "-"},
    validity="on the chart, Fr up to 10 %; dilative above 70, contractive below",
    scatter=DEFINITION,
)
def CD_robertson_2016(Qtn: ArrayLike, Fr: ArrayLike) -> FloatArray:
    """Index that parts contractive from dilative behaviour at large strain.

    Parameters
    ----------
    Qtn
        Normalised cone resistance [-].
    Fr
        Normalised friction ratio [%].

    Returns
    -------
    FloatArray
        Index [-], negative where Qtn is below 11; NaN where Fr is off the chart.

    Examples
    --------
    >>> round(float(CD_robertson_2016(20.0, 2.0)), 1)
    61.8
    """
    Qtn, Fr = floats(Qtn, Fr)
    friction = _on_chart(Fr)
    return np.asarray((Qtn - 11.0) * (1.0 + 0.06 * friction) ** 17)


def _on_chart(Fr: FloatArray) -> FloatArray:
    return np.where((Fr >= 0.0) & (Fr <= CHART_END), Fr, np.nan)


@equation(
    gives="group",
    formula="IB against 22 and 32, CD against 70; sensitive where clay-like, contractive, Fr < 2 %",
    reference="robertson-2016",
    mark=Mark.MEMORY,
    units={"IB": "-", "CD": "-", "Fr": "%", "return": "-"},
    validity="young uncemented soil; cementation and age move a point up the chart",
    scatter=DEFINITION,
)
def group_robertson_2016(IB: ArrayLike, CD: ArrayLike, Fr: ArrayLike) -> FloatArray:
    """Soil behaviour group, 1 to 7.

    Parameters
    ----------
    IB, CD
        The two indices [-].
    Fr
        Normalised friction ratio [%].

    Returns
    -------
    FloatArray
        Group number as in :data:`GROUPS`; NaN where an index is missing.

    Examples
    --------
    >>> group_robertson_2016([91.7, 27.3, 20.0, 20.0], [147, 61.8, -17, -17], [0.5, 2, 3, 1.5])
    array([7., 4., 2., 1.])
    """
    IB, CD, Fr = floats(IB, CD, Fr)
    dilative = 1.0 * (CD > DILATIVE)
    group = np.where(IB > SAND_LIKE, 6.0, np.where(IB < CLAY_LIKE, 2.0, 4.0)) + dilative
    group = np.where((group == 2.0) & (Fr < 2.0), 1.0, group)
    return np.where(np.isfinite(IB) & np.isfinite(CD) & np.isfinite(Fr), group, np.nan)


@equation(
    gives="KG",
    formula="KG = (G0 / qn) Qtn^0.75",
    reference="robertson-2016",
    mark=Mark.MEMORY,
    units={"G0": "kPa", "qn": "kPa", "Qtn": "-", "return": "-"},
    validity="measured G0; above about 330 the soil has microstructure (age, cement)",
)
def KG_robertson_2016(G0: ArrayLike, qn: ArrayLike, Qtn: ArrayLike) -> FloatArray:
    """Modified normalised rigidity, a sign of microstructure.

    Parameters
    ----------
    G0, qn
        Measured small-strain shear modulus and net cone resistance [kPa].
    Qtn
        Normalised cone resistance [-].

    Returns
    -------
    FloatArray
        Rigidity number [-]; NaN where qn or Qtn is not positive.

    Examples
    --------
    >>> round(float(KG_robertson_2016(60000.0, 10000.0, 100.0)), 1)
    189.7
    """
    G0, qn, Qtn = floats(G0, qn, Qtn)
    return np.asarray(G0 / positive(qn) * positive(Qtn) ** 0.75)


@equation(
    gives="Ic, Jefferies form",
    formula="Ic = sqrt((3 - log10(Qt (1 - Bq)))^2 + (1.5 + 1.3 log10 Fr)^2)",
    reference="jefferies-davies-1993",
    mark=Mark.MEMORY,
    units={"Qt": "-", "Fr": "%", "Bq": "-", "return": "-"},
    validity="Bq < 1, Qt > 0, Fr > 0",
)
def Ic_jefferies_davies_1993(Qt: ArrayLike, Fr: ArrayLike, Bq: ArrayLike) -> FloatArray:
    """Behaviour index with the pore pressure ratio.

    Parameters
    ----------
    Qt
        Cone resistance normalised linearly [-].
    Fr
        Normalised friction ratio [%].
    Bq
        Pore pressure ratio [-].

    Returns
    -------
    FloatArray
        Index [-]; NaN where Bq is 1 or more.

    Examples
    --------
    >>> round(float(Ic_jefferies_davies_1993(20.0, 2.0, 0.1)), 3)
    2.573
    """
    Qt, Fr, Bq = floats(Qt, Fr, Bq)
    return _jefferies(positive(Qt) * (1.0 - Bq), Fr)


@equation(
    gives="Ic, Jefferies form",
    formula="Ic = sqrt((3 - log10(Qt (1 - Bq) + 1))^2 + (1.5 + 1.3 log10 Fr)^2)",
    reference="been-jefferies-1992",
    mark=Mark.MEMORY,
    units={"Qt": "-", "Fr": "%", "Bq": "-", "return": "-"},
    validity="Qt (1 - Bq) > -1, Qt > 0, Fr > 0; stays defined in soft clay with Bq above 1",
)
def Ic_been_jefferies_1992(Qt: ArrayLike, Fr: ArrayLike, Bq: ArrayLike) -> FloatArray:
    """Behaviour index with the pore pressure ratio, the form that stays defined.

    Parameters
    ----------
    Qt
        Cone resistance normalised linearly [-].
    Fr
        Normalised friction ratio [%].
    Bq
        Pore pressure ratio [-].

    Returns
    -------
    FloatArray
        Index [-].

    Examples
    --------
    >>> round(float(Ic_been_jefferies_1992(5.0, 3.0, 0.6)), 3)
    3.296
    """
    Qt, Fr, Bq = floats(Qt, Fr, Bq)
    return _jefferies(positive(Qt) * (1.0 - Bq) + 1.0, Fr)


def _jefferies(across: FloatArray, Fr: FloatArray) -> FloatArray:
    resistance = 3.0 - np.log10(positive(across))
    friction = 1.5 + 1.3 * np.log10(positive(Fr))
    return np.asarray(np.sqrt(resistance * resistance + friction * friction))


@equation(
    gives="zone",
    formula="7 below 1.25, 6 to 1.90, 5 to 2.54, 4 to 2.82, 3 to 3.22, 2 above",
    reference="jefferies-davies-1993",
    mark=Mark.MEMORY,
    units={"Ic_jefferies": "-", "return": "-"},
    validity="the index in the form of Jefferies & Davies, not the other Ic",
)
def zone_jefferies_davies_1993(Ic_jefferies: ArrayLike) -> FloatArray:
    """Soil behaviour zone, 2 to 7, by the index with the pore pressure ratio.

    Parameters
    ----------
    Ic_jefferies
        Index in the form of Jefferies & Davies [-].

    Returns
    -------
    FloatArray
        Zone number as float; NaN where the index is missing.

    Examples
    --------
    >>> zone_jefferies_davies_1993([1.493, 2.573, 3.432]).tolist()
    [6.0, 4.0, 2.0]
    """
    (index,) = floats(Ic_jefferies)
    return _zone(index, 7.0, (1.25, 1.90, 2.54, 2.82, 3.22))


@equation(
    gives="zone",
    formula="6 below 1.80, 5 to 2.40, 4 to 2.76, 3 to 3.22, 2 above",
    reference="been-jefferies-1992",
    mark=Mark.MEMORY,
    units={"Ic_jefferies": "-", "return": "-"},
    validity="the index in the form of Been & Jefferies; another set of boundaries circulates",
)
def zone_been_jefferies_1992(Ic_jefferies: ArrayLike) -> FloatArray:
    """Soil behaviour zone, 2 to 6, by the later boundaries for the same kind of index.

    Parameters
    ----------
    Ic_jefferies
        Index in the form of Been & Jefferies [-].

    Returns
    -------
    FloatArray
        Zone number as float; NaN where the index is missing.

    Examples
    --------
    >>> zone_been_jefferies_1992([1.49, 2.557, 3.296]).tolist()
    [6.0, 4.0, 2.0]
    """
    (index,) = floats(Ic_jefferies)
    return _zone(index, 6.0, (1.80, 2.40, 2.76, 3.22))


def _zone(index: FloatArray, first: float, boundaries: tuple[float, ...]) -> FloatArray:
    zone = np.where(np.isfinite(index), first, np.nan)
    for boundary in boundaries:
        zone = zone - (index >= boundary)
    return zone

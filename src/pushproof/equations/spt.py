"""Equivalent SPT blow count from the cone."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, exp10, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import DEFINITION, UNKNOWN


@equation(
    gives="(qc/pa)/N60",
    formula="(qc / pa) / N60 = 8.5 (1 - Ic / 4.6)",
    reference="jefferies-davies-1993",
    mark=Mark.MEMORY,
    units={"Ic": "-", "return": "-"},
    validity="Ic < 4.6",
    scatter=UNKNOWN,
)
def n60_ratio_jefferies_davies_1993(Ic: ArrayLike) -> FloatArray:
    """Ratio of cone resistance to blow count, linear in the index.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Ratio (qc/pa)/N60 [-]; NaN where Ic is 4.6 or more.

    Examples
    --------
    >>> round(float(n60_ratio_jefferies_davies_1993(2.05)), 3)
    4.712
    """
    (Ic,) = floats(Ic)
    return positive(8.5 * (1.0 - Ic / 4.6))


@equation(
    gives="(qt/pa)/N60",
    formula="(qt / pa) / N60 = 10^(1.1268 - 0.2817 Ic)",
    reference="robertson-2012",
    mark=Mark.MEMORY,
    units={"Ic": "-", "return": "-"},
    validity="all soils with a defined Ic",
    scatter=UNKNOWN,
)
def n60_ratio_robertson_2012(Ic: ArrayLike) -> FloatArray:
    """Ratio of cone resistance to blow count, exponential in the index.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Ratio (qt/pa)/N60 [-].

    Examples
    --------
    >>> round(float(n60_ratio_robertson_2012(2.05)), 3)
    3.543
    """
    (Ic,) = floats(Ic)
    return exp10(1.1268 - 0.2817 * Ic)


@equation(
    gives="(qc/pa)/N60",
    formula="(qc / pa) / N60 = 5.44 D50^0.26, D50 in mm",
    reference="das-sobhan-9",
    where="Table 17.7 (after Kulhawy & Mayne 1990) and Problem 17.9",
    mark=Mark.VERIFIED,
    units={"D50": "m", "return": "-"},
    validity="sand and silt with a measured mean grain size",
)
def n60_ratio_kulhawy_mayne_1990(D50: ArrayLike) -> FloatArray:
    """Ratio of cone resistance to blow count from the mean grain size.

    Parameters
    ----------
    D50
        Mean grain size [m].

    Returns
    -------
    FloatArray
        Ratio (qc/pa)/N60 [-]; NaN where the grain size is not positive.

    Examples
    --------
    >>> round(float(n60_ratio_kulhawy_mayne_1990(0.46e-3)), 4)
    4.4455
    """
    (D50,) = floats(D50)
    return np.asarray(5.44 * (1000.0 * positive(D50)) ** 0.26)


@equation(
    gives="(qc/pa)/N60",
    formula="(qc / pa) / N60 = 4.25 - FC / 41.3",
    reference="kulhawy-mayne-1990",
    mark=Mark.MEMORY,
    units={"FC": "%", "return": "-"},
    validity="0 <= FC <= 100",
)
def n60_ratio_fines_kulhawy_mayne_1990(FC: ArrayLike) -> FloatArray:
    """Ratio of cone resistance to blow count from the fines content.

    Parameters
    ----------
    FC
        Fines content [%].

    Returns
    -------
    FloatArray
        Ratio (qc/pa)/N60 [-]; NaN outside 0 to 100 %.

    Examples
    --------
    >>> round(float(n60_ratio_fines_kulhawy_mayne_1990(20.0)), 3)
    3.766
    """
    (FC,) = floats(FC)
    return 4.25 - np.where((FC >= 0) & (FC <= 100), FC, np.nan) / 41.3


RATIOS_1986 = (2.0, 1.0, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 1.0, 2.0)
"""(qc/pa)/N60 of the twelve zones of 1986; from memory."""
RATIOS_1990 = (2.0, 1.0, 1.5, 2.0, 3.0, 5.0, 6.0, 5.0, 1.0)
"""(qc/pa)/N60 of the nine zones of 1990; from memory."""


@equation(
    gives="(qc/pa)/N60",
    formula="by zone 1 to 12: 2, 1, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 1, 2",
    reference="robertson-1986",
    mark=Mark.MEMORY,
    units={"zone_1986": "-", "return": "-"},
    validity="a zone of the chart of 1986 with twelve zones",
)
def n60_ratio_robertson_1986(zone_1986: ArrayLike) -> FloatArray:
    """Ratio of cone resistance to blow count by zone of the twelve-zone chart.

    Parameters
    ----------
    zone_1986
        Zone, 1 to 12 [-].

    Returns
    -------
    FloatArray
        Ratio (qc/pa)/N60 [-]; NaN where there is no such zone.

    Examples
    --------
    >>> n60_ratio_robertson_1986([3, 9, 13]).tolist()
    [1.0, 5.0, nan]
    """
    (zone,) = floats(zone_1986)
    return _by_zone(zone, RATIOS_1986)


@equation(
    gives="(qc/pa)/N60",
    formula="by zone 1 to 9: 2, 1, 1.5, 2, 3, 5, 6, 5, 1",
    reference="lunne-1997",
    mark=Mark.MEMORY,
    units={"zone": "-", "return": "-"},
    validity="a zone of the chart with nine zones",
)
def n60_ratio_zones_1990(zone: ArrayLike) -> FloatArray:
    """Ratio of cone resistance to blow count by zone of the nine-zone chart.

    Parameters
    ----------
    zone
        Zone, 1 to 9 [-].

    Returns
    -------
    FloatArray
        Ratio (qc/pa)/N60 [-]; NaN where there is no such zone.

    Examples
    --------
    >>> n60_ratio_zones_1990([3, 6, 7]).tolist()
    [1.5, 5.0, 6.0]
    """
    (zone,) = floats(zone)
    return _by_zone(zone, RATIOS_1990)


def _by_zone(zone: FloatArray, ratios: tuple[float, ...]) -> FloatArray:
    table = np.array([np.nan, *ratios, np.nan])
    known = np.isfinite(zone) & (zone == np.round(zone))
    index = np.where(known, np.clip(zone, 0, len(ratios) + 1), 0).astype(np.intp)
    return np.asarray(table[index])


@equation(
    gives="N60",
    formula="N60 = (qt / pa) / ratio",
    reference="das-sobhan-9",
    where="Problem 17.9 (there with qc)",
    mark=Mark.VERIFIED,
    units={"qt": "kPa", "n60_ratio": "-", "pa": "kPa", "return": "-"},
    validity="ratio > 0, from one of the relations for it",
    scatter=DEFINITION,
)
def N60_from_ratio(qt: ArrayLike, n60_ratio: ArrayLike, pa: float = 100.0) -> FloatArray:
    """Equivalent SPT blow count at 60 % energy.

    Parameters
    ----------
    qt
        Corrected cone resistance [kPa].
    n60_ratio
        Ratio of qt/pa to N60 [-].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Blow count [-]; NaN where the ratio or qt is not positive.

    Examples
    --------
    >>> round(float(N60_from_ratio(2667.0, 4.4454)), 2)
    6.0
    """
    qt, n60_ratio = floats(qt, n60_ratio)
    return positive(qt) / (pa * positive(n60_ratio))


@equation(
    gives="N1_60",
    formula="(N1)60 = N60 CN, CN = min(1.7, (pa / sigma_v0_eff)^0.5)",
    reference="liao-whitman-1986",
    where="form with the limit of 1.7 in GEC-5, Ch. 5",
    mark=Mark.VERIFIED,
    units={"N60": "-", "sigma_v0_eff": "kPa", "pa": "kPa", "return": "-"},
    validity="sigma_v0_eff > 0; made for sand",
    scatter=UNKNOWN,
)
def N1_60_liao_whitman_1986(
    N60: ArrayLike, sigma_v0_eff: ArrayLike, pa: float = 100.0
) -> FloatArray:
    """Blow count normalised to a stress of one atmosphere.

    Parameters
    ----------
    N60
        Blow count at 60 % energy [-].
    sigma_v0_eff
        Effective vertical stress [kPa].
    pa
        Reference stress [kPa].

    Returns
    -------
    FloatArray
        Normalised blow count [-]; NaN where the stress is not positive.

    Examples
    --------
    >>> N1_60_liao_whitman_1986(10.0, [25.0, 100.0, 200.0]).round(3).tolist()
    [17.0, 10.0, 7.071]
    """
    N60, sigma_v0_eff = floats(N60, sigma_v0_eff)
    return N60 * np.minimum(1.7, np.sqrt(pa / positive(sigma_v0_eff)))

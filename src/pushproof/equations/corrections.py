"""Corrections of what the cone measured: pore pressure on the end areas, and tilt on the depth.

Follows ISO 22476-1:2012 Annex B (depth) and Annex C (end areas); the net area ratio form of qt is
also GEC-5 Eq. 4-23.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import DEFINITION


@equation(
    gives="qt",
    formula="qt = qc + (1 - a) u2",
    reference="gec-5",
    where="Eq. 4-23",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "u2": "kPa", "a": "-", "return": "kPa"},
    validity="pore pressure measured behind the cone (u2); a from calibration in a pressure vessel",
    scatter=DEFINITION,
)
def qt_area_ratio(qc: ArrayLike, u2: ArrayLike, a: ArrayLike) -> FloatArray:
    """Cone resistance corrected for pore pressure on the shoulder of the cone.

    Parameters
    ----------
    qc, u2
        Cone resistance and pore pressure behind the cone [kPa].
    a
        Net area ratio [-].

    Returns
    -------
    FloatArray
        Corrected cone resistance [kPa].

    Examples
    --------
    >>> round(float(qt_area_ratio(800.0, 350.0, 0.8)), 6)
    870.0
    """
    qc, u2, a = floats(qc, u2, a)
    return qc + (1.0 - a) * u2


@equation(
    gives="ft",
    formula="ft = fs - (u2 Asb - u3 Ast) / As",
    reference="iso-22476-1-2012",
    where="Annex C, Eq. C.1",
    mark=Mark.VERIFIED,
    units={
        "fs": "kPa",
        "u2": "kPa",
        "u3": "kPa",
        "end_area_bottom": "m2",
        "end_area_top": "m2",
        "sleeve_area": "m2",
        "return": "kPa",
    },
    validity="both u2 and u3 measured, and both end areas of the sleeve known",
    scatter=DEFINITION,
)
def ft_end_areas(
    fs: ArrayLike,
    u2: ArrayLike,
    u3: ArrayLike,
    end_area_bottom: ArrayLike,
    end_area_top: ArrayLike,
    sleeve_area: ArrayLike,
) -> FloatArray:
    """Sleeve friction corrected for pore pressure on the end areas of the sleeve.

    Parameters
    ----------
    fs, u2, u3
        Sleeve friction, pore pressure behind the cone and behind the sleeve [kPa].
    end_area_bottom, end_area_top, sleeve_area
        Asb, Ast and As [m2].

    Returns
    -------
    FloatArray
        Corrected sleeve friction [kPa].

    Examples
    --------
    >>> round(float(ft_end_areas(20.0, 300.0, 200.0, 2e-4, 2e-4, 1.5e-2)), 4)
    18.6667
    """
    fs, u2, u3 = floats(fs, u2, u3)
    bottom, top, area = floats(end_area_bottom, end_area_top, sleeve_area)
    return fs - (u2 * bottom - u3 * top) / area


@equation(
    gives="Rf",
    formula="Rf = 100 fs / qt",
    reference="gec-12",
    where="Sec. 5.1.2",
    mark=Mark.VERIFIED,
    units={"fs": "kPa", "qt": "kPa", "return": "%"},
    validity="qt > 0; the denominator is qt (GEC-5 Eq. 4-24 prints qc)",
    scatter=DEFINITION,
)
def rf_over_qt(fs: ArrayLike, qt: ArrayLike) -> FloatArray:
    """Friction ratio on the corrected cone resistance.

    Parameters
    ----------
    fs, qt
        Sleeve friction and corrected cone resistance [kPa].

    Returns
    -------
    FloatArray
        Friction ratio [%]; NaN where qt is not positive.

    Examples
    --------
    >>> round(float(rf_over_qt(15.0, 870.0)), 5)
    1.72414
    """
    fs, qt = floats(fs, qt)
    return 100.0 * fs / positive(qt)


@equation(
    gives="depth factor",
    formula="Ch = cos(alpha)",
    reference="iso-22476-1-2012",
    where="Annex B",
    mark=Mark.VERIFIED,
    units={"tilt": "deg", "return": "-"},
    validity="tilt is the resultant angle from the vertical",
)
def depth_factor_resultant(tilt: ArrayLike) -> FloatArray:
    """Factor from penetration length to depth for one resultant tilt.

    Parameters
    ----------
    tilt
        Angle from the vertical [deg].

    Returns
    -------
    FloatArray
        Depth gained for each unit of penetration length [-].

    Examples
    --------
    >>> round(float(depth_factor_resultant(10.0)), 6)
    0.984808
    """
    (tilt,) = floats(tilt)
    return np.cos(np.radians(tilt))


@equation(
    gives="depth factor",
    formula="Ch = (1 + tan^2 b1 + tan^2 b2)^-0.5",
    reference="iso-22476-1-2012",
    where="Annex B",
    mark=Mark.VERIFIED,
    units={"tilt_x": "deg", "tilt_y": "deg", "return": "-"},
    validity="two tilts in perpendicular planes",
)
def depth_factor_two_axes(tilt_x: ArrayLike, tilt_y: ArrayLike) -> FloatArray:
    """Factor from penetration length to depth for two perpendicular tilts.

    Parameters
    ----------
    tilt_x, tilt_y
        Tilts from the vertical in two perpendicular planes [deg].

    Returns
    -------
    FloatArray
        Depth gained for each unit of penetration length [-].

    Examples
    --------
    >>> round(float(depth_factor_two_axes(10.0, 0.0)), 6)
    0.984808
    """
    tilt_x, tilt_y = floats(tilt_x, tilt_y)
    x: FloatArray = np.tan(np.radians(tilt_x))
    y: FloatArray = np.tan(np.radians(tilt_y))
    return np.asarray(1.0 / np.sqrt(1.0 + x * x + y * y))

"""Units as people and files write them, and the factors to the units used inside.

Conversion happens at the border: readers call :func:`unit` on the text a file gives, writers and
pages call :func:`to_display`. Nothing else multiplies by a unit factor.
Factors are exact by definition (SI; 1 ft = 0.3048 m, a survey foot 1200/3937 m;
1 lbf = 4.4482216152605 N; NIST SP 811).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pushproof.model.quantities import quantity


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: ``inside = value * factor + offset``.

    Parameters
    ----------
    symbol
        The plain way to write it.
    inside
        The inside unit of its dimension (``m``, ``s``, ``kPa``, ``deg``, ``kN/m3``, ...).
    factor, offset
        Conversion to the inside unit.
    """

    symbol: str
    inside: str
    factor: float
    offset: float = 0.0


_LBF = 4.4482216152605
_FT2 = 0.3048**2

_UNITS: dict[str, Unit] = {}


def _add(inside: str, factor: float, names: str, offset: float = 0.0) -> None:
    first = names.split("|")[0]
    for name in names.split("|"):
        _UNITS[_fold(name)] = Unit(first, inside, factor, offset)


def _fold(text: str) -> str:
    """Bring the spellings of one unit together: case, blanks, superscripts, brackets."""
    folded = text.strip().strip("[]()").strip()
    folded = folded.replace("²", "2").replace("³", "3").replace("^", "").replace("µ", "u")
    folded = folded.replace("°", "deg").replace("·", "").replace("**", "")
    return re.sub(r"\s+", "", folded).lower()


_add("m", 1, "m|meter|metre|meters|metres|mtr")
_add("m", 0.01, "cm|centimeter|centimetre")
_add("m", 0.001, "mm|millimeter|millimetre")
_add("m", 0.3048, "ft|feet|foot")
_add("m", 1200 / 3937, "ft[US]|ftUS|us survey foot|us-ft")
_add("m", 0.0254, "in|inch|inches")
_add("s", 1, "s|sec|secs|second|seconds|seconde")
_add("s", 0.001, "ms|millisecond|milliseconds")
_add("s", 1e-6, "us|microsecond|microseconds")
_add("s", 60, "min|minute|minutes")
_add("s", 3600, "h|hr|hour|hours")
_add("kPa", 1, "kPa|kN/m2|kilopascal|kPascal")
_add("kPa", 1000, "MPa|MN/m2|N/mm2|megapascal")
_add("kPa", 0.001, "Pa|N/m2|pascal")
_add("kPa", 100, "bar|bars")
_add("kPa", 98.0665, "kgf/cm2|kg/cm2|at")
_add("kPa", _LBF / 0.0254**2 / 1000, "psi|lbf/in2|lb/in2")
_add("kPa", _LBF / _FT2 / 1000, "psf|lbf/ft2|lb/ft2")
_add("kPa", _LBF / _FT2, "ksf|kip/ft2")
_add("kPa", 2 * _LBF / _FT2, "tsf|ton/ft2|tons/ft2|tonf[US]/ft2|tonf/ft2")
_add("deg", 1, "deg|degree|degrees|graden|degr|dega")
_add("deg", 180 / np.pi, "rad|radian|radians")
_add("%", 1, "%|percent|procent|pct|%;mpa/mpa")
_add("-", 1, "-||none|1|ratio|dimensionless")
_add("kN/m3", 1, "kN/m3")
_add("kN/m3", _LBF / 0.3048**3 / 1000, "pcf|lbf/ft3")
_add("degC", 1, "degC|C|celsius|degcelsius|gradencelsius")
_add("degC", 5 / 9, "degF|F|fahrenheit", offset=-160 / 9)
_add("m/s", 1, "m/s|m/sec")
_add("m/s", 0.01, "cm/s|cm/sec")
_add("m/s", 0.001, "mm/s|mm/sec")
_add("m/s", 0.3048, "ft/s")
_add("m2", 1e-4, "cm2")
_add("m2", 1e-6, "mm2")
_add("m2", 1, "m2")
_add("m2", 0.0254**2, "in2")
_add("m2/s", 1, "m2/s")
_add("m2/s", 1e-4, "cm2/s|cm2/sec")
_add("m2/s", 1e-4 / 60, "cm2/min")
_add("m2/s", 1e-6, "mm2/s")
_add("kN", 1, "kN")
_add("kN", 1000, "MN")
_add("kN", 0.001, "N")
_add("dB", 1, "dB")
_add("V", 1, "V|volt")
_add("V", 0.001, "mV|millivolt")


def unit(text: str) -> Unit | None:
    """Return the unit that ``text`` names, or None if it is not known.

    A remark in brackets after the unit is passed over: ``"m (meter)"`` is ``m``.

    Examples
    --------
    >>> unit("MN/m2").factor
    1000
    >>> unit("m (meter)").symbol
    'm'
    >>> unit("furlong") is None
    True
    """
    found = _UNITS.get(_fold(text))
    if found is None:
        found = _UNITS.get(_fold(re.sub(r"\s*\(.*\)\s*$", "", text)))
    return found


def to_inside(values: ArrayLike, text: str) -> NDArray[np.float64]:
    """Convert values in the unit ``text`` to the inside unit of that dimension.

    Raises
    ------
    ValueError
        If the unit is not known.

    Examples
    --------
    >>> float(to_inside(2.5, "MPa"))
    2500.0
    """
    found = unit(text)
    if found is None:
        raise ValueError(f"unknown unit {text!r}")
    return np.asarray(values, dtype=np.float64) * found.factor + found.offset


def factor_to_display(key: str) -> float:
    """Return the factor from the inside unit to the display unit of a quantity.

    Examples
    --------
    >>> factor_to_display("qt")
    0.001
    """
    row = quantity(key)
    shown = unit(row.display_unit)
    if row.unit == row.display_unit or shown is None:
        return 1.0
    return 1.0 / shown.factor


def to_display(key: str, values: ArrayLike) -> NDArray[np.float64]:
    """Convert values of a quantity from the inside unit to the display unit.

    Examples
    --------
    >>> float(to_display("qt", 2500.0))
    2.5
    """
    return np.asarray(values, dtype=np.float64) * factor_to_display(key)

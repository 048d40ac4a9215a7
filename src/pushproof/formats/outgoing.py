"""What goes out: columns of a sounding or of what was derived, in a unit, with their decimals."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pushproof.formats.contract import Content, sounding_of
from pushproof.formats.precision import decimals
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES
from pushproof.model.series import Series
from pushproof.model.units import unit


def series_of(content: Content) -> Series:
    """Return the readings as found, or the profile with what was derived."""
    return content.series if isinstance(content, Interpretation) else content.readings


def converted(values: NDArray[np.float64], stated: str) -> NDArray[np.float64]:
    """Return values of an inside unit in another unit; as they are where it is not known.

    Examples
    --------
    >>> converted(np.array([1234.5]), "MPa").tolist()
    [1.2345]
    """
    known = unit(stated)
    return values if known is None else (values - known.offset) / known.factor


def in_unit(series: Series, key: str, stated: str) -> NDArray[np.float64]:
    """Return a column in a unit; a column that nobody knows stays in its own."""
    values = series.get(key)
    return values if key in series.extras else converted(values, stated)


def places(content: Content, key: str, stated: str) -> int:
    """Return the decimals of a column in a unit.

    Those of the readings where it was read or corrected; those of the vocabulary, moved to the
    unit, where it was computed.
    """
    readings = sounding_of(content).readings
    if not isinstance(content, Interpretation):
        return decimals(in_unit(readings, key, stated))
    if key in readings and key not in ("depth", "length"):
        return decimals(in_unit(readings, key, stated))
    if key not in QUANTITIES:
        return decimals(content.series[key])
    row = QUANTITIES[key]
    shown, asked = unit(row.display_unit), unit(stated)
    if shown is None or asked is None:
        return row.decimals
    step = 10.0**-row.decimals * shown.factor / asked.factor
    return max(0, round(-math.log10(step)))

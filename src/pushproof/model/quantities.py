"""The vocabulary: one table of every quantity that Pushproof reads, computes or shows.

Tables, axes, sheets, the command line and the documentation all read this table. A key that is
not here does not exist: add to the table, never beside it. Columns that a file carries and that
nobody knows are kept as extras of a series (see :mod:`pushproof.model.series`).

Inside, values are in m, s, kPa, deg, kN/m3 and degC; ``display_unit`` is what people see.
Plausible ranges are for catching faults on import, not limits of validity. The ranges of the
measured channels follow what the Dutch register of the subsurface accepts (catalogue
"Geotechnisch sondeeronderzoek"); the rest are wide common-practice bounds.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType


class Kind(StrEnum):
    """Where a quantity stands on the way from the rig to the report."""

    POSITION = "position"
    MEASURED = "measured"
    CORRECTED = "corrected"
    STRESS = "stress"
    DERIVED = "derived"
    RECORD = "record"


@dataclass(frozen=True, slots=True)
class Quantity:
    """One row of the vocabulary.

    Parameters
    ----------
    key
        Name in tables, exports and code.
    symbol
        Symbol as the field writes it.
    unit
        Unit inside (``"-"`` for a pure number).
    display_unit
        Unit that people see; see :func:`pushproof.model.units.factor_to_display`.
    name
        Long name, lower case.
    low, high
        Plausible range in the inside unit.
    decimals
        Decimals shown in the display unit.
    kind
        Group of the quantity.
    sign
        What a positive value means, where that needs saying.
    """

    key: str
    symbol: str
    unit: str
    display_unit: str
    name: str
    low: float
    high: float
    decimals: int
    kind: Kind
    sign: str = ""

    @property
    def heading(self) -> str:
        """Heading of a table column: ``symbol [display unit]``."""
        return f"{self.symbol} [{self.display_unit}]"


def _table(*rows: Quantity) -> MappingProxyType[str, Quantity]:
    table = {row.key: row for row in rows}
    if len(table) != len(rows):
        raise ValueError("a quantity key stands twice in the vocabulary")
    return MappingProxyType(table)


_P, _M, _C = Kind.POSITION, Kind.MEASURED, Kind.CORRECTED
_S, _D, _R = Kind.STRESS, Kind.DERIVED, Kind.RECORD

QUANTITIES = _table(
    Quantity("length", "l", "m", "m", "penetration length along the rods", 0, 200, 3, _P, "down"),
    Quantity("depth", "z", "m", "m", "depth below ground level", 0, 200, 3, _P, "down"),
    Quantity("elevation", "h", "m", "m", "elevation above datum", -12000, 9000, 3, _P, "up"),
    Quantity("time", "t", "s", "s", "elapsed time", 0, 68400, 1, _P),
    Quantity("qc", "qc", "kPa", "MPa", "cone resistance", -1000, 200000, 3, _M),
    Quantity("fs", "fs", "kPa", "kPa", "sleeve friction", -100, 2000, 1, _M),
    Quantity("u1", "u1", "kPa", "kPa", "pore pressure on the cone face", -1000, 10000, 1, _M),
    Quantity("u2", "u2", "kPa", "kPa", "pore pressure behind the cone", -1000, 10000, 1, _M),
    Quantity("u3", "u3", "kPa", "kPa", "pore pressure behind the sleeve", -1000, 10000, 1, _M),
    Quantity("tilt", "α", "deg", "deg", "tilt from vertical", 0, 90, 2, _M, "away from vertical"),
    Quantity("tilt_x", "αx", "deg", "deg", "tilt in the x axis of the cone", -90, 90, 2, _M),
    Quantity("tilt_y", "αy", "deg", "deg", "tilt in the y axis of the cone", -90, 90, 2, _M),
    Quantity("temperature", "T", "degC", "degC", "temperature in the cone", -20, 160, 1, _M),
    Quantity("rate", "v", "m/s", "mm/s", "penetration rate", -1, 1, 1, _M, "down"),
    Quantity("link_level", "L", "dB", "dB", "received level of the sound link", -160, 120, 1, _R),
    Quantity("link_noise", "Ln", "dB", "dB", "noise level at the receiver", -160, 120, 1, _R),
    Quantity("engine", "engine", "-", "-", "engine under load (1) or idle (0)", 0, 1, 0, _R),
    Quantity("cone_time", "tc", "s", "s", "time on the clock of the cone", 0, 1e7, 2, _R),
    Quantity("battery", "Ub", "V", "V", "battery voltage of the cone", 0, 60, 2, _R),
    Quantity("count", "c", "-", "-", "count of the depth encoder", -1e12, 1e12, 0, _R),
    Quantity("clamp", "clamp", "-", "-", "rod clamp closed (1) or open (0)", 0, 1, 0, _R),
    Quantity("thrust", "F", "kN", "kN", "push force at the rod top", -100, 1000, 1, _R, "down"),
    Quantity("latitude", "lat", "deg", "deg", "latitude, WGS 84", -90, 90, 7, _R, "north"),
    Quantity("longitude", "lon", "deg", "deg", "longitude, WGS 84", -180, 180, 7, _R, "east"),
    Quantity("origin", "origin", "-", "-", "where the value came from", 0, 9, 0, _R),
    Quantity("qt", "qt", "kPa", "MPa", "corrected cone resistance", -1000, 200000, 3, _C),
    Quantity("ft", "ft", "kPa", "kPa", "corrected sleeve friction", -100, 2000, 1, _C),
    Quantity("Rf", "Rf", "%", "%", "friction ratio", 0, 100, 2, _C),
    Quantity("gamma", "γ", "kN/m3", "kN/m3", "unit weight", 8, 27, 1, _S),
    Quantity("sigma_v0", "σv0", "kPa", "kPa", "total vertical stress", 0, 5000, 1, _S),
    Quantity("u0", "u0", "kPa", "kPa", "in-situ pore pressure", -100, 3000, 1, _S),
    Quantity("sigma_v0_eff", "σ'v0", "kPa", "kPa", "effective vertical stress", 0, 4000, 1, _S),
    Quantity("qn", "qn", "kPa", "MPa", "net cone resistance", -1000, 200000, 3, _D),
    Quantity("Qt", "Qt", "-", "-", "normalised cone resistance, n = 1", 0, 20000, 1, _D),
    Quantity("Fr", "Fr", "%", "%", "normalised friction ratio", 0, 100, 2, _D),
    Quantity("Bq", "Bq", "-", "-", "pore pressure ratio", -1, 20, 3, _D),
    Quantity("n", "n", "-", "-", "stress exponent", 0, 1, 2, _D),
    Quantity("Qtn", "Qtn", "-", "-", "normalised cone resistance", 0, 20000, 1, _D),
    Quantity("Ic", "Ic", "-", "-", "soil behaviour type index", 0, 10, 2, _D),
    Quantity("zone", "zone", "-", "-", "soil behaviour zone", 1, 9, 0, _D),
    Quantity("IB", "IB", "-", "-", "behaviour index, sand to clay", 0, 150, 1, _D),
    Quantity(
        "CD",
        "CD",
        "-",
        "-",
        "index of contraction and dilation",
        -4e4,
        4e6,
        0,
        _D,
        "dilative above 70",
    ),
    Quantity("group", "group", "-", "-", "soil behaviour group", 1, 7, 0, _D),
    Quantity("N60", "N60", "-", "-", "equivalent SPT blow count", 0, 300, 0, _D),
    Quantity("N1_60", "(N1)60", "-", "-", "stress-normalised SPT blow count", 0, 300, 0, _D),
    Quantity("su", "su", "kPa", "kPa", "undrained shear strength", 0, 2000, 0, _D),
    Quantity("St", "St", "-", "-", "sensitivity", 0.5, 1000, 1, _D),
    Quantity("OCR", "OCR", "-", "-", "overconsolidation ratio", 0.5, 100, 1, _D),
    Quantity("sigma_p", "σ'p", "kPa", "kPa", "yield stress", 0, 10000, 0, _D),
    Quantity("K0", "K0", "-", "-", "coefficient of earth pressure at rest", 0.1, 5, 2, _D),
    Quantity("phi", "φ'", "deg", "deg", "effective friction angle", 15, 55, 1, _D),
    Quantity("Dr", "Dr", "%", "%", "relative density", 0, 120, 0, _D),
    Quantity("psi", "ψ", "-", "-", "state parameter", -0.5, 0.5, 2, _D, "loose"),
    Quantity("M", "M", "kPa", "MPa", "constrained modulus", 0, 1000000, 1, _D),
    Quantity("E", "E'", "kPa", "MPa", "drained Young's modulus", 0, 1000000, 1, _D),
    Quantity("G0", "G0", "kPa", "MPa", "small-strain shear modulus", 0, 5000000, 0, _D),
    Quantity("Vs", "Vs", "m/s", "m/s", "shear wave velocity", 10, 3000, 0, _D),
    Quantity("k", "k", "m/s", "m/s", "hydraulic conductivity", 0, 10, 12, _D),
    Quantity("FC", "FC", "%", "%", "fines content", 0, 100, 0, _D),
)
"""Every known quantity by key."""


def quantity(key: str) -> Quantity:
    """Return the row of the vocabulary for ``key``.

    Raises
    ------
    ValueError
        If the key is not in the vocabulary.

    Examples
    --------
    >>> quantity("qt").heading
    'qt [MPa]'
    """
    try:
        return QUANTITIES[key]
    except KeyError:
        known = " ".join(QUANTITIES)
        raise ValueError(f"unknown quantity {key!r}; known: {known}") from None

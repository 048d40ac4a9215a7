"""What the groups and headings of the two families of editions are called, and what they mean."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

MEANING = MappingProxyType(
    {
        "DPTH": ("depth", "m"),
        "RES": ("qc", "MPa"),
        "FRES": ("fs", "kPa"),
        "PWP1": ("u1", "kPa"),
        "PWP2": ("u2", "kPa"),
        "PWP3": ("u3", "kPa"),
        "SLP1": ("tilt_x", "deg"),
        "SLP2": ("tilt_y", "deg"),
        "TEMP": ("temperature", "degC"),
        "FRR": ("Rf", "%"),
        "QT": ("qt", "MPa"),
        "FT": ("ft", "kPa"),
        "QNET": ("qn", "MPa"),
        "BQ": ("Bq", "-"),
        "ISPP": ("u0", "MPa"),
        "CPO": ("sigma_v0", "kPa"),
        "CPOD": ("sigma_v0_eff", "kPa"),
        "NQT": ("Qt", "-"),
        "NFR": ("Fr", "%"),
        "PLEN": ("length", "m"),
        "TIME": ("time", "s"),
        "INCL": ("tilt", "deg"),
        "RATE": ("rate", "mm/s"),
        "ORIG": ("origin", "-"),
    }
)
"""Second half of a reading's heading, to vocabulary key and the unit where a file states none.

The last five are headings of our own, which a file declares in DICT. The fallback units are those
of editions 3 and 1994 (MN/m2 and kN/m2), whose files may have no row of units; edition 4 files must
have one.
"""

DISSIPATION = MappingProxyType(
    {
        "SCDT_SECS": ("time", "s"),
        "SCDT_RES": ("qc", "MPa"),
        "SCDT_PWP1": ("u1", "MPa"),
        "SCDT_PWP2": ("u2", "MPa"),
        "SCDT_PWP3": ("u3", "MPa"),
    }
)

GRID = {"OSGB": "EPSG:27700"}
"""Grid names of the code list that say one coordinate system without doubt."""


@dataclass(frozen=True)
class Names:
    """Names of one family of editions."""

    place: str
    place_id: str
    readings: str
    general: str
    test: str

    def of_place(self, part: str) -> str:
        """Return a heading of the group of places."""
        return f"{self.place}_{part}"


EDITION_4 = Names("LOCA", "LOCA_ID", "SCPT", "SCPG", "SCPG_TESN")
EDITION_3 = Names("HOLE", "HOLE_ID", "STCN", "STCN", "STCN_TESN")

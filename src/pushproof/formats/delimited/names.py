"""What headings mean: names of columns and of header lines in the languages of the trade."""

from __future__ import annotations

import re
import unicodedata

from pushproof.model.quantities import QUANTITIES

COLUMN_NAMES: dict[str, tuple[str, ...]] = {
    "length": (
        "length", "penetration length", "penetrationlength", "push length", "rod length",
        "sondeerlengte", "sondeertrajectlengte", "lengte", "lange", "longueur", "l",
    ),
    "depth": (
        "depth", "z", "corrected depth", "depth below ground", "diepte", "tiefe", "profondeur",
        "dybde", "djup", "profundidad", "prof", "dpth", "scpt_dpth", "stcn_dpth",
    ),
    "time": (
        "time", "elapsed time", "t", "elapsed", "secs", "seconds", "tijd", "verlopen tijd", "zeit",
        "temps", "tid",
    ),
    "qc": (
        "qc", "tip", "tip resistance", "cone resistance", "cone", "cone tip resistance",
        "tip stress", "conusweerstand", "spitzendruck", "spitzenwiderstand", "resistance de pointe",
        "res", "scpt_res", "stcn_res", "q c",
    ),
    "fs": (
        "fs", "sleeve", "sleeve friction", "local friction", "friction", "sleeve resistance",
        "plaatselijke wrijving", "wrijving", "mantelreibung", "frottement lateral",
        "fres", "scpt_fres", "stcn_fres", "f s",
    ),
    "u1": ("u1", "pwp1", "pore pressure u1", "waterspanning u1", "porewater pressure u1"),
    "u2": (
        "u2", "pwp2", "pore pressure u2", "waterspanning u2", "porewater pressure u2",
        "porenwasserdruck u2", "shoulder pressure",
    ),
    "u3": ("u3", "pwp3", "pore pressure u3", "waterspanning u3"),
    "tilt": (
        "tilt", "inclination", "inclination resultant", "incl", "slope", "helling",
        "hellingresultante", "neigung", "inclinaison", "alpha", "slp",
    ),
    "tilt_x": ("tilt x", "tiltx", "inclination x", "incl x", "ix", "slp1", "helling x", "alpha x"),
    "tilt_y": ("tilt y", "tilty", "inclination y", "incl y", "iy", "slp2", "helling y", "alpha y"),
    "temperature": ("temperature", "temp", "temperatuur", "temperatur", "cone temperature"),
    "rate": ("rate", "speed", "penetration rate", "push rate", "snelheid", "vitesse", "v"),
    "qt": ("qt", "corrected cone resistance", "corrected tip resistance", "q t"),
    "Rf": ("rf", "friction ratio", "wrijvingsgetal", "reibungsverhaltnis", "frr", "fr ratio"),
    "Bq": ("bq", "pore pressure ratio"),
    "origin": ("origin",),
    "link_level": ("link level", "received level", "link_level"),
}  # fmt: skip
"""Vocabulary key to the names that headings use, folded."""

PORE_PRESSURE_NO_PLACE = ("u", "pore pressure", "porewater pressure", "pwp", "waterspanning",
                          "porenwasserdruck", "pression interstitielle")  # fmt: skip
"""Names of a pore pressure that do not say where the filter is."""

NAME_COLUMNS = (
    "sounding", "sounding id", "sounding name", "name", "cpt", "cpt id", "cpt name", "test id",
    "hole", "hole id", "loca_id", "location id", "point", "point id", "sondering", "sondeernummer",
)  # fmt: skip
"""Headings of a column that names the sounding each row belongs to."""

HEADER_NAMES: dict[str, tuple[str, ...]] = {
    "name": (
        "sounding", "test", "test number", "test id", "cpt", "name", "point", "file name",
        "hole", "sondering",
    ),
    "x": ("x", "easting", "utm-x", "east", "x-coordinate", "rechtswert"),
    "y": ("y", "northing", "utm-y", "north", "y-coordinate", "hochwert"),
    "crs": ("crs", "coordinate system", "epsg"),
    "level": ("elevation", "level", "ground level", "surface level", "z", "maaiveld"),
    "datum": ("vertical datum", "level datum"),
    "water_level": (
        "water level", "water table", "groundwater", "groundwater level", "gwl", "water depth",
        "phreatic level", "grondwaterstand",
    ),
    "area_ratio": ("area ratio", "net area ratio", "cone area ratio", "a"),
    "tip_area": ("tip area", "cone area"),
    "sleeve_area": ("sleeve area", "friction sleeve area"),
    "tip_to_mid_sleeve": ("tip to mid sleeve", "cone to mid-sleeve distance", "sleeve offset"),
    "serial": ("cone", "cone no.", "cone no", "cone serial", "cone number", "probe", "serial"),
    "predrilled": (
        "predrilled", "pre-drilled", "pre-excavated", "predrill depth", "voorboring",
        "pre-excavated depth",
    ),
    "standard": ("standard", "norm"),
    "quality_class": ("class", "application class", "klasse"),
    "date": ("date", "test date", "start", "started", "datum", "start time"),
    "project": ("project", "project name", "job"),
    "client": ("client",),
    "operator": ("operator",),
    "place": ("place", "site", "location", "city", "plaats"),
    "stop_reason": ("stop reason", "ended", "end reason"),
}  # fmt: skip
"""Field of the sounding to the names that header lines use, folded."""


def fold(text: str) -> str:
    """Bring the spellings of a heading together.

    Examples
    --------
    >>> fold("  Résistance_de pointe "), fold("Cone Tip-Resistance")
    ('resistance de pointe', 'cone tip resistance')
    """
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[\s_\-]+", " ", plain).strip(" .:'\"").lower()


_COLUMNS = {fold(key): key for key in QUANTITIES}
_COLUMNS |= {fold(name): key for key, names in COLUMN_NAMES.items() for name in names}
_HEADERS = {fold(name): key for key, names in HEADER_NAMES.items() for name in names}


def column_key(name: str) -> str | None:
    """Return the vocabulary key a column name means, or None.

    Examples
    --------
    >>> column_key("Sleeve Friction"), column_key("colour") is None
    ('fs', True)
    """
    return _COLUMNS.get(fold(name))


def header_field(name: str) -> tuple[str, str] | None:
    """Return the field a header name means and the unit it carries, or None.

    Examples
    --------
    >>> header_field("UTM-X, m:"), header_field("water level [m]")
    (('x', 'm'), ('water_level', 'm'))
    """
    plain, unit = split_unit(name)
    key = _HEADERS.get(fold(plain))
    return None if key is None else (key, unit)


def split_unit(heading: str) -> tuple[str, str]:
    """Split a heading into name and unit.

    Examples
    --------
    >>> split_unit("qc [MPa]"), split_unit("Tip Resistance (MN/m2)"), split_unit("fs/kPa")
    (('qc', 'MPa'), ('Tip Resistance', 'MN/m2'), ('fs', 'kPa'))
    >>> split_unit("qc_MPa"), split_unit("pore pressure u2, kPa"), split_unit("Ic")
    (('qc', 'MPa'), ('pore pressure u2', 'kPa'), ('Ic', ''))
    """
    from pushproof.model.units import unit

    text = heading.strip().strip('"').strip()
    bracket = re.match(r"^(.*?)\s*[\[({]\s*([^\])}]*)\s*[\])}]\s*:?\s*$", text)
    if bracket:
        return bracket[1].strip(), bracket[2].strip()
    text = text.rstrip(":")
    for cut in re.finditer(r",\s*|\s+in\s+|/|_|\s+", text):
        name, tail = text[: cut.start()].strip(), text[cut.end() :].strip()
        found = unit(tail) if name and tail not in ("1", "-", "C", "F") else None
        if found is not None and found.symbol != "-":
            return name, tail
    return text, ""

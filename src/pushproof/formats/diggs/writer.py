"""Writing DIGGS 2.6: what it asks for, what it cannot carry, and the document."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from pushproof.formats.contract import Content, Field, Given, Loss, Missing, sounding_of
from pushproof.formats.diggs.document import Maker
from pushproof.formats.diggs.places import IN_FEET
from pushproof.formats.lost import losses_of, lost_columns, wanted
from pushproof.formats.outgoing import in_unit, places, series_of
from pushproof.formats.precision import decimals, fixed
from pushproof.model.profile import Interpretation
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding

FIELDS = (
    Field("issue_date", "date of this document (creationDate)", "today"),
    Field("along", "depth: positions are the depth, the rods taken as vertical", "length"),
)
CLASSES = {
    "qc": ("tip_resistance", "MPa"),
    "fs": ("sleeve_friction", "kPa"),
    "u1": ("pore_pressure_u1", "kPa"),
    "u2": ("pore_pressure_u2", "kPa"),
    "u3": ("pore_pressure_u3", "kPa"),
    "qt": ("tip_resistance_corrected", "MPa"),
    "Rf": ("friction_ratio", "%"),
    "tilt": ("inclination", "dega"),
    "tilt_x": ("inclination_x", "dega"),
    "tilt_y": ("inclination_y", "dega"),
    "temperature": ("temperature", "degC"),
    "time": ("elapsed_time", "s"),
}
"""Vocabulary key to code of the property dictionary and unit."""
INTERPRETED = {
    ("su", "su_nkt"): ("su_nkt", "kPa"),
    ("phi", "phi_kulhawy_mayne_1990"): ("phi_kulhawy_mayne_1990", "dega"),
}
"""Derived key and relation to code of the dictionary of interpreted properties and unit.

Only where the dictionary and our relation are the same without doubt.
"""
VERTICAL = {"NAP": "5709", "OD Newlyn": "5701", "NAVD88": "5703"}
"""Height systems by the names of the trade, and their EPSG codes."""
_PLACES = {
    "x": "referencePoint",
    "y": "referencePoint",
    "crs": "referencePoint",
    "level": "referencePoint",
    "datum": "referencePoint",
    "started": "resultTime",
    "project": "Project",
    "cone": "serialNumber",
    "tip_area": "tipArea",
    "area_ratio": "netAreaRatioCorrection",
    "sleeve_area": "frictionSleeveArea",
    "tip_to_mid_sleeve": "distanceTipToSleeve",
    "water_level": "estimatedWaterDepth",
}
_CARRIES = frozenset(
    {"tests", "predrilled", "water", "started", "time-zone", "fractions", "client", "operator"}
    | {"position", "level", "datum", "degrees", "serial", "model", "tip-area", "area-ratio"}
    | {"sleeve-area", "mid-sleeve", "rig", "project", "test-starts", "depth-zero"}
)
_IN_WORDS = dict.fromkeys(
    ("standard", "class", "stop", "zeros", "water-depth", "place", "removed"),
    "the description of the test",
)


@dataclass(frozen=True)
class Column:
    """One property of a result: code and dictionary, unit, name, texts, number for no value."""

    code: str
    dictionary: str
    uom: str
    name: str
    texts: list[str]
    void: str


class DiggsWriting:
    """The writing half of DIGGS."""

    many = True
    fields = FIELDS

    def missing(self, contents: Sequence[Content], given: Given) -> list[Missing]:
        """Return what the format asks for and nobody gave."""
        found = []
        for one in contents:
            sounding = sounding_of(one)
            asked = wanted(sounding, _PLACES, required=("x", "y", "project"))
            place = sounding.location
            if place.x is not None and not epsg(place.crs):
                asked = [m for m in asked if m.field != "crs"]
                words = f"coordinate system as EPSG:number, referencePoint; it is {place.crs!r}"
                asked.append(Missing("crs", words, True, sounding.name))
            if place.level is not None and not vertical(sounding):
                words = "height system as EPSG:number, referencePoint"
                asked.append(Missing("datum", words, False, sounding.name))
            if not series_of(one).measured("length") and given.get("along") != "depth":
                words = "along=depth takes the depth for positions along the rods"
                asked.append(Missing("along", words, True, sounding.name))
            found += asked
        projects = {sounding_of(one).project for one in contents}
        if len(projects) > 1:
            words = f"one project, Project; the soundings are of {len(projects)}"
            found.append(Missing("project", words))
        return found

    def losses(self, contents: Sequence[Content], given: Given) -> list[Loss]:  # noqa: ARG002
        """Return what the document will not hold, or not as it was."""
        found: list[Loss] = []
        for one in contents:
            sounding, series = sounding_of(one), series_of(one)
            along = "length" if series.measured("length") else "depth"
            rows = int(np.isfinite(series[along]).sum())
            if rows < len(series):
                what = f"{len(series) - rows:,} of {len(series):,} rows of {sounding.name}"
                found.append(Loss(what, "they have no position", rows=len(series) - rows))
            carries = {along, *CLASSES} - ({"depth"} if along == "length" else set())
            carries |= {key for key, _ in _interpreted(one)}
            found += lost_columns([series], carries, lambda _: "no property is it, or one place")
            if along == "depth":
                what = f"that the positions of {sounding.name} are depths"
                found.append(Loss(what, "they come back as penetration length", ("depth",)))
            found += _facts_lost(sounding)
        carries_facts = _CARRIES - {"degrees" if _flat(contents) else ""}
        found += losses_of(contents, title="DIGGS", carries=carries_facts, in_words=_IN_WORDS)
        return list(dict.fromkeys(found))

    def encode(self, contents: Sequence[Content], name: str, given: Given) -> dict[str, bytes]:
        """Return the document.

        Raises
        ------
        ValueError
            If a field cannot be used.
        """
        if given.get("along", "depth") != "depth":
            raise ValueError(f"along is {given['along']!r}; the only choice is depth")
        day = date.fromisoformat(given["issue_date"]) if "issue_date" in given else date.today()
        maker = Maker(day.isoformat(), sounding_of(contents[0]))
        for content in contents:
            sounding, series = sounding_of(content), series_of(content)
            along = "length" if series.measured("length") else "depth"
            rows = np.flatnonzero(np.isfinite(series[along]))
            maker.sounding(sounding, float(series[along][rows].max()), system(sounding))
            texts = fixed(series[along][rows], places(content, along, "m"))
            maker.push(content, texts, _columns(content, rows))
            for test in sounding.dissipations:
                known = np.flatnonzero(np.isfinite(test.readings["time"]))
                time = test.readings["time"][known]
                maker.test(test, fixed(time, decimals(time)), _test_columns(test.readings, known))
        return {name: maker.document().encode()}


def epsg(named: str | None) -> str:
    """Return the number of a system named EPSG:number, empty if it is not named so.

    Examples
    --------
    >>> epsg("EPSG:28992"), epsg("OSGB")
    ('28992', '')
    """
    found = re.fullmatch(r"EPSG:(\d{4,5})", named or "")
    return found[1] if found else ""


def vertical(sounding: Sounding) -> str:
    """Return the number of the height system, empty where it has none."""
    datum = sounding.location.datum
    return epsg(datum) or VERTICAL.get(datum or "", "")


def system(sounding: Sounding) -> tuple[str, list[float]]:
    """Return the name of the coordinate system and the coordinates of a sounding."""
    place = sounding.location
    if place.x is not None and place.y is not None:
        codes, numbers = [epsg(place.crs)], [place.x, place.y]
    else:
        codes, numbers = ["4326"], [place.latitude or 0.0, place.longitude or 0.0]
    height = vertical(sounding)
    if height and place.level is not None:
        codes.append(height)
        numbers.append(place.level / IN_FEET.get(height, 1.0))
    return f"urn:diggs:def:crs:DIGGS:0.1:{'_'.join(codes)}", numbers


def _flat(contents: Sequence[Content]) -> bool:
    """Tell whether a position in a plane takes the place of latitude and longitude."""
    return any(sounding_of(one).location.x is not None for one in contents)


def _facts_lost(sounding: Sounding) -> list[Loss]:
    found = []
    place = sounding.location
    if place.level is not None and not vertical(sounding):
        what = f"level of {sounding.name}"
        found.append(Loss(what, "its height system has no EPSG number", ("level", "datum")))
    elif place.datum and not epsg(place.datum):
        what = f"the name {place.datum}"
        keys = ("datum",) if place.level is not None else ("level", "datum")
        found.append(Loss(what, "the height system is written as its EPSG number", keys))
    elif place.datum and place.level is None:
        found.append(Loss("a height system without a level", "it says nothing", ("datum",)))
    if place.zero != "ground level":
        found.append(Loss("what depth 0 is", "DIGGS counts from the ground", ("depth-zero",)))
    if sounding.predrilled == 0:
        found.append(Loss("that nothing was pre-excavated", "no place", ("predrilled",)))
    rig = sounding.rig
    if rig and any((not rig.name, rig.mass, rig.thrust, rig.stroke, rig.anchors)):
        found.append(Loss("all of the rig but its name", "DIGGS has no place for it", ("rig",)))
    if sounding.predrilled and not sounding.removed:
        found.append(Loss("that no layer was told", "one is read back", ("removed",)))
    for test in sounding.dissipations:
        lost = sorted(set(test.readings) - {"time", "qc", "u1", "u2", "u3"})
        if lost:
            what = f"{', '.join(lost)} of dissipation tests"
            found.append(Loss(what, "DIGGS has u1, u2, u3 and the tip"))
    odd = {
        key: text
        for key, text in {
            "name": sounding.name,
            "project": sounding.project,
            "client": sounding.client,
            "operator": sounding.operator,
            "model": sounding.cone.model,
            "serial": sounding.cone.serial,
        }.items()
        if text and " ".join(text.split()) != text
    }
    if odd:
        what = f"line ends and repeated blanks in {', '.join(sorted(odd))}"
        found.append(Loss(what, "XML takes them together", tuple(sorted(odd))))
    return found


def _interpreted(content: Content) -> dict[tuple[str, str], tuple[str, str]]:
    """Return derived columns whose relation the dictionary of interpreted properties has."""
    if not isinstance(content, Interpretation):
        return {}
    return {
        pair: known
        for pair, known in INTERPRETED.items()
        if content.methods.get(pair[0]) == pair[1] and content.series.measured(pair[0])
    }


def _columns(content: Content, rows: NDArray[np.intp]) -> list[Column]:
    series = series_of(content)
    found = []
    for key, (code, uom) in CLASSES.items():
        if key in series:
            values = in_unit(series, key, uom)[rows]
            texts, void = texts_of(values, places(content, key, uom))
            name = series.quantity(key).name
            found.append(Column(code, "properties.xml", uom, name, texts, void))
    for (key, _), (code, uom) in _interpreted(content).items():
        stated = series.quantity(key).unit
        texts, void = texts_of(series[key][rows], places(content, key, stated))
        name = f"{series.quantity(key).name}, derived"
        found.append(Column(code, "cpt_interpreted_properties.xml", uom, name, texts, void))
    if not found:
        raise ValueError(f"{sounding_of(content).name} has no column that DIGGS knows")
    return found


def _test_columns(series: Series, rows: NDArray[np.intp]) -> list[Column]:
    codes = {f"u{n}": (f"u{n}_pore_pressure", "kPa") for n in (1, 2, 3)}
    codes["qc"] = ("tip_pressure", "MPa")
    found = []
    for key, (code, uom) in codes.items():
        if key in series:
            values = in_unit(series, key, uom)[rows]
            texts, void = texts_of(values, decimals(values))
            found.append(Column(code, "", uom, series.quantity(key).name, texts, void))
    return found


def texts_of(values: NDArray[np.float64], count: int) -> tuple[list[str], str]:
    """Return a column as text, and the number that stands for no value in it."""
    known = np.abs(values[np.isfinite(values)])
    size = max(5, len(str(int(known.max() * 10))) if known.size else 0)
    void = f"{-(10**size - 1)}"
    texts = fixed(values, count)
    return texts if len(known) == len(values) else [text or void for text in texts], void

"""Flemish register of the subsurface, cone tests (``sondering``) as XML: detect and read.

The document carries no units. Those of the register are taken: m, MPa for qc, kPa for fs and u,
deg, kN for the total force; they were checked against one real document, by plausibility, and every
file is put through the same gates. Not proved by a document and therefore not used: the unit of a
zero reading of fs or u. The split of the coordinate systems 6190 and 8370 into a horizontal and a
vertical one is from memory of the EPSG list.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from pushproof.errors import FormatError
from pushproof.formats.columns import add_column
from pushproof.formats.contract import ReadOptions
from pushproof.formats.numbers import SENTINELS, parse_column, parse_number
from pushproof.formats.source import source_file
from pushproof.formats.xmltree import (
    Document,
    find,
    find_all,
    items,
    line_of,
    moment,
    number_of,
    read_xml,
    text_of,
)
from pushproof.model.equipment import Cone, Rig
from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Series
from pushproof.model.sounding import (
    Event,
    Location,
    Sounding,
    StopReason,
    Water,
    WaterOrigin,
    Zero,
)

if TYPE_CHECKING:
    from lxml.etree import _Element

COLUMNS = {
    "lengte": ("length", "m"),
    "diepte": ("depth", "m"),
    "qc": ("qc", "MPa"),
    "Qt": (None, "kN"),
    "fs": ("fs", "kPa"),
    "u": ("u2", "kPa"),
    "u1": ("u1", "kPa"),
    "u2": ("u2", "kPa"),
    "u3": ("u3", "kPa"),
    "i": ("tilt", "deg"),
    "Temp": ("temperature", "degC"),
    "temp": ("temperature", "degC"),
}
"""Element of a row to vocabulary key and unit. ``Qt`` is the total push force of a mechanical test.
"""
NAMES = {"Qt": "total force"}
SYSTEMS = {
    "6190": ("EPSG:31370", "TAW"),
    "8370": ("EPSG:3812", "TAW"),
    "31370": ("EPSG:31370", None),
}
_STOP = (
    ("einddiepte", StopReason.TARGET_DEPTH),
    ("conusweerstand", StopReason.TIP),
    ("wrijving", StopReason.SLEEVE),
    ("helling", StopReason.TILT),
    ("obstakel", StopReason.OBSTACLE),
    ("kracht", StopReason.THRUST),
)
"""Words in the stop criterion; only ``niet nader gespecificeerd`` was seen."""
MOST_COLUMNS = 100


class FlemishRegisterFormat:
    """Soundings of the Flemish register of the subsurface."""

    name = "flemish-register"
    title = "Flemish register XML"
    suffixes: tuple[str, ...] = (".xml",)

    def detect(self, path: Path, head: bytes) -> float:  # noqa: ARG002
        """Return how sure it is that this is a document of the register with a sounding."""
        if b"dov-schema" in head and b"<sondering" in head:
            return 1.0
        return 0.7 if b"dov.vlaanderen.be" in head or b"<meetdata>" in head else 0.0

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return every sounding of the document.

        Raises
        ------
        FormatError
            If it is not well-formed XML or holds no sounding with rows.
        """
        document = read_xml(path, options)
        elements = [
            e for e in find_all(document.root, "sondering") if find(e, "meetdata") is not None
        ]
        if not elements:
            raise FormatError(
                "the document holds no sounding with rows (sondering with meetdata)", path=path
            )
        return [_sounding(one, document, path) for one in elements]


def _sounding(element: _Element, document: Document, path: Path) -> Sounding:
    findings = list(document.findings)
    series = _series(element, document.cut, findings)
    if not (series.measured("length") or series.measured("depth")):
        raise FormatError("no row has a length or a depth", path=path, line=line_of(element))
    before, after = _zeros(element, findings)
    level = number_of(element, "grondwaterstand", standard="m")
    rig = text_of(element, "apparaat")
    operator = find(element, "operator")
    names = (
        (text_of(operator, name) for name in ("voornaam", "naam")) if operator is not None else ()
    )
    return Sounding(
        name=text_of(element, "sondeernummer") or path.stem,
        readings=series,
        location=_location(element),
        cone=_cone(element, series, findings),
        rig=Rig(name=rig[:200]) if rig else None,
        water=None if level is None else Water(level=level, origin=WaterOrigin.STATED),
        predrilled=number_of(element, "traject", "diepte_put", standard="m"),
        zeros_before=before,
        zeros_after=after,
        events=_events(element),
        stop_reason=_stop(text_of(element, "stopcriterium")),
        started=moment(text_of(element, "datum_aanvang")),
        project=text_of(element, "opdracht") or None,
        operator=" ".join(filter(None, names)) or None,
        header=items(element, frozenset({"meetdata"})),
        findings=tuple(findings),
        source=source_file(path, document.data, FlemishRegisterFormat.name),
    )


def _series(element: _Element, cut: _Element | None, findings: list[Finding]) -> Series:
    rows = list(find_all(element, "meetdata"))
    if cut is not None and any(one is rows[-1] for one in cut.iterancestors()):
        rows.pop()  # the file ends inside this row
    by_tag: dict[object, list[str]] = {}
    for i, row in enumerate(rows):
        for field in row:
            column = by_tag.get(field.tag)
            if column is None:
                if len(by_tag) >= MOST_COLUMNS:
                    continue
                column = by_tag[field.tag] = [""] * len(rows)
            column[i] = field.text or ""
    texts = {str(tag).rpartition("}")[2]: column for tag, column in by_tag.items()}
    series = Series()
    for name in [*(n for n in COLUMNS if n in texts), *(n for n in texts if n not in COLUMNS)]:
        series = _add(series, name, texts[name], rows, findings)
    return series


def _add(
    series: Series, name: str, texts: list[str], rows: list[_Element], findings: list[Finding]
) -> Series:
    values, unreadable = parse_column(texts)
    line = line_of(rows[0])
    bad = np.flatnonzero(unreadable)
    if bad.size:
        text = f"{bad.size} fields of {name} are no number, such as {texts[bad[0]].strip()[:20]!r}"
        where = line_of(rows[int(bad[0])])
        findings.append(Finding("field-unreadable", Severity.CAUTION, text, line=where))
    elif not np.isfinite(values).any():
        return series
    void = np.isin(values, SENTINELS)
    if void.any():
        text = f"{name} holds {values[void][0]:g} {int(void.sum())} times; taken as void"
        findings.append(Finding("void-not-declared", Severity.CAUTION, text, line=line))
    key, unit = COLUMNS.get(name, (None, ""))
    if name == "u":
        text = "the document does not say where the filter is; u is taken as u2"
        findings.append(
            Finding("filter-place-not-stated", Severity.CAUTION, text, channel="u2", line=line)
        )
    series, more = add_column(
        series,
        key,
        NAMES.get(name, name),
        values,
        unit,
        standard=unit,
        unreadable=unreadable,
        voids=SENTINELS,
        where=f"element {name}",
        line=line,
    )
    findings += more
    return series


def _zeros(element: _Element, findings: list[Finding]) -> tuple[tuple[Zero, ...], tuple[Zero, ...]]:
    sides: tuple[list[Zero], list[Zero]] = ([], [])
    for one in find_all(element, "nulpunt"):
        channel = text_of(one, "sondeparameter")
        values = [number_of(one, f"nulpunt_{end}") for end in ("voor", "na")]
        if channel != "qc":
            text = f"the unit of the zero readings of {channel or 'a channel'} is not stated"
            findings.append(
                Finding(
                    "zero-unit-not-stated",
                    Severity.INFO,
                    f"{text}; kept as found in the header",
                    line=line_of(one),
                )
            )
            continue
        for side, value in zip(sides, values, strict=True):
            if value is not None:
                side.append(Zero(channel="qc", value=value * 1000))
    return tuple(sides[0]), tuple(sides[1])


def _location(element: _Element) -> Location:
    point = find(element, "ligging", "Point")
    if point is None:
        return Location()
    numbers = []
    for text in text_of(point, "pos").split()[:3]:
        try:
            numbers.append(parse_number(text))
        except ValueError:
            return Location()
    if len(numbers) < 2 or not all(np.isfinite(numbers)):
        return Location()
    named = (point.get("srsName") or "").rpartition(":")[2]
    crs, datum = SYSTEMS.get(named, (f"EPSG:{named}" if named.isdecimal() else None, None))
    kind = text_of(element, "referentiepunt_type")
    ground = kind.lower().startswith("maaiveld")
    return Location(
        x=numbers[0],
        y=numbers[1],
        crs=crs,
        level=numbers[2] if len(numbers) > 2 else None,
        datum=datum if len(numbers) > 2 else None,
        zero="ground level" if ground else kind[:200] or None,
    )


def _cone(element: _Element, series: Series, findings: list[Finding]) -> Cone:
    cone = find(element, "sondeerconus")

    def positive(name: str, standard: str, high: float = np.inf) -> float | None:
        value = number_of(cone, name, standard=standard) if cone is not None else None
        if value is None or 0 < value <= high:
            return value
        text = f"the stated {name} is {value:g}; not used"
        findings.append(Finding("cone-value-odd", Severity.CAUTION, text))
        return None

    return Cone(
        model=text_of(cone, "conustype") or None,
        tip_area=positive("oppervlakte_conus", "cm2"),
        area_ratio=positive("net_area_ratio", "-", 1.5),
        filters=tuple(key for key in ("u1", "u2", "u3") if series.measured(key)),
    )


def _events(element: _Element) -> tuple[Event, ...]:
    """Return what was done at a depth: dissipation tests without their curve, casing and others."""
    found = []
    for one in find_all(element, "technieken"):
        depth = number_of(one, "diepte_techniek", standard="m")
        code, other = text_of(one, "techniek"), text_of(one, "techniek_andere")
        at = number_of(one, "diepte_van", standard="m")
        if "dissip" in other.lower():
            found.append(Event("dissipation", depth=depth, text=f"{other}, no curve in the file"))
            continue
        words = "casing" if code == "V" else " ".join(filter(None, (code, other)))
        while_at = f", with the tip at {at:.2f} m" if at is not None else ""
        found.append(Event("note", depth=depth, text=f"technique: {words}{while_at}"))
    return tuple(found)


def _stop(words: str) -> StopReason | None:
    if not words:
        return None
    low = words.lower()
    return next((reason for word, reason in _STOP if word in low), StopReason.UNKNOWN)

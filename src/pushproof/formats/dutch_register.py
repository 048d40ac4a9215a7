"""Dutch register of the subsurface, cone penetration test as XML: detect and read.

Follows the public catalogue "Geotechnisch sondeeronderzoek" of the Dutch key register: the order
of the 25 values of a record, their units and the void -999999. The namespace edition is not
looked at, so that older and newer dispatches read alike.
"""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import FormatError
from pushproof.formats.columns import add_column
from pushproof.formats.contract import ReadOptions
from pushproof.formats.numbers import Block
from pushproof.formats.source import source_file
from pushproof.formats.xmlrecords import records, rows_in
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
from pushproof.model.equipment import Cone
from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Series
from pushproof.model.sounding import (
    Dissipation,
    HeaderItem,
    Location,
    RemovedLayer,
    Sounding,
    StopReason,
    Water,
    WaterOrigin,
    Zero,
)

if TYPE_CHECKING:
    from lxml.etree import _Element

VOID = (-999999.0,)
FIELDS = (
    ("penetrationLength", "length", "m"),
    ("depth", "depth", "m"),
    ("elapsedTime", "time", "s"),
    ("coneResistance", "qc", "MPa"),
    ("correctedConeResistance", "qt", "MPa"),
    ("netConeResistance", "qn", "MPa"),
    ("magneticFieldStrengthX", None, "nT"),
    ("magneticFieldStrengthY", None, "nT"),
    ("magneticFieldStrengthZ", None, "nT"),
    ("magneticFieldStrengthTotal", None, "nT"),
    ("electricalConductivity", None, "S/m"),
    ("inclinationEW", "tilt_x", "deg"),
    ("inclinationNS", "tilt_y", "deg"),
    ("inclinationX", "tilt_x", "deg"),
    ("inclinationY", "tilt_y", "deg"),
    ("inclinationResultant", "tilt", "deg"),
    ("magneticInclination", None, "deg"),
    ("magneticDeclination", None, "deg"),
    ("localFriction", "fs", "MPa"),
    ("poreRatio", "Bq", "-"),
    ("temperature", "temperature", "degC"),
    ("porePressureU1", "u1", "MPa"),
    ("porePressureU2", "u2", "MPa"),
    ("porePressureU3", "u3", "MPa"),
    ("frictionRatio", "Rf", "%"),
)
"""The 25 values of a record: name in the register, vocabulary key, unit."""
DISSIPATION = (
    ("elapsedTime", "time", "s"),
    ("coneResistance", "qc", "MPa"),
    ("porePressureU1", "u1", "MPa"),
    ("porePressureU2", "u2", "MPa"),
    ("porePressureU3", "u3", "MPa"),
)
STANDARD = {
    "ISO22476D1": "ISO 22476-1",
    "ISO22476D12": "ISO 22476-12",
    "NEN3680": "NEN 3680",
    "NEN5140": "NEN 5140",
    "onbekend": "",
}
_STOP = (
    ("einddiepte", StopReason.TARGET_DEPTH),
    ("conusweerstand", StopReason.TIP),
    ("wrijving", StopReason.SLEEVE),
    ("waterspanning", StopReason.PORE_PRESSURE),
    ("kracht", StopReason.THRUST),
    ("helling", StopReason.TILT),
    ("obstakel", StopReason.OBSTACLE),
    ("bezwij", StopReason.BUCKLING),
    ("knik", StopReason.BUCKLING),
    ("storing", StopReason.MALFUNCTION),
)
"""Words in the codes of list Stopcriterium; only ``einddiepte`` and ``onbekend`` were seen."""
_ZEROS = (
    ("coneResistance", "qc", "MPa"),
    ("localFriction", "fs", "MPa"),
    ("porePressureU1", "u1", "MPa"),
    ("porePressureU2", "u2", "MPa"),
    ("porePressureU3", "u3", "MPa"),
    ("inclinationResultant", "tilt", "deg"),
    ("inclinationEW", "tilt_x", "deg"),
    ("inclinationNS", "tilt_y", "deg"),
    ("electricalConductivityMeasurement", "electricalConductivity", "S/m"),
)
_LATE = 60.0
"""First time of a dissipation record [s] from which it is taken as counted from the push start."""


class DutchRegisterFormat:
    """CPT documents of the Dutch register of the subsurface."""

    name = "dutch-register"
    title = "Dutch register XML"
    suffixes: tuple[str, ...] = (".xml",)

    def detect(self, path: Path, head: bytes) -> float:  # noqa: ARG002
        """Return how sure it is that this is a register document of a cone test."""
        return 1.0 if b"broservices.nl/xsd" in head and b"cpt" in head.lower() else 0.0

    def edition(self, head: bytes) -> str:
        """Return the edition of the dispatch that a document names."""
        found = re.search(rb"xsd/dscpt/([\d.]+)", head)
        return found[1].decode() if found else ""

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return every cone test of the document.

        Raises
        ------
        FormatError
            If it is not well-formed XML or holds no cone test with results.
        """
        document = read_xml(path, options)
        tests = list(find_all(document.root, "CPT_O")) or [document.root]
        found = [_sounding(one, document, path, self.name) for one in tests]
        kept = [one for one in found if one is not None]
        if not kept:
            raise FormatError(
                "the document holds no cone test with results (no cptResult); it may be a "
                "summary or a withdrawn object",
                path=path,
            )
        return kept


def _sounding(element: _Element, document: Document, path: Path, format: str) -> Sounding | None:
    result = find(element, "cptResult", "values")
    if result is None:
        return None
    findings: list[Finding] = list(document.findings)
    block = _records(result, len(FIELDS), path, document.cut)
    series, more = _series(block, FIELDS, element)
    findings += [*block.findings, *more]
    if not (series.measured("length") or series.measured("depth")):
        raise FormatError("no record has a penetration length or a depth", path=path)
    tests: list[Dissipation] = []
    for one in find_all(element, "dissipationTest"):
        test, more = _dissipation(one, path, document.cut)
        findings += more
        if test is not None:
            tests.append(test)
    before, after = _zeros(find(element, "zeroLoadMeasurement"))
    quality = text_of(element, "qualityClass").removeprefix("klasse")
    standard = text_of(element, "cptStandard")
    return Sounding(
        name=text_of(element, "broId") or text_of(element, "objectIdAccountableParty") or path.stem,
        readings=series,
        location=_location(element),
        cone=_cone(element, series, findings),
        water=_water(element),
        predrilled=number_of(element, "predrilledDepth", standard="m"),
        removed=_removed(element),
        zeros_before=before,
        zeros_after=after,
        dissipations=tuple(tests),
        standard=STANDARD.get(standard, standard) or None,
        quality_class=quality if quality.isdecimal() else None,
        stop_reason=_stop(text_of(element, "stopCriterion")),
        started=_started(find(element, "conePenetrationTest")),
        header=items(element, frozenset({"values"})),
        findings=tuple(findings),
        source=source_file(path, document.data, format),
    )


def _records(values: _Element, columns: int, path: Path, cut: _Element | None) -> Block:
    """Parse one text block of records by the separators that stand beside it."""
    above = values.getparent()
    encoding = find(above, "TextEncoding") if above is not None else None
    token, mark, decimal = ",", ";", "."
    if encoding is not None:
        token = encoding.get("tokenSeparator") or token
        mark = encoding.get("blockSeparator") or mark
        decimal = encoding.get("decimalSeparator") or decimal
    mark = mark if mark.strip() else "\n"
    rows = rows_in(values.text or "", mark, cut=values is cut)
    if not rows:
        raise FormatError("the result holds no record", path=path, line=line_of(values))
    return records(values, rows, columns, token.strip() or None, decimal, mark)


def _series(
    block: Block, fields: tuple[tuple[str, str | None, str], ...], element: _Element | None
) -> tuple[Series, list[Finding]]:
    """Return the columns that hold anything, by the register's order of values."""
    series = Series()
    findings: list[Finding] = []
    order = list(range(len(fields)))
    if len(fields) == len(FIELDS):
        # the axes of the cone come before the compass axes: those are kept aside if both are there
        order = [*range(11), 13, 14, 11, 12, *range(15, 25)]
    for i in order:
        name, key, standard = fields[i]
        raw = block.values[:, i]
        present = bool((np.isfinite(raw) & ~np.isin(raw, VOID)).any())
        stated = text_of(element, "parameters", name) if element is not None else ""
        if not present and not block.unreadable[:, i].any():
            if stated == "ja":
                text = f"the document says that {name} was measured, but no record has a value"
                findings.append(Finding("channel-empty", Severity.INFO, text, channel=key or ""))
            continue
        if present and stated == "nee":
            text = f"the document says that {name} was not measured, but records have values"
            findings.append(Finding("channel-not-announced", Severity.INFO, text))
        series, more = add_column(
            series,
            key,
            name,
            raw,
            standard,
            standard=standard,
            unreadable=block.unreadable[:, i],
            voids=VOID,
            where=f"value {i + 1} ({name})",
        )
        findings += more
    return series, findings


def _dissipation(
    element: _Element, path: Path, cut: _Element | None
) -> tuple[Dissipation | None, list[Finding]]:
    length = number_of(element, "penetrationLength", standard="m")
    values = find(element, "disResult", "values")
    if values is None or length is None:
        return None, [
            Finding(
                "dissipation-unreadable",
                Severity.CAUTION,
                "a dissipation test has no result or no penetration length; left out",
                line=line_of(element),
            )
        ]
    block = _records(values, len(DISSIPATION), path, cut)
    series, findings = _series(block, DISSIPATION, None)
    findings += block.findings
    if not series.measured("time"):
        text = "a dissipation test has no time; left out"
        return None, [*findings, Finding("dissipation-unreadable", Severity.CAUTION, text)]
    series, header, more = _from_stop(series, length)
    test = Dissipation(
        depth=length,
        readings=series,
        start=_started(element),
        header=(*items(element, frozenset({"values"})), *header),
    )
    return test, [*findings, *more]


def _from_stop(
    series: Series, depth: float
) -> tuple[Series, tuple[HeaderItem, ...], list[Finding]]:
    """Sort by time and count time from the first record, saying so."""
    findings: list[Finding] = []
    time = series["time"]
    order = np.argsort(time, kind="stable")
    if not _ascending(time):
        text = f"the records of the dissipation test at {depth:.2f} m are not in order of time"
        findings.append(
            Finding("dissipation-unsorted", Severity.INFO, text + "; sorted", top=depth)
        )
        series = series.take(order)
    first = float(np.nanmin(time))
    if first <= _LATE:
        return series, (), findings
    text = (
        f"the dissipation test at {depth:.2f} m counts time from the start of the push; its first "
        f"record, at {first:g} s, is taken as the start of the test"
    )
    findings.append(Finding("dissipation-time-shifted", Severity.CAUTION, text, top=depth))
    shifted = series.with_column("time", series["time"] - first, series.reason("time"))
    return shifted, (HeaderItem(key="time of the first record [s]", value=f"{first:g}"),), findings


def _ascending(time: NDArray[np.float64]) -> bool:
    finite = time[np.isfinite(time)]
    return len(finite) == len(time) and bool((np.diff(finite) >= 0).all())


def _location(element: _Element) -> Location:
    place = find(element, "deliveredLocation")
    position = _position(place)
    crs = None
    if place is not None:
        point = next((e for e in place.iter() if e.get("srsName")), None)
        named = (point.get("srsName") or "") if point is not None else ""
        match = re.search(r"EPSG\D*(\d+)", named)
        crs = f"EPSG:{match[1]}" if match else None
    degrees = _position(find(element, "standardizedLocation"))
    inside = degrees is not None and abs(degrees[0]) <= 90 and abs(degrees[1]) <= 180
    zero = text_of(element, "localVerticalReferencePoint")
    water = number_of(element, "waterDepth", standard="m")
    words = {"maaiveld": "ground level", "waterbodem": "water bottom"}
    return Location(
        x=position[0] if position else None,
        y=position[1] if position else None,
        crs=crs if position else None,
        latitude=degrees[0] if degrees and inside else None,
        longitude=degrees[1] if degrees and inside else None,
        level=number_of(element, "deliveredVerticalPosition", "offset", standard="m"),
        datum=text_of(element, "verticalDatum") or None,
        zero=words.get(zero, zero) or None,
        water_depth=water if water is not None and water > 0 else None,
    )


def _position(element: _Element | None) -> tuple[float, float] | None:
    parts = text_of(element, "pos").split() if element is not None else []
    try:
        return float(parts[0]), float(parts[1])
    except (IndexError, ValueError):
        return None


def _water(element: _Element) -> Water | None:
    level = number_of(element, "groundwaterLevel", standard="m")
    return None if level is None else Water(level=level, origin=WaterOrigin.STATED)


def _cone(element: _Element, series: Series, findings: list[Finding]) -> Cone:
    cone = find(element, "conePenetrometer")

    def positive(name: str, standard: str, high: float = np.inf) -> float | None:
        value = number_of(cone, name, standard=standard) if cone is not None else None
        if value is None or 0 < value <= high:
            return value
        text = f"the stated {name} is {value:g}; not used"
        findings.append(Finding("cone-value-odd", Severity.CAUTION, text))
        return None

    model = text_of(cone, "conePenetrometerType")
    return Cone(
        model=model if model.lower() not in ("", "onbekend") else None,
        tip_area=positive("coneSurfaceArea", "mm2"),
        area_ratio=positive("coneSurfaceQuotient", "-", 1.5),
        tip_to_mid_sleeve=positive("coneToFrictionSleeveDistance", "mm"),
        sleeve_area=positive("frictionSleeveSurfaceArea", "mm2"),
        sleeve_end_ratio=number_of(cone, "frictionSleeveSurfaceQuotient"),
        tip_diameter=positive("coneDiameter", "mm"),
        filters=tuple(key for key in ("u1", "u2", "u3") if series.measured(key)),
    )


def _zeros(element: _Element | None) -> tuple[tuple[Zero, ...], tuple[Zero, ...]]:
    sides: tuple[list[Zero], list[Zero]] = ([], [])
    if element is None:
        return (), ()
    for name, channel, standard in _ZEROS:
        for found, end in zip(sides, ("Before", "After"), strict=True):
            value = number_of(element, name + end, standard=standard)
            if value is not None:
                found.append(Zero(channel=channel, value=value))
    return tuple(sides[0]), tuple(sides[1])


def _removed(element: _Element) -> tuple[RemovedLayer, ...]:
    layers = []
    for one in find_all(element, "removedLayer"):
        top = number_of(one, "upperBoundary", standard="m")
        base = number_of(one, "lowerBoundary", standard="m")
        if top is not None and base is not None:
            words = text_of(one, "description")
            layers.append(RemovedLayer(top=top, base=base, description=words))
    return tuple(layers)


def _stop(code: str) -> StopReason | None:
    if not code:
        return None
    low = code.lower()
    return next((reason for word, reason in _STOP if word in low), StopReason.UNKNOWN)


def _started(element: _Element | None) -> datetime | None:
    if element is None:
        return None
    return moment(text_of(element, "phenomenonTime", "timePosition"))

"""Where things are in a DIGGS document: links, the linear system of a sounding, coordinates."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from pushproof.formats.xmltree import find, find_all, line_of, text_of
from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import Location
from pushproof.model.units import unit

if TYPE_CHECKING:
    from lxml.etree import _Element

GEOGRAPHIC = frozenset({"4326", "4979", "4269", "4267", "4258", "4937", "6318", "6319", "7789"})
"""EPSG codes whose coordinates are latitude and longitude, in that order."""
IN_FEET = {"6360": 1200 / 3937, "8228": 0.3048, "5703": 1.0, "5714": 1.0}
"""EPSG codes of height systems, and their unit [m]: NAVD88 in survey feet, in feet, in metres."""
SHOWN = 5


class Links:
    """The objects of a document by identity, and the links that lead nowhere."""

    def __init__(self, root: _Element):
        self.root = root
        self.objects: dict[str, _Element] = {}
        for one in root.iter("*"):
            for name, value in one.attrib.items():
                if str(name).endswith("}id") or name == "id":
                    self.objects.setdefault(str(value), one)

    def target(self, element: _Element | None, name: str) -> _Element | None:
        """Return what the link of a child of that name points at, or the object in the child."""
        child = find(element, name) if element is not None else None
        if child is None:
            return None
        named = href(child)
        if named:
            return self.objects.get(named.lstrip("#"))
        return next(iter(child), None)

    def broken(self) -> list[Finding]:
        """Report links to identities that are not in the document."""
        lost: dict[str, int | None] = {}
        for one in self.root.iter("*"):
            named = href(one)
            if named.startswith("#") and named[1:] not in self.objects:
                lost.setdefault(named, line_of(one))
        if not lost:
            return []
        shown = ", ".join(list(lost)[:SHOWN]) + (" ..." if len(lost) > SHOWN else "")
        text = f"{len(lost)} links point at nothing in the document: {shown}"
        first = next(iter(lost.values()))
        return [Finding("reference-broken", Severity.CAUTION, text, line=first)]

    def linear_unit(
        self, positions: _Element, feature: _Element | None, findings: list[Finding]
    ) -> float:
        """Return the length [m] of the unit in which positions along a sounding count."""
        for system in self._systems(positions, feature):
            words = text_of(system, "units")
            found = unit(words) if words else None
            if found is not None and found.inside == "m":
                return found.factor
        findings.append(
            Finding(
                "depth-unit-not-stated",
                Severity.CAUTION,
                "no linear reference system says the unit of depth; taken as m",
                "units of the linear referencing method",
                channel="length",
                line=line_of(positions),
            )
        )
        return 1.0

    def _systems(self, positions: _Element, feature: _Element | None) -> Iterable[_Element]:
        above = positions.getparent()
        names = (positions.get("srsName"), above.get("srsName") if above is not None else None)
        for name in filter(None, names):
            if name.startswith("#") and name[1:] in self.objects:
                yield self.objects[name[1:]]
            else:
                tail = re.split(r"[:#/]", name)[-1]
                for system in find_all(self.root, "LinearSpatialReferenceSystem"):
                    if tail and text_of(system, "identifier").endswith(tail):
                        yield system
        if feature is not None:
            yield from find_all(feature, "LinearSpatialReferenceSystem")


def href(element: _Element) -> str:
    """Return the link of an element, empty if it has none."""
    for name, value in element.attrib.items():
        if str(name).endswith("}href"):
            return str(value)
    return ""


def location(feature: _Element | None, findings: list[Finding]) -> Location:
    """Return where a sounding is: the reference point and its systems."""
    point = find(feature, "referencePoint") if feature is not None else None
    place = find(point, "pos") if point is not None else None
    if place is None:
        return Location()
    numbers = []
    for text in (place.text or "").split()[:3]:
        try:
            numbers.append(float(text))
        except ValueError:
            findings.append(
                Finding(
                    "position-unreadable",
                    Severity.CAUTION,
                    f"the position holds {text[:20]!r}, no number; left out",
                    line=line_of(place),
                )
            )
            return Location()
    if len(numbers) < 2 or not all(abs(n) < 1e9 for n in numbers):
        return Location()
    above = place.getparent()
    named = place.get("srsName") or (above.get("srsName") if above is not None else None) or ""
    codes = re.findall(r"\d{4,5}", re.split(r"[:/]", named)[-1]) if named else []
    known = _horizontal(numbers, codes[0] if codes else "", named, findings, line_of(place))
    if len(numbers) == 3:
        vertical = codes[1] if len(codes) > 1 else ""
        known["level"] = numbers[2] * IN_FEET.get(vertical, 1.0)
        known["datum"] = f"EPSG:{vertical}" if vertical else None
    return Location(**known, zero="ground level")


def _horizontal(
    numbers: list[float], code: str, named: str, findings: list[Finding], line: int | None
) -> dict[str, Any]:
    if code not in GEOGRAPHIC:
        crs = f"EPSG:{code}" if code else named or None
        return {"x": numbers[0], "y": numbers[1], "crs": crs}
    latitude, longitude = numbers[:2]
    if abs(latitude) > 90 and abs(longitude) <= 90:
        latitude, longitude = longitude, latitude
        text = "the position has longitude before latitude; taken the other way round"
        findings.append(
            Finding("axes-swapped", Severity.CAUTION, text, "latitude first", line=line)
        )
    if abs(latitude) > 90 or abs(longitude) > 180:
        text = f"{latitude:g}, {longitude:g} is no latitude and longitude; left out"
        findings.append(Finding("position-unreadable", Severity.CAUTION, text, line=line))
        return {}
    return {"latitude": latitude, "longitude": longitude}

"""Property lists of DIGGS results: what each column is, in which unit, what stands for nothing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pushproof.formats.delimited.mapping import likely_unit
from pushproof.formats.delimited.names import column_key, split_unit
from pushproof.formats.numbers import parse_number
from pushproof.formats.xmltree import find_all, line_of, text_of
from pushproof.model.findings import Finding, Severity
from pushproof.model.quantities import QUANTITIES
from pushproof.model.units import unit

if TYPE_CHECKING:
    from lxml.etree import _Element

CLASSES = {
    "tip_resistance": "qc",
    "tip_resistance_corrected": "qt",
    "sleeve_friction": "fs",
    "friction_ratio": "Rf",
    "pore_pressure_u1": "u1",
    "pore_pressure_u2": "u2",
    "pore_pressure_u3": "u3",
    "u1_pore_pressure": "u1",
    "u2_pore_pressure": "u2",
    "u3_pore_pressure": "u3",
    "tip_pressure": "qc",
    "inclination": "tilt",
    "inclination_x": "tilt_x",
    "inclination_y": "tilt_y",
    "temperature": "temperature",
    "elapsed_time": "time",
}
"""Code of a property class to vocabulary key. Those with the place first are of dissipation tests
in edition 2.6.
"""
LOOSE = frozenset({"pore_water_pressure", "pore_pressure"})
"""Classes of a pore pressure that do not say where the filter is."""
REPORTED = {
    "pore_pressure_equil": "kPa",
    "water_depth_calc": "m",
    "water_depth": "m",
    "u50": "kPa",
    "t50": "s",
    "coef_consolidation_horiz": "m2/s",
    "coef_consolidation_vert": "m2/s",
    "coef_permeability_horiz": "m/s",
    "coef_permeability": "m/s",
}
"""Classes of single values that a dissipation test reports, and the inside unit of their kind."""
_PLACE = re.compile(r"u[\s_-]?([123])\b", re.IGNORECASE)


@dataclass(frozen=True)
class Property:
    """One column of a result: name, code of its class, unit as stated, voids, line."""

    name: str
    code: str
    uom: str
    voids: tuple[float, ...] = ()
    line: int | None = None


def properties(element: _Element, findings: list[Finding]) -> list[Property]:
    """Return the properties of a result set in the order of its columns.

    The index decides where it counts 1, 2, 3 ...; where it does not (twice the same, a gap), the
    order of the document does, and that is reported.
    """
    found: list[Property] = []
    numbers: list[int] = []
    for one in element.iter("{*}Property", "{*}PorePressureDissipationProperty"):
        index = one.get("index") or ""
        numbers.append(int(index) if index.isdecimal() and len(index) < 6 else 0)
        found.append(_property(one))
    if sorted(numbers) == list(range(1, len(found) + 1)):
        return [found[numbers.index(i)] for i in range(1, len(found) + 1)]
    if any(numbers):
        shown = ", ".join(str(n) for n in numbers[:20])
        findings.append(
            Finding(
                "property-index-odd",
                Severity.CAUTION,
                f"the indexes of the properties are {shown}; columns are taken in the order of "
                "the document",
                "1, 2, 3 ... each once",
                line=found[0].line,
            )
        )
    return found


def _property(element: _Element) -> Property:
    declared = next(find_all(element, "propertyClass"), None)
    words = text_of(declared)
    space = (declared.get("codeSpace") or "") if declared is not None else ""
    code = space.rpartition("#")[2] if "#" in space else words.rpartition("#")[2]
    code = re.sub(r"[\s-]+", "_", code.strip()).lower()
    voids = []
    for null in find_all(element, "nullValue"):
        try:
            voids.append(parse_number(null.text or ""))
        except ValueError:
            continue
    name = text_of(element, "propertyName")
    return Property(
        name=" ".join((name or words or code).split())[:80] or "unnamed",
        code=code,
        uom=text_of(element, "uom"),
        voids=tuple(v for v in voids if v == v),
        line=line_of(element),
    )


def key_of(one: Property, place: str, findings: list[Finding]) -> str | None:
    """Return the vocabulary key of a property, or None where nobody knows it.

    Parameters
    ----------
    one
        The property.
    place
        Words of the cone that may say where its filter is.
    findings
        Gets one where the filter place had to be assumed.
    """
    if one.code in CLASSES:
        return CLASSES[one.code]
    if one.code in LOOSE:
        said = _PLACE.search(one.name) or _PLACE.search(place)
        if said is None:
            text = f"property {one.name!r} does not say where the filter is; taken as u2"
            findings.append(
                Finding(
                    "filter-place-not-stated",
                    Severity.CAUTION,
                    text,
                    "the class pore_pressure_u1, _u2 or _u3",
                    channel="u2",
                    line=one.line,
                )
            )
        return f"u{said[1]}" if said else "u2"
    if not one.code:
        return column_key(split_unit(one.name)[0])
    return None


def unit_of(one: Property, inside: str, findings: list[Finding]) -> str:
    """Return the unit of a property as text: its ``uom``, or the one in its name.

    The name is asked only where there is no ``uom`` or where it is of another kind (a time in kPa).
    Where both are of the right kind but differ, the ``uom`` holds and it is reported.
    """
    named = split_unit(one.name)[1]
    stated, other = _of_kind(one.uom, inside), _of_kind(named, inside)
    if not one.uom and other:
        text = f"property {one.name!r} has no unit of measure; taken as {named}, as in its name"
        findings.append(Finding("unit-from-name", Severity.CAUTION, text, line=one.line))
        return named
    if one.uom and not stated and other:
        text = f"property {one.name!r} has the unit {one.uom!r}; taken as {named}, as in its name"
        expected = f"a unit of {inside}"
        findings.append(Finding("unit-from-name", Severity.CAUTION, text, expected, line=one.line))
        return named
    if stated and other and unit(named) != unit(one.uom):
        text = f"property {one.name!r} has the unit {one.uom!r}, its name says another; the unit"
        findings.append(
            Finding(
                "unit-contradicts-name",
                Severity.CAUTION,
                f"{text} holds",
                "one unit; check it",
                line=one.line,
            )
        )
    return one.uom


def _of_kind(text: str, inside: str) -> bool:
    found = unit(text) if text else None
    return found is not None and found.inside == inside


def assumed_unit(one: Property, key: str, raw: NDArray[np.float64], findings: list[Finding]) -> str:
    """Return the unit that a column without any is likely in, and report it."""
    assumed = likely_unit(key, raw)
    kind = QUANTITIES[key].unit
    if kind != "-":
        text = f"property {one.name!r} has no unit of measure; taken as {assumed} by its size"
        findings.append(
            Finding("unit-not-stated", Severity.CAUTION, text, channel=key, line=one.line)
        )
    return assumed

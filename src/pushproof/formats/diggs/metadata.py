"""What a DIGGS document says of a sounding beside its readings: cone, water, dates, people."""

from __future__ import annotations

import math
import re
from datetime import datetime
from typing import TYPE_CHECKING

from pushproof.formats.diggs.places import Links
from pushproof.formats.xmltree import find, find_all, line_of, moment, number_of, text_of
from pushproof.model.equipment import Cone, Rig
from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Series
from pushproof.model.sounding import RemovedLayer, Water, WaterOrigin

if TYPE_CHECKING:
    from lxml.etree import _Element

_DUG = re.compile(
    r"dug|pre-?\s?drill|pre-?\s?bor|auger|excavat|vacuum|pilot hole|removed|pre-?\s?push|cored",
    re.IGNORECASE,
)


def cone(test: _Element, series: Series, findings: list[Finding]) -> Cone:
    """Return the cone of a test."""
    procedure = find(test, "StaticConePenetrationTest")
    if procedure is None:
        return Cone(filters=_filters(series))

    def positive(name: str, standard: str, high: float = math.inf) -> float | None:
        value = number_of(procedure, name, standard=standard)
        if value is None or 0 < value <= high:
            return value
        here = find(procedure, name)
        text = f"the stated {name} is {value:g}; not used"
        line = line_of(here) if here is not None else None
        findings.append(Finding("cone-value-odd", Severity.CAUTION, text, line=line))
        return None

    equipment = find(procedure, "testProcedureEquipment")
    serial = text_of(equipment, "serialNumber") or text_of(equipment, "internalIdentifier")
    named = (text_of(equipment, "name"), text_of(equipment, "modelNumber"))
    words = text_of(procedure, "saturationFluid")
    return Cone(
        serial=serial or None,
        model=" ".join(filter(None, named)) or None,
        tip_area=positive("tipArea", "cm2"),
        area_ratio=positive("netAreaRatioCorrection", "-", 1.5),
        sleeve_area=positive("frictionSleeveArea", "cm2"),
        tip_to_mid_sleeve=positive("distanceTipToSleeve", "mm"),
        filter_fluid=words or None,
        filters=_filters(series),
    )


def _filters(series: Series) -> tuple[str, ...]:
    return tuple(key for key in ("u1", "u2", "u3") if series.measured(key))


def filter_place(test: _Element) -> str:
    """Return the words that may say where the filter of a cone is."""
    names = ("piezoconeType", "penetrometerType", "cellId", "porousElementType")
    return " ".join(text_of(test, name) for name in names)


def water(test: _Element) -> Water | None:
    """Return the water level that the file states, with its own word for how it is known."""
    level = number_of(test, "estimatedWaterDepth", standard="m")
    if level is not None:
        remark = "the file calls it estimated"
        return Water(level=level, origin=WaterOrigin.STATED, remark=remark)
    for one in find_all(test, "Parameter"):
        name = text_of(one, "parameterName")
        if re.search(r"water (depth|level)|depth (to|of) water|water table", name, re.IGNORECASE):
            level = _parameter(one)
            if level is not None:
                remark = f"the file calls it {name[:60]}"
                return Water(level=level, origin=WaterOrigin.STATED, remark=remark)
    return None


def _parameter(element: _Element) -> float | None:
    from pushproof.model.units import unit

    value = number_of(element, "parameterValue")
    found = unit(text_of(element, "parameterUnits") or "m")
    if value is None or found is None or found.inside != "m":
        return None
    return value * found.factor


def removed(
    feature: _Element | None, links: Links, findings: list[Finding]
) -> tuple[float | None, tuple[RemovedLayer, ...]]:
    """Return the pre-excavated depth [m] and its layers, from the construction of a sounding."""
    layers = []
    for one in find_all(feature, "SoundingConstructionMethod") if feature is not None else ():
        extent = find(one, "posList")
        said = [text_of(one, "content"), *(_own(one, name) for name in ("description", "name"))]
        words = " ".join(filter(None, said))
        if extent is None or not _DUG.search(words):
            continue
        factor = links.linear_unit(extent, feature, findings)
        try:
            top, base = (float(text) * factor for text in (extent.text or "").split())
        except ValueError:
            continue
        if 0 <= top < base < 200:
            layers.append(RemovedLayer(top=top, base=base, description=" ".join(words.split())))
    deepest = max((layer.base for layer in layers), default=None)
    return deepest, tuple(layers)


def _own(element: _Element, name: str) -> str:
    return text_of(next(element.iterchildren("{*}" + name), None))


def rig(feature: _Element | None) -> Rig | None:
    """Return the rig named in the construction of a sounding."""
    name = text_of(feature, "constructionEquipment", "name") if feature is not None else ""
    return Rig(name=name[:200]) if name else None


def started(test: _Element, feature: _Element | None) -> datetime | None:
    """Return when a test began: its own time, or that of its sounding."""
    for where, name in ((test, "samplingTime"), (test, "resultTime"), (feature, "whenConstructed")):
        here = find(where, name) if where is not None else None
        if here is None:
            continue
        text = (
            text_of(here, "start") or text_of(here, "timePosition") or text_of(here, "timeInstant")
        )
        found = moment(text)
        if found is not None:
            return found
    return None


def person(feature: _Element | None, role: str, links: Links) -> str | None:
    """Return the name behind a role of a sounding or project, such as an operator."""
    for one in find_all(feature, "Role") if feature is not None else ():
        if role in text_of(one, "rolePerformed").lower():
            who = links.target(one, "businessAssociate")
            name = text_of(who, "name") if who is not None else ""
            if name:
                return name[:200]
    return None

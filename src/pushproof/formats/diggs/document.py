"""The elements of a DIGGS 2.6 document, in the order that its schema asks for."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from pushproof import __version__
from pushproof.formats.contract import Content, sounding_of
from pushproof.formats.precision import plain
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES
from pushproof.model.sounding import Dissipation, Sounding
from pushproof.model.units import factor_to_display

if TYPE_CHECKING:
    from pushproof.formats.diggs.writer import Column

_HEAD = """<?xml version="1.0" encoding="UTF-8"?>
<Diggs xmlns="http://diggsml.org/schemas/2.6" xmlns:diggs="http://diggsml.org/schemas/2.6"
  xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" xmlns:xlink="http://www.w3.org/1999/xlink"
  xmlns:gml="http://www.opengis.net/gml/3.2" xmlns:glr="http://www.opengis.net/gml/3.3/lr"
  xmlns:diggs_geo="http://diggsml.org/schemas/2.6/geotechnical" gml:id="document">"""
CODES = "https://diggsml.org/def/codes/DIGGS/0.1/"
"""Where the code lists of DIGGS are published."""
NOTHING = "-99999"
"""Stands for a value that nobody reported."""
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def words(text: str) -> str:
    """Return text that may stand in an element.

    Examples
    --------
    >>> words("a < b & c")
    'a &lt; b &amp; c'
    """
    return escape(" ".join(_NOT_XML.sub("", text).split()))


class Maker:
    """Collects soundings and tests, then gives the document.

    Parameters
    ----------
    day
        Date of the document.
    first
        The sounding whose project and client stand for all.
    """

    def __init__(self, day: str, first: Sounding):
        self.day = day
        self.first = first
        self.features: list[str] = []
        self.tests: list[str] = []
        self.number = 0
        self.count = 0

    def sounding(self, one: Sounding, deepest: float, system: tuple[str, list[float]]) -> None:
        """Add a sounding: where it is, how deep, when and by whom."""
        self.number += 1
        self.count = 0
        number, (crs, numbers) = self.number, system
        top = " ".join(plain(value) for value in numbers)
        end = [*numbers[:2], *(value - deepest for value in numbers[2:])]
        base = " ".join(plain(value) for value in end)
        where = f'srsName="{crs}" srsDimension="{len(numbers)}"'
        lines = [
            f'<samplingFeature><Sounding gml:id="s{number}">',
            f"<gml:name>{words(one.name)}</gml:name>",
            *_role("Operator", one.operator, f"operator{number}"),
            "<investigationTarget>Natural Ground</investigationTarget>",
            '<projectRef xlink:href="#project"/>',
            f'<referencePoint><PointLocation gml:id="s{number}-point" {where}>',
            f"<gml:pos>{top}</gml:pos></PointLocation></referencePoint>",
            f'<centerLine><LinearExtent gml:id="s{number}-line" {where}>',
            f"<gml:posList>{top} {base}</gml:posList></LinearExtent></centerLine>",
            f'<linearReferencing><LinearSpatialReferenceSystem gml:id="s{number}-system">',
            '<gml:identifier codeSpace="urn:x-diggs:def:authority:DIGGSINC">'
            f"urn:diggs:def:fi:DIGGSINC:s{number}-system</gml:identifier>",
            f'<glr:linearElement xlink:href="#s{number}-line"/><glr:lrm>',
            f'<glr:LinearReferencingMethod gml:id="s{number}-method"><glr:name>chainage</glr:name>',
            "<glr:type>absolute</glr:type><glr:units>m</glr:units></glr:LinearReferencingMethod>",
            "</glr:lrm></LinearSpatialReferenceSystem></linearReferencing>",
        ]
        if one.started:
            lines.append(f'<whenConstructed><TimeInterval gml:id="s{number}-time">')
            start = one.started.isoformat()
            lines.append(f"<start>{start}</start></TimeInterval></whenConstructed>")
        lines.append(f'<totalMeasuredDepth uom="m">{plain(deepest)}</totalMeasuredDepth>')
        lines += self._construction(one)
        lines.append("</Sounding></samplingFeature>")
        self.features += lines

    def _construction(self, one: Sounding) -> Iterator[str]:
        number = self.number
        if one.predrilled:
            layers = [f"{plain(r.top)} to {plain(r.base)} m {r.description}" for r in one.removed]
            told = words("; ".join(["pre-excavated", *layers]))
            yield (
                f'<constructionMethod><SoundingConstructionMethod gml:id="s{number}-dug">'
                f"<gml:description>{told}</gml:description>"
                f'<location><LinearExtent gml:id="s{number}-dug-line" srsDimension="1" '
                f'srsName="#s{number}-system"><gml:posList>0 {plain(one.predrilled)}</gml:posList>'
                "</LinearExtent></location></SoundingConstructionMethod></constructionMethod>"
            )
        if one.rig and one.rig.name:
            yield (
                f'<constructionMethod><SoundingConstructionMethod gml:id="s{number}-push">'
                f'<constructionEquipment><Equipment gml:id="s{number}-rig">'
                f"<gml:name>{words(one.rig.name)}</gml:name></Equipment></constructionEquipment>"
                "</SoundingConstructionMethod></constructionMethod>"
            )

    def push(self, content: Content, positions: Sequence[str], columns: Sequence[Column]) -> None:
        """Add the readings of the sounding added last."""
        number, one = self.number, sounding_of(content)
        name = f"t{number}"
        told = words(_told(content))
        self.tests += [
            f'<measurement><Test gml:id="{name}">',
            f"<gml:description>{told}</gml:description>" if told else "",
            f"<gml:name>Cone penetration test {words(one.name)}</gml:name>",
            *self._references(),
            _result_time(name, one.started),
        ]
        self.tests += [
            f'<outcome><TestResult gml:id="{name}-result"><location>',
            f'<MultiPointLocation gml:id="{name}-points">',
            f'<gml:posList srsName="#s{number}-system" srsDimension="1">{" ".join(positions)}'
            "</gml:posList></MultiPointLocation></location><results><ResultSet><parameters>",
            f'<PropertyParameters gml:id="{name}-columns"><properties>',
            *(_property(one, i, name) for i, one in enumerate(columns, start=1)),
            "</properties></PropertyParameters></parameters>",
            f'<dataValues cs="," ts=" " decimal=".">{_rows(columns)}</dataValues>',
            "</ResultSet></results></TestResult></outcome>",
            *self._procedure(one),
            "</Test></measurement>",
        ]

    def _references(self) -> list[str]:
        return [
            "<investigationTarget>Natural Ground</investigationTarget>",
            '<projectRef xlink:href="#project"/>',
            f'<samplingFeatureRef xlink:href="#s{self.number}"/>',
        ]

    def _procedure(self, one: Sounding) -> Iterator[str]:
        cone, number = one.cone, self.number
        yield f'<procedure><diggs_geo:StaticConePenetrationTest gml:id="t{number}-cone">'
        if cone.model or cone.serial:
            yield f'<testProcedureEquipment><Equipment gml:id="t{number}-equipment">'
            if cone.model:
                yield f"<gml:name>{words(cone.model)}</gml:name>"
            if cone.serial:
                yield f"<serialNumber>{words(cone.serial)}</serialNumber>"
            yield "</Equipment></testProcedureEquipment>"
        measures = (
            ("distanceTipToSleeve", cone.tip_to_mid_sleeve, 1e3, "mm"),
            ("estimatedWaterDepth", one.water.level if one.water else None, 1.0, "m"),
            ("frictionSleeveArea", cone.sleeve_area, 1e4, "cm2"),
            ("netAreaRatioCorrection", cone.area_ratio, 1.0, ""),
            ("tipArea", cone.tip_area, 1e4, "cm2"),
        )
        for name, value, factor, uom in measures:
            if value is not None:
                unit = f' uom="{uom}"' if uom else ""
                yield f"<diggs_geo:{name}{unit}>{plain(value * factor)}</diggs_geo:{name}>"
        yield "</diggs_geo:StaticConePenetrationTest></procedure>"

    def test(self, test: Dissipation, times: Sequence[str], columns: Sequence[Column]) -> None:
        """Add a dissipation test of the sounding added last."""
        if not columns or not times:
            return
        self.count += 1
        name = f"d{self.number}-{self.count}"
        self.tests += [
            f'<measurement><Test gml:id="{name}">',
            f"<gml:name>Dissipation test at {plain(test.depth)} m</gml:name>",
            *self._references(),
            _result_time(name, test.start),
        ]
        space = " ".join
        self.tests += [
            f'<outcome><TestResult gml:id="{name}-result"><location>',
            f'<PointLocation gml:id="{name}-point"><gml:pos srsName="#s{self.number}-system">'
            f"{plain(test.depth)}</gml:pos></PointLocation></location>",
            *_nothing_reported(name),
            f'<procedure><diggs_geo:PorePressureDissipationTest gml:id="{name}-test">',
            "<diggs_geo:dissipationTimeSeries>",
            f'<diggs_geo:DissipationTimeSeriesResult gml:id="{name}-series">',
            f'<timeDomain><TimeIntervalList unit="second" gml:id="{name}-times">'
            f"<timeIntervalList>{space(times)}</timeIntervalList></TimeIntervalList></timeDomain>",
            "<diggs_geo:ppdresults><diggs_geo:PpdResultSet><diggs_geo:parameters>",
            f'<diggs_geo:PpdPropertyParameters gml:id="{name}-columns"><diggs_geo:properties>',
            *(_test_property(one, i, name) for i, one in enumerate(columns, start=1)),
            "</diggs_geo:properties></diggs_geo:PpdPropertyParameters></diggs_geo:parameters>",
            f'<dataValues cs="," ts=" " decimal=".">{_rows(columns)}</dataValues>',
            "</diggs_geo:PpdResultSet></diggs_geo:ppdresults>",
            "</diggs_geo:DissipationTimeSeriesResult></diggs_geo:dissipationTimeSeries>",
            "</diggs_geo:PorePressureDissipationTest></procedure></Test></measurement>",
        ]

    def document(self) -> str:
        """Return the document."""
        first = self.first
        lines = [
            _HEAD,
            '<documentInformation><DocumentInformation gml:id="information">',
            f"<creationDate>{self.day}</creationDate></DocumentInformation></documentInformation>",
            '<project><Project gml:id="project">',
            f"<gml:name>{words(first.project or '')}</gml:name>",
            *_role("Client", first.client, "client"),
            "</Project></project>",
            *self.features,
            *self.tests,
            "</Diggs>",
        ]
        return "\n".join(line for line in lines if line) + "\n"


def _role(role: str, who: str | None, name: str) -> Iterator[str]:
    if who:
        yield (
            f"<role><Role><rolePerformed>{role}</rolePerformed><businessAssociate>"
            f'<BusinessAssociate gml:id="{name}"><gml:name>{words(who)}</gml:name>'
            "</BusinessAssociate></businessAssociate></Role></role>"
        )


def _property(one: Column, index: int, name: str) -> str:
    return (
        f'<Property index="{index}" gml:id="{name}-{index}">'
        f"<propertyName>{words(one.name)}</propertyName><typeData>double</typeData>"
        f'<propertyClass codeSpace="{CODES}{one.dictionary}#{one.code}">{one.code}</propertyClass>'
        f"<uom>{one.uom}</uom>{_null(one)}</Property>"
    )


def _test_property(one: Column, index: int, name: str) -> str:
    parts = {"propertyName": words(one.name), "typeData": "double", "propertyClass": one.code}
    parts["uom"] = one.uom
    texts = "".join(f"<diggs_geo:{key}>{v}</diggs_geo:{key}>" for key, v in parts.items())
    if one.void in one.texts:
        texts += f'<diggs_geo:nullValue reason="missing">{one.void}</diggs_geo:nullValue>'
    kind = "diggs_geo:PorePressureDissipationProperty"
    return f'<{kind} index="{index}" gml:id="{name}-{index}">{texts}</{kind}>'


def _nothing_reported(name: str) -> Iterator[str]:
    """Yield the result that the schema asks for: one value, which nobody reported."""
    code = "pore_pressure_equil"
    yield f'<results><ResultSet><parameters><PropertyParameters gml:id="{name}-reported">'
    yield f'<properties><Property index="1" gml:id="{name}-reported-1">'
    yield "<propertyName>equilibrium pore pressure</propertyName><typeData>double</typeData>"
    yield f'<propertyClass codeSpace="{CODES}properties.xml#{code}">{code}</propertyClass>'
    yield f'<uom>kPa</uom><nullValue reason="unknown">{NOTHING}</nullValue></Property>'
    yield "</properties></PropertyParameters></parameters>"
    yield f'<dataValues cs="," ts=" " decimal=".">{NOTHING}</dataValues></ResultSet></results>'
    yield "</TestResult></outcome>"


def _null(one: Column) -> str:
    return f'<nullValue reason="missing">{one.void}</nullValue>' if one.void in one.texts else ""


def _rows(columns: Sequence[Column]) -> str:
    return " ".join(map(",".join, zip(*(one.texts for one in columns), strict=True)))


def _told(content: Content) -> str:
    """Return in words what has no element of its own."""
    one = sounding_of(content)
    place = one.location
    parts = [
        f"standard {one.standard}" if one.standard else "",
        f"stated class {one.quality_class}" if one.quality_class else "",
        f"ended by: {one.stop_reason.value}" if one.stop_reason else "",
        f"place {one.place}" if one.place else "",
        f"depth 0 is {place.zero}" if place.zero else "",
        f"{plain(place.water_depth)} m of water" if place.water_depth is not None else "",
    ]
    for when, zeros in (("before", one.zeros_before), ("after", one.zeros_after)):
        for zero in zeros:
            known = zero.channel in QUANTITIES
            factor = factor_to_display(zero.channel) if known else 1.0
            unit = f" {QUANTITIES[zero.channel].display_unit}" if known else ""
            parts.append(f"zero {when} {zero.channel} {plain(zero.value * factor)}{unit}")
    if isinstance(content, Interpretation):
        recipe = content.profile.recipe
        parts.append(f"corrected and derived by Pushproof {__version__}")
        parts.append(f"recipe {recipe.fingerprint()[:12]}")
        parts += [one.text for one in content.assumptions]
        parts += [f"edited: {one.kind} ({one.reason})" for one in recipe.corrections]
        parts.append("derived values are estimates for the judgement of a qualified engineer")
    return "; ".join(filter(None, parts))


def _result_time(name: str, start: datetime | None) -> str:
    """Return when a test began; nothing if that is not known."""
    if start is None:
        return ""
    return (
        f'<resultTime><TimeInterval gml:id="{name}-time"><start>{start.isoformat()}</start>'
        "</TimeInterval></resultTime>"
    )

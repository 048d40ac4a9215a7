"""The DIGGS format: detect and read."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.diggs import metadata
from pushproof.formats.diggs.dissipation import LISTS, dissipation
from pushproof.formats.diggs.places import Links, location
from pushproof.formats.diggs.properties import CLASSES, LOOSE, properties
from pushproof.formats.diggs.results import Place, numbers_in, series_of, table
from pushproof.formats.diggs.writer import DiggsWriting
from pushproof.formats.source import source_file
from pushproof.formats.xmltree import (
    Document,
    find,
    find_all,
    items,
    line_of,
    number_of,
    read_xml,
    text_of,
)
from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import Dissipation, HeaderItem, Sounding

if TYPE_CHECKING:
    from lxml.etree import _Element

FOOT = 0.3048


class DiggsFormat(DiggsWriting):
    """DIGGS documents with cone penetration tests."""

    name = "diggs"
    title = "DIGGS XML"
    suffixes: tuple[str, ...] = (".xml", ".diggs")

    def detect(self, path: Path, head: bytes) -> float:
        """Return how sure it is that this is a DIGGS document."""
        if b"diggsml.org/schema" in head:
            return 1.0
        return 0.6 if path.suffix.lower() == ".diggs" and head.lstrip()[:1] == b"<" else 0.0

    def edition(self, head: bytes) -> str:
        """Return the edition of the schema that a document names."""
        found = re.search(rb"diggsml\.org/schemas?(?:-dev)?/([\w.]+)", head)
        return found[1].decode() if found else ""

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return every cone test of the document with its dissipation tests.

        Raises
        ------
        FormatError
            If it is not well-formed XML, holds no cone test, or rows cannot be placed; with the
            line.
        """
        document = read_xml(path, options)
        return _Reader(document, Place(path, options.salvage, document.cut)).soundings()


@dataclass(frozen=True)
class _Push:
    """A cone test: its element, the feature it belongs to, what was odd about that."""

    test: _Element
    feature: _Element | None
    findings: list[Finding] = field(default_factory=list)


class _Reader:
    """Puts the parts of one document together."""

    def __init__(self, document: Document, place: Place):
        self.document = document
        self.root = document.root
        self.place = place
        self.links = Links(self.root)

    def soundings(self) -> list[Sounding]:
        pushes, tests, others = self._sorted()
        if not pushes:
            held = f"{len(tests)} dissipation tests and {others} other tests"
            raise FormatError(
                f"the document holds no cone test with readings, but {held}", path=self.place.path
            )
        found: list[Sounding] = []
        features: list[_Element | None] = []
        for push in pushes:
            try:
                found.append(self._sounding(push))
            except FormatError:
                if not self.place.salvage:
                    raise
                continue
            features.append(push.feature)
        if not found:
            raise FormatError("no cone test of the document can be read", path=self.place.path)
        for test, feature, odd in tests:
            read, more = dissipation(test, feature, self.links, self.place)
            at = _belongs(found, features, feature, read)
            found[at] = _with_test(found[at], read, [*odd, *more])
        common = [*self.document.findings, *self.links.broken()]
        return [one.with_findings(*common) for one in _named_once(found)]

    def _sorted(
        self,
    ) -> tuple[list[_Push], list[tuple[_Element, _Element | None, list[Finding]]], int]:
        """Return cone tests, dissipation tests with their features, and how many are neither."""
        pushes: list[_Push] = []
        tests: list[tuple[_Element, _Element | None, list[Finding]]] = []
        others = 0
        for test in find_all(self.root, "Test"):
            if _is_dissipation(test):
                odd: list[Finding] = []
                tests.append((test, self._feature(test, odd), odd))
            elif _is_push(test):
                push = _Push(test, None)
                feature = self._feature(test, push.findings)
                pushes.append(replace(push, feature=feature))
            else:
                others += 1
        return pushes, tests, others

    def _feature(self, test: _Element, findings: list[Finding]) -> _Element | None:
        """Return the sounding that a test belongs to: the one it names, or the only one."""
        named = self.links.target(test, "samplingFeatureRef")
        if named is not None:
            return named
        all_of_them = list(find_all(self.root, "Sounding"))
        lacks = (
            "names no sounding"
            if find(test, "samplingFeatureRef") is None
            else ("names a sounding that is not in the document")
        )
        text = f"the test {text_of(test, 'name')[:60]!r} {lacks}"
        only = all_of_them[0] if len(all_of_them) == 1 else None
        text += "; taken as of the only one" if only is not None else "; it stands alone"
        findings.append(Finding("sounding-not-named", Severity.CAUTION, text, line=line_of(test)))
        return only

    def _sounding(self, push: _Push) -> Sounding:
        test, feature = push.test, push.feature
        findings = list(push.findings)
        key, length = self._positions(test, feature, findings)
        results = find(test, "outcome", "ResultSet")
        columns = properties(results, findings) if results is not None else []
        if results is None or not columns:
            raise FormatError(
                "a cone test says of no column what it is",
                path=self.place.path,
                line=line_of(test),
            )
        values, block = table(results, len(columns), self.place)
        words = metadata.filter_place(test)
        series, more = series_of(columns, values, block, (key, length), words, self.place)
        findings += more
        if not series.measured(key):
            raise FormatError("no row has a depth", path=self.place.path, line=line_of(test))
        _compare_total(feature, series[key], findings)
        predrilled, layers = metadata.removed(feature, self.links, findings)
        project = self.links.target(test, "projectRef")
        project = find(self.root, "Project") if project is None else project
        name = text_of(feature, "name") if feature is not None else ""
        return Sounding(
            name=(name or text_of(test, "name") or self.place.path.stem)[:200],
            readings=series,
            location=location(feature, findings),
            cone=metadata.cone(test, series, findings),
            rig=metadata.rig(feature),
            water=metadata.water(test),
            predrilled=predrilled,
            removed=layers,
            started=metadata.started(test, feature),
            project=(text_of(project, "name") or None) if project is not None else None,
            client=metadata.person(project, "client", self.links),
            operator=metadata.person(feature, "operator", self.links),
            header=self._header(test, feature, project),
            findings=tuple(findings),
            source=source_file(self.place.path, self.document.data, DiggsFormat.name),
        )

    def _positions(
        self, test: _Element, feature: _Element | None, findings: list[Finding]
    ) -> tuple[str, NDArray[np.float64]]:
        listed = find(test, "outcome", "MultiPointLocation", "posList")
        if listed is None:
            raise FormatError(
                "a cone test has no list of depths (MultiPointLocation)",
                path=self.place.path,
                line=line_of(test),
            )
        above = listed.getparent()
        sizes = (listed.get("srsDimension"), above.get("srsDimension") if above is not None else "")
        if next(filter(None, sizes), "1") != "1":
            raise FormatError(
                "the depths are points in space; expected positions along the sounding",
                path=self.place.path,
                line=line_of(listed),
            )
        values = numbers_in(listed, "depths", self.place, findings)
        return "length", values * self.links.linear_unit(listed, feature, findings)

    def _header(
        self, test: _Element, feature: _Element | None, project: _Element | None
    ) -> tuple[HeaderItem, ...]:
        parts = (find(self.root, "documentInformation"), project, feature, test)
        return tuple(item for part in parts if part is not None for item in items(part, LISTS))


def _is_dissipation(test: _Element) -> bool:
    return find(test, "PorePressureDissipationTest") is not None


def _is_push(test: _Element) -> bool:
    if find(test, "StaticConePenetrationTest") is not None:
        return find(test, "outcome", "dataValues") is not None
    if find(test, "outcome", "MultiPointLocation") is None:
        return False
    codes = {one.code for one in properties(test, [])}
    return "tip_resistance" in codes and bool(codes & (set(CLASSES) | LOOSE))


def _compare_total(
    feature: _Element | None, length: NDArray[np.float64], findings: list[Finding]
) -> None:
    """Compare the deepest reading with the stated depth of the sounding: feet taken for metres."""
    stated = number_of(feature, "totalMeasuredDepth", standard="m") if feature is not None else None
    deepest = float(np.nanmax(length))
    if not stated or stated <= 0 or deepest <= 0:
        return
    ratio = deepest / stated
    off = min(abs(ratio * FOOT - 1), abs(ratio / FOOT - 1))
    if off < 0.03:
        text = f"readings reach {deepest:.2f} m, the sounding {stated:.2f} m: a factor of a foot"
        findings.append(
            Finding("depth-unit-doubtful", Severity.STOP, text, "one unit of depth; check it")
        )
    elif abs(deepest - stated) > max(0.5, 0.05 * stated):
        text = f"readings reach {deepest:.2f} m, the stated depth is {stated:.2f} m"
        findings.append(Finding("total-depth-differs", Severity.INFO, text))


def _belongs(
    found: list[Sounding],
    features: list[_Element | None],
    feature: _Element | None,
    test: Dissipation | None,
) -> int:
    """Return which sounding a dissipation test belongs to: same feature, and deep enough."""
    same = [i for i, one in enumerate(features) if one is not None and one is feature]
    if test is not None:
        for i in same:
            length = found[i].readings.get("length")
            if np.nanmin(length) - 0.5 <= test.depth <= np.nanmax(length) + 0.5:
                return i
    return same[0] if same else 0


def _with_test(one: Sounding, test: Dissipation | None, findings: list[Finding]) -> Sounding:
    tests = one.dissipations if test is None else (*one.dissipations, test)
    return replace(one, dissipations=tests).with_findings(*findings)


def _named_once(found: list[Sounding]) -> list[Sounding]:
    """Give soundings of one name a number behind it."""
    names = [one.name for one in found]
    if len(set(names)) == len(names):
        return found
    again: list[Sounding] = []
    for i, one in enumerate(found):
        if names.count(one.name) > 1:
            one = replace(one, name=f"{one.name}/{names[:i].count(one.name) + 1}")
        again.append(one)
    return again

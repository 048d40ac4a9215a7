"""AGS tables to soundings: one for each place and push, with every row that speaks of it."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import FormatError
from pushproof.formats.ags.names import DISSIPATION, EDITION_4, GRID, MEANING, Names
from pushproof.formats.ags.oddities import not_fitted, oddities
from pushproof.formats.ags.tables import Group, Tables
from pushproof.formats.ags.values import amount, date, degrees, stop_reason
from pushproof.formats.columns import add_column
from pushproof.formats.numbers import SENTINELS, parse_column
from pushproof.model.equipment import Cone
from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Series
from pushproof.model.sounding import (
    Dissipation,
    Event,
    HeaderItem,
    Location,
    Sounding,
    SourceFile,
    Water,
    WaterOrigin,
)

MOST_ITEMS = 5000
_LISTS = frozenset({"ABBR", "TYPE", "UNIT", "CODE"})
"""Groups that explain codes and say nothing of a sounding."""
Key = tuple[str, str]


def soundings(
    tables: Tables, names: Names, path: Path, source: SourceFile, salvage: bool
) -> list[Sounding]:
    """Return every sounding of the tables, in the order of the readings.

    Raises
    ------
    FormatError
        If there are no readings of cone tests.
    """
    group = tables.groups.get(names.readings)
    if group is None or not group.rows:
        held = ", ".join(tables.groups) or "none"
        raise FormatError(
            f"the file has no rows of cone readings (group {names.readings}); its groups: {held}",
            path=path,
        )
    needed = (names.place_id, f"{names.readings}_DPTH")
    missing = [one for one in needed if group.index(one) is None]
    if missing:
        raise FormatError(
            f"group {names.readings} has no heading {' and '.join(missing)}",
            path=path,
            line=group.line,
        )
    pushes = _rows_of(group, names)
    tests: dict[str, set[str]] = {}
    for place, test in pushes:
        tests.setdefault(place, set()).add(test)
    reader = _Reader(tables, names, group, oddities(tables, names, group))
    found = []
    for key, rows in pushes.items():
        name = key[0] if len(tests[key[0]]) == 1 else "/".join(key)
        one = reader.sounding(key, rows, name or path.stem, source)
        if one.readings.measured("depth"):
            found.append(one)
        elif not salvage:
            line = group.lines[rows[0]]
            raise FormatError(f"{name}: no row has a depth", path=path, line=line)
    if not found:
        raise FormatError("no row of readings has a depth", path=path, line=group.line)
    return found


def _rows_of(group: Group, names: Names) -> dict[Key, NDArray[np.intp]]:
    """Return the rows of each push, in the order of first appearance."""
    places = [text.replace("\0", "").strip() for text in group.column(names.place_id)]
    tests = [text.replace("\0", "").strip() for text in group.column(names.test)]
    rows: dict[Key, list[int]] = {}
    for i, key in enumerate(zip(places, tests, strict=True)):
        rows.setdefault(key, []).append(i)
    return {key: np.array(found, dtype=np.intp) for key, found in rows.items()}


@dataclass(frozen=True)
class _Reader:
    tables: Tables
    names: Names
    group: Group
    odd: list[Finding]

    def sounding(self, key: Key, rows: NDArray[np.intp], name: str, source: SourceFile) -> Sounding:
        findings: list[Finding] = [*self.tables.findings, *self.odd]
        series, events, first = self._series(rows, findings)
        place = self._record(self.names.place, key)
        project = self._record("PROJ", key)
        about = self._record("SCPG", key) if self.names == EDITION_4 else first
        predrilled = self._predrilled(key, findings)
        standard = about.get("SCPG_METH") or None
        stated = re.search(r"class\s*(\d)", standard or "", flags=re.IGNORECASE)
        return Sounding(
            name=name,
            readings=series,
            location=self._location(place),
            cone=self._cone(about, series, findings),
            water=self._water(about),
            predrilled=predrilled,
            dissipations=self._dissipations(key, findings),
            events=(*events, *self._noted_dissipations(key)),
            standard=standard,
            quality_class=stated[1] if stated else None,
            stop_reason=stop_reason(place.get("LOCA_TERM", "")),
            started=self._started(key, place, findings),
            project=project.get("PROJ_NAME") or project.get("PROJ_ID") or None,
            client=project.get("PROJ_CLNT") or None,
            operator=about.get("SCPG_OPER") or None,
            place=project.get("PROJ_LOC") or None,
            header=tuple(self._items(key)),
            findings=tuple(findings),
            source=source,
        )

    def _record(self, name: str, key: Key) -> dict[str, str]:
        """Return the first row of a group that belongs to a push."""
        group = self.tables.groups.get(name)
        for _, record in group.records() if group else ():
            if _belongs(record, key, self.names):
                return {heading: text.strip() for heading, text in record.items()}
        return {}

    def _unit(self, name: str, heading: str) -> str:
        group = self.tables.groups.get(name)
        return group.unit(heading) if group else ""

    def _series(
        self, rows: NDArray[np.intp], findings: list[Finding]
    ) -> tuple[Series, list[Event], dict[str, str]]:
        group = self.group
        own = [group.rows[i] for i in rows.tolist()]
        line = group.lines[int(rows[0])]
        depth, _ = parse_column(_texts(own, group.index(f"{group.name}_DPTH")))
        series, events, first = Series(), [], {}
        skipped = {self.names.place_id, self.names.test, f"{group.name}_REF", f"{group.name}_TYP"}
        for i, heading in enumerate(group.headings):
            texts = _texts(own, i)
            value = next((text.strip() for text in texts if text.strip()), "")
            first[heading] = value
            if heading in skipped or heading in group.headings[:i] or not value:
                continue
            raw, unreadable = parse_column(texts)
            known = MEANING.get(heading.partition("_")[2])
            mine = known if heading.startswith(f"{group.name}_") else None
            if not np.isfinite(raw).any() and mine is None:
                events += _notes(heading, texts, depth)
                continue
            bad = int(unreadable.sum())
            if bad:
                row = int(np.flatnonzero(unreadable)[0])
                where = group.lines[int(rows[row])]
                text = (
                    f"{bad} fields of {heading} are no number, such as {texts[row].strip()[:20]!r}"
                )
                expected = "the values are left out; the file itself is unchanged"
                findings.append(
                    Finding("field-unreadable", Severity.CAUTION, text, expected, line=where)
                )
            findings += _suspect(heading, raw)
            stated = group.units[i] if i < len(group.units) else ""
            standard = self._standard(mine)
            if standard not in ("", "-") and not stated and group.units:
                text = f"heading {heading} has no unit; taken as {standard}"
                findings.append(Finding("unit-not-stated", Severity.CAUTION, text, line=group.line))
            series, more = add_column(
                series,
                mine[0] if mine else None,
                heading,
                raw,
                stated,
                standard=standard,
                unreadable=unreadable,
                where=f"heading {heading}",
                line=line,
            )
            findings += more
        if not group.units:
            text = f"group {group.name} has no row of units; taken as those of its edition"
            expected = "MN/m2 for cone resistance, kN/m2 for friction and pore pressure"
            findings.append(Finding("units-not-stated", Severity.CAUTION, text, expected))
        if self.names != EDITION_4:
            series = not_fitted(series, findings)
        return series, events, first

    def _standard(self, known: tuple[str, str] | None) -> str:
        """Return the unit a dictionary prescribes: edition 4 has MPa, older ones kN/m2."""
        if known is None:
            return ""
        mega = self.names == EDITION_4 and known[0] in ("fs", "ft", "u1", "u2", "u3")
        return "MPa" if mega else known[1]

    def _cone(self, about: dict[str, str], series: Series, findings: list[Finding]) -> Cone:
        group = self.names.general

        def number(heading: str, standard: str, high: float = math.inf) -> float | None:
            value = amount(about.get(heading, ""), self._unit(group, heading), standard)
            if value is None or 0 < value <= high:
                return value
            text = f"{heading} is {about[heading]}; not used"
            findings.append(Finding("cone-value-odd", Severity.CAUTION, text))
            return None

        extra = {}
        for heading, words in self._declared().items():
            if "sleeve area" in words.lower():
                extra["sleeve_area"] = number(heading, "cm2")
            elif "cone diameter" in words.lower():
                extra["tip_diameter"] = number(heading, "mm")
        return Cone(
            serial=about.get(f"{group}_REF") or None,
            tip_area=number("SCPG_CSA", "cm2"),
            area_ratio=number("SCPG_CAR", "-", 1.5),
            sleeve_end_ratio=amount(about.get("SCPG_SLAR", ""), "", "-"),
            filters=tuple(
                key for key in ("u1", "u2", "u3") if series.measured(key) and series[key].any()
            ),
            **extra,
        )

    def _declared(self) -> dict[str, str]:
        """Return the headings that the file itself adds to SCPG, with their description."""
        group = self.tables.groups.get("DICT")
        return {
            record.get("DICT_HDNG", ""): record.get("DICT_DESC", "")
            for _, record in (group.records() if group else ())
            if record.get("DICT_GRP") == "SCPG" and record.get("DICT_HDNG")
        }

    def _water(self, about: dict[str, str]) -> Water | None:
        level = amount(about.get("SCPG_WAT", ""), self._unit("SCPG", "SCPG_WAT"), "m")
        if level is None:
            return None
        remark = about.get("SCPG_WATA", "")
        return Water(level=level, origin=WaterOrigin.STATED, remark=remark)

    def _location(self, place: dict[str, str]) -> Location:
        of = self.names.of_place

        def metres(part: str) -> float | None:
            heading = of(part)
            return amount(place.get(heading, ""), self._unit(self.names.place, heading), "m")

        x, y = metres("NATE"), metres("NATN")
        local = x is None and y is None
        if local:
            x, y = metres("LOCX"), metres("LOCY")
        named = place.get(of("GREF"), "") if not local else place.get(of("LREF"), "")
        latitude, longitude = (
            degrees(place.get("LOCA_LAT", "")),
            degrees(place.get("LOCA_LON", "")),
        )
        return Location(
            x=x,
            y=y,
            crs=(GRID.get(named, named) or None) if x is not None else None,
            latitude=latitude if latitude is not None and abs(latitude) <= 90 else None,
            longitude=longitude if longitude is not None and abs(longitude) <= 180 else None,
            level=metres("GL"),
            datum=place.get("LOCA_NATD") or place.get("LOCA_DATM") or None,
        )

    def _started(self, key: Key, place: dict[str, str], findings: list[Finding]) -> datetime | None:
        holes = self.tables.groups.get("HDPH")
        sections = [
            record.get("HDPH_STAR", "").strip()
            for _, record in (holes.records() if holes else ())
            if _belongs(record, key, self.names)
        ]
        for text in (
            next(filter(None, sections), ""),
            place.get(self.names.of_place("STAR"), ""),
        ):
            if not text:
                continue
            found = date(text)
            if found is not None:
                return found
            words = f"the start date {text!r} is no date; kept as found"
            findings.append(Finding("date-impossible", Severity.INFO, words))
        return None

    def _predrilled(self, key: Key, findings: list[Finding]) -> float | None:
        group = self.tables.groups.get("HDPH")
        for line, record in group.records() if group else ():
            if not _belongs(record, key, self.names) or "SC" in record.get("HDPH_TYPE", ""):
                continue
            top = amount(record.get("HDPH_TOP", ""), self._unit("HDPH", "HDPH_TOP"), "m")
            base = amount(record.get("HDPH_BASE", ""), self._unit("HDPH", "HDPH_BASE"), "m")
            if top == 0 and base:
                kind = record.get("HDPH_TYPE", "") or "hole"
                text = f"a {kind} from 0 to {base:g} m is taken as pre-excavation"
                findings.append(Finding("predrilled-from-hole", Severity.INFO, text, line=line))
                return base
        return None

    def _dissipations(self, key: Key, findings: list[Finding]) -> tuple[Dissipation, ...]:
        group = self.tables.groups.get("SCDT")
        rows: dict[str, list[int]] = {}
        for i, (_, record) in enumerate(group.records() if group else ()):
            if _belongs(record, key, self.names):
                rows.setdefault(record.get("SCDG_DPTH", "").strip(), []).append(i)
        tests = []
        for text, own in rows.items():
            assert group is not None
            depth = amount(text, group.unit("SCDG_DPTH"), "m")
            series = self._dissipation(group, own, findings)
            if depth is None or not series.measured("time"):
                words = f"a dissipation test at {text!r} m has no depth or no time; left out"
                line = group.lines[own[0]]
                findings.append(
                    Finding("dissipation-unreadable", Severity.CAUTION, words, line=line)
                )
                continue
            header = self._dissipation_header(key, text)
            tests.append(Dissipation(depth=depth, readings=series, header=header))
        return tuple(tests)

    def _dissipation(self, group: Group, own: list[int], findings: list[Finding]) -> Series:
        series = Series()
        table = [group.rows[i] for i in own]
        for i, heading in enumerate(group.headings):
            texts = _texts(table, i)
            known = DISSIPATION.get(heading)
            if known is None or not any(text.strip() for text in texts):
                continue
            raw, unreadable = parse_column(texts)
            series, more = add_column(
                series,
                known[0],
                heading,
                raw,
                group.unit(heading),
                standard=known[1],
                unreadable=unreadable,
                where=f"heading {heading}",
                line=group.line,
            )
            findings += more
        return series

    def _dissipation_header(self, key: Key, depth: str) -> tuple[HeaderItem, ...]:
        group = self.tables.groups.get("SCDG")
        for line, record in group.records() if group else ():
            if _belongs(record, key, self.names) and record.get("SCDG_DPTH", "").strip() == depth:
                return tuple(_record_items(group, record, line)) if group else ()
        return ()

    def _noted_dissipations(self, key: Key) -> Iterator[Event]:
        """Yield dissipation tests that older files name without their curve."""
        group = self.tables.groups.get("IPRM")
        for _, record in group.records() if group else ():
            words = " ".join(record.values())
            if _belongs(record, key, self.names) and "dissip" in words.lower():
                tops = [v for h, v in record.items() if h.endswith(("_TOP", "_DPTH", "_BASE"))]
                depth = next((d for d in (amount(t, "", "m") for t in tops) if d is not None), None)
                yield Event("dissipation", depth=depth, text=" ".join(words.split())[:200])

    def _items(self, key: Key) -> Iterator[HeaderItem]:
        """Yield every row that speaks of this push, or of the file as a whole."""
        count = 0
        for name, group in self.tables.groups.items():
            if name in _LISTS or name in (self.names.readings, "SCDT", "SCDG"):
                continue
            for line, record in group.records():
                if not _belongs(record, key, self.names):
                    continue
                for item in _record_items(group, record, line):
                    count += 1
                    if count > MOST_ITEMS:
                        return
                    yield item


def _record_items(group: Group, record: dict[str, str], line: int) -> Iterator[HeaderItem]:
    for heading, text in record.items():
        if text.strip():
            stated = group.unit(heading)
            key = f"{heading} [{stated}]" if stated else heading
            yield HeaderItem(key=key, value=text.strip()[:500], line=line)


def _belongs(record: dict[str, str], key: Key, names: Names) -> bool:
    place, test = record.get(names.place_id), record.get(names.test)
    return (place is None or place.strip() == key[0]) and (test is None or test.strip() == key[1])


def _texts(rows: list[list[str]], i: int | None) -> list[str]:
    if i is None:
        return [""] * len(rows)
    return [row[i] if i < len(row) else "" for row in rows]


def _notes(heading: str, texts: Sequence[str], depth: NDArray[np.float64]) -> list[Event]:
    """Return remarks beside readings as events at their depth."""
    return [
        Event("note", depth=float(z) if z == z else None, text=f"{heading}: {text.strip()[:200]}")
        for z, text in zip(depth, texts, strict=True)
        if text.strip()
    ][:MOST_ITEMS]


def _suspect(heading: str, raw: NDArray[np.float64]) -> list[Finding]:
    """Report numbers that look like a void; AGS knows only the empty field, so they stay."""
    looks = np.isin(raw, (*SENTINELS, 999.0, 9999.0, 99999.0))
    if not looks.any():
        return []
    text = (
        f"{heading} holds {raw[looks][0]:g} {int(looks.sum())} times; kept, as AGS has no such void"
    )
    return [Finding("void-suspected", Severity.CAUTION, text, "an empty field where a value lacks")]

"""Writing GEF-CPT: what it asks for, what it cannot carry, the file and its dissipation tests."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import PurePath

import numpy as np

from pushproof import __version__
from pushproof.formats.contract import Content, Field, Given, Loss, Missing, sounding_of
from pushproof.formats.gef.about import Lines, about, changed_texts, texts_lost
from pushproof.formats.gef.columns import DISSIPATION, QUANTITY
from pushproof.formats.lost import losses_of, lost_columns, wanted
from pushproof.formats.outgoing import in_unit, places, series_of
from pushproof.formats.precision import decimals, fixed, plain
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation, Sounding

FIELDS = (
    Field(
        "producer", "who makes this file (COMPANYID, FILEOWNER)", "the one of a GEF it came from"
    ),
    Field("issue_date", "date of this file (FILEDATE)", "today"),
    Field("length", "depth: the depth is the penetration length, the rods taken as vertical"),
)
_PLACES = {
    "x": "XYID",
    "y": "XYID",
    "crs": "XYID",
    "level": "ZID",
    "datum": "ZID",
    "project": "PROJECTID",
    "started": "STARTDATE",
    "cone_model": "MEASUREMENTTEXT 4",
    "standard": "MEASUREMENTTEXT 6",
    "zero": "MEASUREMENTTEXT 9",
    "tip_area": "MEASUREMENTVAR 1",
    "sleeve_area": "MEASUREMENTVAR 2",
    "area_ratio": "MEASUREMENTVAR 3",
    "tip_to_mid_sleeve": "MEASUREMENTVAR 5",
}
_CARRIES = frozenset(
    {"tests", "test-starts", "predrilled", "standard", "class", "started", "project", "client"}
    | {"place", "position", "level", "datum", "depth-zero", "water-depth", "model", "tip-area"}
    | {"tip-diameter", "area-ratio", "sleeve-area", "sleeve-diameter", "sleeve-end-ratio"}
    | {"mid-sleeve", "zeros", "removed", "stop", "degrees", "serial"}
)
_IN_WORDS = {
    "rig": "MEASUREMENTTEXT 5",
    "water": "a #COMMENT",
    "water-remark": "a #COMMENT",
    "operator": "a #COMMENT",
}
_NUMBER = {key: number for number, (key, _) in reversed(QUANTITY.items())} | {
    "tilt_x": 21,
    "tilt_y": 22,
}
"""Vocabulary key to quantity number."""
_UNIT = {number: unit for number, (_, unit) in QUANTITY.items()}


class GefWriting:
    """The writing half of GEF-CPT."""

    many = False
    fields = FIELDS

    def missing(self, contents: Sequence[Content], given: Given) -> list[Missing]:
        """Return what the format asks for and nobody gave."""
        found = []
        for one in contents:
            sounding = sounding_of(one)
            if not given.get("producer") and not _source_line(sounding, "COMPANYID"):
                found.append(Missing("producer", FIELDS[0].words))
            if "length" not in _columns(one, given):
                words = "penetration length, column 1; length=depth takes the rods as vertical"
                found.append(Missing("length", words, True, sounding.name))
            found += wanted(sounding, _PLACES)
        return found

    def losses(self, contents: Sequence[Content], given: Given) -> list[Loss]:
        """Return what the file will not hold, or not as it was."""
        found: list[Loss] = []
        for one in contents:
            sounding = sounding_of(one)
            series = series_of(one)
            kept = _columns(one, given)
            found += lost_columns([series], kept, lambda _: "GEF has no quantity number for it")
            for key, place in zip(kept, range(1, len(kept) + 1), strict=True):
                if key in series.extras and key != f"column {place}":
                    what = f"that {key} is called so"
                    found.append(Loss(what, f"it comes back as column {place}", (key,)))
            found += texts_lost(sounding)
            for test in sounding.dissipations:
                why = "a GEF dissipation test has time, qc, u1, u2 and u3"
                known = {key for key, _ in DISSIPATION.values()}
                found += lost_columns([test.readings], known, lambda _, why=why: why)  # type: ignore[misc]
        found += losses_of(contents, title="GEF", carries=_CARRIES, in_words=_IN_WORDS)
        return list(dict.fromkeys(found))

    def encode(self, contents: Sequence[Content], name: str, given: Given) -> dict[str, bytes]:
        """Return the file, and one beside it for each dissipation test.

        Raises
        ------
        ValueError
            If a field cannot be used.
        """
        (content,) = contents
        sounding = sounding_of(content)
        if given.get("length", "depth") != "depth":
            raise ValueError(f"length is {given['length']!r}; the only choice is depth")
        stem = PurePath(name).stem
        children = [f"{stem}_dis{i}.gef" for i in range(1, len(sounding.dissipations) + 1)]
        lines = _head(sounding, given, "GEF-CPT-Report, 1, 1, 2")
        for i, (child, test) in enumerate(zip(children, sounding.dissipations, strict=True), 1):
            tail = "m (meter), sondeertrajectlengte, 2, dissipatietest"
            lines.add("CHILD", f"{i}, {child}, {plain(test.depth, 3)}, {tail}")
        rows = _table(lines, content, given)
        about(lines, sounding)
        _comments(lines, content, given)
        if _source(sounding):
            lines.carry(sounding.header)
        files = {name: _bytes(lines, rows)}
        for child, test in zip(children, sounding.dissipations, strict=True):
            files[child] = _child(test, sounding, name, given)
        return files


def _source(sounding: Sounding) -> bool:
    return sounding.source is not None and sounding.source.format == "gef"


def _source_line(sounding: Sounding, word: str) -> str:
    """Return the value of a header line of the GEF file it came from."""
    if not _source(sounding):
        return ""
    return next((one.value for one in sounding.header if one.key == word), "")


def _source_numbers(sounding: Sounding) -> dict[int, int]:
    """Return column to quantity number in the GEF file it came from."""
    found: dict[int, int] = {}
    for one in sounding.header if _source(sounding) else ():
        parts = [part.strip() for part in one.value.split(",", 3)]
        numbered = len(parts) == 4 and parts[0].isdecimal() and parts[3].isdecimal()
        if one.key == "COLUMNINFO" and numbered:
            found.setdefault(int(parts[0]), int(parts[3]))
    return found


def _columns(content: Content, given: Given) -> dict[str, int]:
    """Return key to quantity number of the columns that are written, in their order."""
    series, sounding = series_of(content), sounding_of(content)
    numbers = _source_numbers(sounding)
    at = {QUANTITY[n][0]: n for n in reversed(numbers.values()) if n in QUANTITY}
    found: dict[str, int] = {}
    for key in series:
        if key in _NUMBER:
            found[key] = at.get(key, _NUMBER[key])
        elif key in series.extras and not isinstance(content, Interpretation):
            place = re.fullmatch(r"column (\d+)", key)
            found[key] = numbers.get(int(place[1]), 0) if place else 0
    if not series.measured("length"):
        found.pop("length", None)
    if "length" not in found and given.get("length") == "depth" and series.measured("depth"):
        found = {"length": 1, **found}
    return found


def _head(sounding: Sounding, given: Given, report: str) -> Lines:
    lines = Lines()
    lines.add("GEFID", "1, 1, 0")
    lines.add("REPORTCODE", report)
    day = date.fromisoformat(given["issue_date"]) if "issue_date" in given else date.today()
    lines.add("FILEDATE", f"{day.year}, {day.month:02d}, {day.day:02d}")
    producer = given.get("producer")
    if producer:
        lines.add("FILEOWNER", changed_texts(producer))
        lines.add("COMPANYID", f"{changed_texts(producer)}, -, -")
    else:
        owner = _source_line(sounding, "FILEOWNER")
        lines.add("FILEOWNER", owner or "-")
        lines.add("COMPANYID", _source_line(sounding, "COMPANYID"))
    return lines


def _table(lines: Lines, content: Content, given: Given) -> list[str]:
    """Add the lines that describe the columns; return the rows."""
    series = series_of(content)
    texts: list[list[str]] = []
    columns = _columns(content, given)
    lines.add("DATAFORMAT", "ASCII")
    lines.add("COLUMN", str(len(columns)))
    voids = []
    for index, (key, number) in enumerate(columns.items(), start=1):
        source = "depth" if key == "length" and key not in series else key
        if key == "length" and not series.measured("length"):
            source = "depth"
        row = series.quantity(source)
        stated = row.display_unit if source in series.extras else _UNIT[number]
        values = in_unit(series, source, stated)
        count = places(content, source, stated)
        # the name of a column stands between commas
        name = changed_texts(row.name)
        lines.add("COLUMNINFO", f"{index}, {changed_texts(stated)}, {name}, {number}")
        column, void = _texts(values, count)
        texts.append(column)
        voids.append(void)
    return _scan(lines, texts, voids)


def _scan(lines: Lines, texts: list[list[str]], voids: list[str]) -> list[str]:
    """Add what stands for no value in each column, and return the rows."""
    for index, void in enumerate(voids, start=1):
        lines.add("COLUMNVOID", f"{index}, {void}")
    rows = [" ".join(row) for row in zip(*texts, strict=True)]
    lines.add("LASTSCAN", str(len(rows)))
    return rows


def _texts(
    values: np.ndarray[tuple[int, ...], np.dtype[np.float64]], count: int
) -> tuple[list[str], str]:
    """Return a column as text and the number that stands for no value in it."""
    known = np.abs(values[np.isfinite(values)])
    size = max(5, len(str(int(known.max() * 10))) if known.size else 0)
    void = f"{-(10**size - 1):.{count}f}"
    texts = fixed(values, count)
    return texts if len(known) == len(values) else [text or void for text in texts], void


def _comments(lines: Lines, content: Content, given: Given) -> None:
    """Add remarks for what has no numbered line."""
    sounding = sounding_of(content)
    series = series_of(content)
    if not series.measured("length") and given.get("length") == "depth":
        lines.add("COMMENT", "the penetration length is the depth: no tilt is known")
    if sounding.water:
        remark = f", {sounding.water.remark}" if sounding.water.remark else ""
        words = f"water level {plain(sounding.water.level)} m below zero of depth"
        lines.add("COMMENT", changed_texts(f"{words} ({sounding.water.origin.value}{remark})"))
    if sounding.operator:
        lines.add("COMMENT", changed_texts(f"operator {sounding.operator}"))
    if isinstance(content, Interpretation):
        lines.add("COMMENT", changed_texts(_derived(content)))
    lines.add("COMMENT", f"written by Pushproof {__version__}")


def _derived(results: Interpretation) -> str:
    named = [f"{key} by {results.methods[key]}" for key in results.methods if key in _NUMBER]
    recipe = results.profile.recipe
    edits = [f"{one.kind} ({one.reason})" for one in recipe.corrections]
    edits += [f"blanked {one.top:g} to {one.base:g} m ({one.reason})" for one in recipe.blanked]
    parts = [
        f"corrected and derived values by Pushproof {__version__}",
        f"recipe {recipe.fingerprint()[:12]}",
        *named,
        *(f"assumed: {one.text}" for one in results.assumptions if one.concerns(_NUMBER)),
        *(f"edited: {one}" for one in edits),
        "estimates for the judgement of a qualified engineer",
    ]
    return "; ".join(parts)


def _child(test: Dissipation, sounding: Sounding, parent: str, given: Given) -> bytes:
    lines = _head(sounding, given, "GEF-DISS-Report, 1, 0, 0")
    depth = plain(test.depth, 3)
    tail = "m (meter), sondeertrajectlengte, 1, sondering"
    lines.add("PARENT", f"1, {parent}, {depth}, {tail}")
    rows = _test_table(lines, test.readings)
    about(lines, sounding, start=test.start)
    return _bytes(lines, rows)


def _test_table(lines: Lines, series: Series) -> list[str]:
    names: Mapping[str, int] = {key: number for number, (key, _) in DISSIPATION.items()}
    columns = [key for key in series if key in names]
    lines.add("DATAFORMAT", "ASCII")
    lines.add("COLUMN", str(len(columns)))
    texts, voids = [], []
    for index, key in enumerate(columns, start=1):
        stated = DISSIPATION[names[key]][1]
        values = in_unit(series, key, stated)
        lines.add("COLUMNINFO", f"{index}, {stated}, {QUANTITIES[key].name}, {names[key]}")
        column, void = _texts(values, decimals(values))
        texts.append(column)
        voids.append(void)
    return _scan(lines, texts, voids)


def _bytes(lines: Lines, rows: list[str]) -> bytes:
    return ("\r\n".join([*lines.texts(), "#EOH=", *rows]) + "\r\n").encode()

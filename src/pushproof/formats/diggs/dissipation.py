"""Dissipation tests of DIGGS: the time series, and the single values reported beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pushproof.errors import FormatError
from pushproof.formats.diggs.metadata import filter_place, started
from pushproof.formats.diggs.places import Links
from pushproof.formats.diggs.properties import REPORTED, properties, unit_of
from pushproof.formats.diggs.results import Place, numbers_in, series_of, table
from pushproof.formats.numbers import parse_number
from pushproof.formats.xmltree import find, find_all, items, line_of, text_of
from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import Dissipation, HeaderItem
from pushproof.model.units import unit

if TYPE_CHECKING:
    from lxml.etree import _Element

LISTS = frozenset({"dataValues", "posList", "timeIntervalList"})
"""Elements that hold tables; they do not travel as header lines."""


def dissipation(
    test: _Element, feature: _Element | None, links: Links, place: Place
) -> tuple[Dissipation | None, list[Finding]]:
    """Return a dissipation test, or None with the reason where it cannot be used.

    Raises
    ------
    FormatError
        If times and values differ in number, unless it is salvaged.
    """
    findings: list[Finding] = []
    depth = _depth(test, feature, links, findings)
    series = find(test, "DissipationTimeSeriesResult")
    series = find(test, "TemporalResult") if series is None else series
    times = find(series, "timeIntervalList") if series is not None else None
    if series is None or times is None or depth is None:
        lacks = "depth" if depth is None else "series of times"
        return None, [*findings, _left_out(test, f"has no {lacks}")]
    results = next(series.iter("{*}PpdResultSet", "{*}ResultSet"), None)
    columns = properties(results, findings) if results is not None else []
    if results is None or not columns:
        return None, [*findings, _left_out(test, "says of no column what it is")]
    clock = numbers_in(times, "times", place, findings) * _seconds(times, findings)
    try:
        values, block = table(results, len(columns), place)
    except FormatError:
        if not place.salvage:
            raise
        return None, [*findings, _left_out(test, "has no values that can be read")]
    first = ("time", clock)
    readings, more = series_of(columns, values, block, first, filter_place(test), place)
    if not np.isfinite(clock).any():
        return None, [*findings, *more, _left_out(test, "has no time that is a number")]
    told = _reported(test, series, place, findings)
    begun = started(test, None)
    header = (*items(test, LISTS), *told)
    return Dissipation(depth=depth, readings=readings, start=begun, header=header), [
        *findings,
        *more,
    ]


def _left_out(test: _Element, why: str) -> Finding:
    name = text_of(test, "name")[:60]
    text = f"the dissipation test {name!r} {why}; left out"
    return Finding("dissipation-unreadable", Severity.CAUTION, text, line=line_of(test))


def _depth(
    test: _Element, feature: _Element | None, links: Links, findings: list[Finding]
) -> float | None:
    point = find(test, "outcome", "PointLocation", "pos")
    if point is None:
        return None
    try:
        value = parse_number(point.text or "")
    except ValueError:
        return None
    if value != value:
        return None
    return value * links.linear_unit(point, feature, findings)


def _seconds(times: _Element, findings: list[Finding]) -> float:
    """Return the length [s] of the unit in which times count."""
    above = times.getparent()
    stated = (above.get("unit") or "") if above is not None else ""
    found = unit(stated) if stated else None
    if found is not None and found.inside == "s":
        return found.factor
    text = (
        f"the unit of time is {stated!r}; taken as seconds"
        if stated
        else ("the times have no unit; taken as seconds")
    )
    findings.append(
        Finding("unit-unknown", Severity.CAUTION, text, "second, minute, hour", line=line_of(times))
    )
    return 1.0


def _reported(
    test: _Element, series: _Element, place: Place, findings: list[Finding]
) -> list[HeaderItem]:
    """Return the values that the file reports of a test, each with its unit, as header lines.

    They are the word of the file; nothing is computed from them.
    """
    told: list[HeaderItem] = []
    inside = set(series.iter("{*}ResultSet"))
    for result in find_all(test, "ResultSet"):
        columns = properties(result, findings) if result not in inside else []
        if not columns:
            continue
        try:
            values, block = table(result, len(columns), place)
        except FormatError:
            continue
        for i, one in enumerate(columns):
            value = float(block.values[0, i]) if len(block.values) else float("nan")
            text = "" if value in one.voids else _text(value)
            stated = unit_of(one, REPORTED[one.code], findings) if one.code in REPORTED else one.uom
            if text:
                key = f"reported {one.code or one.name} [{stated or '-'}]"
                told.append(HeaderItem(key=key, value=text, line=line_of(values)))
    return told


def _text(value: float) -> str:
    return "" if value != value else f"{value:.10g}"

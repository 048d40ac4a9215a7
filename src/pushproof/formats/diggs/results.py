"""Results of DIGGS: lists of depths or times and the columns beside them, to series."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import FormatError
from pushproof.formats.columns import add_column
from pushproof.formats.diggs.properties import Property, assumed_unit, key_of, unit_of
from pushproof.formats.numbers import SENTINELS, Block, parse_column
from pushproof.formats.xmlrecords import line_of_row, records, rows_in
from pushproof.formats.xmltree import find, line_of
from pushproof.model.findings import Finding, Severity
from pushproof.model.quantities import QUANTITIES
from pushproof.model.series import Series
from pushproof.model.units import unit

if TYPE_CHECKING:
    from lxml.etree import _Element


@dataclass(frozen=True)
class Place:
    """Where a result stands: the file, whether a damaged one is read as far as it goes, and in
    which element it is cut.
    """

    path: Path
    salvage: bool
    cut: _Element | None = None


def numbers_in(
    element: _Element, what: str, place: Place, findings: list[Finding]
) -> NDArray[np.float64]:
    """Return the numbers of a list separated by white space; one that is none is missing."""
    texts = rows_in(element.text or "", " ", cut=element is place.cut)
    values, unreadable = parse_column(texts)
    bad = np.flatnonzero(unreadable)
    if bad.size:
        text = f"{bad.size} of the {what} are no number, such as {texts[bad[0]][:20]!r}"
        line = line_of_row(element, int(bad[0]))
        findings.append(Finding("field-unreadable", Severity.CAUTION, text, line=line))
    return values


def table(result: _Element, columns: int, place: Place) -> tuple[_Element, Block]:
    """Parse the values of a result set by the separators that it names.

    Raises
    ------
    FormatError
        If there are none, or they do not make rows.
    """
    values = find(result, "dataValues")
    text = (values.text or "").strip() if values is not None else ""
    if values is None or not text:
        raise FormatError("a result holds no values", path=place.path, line=line_of(result))
    comma = (values.get("cs") or "").strip()
    mark = (values.get("ts") or " ").strip() or " "
    decimal = values.get("decimal") or "."
    decimal = decimal if decimal in (".", ",") else "."
    if not comma and columns > 1 and mark == " " and "," in text and decimal == ".":
        comma = ","
    rows = rows_in(text, mark, cut=values is place.cut)
    if comma and mark == " " and text.count(comma) != len(rows) * (columns - 1):
        # a row broken at its comma goes on in the next line
        text = re.sub(rf"\s*{re.escape(comma)}\s*", comma, text)
        rows = rows_in(text, mark, cut=values is place.cut)
    if not comma and columns > 1:
        rows = _in_rows(rows, columns, values, place)
    return values, records(values, rows, columns, comma or None, decimal, mark)


def _in_rows(tokens: list[str], columns: int, values: _Element, place: Place) -> list[str]:
    """Join a flat list of numbers to rows."""
    if len(tokens) % columns and not place.salvage:
        raise FormatError(
            f"{len(tokens)} values do not make rows of {columns}; the file is cut or damaged. Try "
            "to read what is left with --salvage",
            path=place.path,
            line=line_of(values),
        )
    whole = len(tokens) - len(tokens) % columns
    return [" ".join(tokens[i : i + columns]) for i in range(0, whole, columns)]


def series_of(
    columns: list[Property],
    values: _Element,
    block: Block,
    first: tuple[str, NDArray[np.float64]],
    filter_place: str,
    place: Place,
) -> tuple[Series, list[Finding]]:
    """Return a series of a result: the list of places or times, then its columns.

    Parameters
    ----------
    columns
        Its properties in order.
    values, block
        The element of the values and what was parsed of it.
    first
        Key and values of the list beside, in the inside unit.
    filter_place
        Words of the cone that may say where the filter is.
    place
        Where it stands.

    Raises
    ------
    FormatError
        If the list and the rows differ in number, unless it is salvaged.
    """
    findings = list(block.findings)
    key, positions = first
    count = min(len(positions), len(block.values))
    if len(positions) != len(block.values):
        what = {"length": "depths", "depth": "depths", "time": "times"}[key]
        text = f"there are {len(positions)} {what} and {len(block.values)} rows of values"
        if not place.salvage:
            raise FormatError(
                f"{text}; rows cannot be placed. Try to read what is left with --salvage",
                path=place.path,
                line=line_of(values),
            )
        findings.append(
            Finding(
                "rows-cut",
                Severity.STOP,
                f"{text}; the first {count} are taken together",
                "as many of both",
                line=line_of(values),
            )
        )
    series = Series().with_column(key, positions[:count])
    for i, one in enumerate(columns):
        raw = block.values[:count, i]
        unreadable = block.unreadable[:count, i]
        series = _add(series, i, one, (raw, unreadable), filter_place, findings)
    return series, findings


def _add(
    series: Series,
    index: int,
    one: Property,
    column: tuple[NDArray[np.float64], NDArray[np.bool_]],
    filter_place: str,
    findings: list[Finding],
) -> Series:
    raw, unreadable = column
    key = key_of(one, filter_place, findings)
    if key is not None and key in series:
        text = f"a second column is {key} ({one.name!r}); kept aside as found"
        findings.append(Finding("column-twice", Severity.INFO, text, channel=key, line=one.line))
    stated = one.uom
    if key is not None:
        stated = unit_of(one, QUANTITIES[key].unit, findings)
        stated = stated or assumed_unit(one, key, raw, findings)
        if unit(stated) is None:
            text = f"the unit {stated!r} of {one.name!r} ({key}) is not known; kept aside as found"
            expected = f"a unit of {QUANTITIES[key].unit}"
            findings.append(
                Finding(
                    "unit-unknown", Severity.CAUTION, text, expected, channel=key, line=one.line
                )
            )
            key = None
    undeclared = [v for v in SENTINELS if v not in one.voids and bool((raw == v).any())]
    if undeclared:
        text = f"{one.name!r} holds {undeclared[0]:g}, which no nullValue names; taken as void"
        findings.append(Finding("void-not-declared", Severity.CAUTION, text, line=one.line))
    series, more = add_column(
        series,
        key,
        one.name,
        raw,
        stated,
        unreadable=unreadable,
        voids=(*one.voids, *undeclared),
        where=f"property {index + 1} ({one.name})",
        line=one.line,
    )
    findings += more
    return series

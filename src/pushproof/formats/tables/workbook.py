"""A workbook of one sounding: the sheets and what is on them."""

from __future__ import annotations

from typing import Any

import numpy as np

from pushproof.formats.contract import Content, sounding_of
from pushproof.formats.outgoing import in_unit, places, series_of
from pushproof.formats.precision import clean, plain
from pushproof.formats.tables import about
from pushproof.formats.workbooks import bold, new_workbook, packed
from pushproof.model.findings import Finding, by_severity
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES, Kind
from pushproof.model.series import Series
from pushproof.model.units import factor_to_display

DERIVED = (Kind.STRESS, Kind.DERIVED)
OURS = ("derived", "bands", "findings", "units")
"""Sheets that hold no readings; a reader passes them over."""


def workbook(content: Content, *, bands: bool = False) -> bytes:
    """Return the workbook; the same content gives the same bytes.

    Parameters
    ----------
    content
        What is handed over.
    bands
        Add the bands of derived values, which are computed for it.
    """
    book = new_workbook()
    keys = about.order(content)
    _about(book, content)
    series = series_of(content)
    derived = [key for key in keys if series.quantity(key).kind in DERIVED and _results(content)]
    _table(book, "readings", content, [key for key in keys if key not in derived])
    for test in sounding_of(content).dissipations:
        _test(book, test.depth, test.readings)
    if derived:
        position = [key for key in ("length", "depth") if key in keys]
        _table(book, "derived", content, [*position, *derived])
    if bands and isinstance(content, Interpretation):
        _bands(book, content)
    _findings(book, content)
    _units(book, content, keys)
    return packed(book)


def _results(content: Content) -> bool:
    return isinstance(content, Interpretation)


def _about(book: Any, content: Content) -> None:
    sheet = book.create_sheet("about")
    sheet.column_dimensions["A"].width = 30
    sheet.column_dimensions["B"].width = 110
    for label, text in about.pairs(content):
        sheet.append([label, text])


def _table(book: Any, title: str, content: Content, keys: list[str]) -> None:
    from pushproof.formats.tables.writing import headings_of

    series = series_of(content)
    sheet = book.create_sheet(title)
    sheet.freeze_panes = "A3"
    sheet.append(bold(sheet, headings_of(content, keys)))
    sheet.append(keys)
    arrays = []
    for key in keys:
        stated = series.quantity(key).display_unit
        count = places(content, key, stated)
        arrays.append((np.round(in_unit(series, key, stated), count) + 0.0).tolist())
    for row in zip(*arrays, strict=True):
        sheet.append([None if value != value else value for value in row])


def _test(book: Any, depth: float, series: Series) -> None:
    title = f"dissipation {plain(depth)} m"
    taken = {sheet.title for sheet in book.worksheets}
    number = 2
    while title in taken:
        title = f"dissipation {plain(depth)} m ({number})"
        number += 1
    sheet = book.create_sheet(title)
    keys = [key for key in ("time", "qc", "u1", "u2", "u3") if key in series]
    sheet.append(["depth [m]", depth])
    sheet.append([])
    sheet.append(bold(sheet, [QUANTITIES[key].heading for key in keys]))
    sheet.append(keys)
    shown = [clean(in_unit(series, key, QUANTITIES[key].display_unit)).tolist() for key in keys]
    for row in zip(*shown, strict=True):
        sheet.append([None if value != value else value for value in row])


def _bands(book: Any, content: Interpretation) -> None:
    """Add p10, p50 and p90 of the derived values, in display units."""
    from pushproof.interpretation import bands

    found = bands(content)
    position = [key for key in ("length", "depth") if content.series.measured(key)]
    sheet = book.create_sheet("bands")
    sheet.append([found.words])
    headings = [QUANTITIES[key].heading for key in position]
    columns = [clean(content.series[key]) for key in position]
    for key, band in found.items():
        row = QUANTITIES[key]
        for name, values in (("p10", band.p10), ("p50", band.p50), ("p90", band.p90)):
            headings.append(f"{row.symbol} {name} [{row.display_unit}]")
            columns.append(np.round(values * factor_to_display(key), row.decimals + 1))
    sheet.append(bold(sheet, headings))
    for line in zip(*(column.tolist() for column in columns), strict=True):
        sheet.append([None if value != value else value for value in line])


def _findings(book: Any, content: Content) -> None:
    found: tuple[Finding, ...] = content.findings
    sheet = book.create_sheet("findings")
    sheet.column_dimensions["C"].width = 90
    sheet.append(bold(sheet, ["severity", "where", "found", "expected", "source", "id"]))
    for one in by_severity(found):
        row = [one.severity.word, one.where, one.found, one.expected, one.source, one.id]
        sheet.append([about.line(text) for text in row])


def _units(book: Any, content: Content, keys: list[str]) -> None:
    series = series_of(content)
    sheet = book.create_sheet("units")
    sheet.column_dimensions["C"].width = 50
    sheet.append(bold(sheet, ["key", "symbol", "name", "unit", "positive is"]))
    for key in keys:
        row = series.quantity(key)
        sheet.append([key, row.symbol, row.name, row.display_unit, row.sign])

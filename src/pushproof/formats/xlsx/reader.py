"""The xlsx format: detect, and from sheets to soundings."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from pushproof.errors import ConfigurationError, FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.delimited.metadata import metadata
from pushproof.formats.delimited.names import fold, header_field
from pushproof.formats.delimited.reader import TextTable
from pushproof.formats.source import source_file
from pushproof.formats.tables.workbook import OURS
from pushproof.formats.tables.writing import XlsxWriting
from pushproof.formats.xlsx.book import Sheet, sheets
from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation, Sounding

_PLAIN_TITLE = re.compile(
    r"^(sheet|blad|tabelle|feuil|feuille|values|readings|data|table)\s*\d*$", re.IGNORECASE
)
_MADE = "made by\tPushproof"
_DEPTH = re.compile(r"(\d+(?:[.,]\d+)?)\s*m\b", re.IGNORECASE)


class XlsxFormat(XlsxWriting):
    """Workbooks with a table for each sounding."""

    name = "xlsx"
    title = "Excel workbook"
    suffixes: tuple[str, ...] = (".xlsx", ".xlsm")

    def detect(self, path: Path, head: bytes) -> float:
        """Return how sure it is that this is a workbook."""
        if head.startswith(b"PK\x03\x04"):
            return 1.0 if b"xl/" in head or path.suffix.lower() in self.suffixes else 0.5
        old = head.startswith(b"\xd0\xcf\x11\xe0")
        return 0.5 if old else 0.0

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return the sounding of each sheet that holds a table with a depth.

        Raises
        ------
        FormatError
            If it is no workbook, is damaged, or no sheet holds a sounding.
        ConfigurationError
            If the given column mapping cannot be used.
        """
        data, found = sheets(path, options)
        book = _Book(path, options.columns)
        for sheet in found:
            book.take(sheet)
        source = source_file(path, data, self.name)
        return [replace(one, source=source) for one in book.soundings()]


@dataclass
class _Table:
    """A sheet with a depth: what was read of it and the tests that follow it."""

    title: str
    table: TextTable
    series: Series
    findings: list[Finding]
    tests: list[Dissipation] = field(default_factory=list)


@dataclass
class _Book:
    """The sheets of a workbook as they are taken: tables, tests and pairs."""

    path: Path
    columns: str
    tables: list[_Table] = field(default_factory=list)
    pairs: list[tuple[int, str]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def take(self, sheet: Sheet) -> None:
        """Take one sheet for what it is."""
        if not any(line.strip() for line in sheet.lines):
            return
        if sheet.title in OURS and any(line.startswith(_MADE) for _, line in self.pairs):
            return  # what was derived is no reading
        try:
            table = TextTable.from_lines(sheet.lines, self.path, self.columns)
        except FormatError:
            self.pairs += header_lines(list(enumerate(sheet.lines, start=1)))
            return
        except ConfigurationError as error:
            self.faults.append(f"sheet {sheet.title!r}: {error}")
            return
        series, findings = table.series()
        findings = [*table.block.findings, *findings]
        if series.measured("length") or series.measured("depth"):
            self.tables.append(_Table(sheet.title, table, series, findings))
        elif series.measured("time") and self.tables:
            self._take_test(sheet, table, series)
        else:
            self._passed_over(sheet, "no column is a depth or a penetration length")

    def _take_test(self, sheet: Sheet, table: TextTable, series: Series) -> None:
        depth = test_depth(sheet.title, table.header())
        if depth is None:
            self._passed_over(sheet, "it is a dissipation test, but nothing says its depth")
            return
        self.tables[-1].tests.append(Dissipation(depth=depth, readings=series))

    def _passed_over(self, sheet: Sheet, why: str) -> None:
        text = f"sheet {sheet.title!r} is passed over: {why}"
        self.findings.append(Finding("sheet-passed-over", Severity.INFO, text))
        self.faults.append(f"sheet {sheet.title!r}: {why}")

    def soundings(self) -> list[Sounding]:
        """Return a sounding for each table, or several where a column names them."""
        if not self.tables:
            if self.faults and "columns:" in self.faults[0]:
                raise ConfigurationError(self.faults[0])
            why = "; ".join(self.faults[:5]) or (
                "no sheet has a table of numbers (formulas without stored values are not computed)"
            )
            raise FormatError(f"no sheet holds a sounding: {why}", path=self.path)
        found: list[Sounding] = []
        for one in self.tables:
            found += self._of(one)
        return found

    def _of(self, one: _Table) -> list[Sounding]:
        own = header_lines(one.table.header())
        about: dict[str, Any] = metadata([*own, *self.pairs], self.path)
        name = about["name"]
        named = any(header_field(item.key) == ("name", "") for item in about["header"])
        if not named and not _PLAIN_TITLE.match(one.title):
            name = one.title
        many = len(self.tables) > 1
        notes = [*one.findings, *about.pop("findings")]
        if many:
            notes = [replace(f, found=f"sheet {one.title!r}: {f.found}") for f in notes]
            if any(fold(other.title) == fold(name) for other in self.tables if other is not one):
                name = one.title
        parts = one.table.parts()
        return [
            Sounding(
                **{**about, "name": part or name},
                readings=one.series.take(rows),
                dissipations=tuple(one.tests) if len(parts) == 1 else (),
                findings=(*notes, *self.findings),
            )
            for part, rows in parts
        ]


def header_lines(lines: list[tuple[int, str]]) -> list[tuple[int, str]]:
    """Return rows above a table as pairs of label and value, one for each line of text.

    A row may hold several pairs side by side, or an empty cell between a label and its value.
    """
    found: list[tuple[int, str]] = []
    for number, line in lines:
        cells = [cell for cell in line.split("\t") if cell.strip()]
        if len(cells) > 2 and len(cells) % 2 == 0:
            pairs = zip(cells[::2], cells[1::2], strict=True)
            found += [(number, f"{label}\t{value}") for label, value in pairs]
        else:
            found.append((number, "\t".join(cells)))
    return found


def test_depth(title: str, lines: list[tuple[int, str]]) -> float | None:
    """Return the depth [m] of a dissipation test, from a line above its table or its title."""
    for _, line in header_lines(lines):
        label, _, value = line.partition("\t")
        if "depth" in label.lower() or "diepte" in label.lower() or "tiefe" in label.lower():
            try:
                depth = float(value.split()[0].replace(",", "."))
            except (ValueError, IndexError):
                continue
            return depth if np.isfinite(depth) else None
    said = _DEPTH.search(title)
    return float(said[1].replace(",", ".")) if said else None

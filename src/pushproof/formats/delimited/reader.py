"""Reads delimited text: finds the table, maps the columns, keeps everything else."""

from __future__ import annotations

from pathlib import Path
from typing import Self

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.delimited.mapping import ColumnGuess, guess, said
from pushproof.formats.delimited.metadata import metadata
from pushproof.formats.delimited.names import NAME_COLUMNS, fold
from pushproof.formats.delimited.series import each_sounding, need_depth, to_series
from pushproof.formats.delimited.structure import (
    MOST_COLUMNS,
    SEPARATORS,
    Structure,
    find_structure,
)
from pushproof.formats.numbers import Block, parse_block, split_row
from pushproof.formats.source import source_file
from pushproof.formats.tables.writing import DelimitedWriting
from pushproof.formats.text import Text, decode, looks_binary, read_bytes
from pushproof.model.findings import Finding
from pushproof.model.series import Series
from pushproof.model.sounding import HeaderItem, Sounding

SAMPLE = 500
"""Rows looked at to guess units."""
MOST_NAMES = 5000
"""Soundings in one table; more are no names."""


class DelimitedFormat(DelimitedWriting):
    """Text tables: comma, tab, semicolon, bar or spaces."""

    name = "delimited"
    title = "delimited text"
    suffixes: tuple[str, ...] = (".csv", ".txt", ".tsv", ".dat", ".asc", ".cpt", ".prn")

    def detect(self, path: Path, head: bytes) -> float:
        """Return how sure it is that this is a text table; low, since any text may be one."""
        if looks_binary(head) or head.lstrip()[:1] in (b"<", b"{"):
            return 0.0
        return 0.4 if path.suffix.lower() in self.suffixes else 0.1

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return the sounding of a text table, or several where a column names them.

        Raises
        ------
        FormatError
            If there is no table, or no column is a depth or a length.
        ConfigurationError
            If the given column mapping cannot be used.
        """
        data = read_bytes(path, options.max_bytes)
        table = TextTable(data, path, options.columns)
        series, findings = table.series()
        need_depth(series, table.structure.heading, path, table.structure.above + 1)
        about = metadata(table.header(), path)
        source = source_file(path, data, self.name, table.encoding)
        notes = (*table.block.findings, *findings, *about.pop("findings"))
        return each_sounding(table.parts(), series, about, source, notes)


def guess_columns(path: str | Path, columns: str = "") -> list[ColumnGuess]:
    """Return what each column of a text table is taken for, without reading all of it.

    Raises
    ------
    FormatError
        If there is no table.
    ConfigurationError
        If the given mapping cannot be used.
    """
    path = Path(path)
    with path.open("rb") as file:
        head = file.read(1 << 20)
    if len(head) == 1 << 20:
        head = head[: head.rfind(b"\n") + 1] or head
    return TextTable(head, path, columns).guesses


class TextTable:
    """One text table, cut into header, heading and rows.

    Raises
    ------
    FormatError
        If the bytes are no text or hold no table.
    ConfigurationError
        If the given column mapping cannot be used.
    """

    def __init__(self, data: bytes, path: Path, columns: str):
        text: Text = decode(data, path)
        self.encoding = text.encoding
        self._read(text.text.splitlines(), path, columns)

    @classmethod
    def from_lines(cls, lines: list[str], path: Path, columns: str) -> Self:
        """Return the table in lines of text with a tab between fields, as of a sheet."""
        table = cls.__new__(cls)
        table.encoding = ""
        table._read(lines, path, columns, ("\t",))
        return table

    def _read(
        self,
        lines: list[str],
        path: Path,
        columns: str,
        separators: tuple[str | None, ...] = SEPARATORS,
    ) -> None:
        self.lines = lines
        self.names: dict[int, str] | None = None
        self.name_column = 0
        self.structure: Structure = find_structure(lines, path, separators)
        if self.structure.columns > MOST_COLUMNS:
            raise FormatError(
                f"the table has {self.structure.columns} columns; this is no sounding",
                path=path,
                line=self.structure.first + 1,
            )
        rows = self.lines[self.structure.first :]
        while rows and not rows[-1].strip():
            rows.pop()
        self.comments = [
            HeaderItem(key="", value=row.strip()[:500], line=self.structure.first + i + 1)
            for i, row in enumerate(rows)
            if row.startswith("#")
        ]
        if self.comments:
            rows = ["" if row.startswith("#") else row for row in rows]
        rows = self._take_names(rows)
        self.block: Block = parse_block(
            rows,
            self.structure.first + 1,
            self.structure.columns,
            self.structure.separator,
            self.structure.decimal,
        )
        sample = self.block.values[:SAMPLE]
        guesses = (
            said(columns, self.structure, sample)
            if columns.strip()
            else guess(self.structure, sample)
        )
        self.guesses = [one for one in guesses if one.index != self.name_column]

    def header(self) -> list[tuple[int, str]]:
        """Return the lines above the table with their numbers."""
        above = list(enumerate(self.lines[: self.structure.above], start=1))
        return above + [(item.line or 0, item.value) for item in self.comments]

    def series(self) -> tuple[Series, list[Finding]]:
        """Return the columns and what was assumed about them."""
        block = self.block
        return to_series(self.guesses, block.values, block.unreadable, self.structure.above + 1)

    def parts(self) -> list[tuple[str, NDArray[np.intp]]]:
        """Return the soundings of the table by name, with their rows; one without a name if the
        table does not name several.
        """
        if self.names is None:
            return [("", np.arange(len(self.block.values)))]
        rows: dict[str, list[int]] = {}
        for row, line in enumerate(self.block.line.tolist()):
            rows.setdefault(self.names.get(line, ""), []).append(row)
        return [(name, np.array(found, dtype=np.intp)) for name, found in rows.items()]

    def _take_names(self, rows: list[str]) -> list[str]:
        """Take the names of the soundings out of the rows, if a column holds them."""
        structure = self.structure
        named = {fold(name) for name in NAME_COLUMNS}
        at = next((i for i, h in enumerate(structure.heading) if fold(h) in named), None)
        if at is None or structure.separator is None:
            return rows
        found: dict[int, str] = {}
        changed = []
        for number, row in enumerate(rows, start=structure.first + 1):
            fields = split_row(row, structure.separator)
            if at < len(fields) and row.strip():
                found[number] = fields[at].strip().strip('"').strip()
                fields[at] = "0"
                mark = structure.separator
                row = mark.join(field.replace(mark, " ") for field in fields)
            changed.append(row)
        different = {name for name in found.values() if name}
        if not different or len(different) > max(1, len(found) // 3) or len(different) > MOST_NAMES:
            return rows
        self.names, self.name_column = found, at + 1
        return changed

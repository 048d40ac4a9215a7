"""Reads delimited text: finds the table, maps the columns, keeps everything else."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np

from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.delimited.mapping import ColumnGuess, guess, said
from pushproof.formats.delimited.metadata import metadata
from pushproof.formats.delimited.structure import MOST_COLUMNS, Structure, find_structure
from pushproof.formats.numbers import SENTINELS, Block, parse_block
from pushproof.formats.text import Text, decode, looks_binary, read_bytes
from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Reason, Series, extra_quantity
from pushproof.model.sounding import HeaderItem, Sounding, SourceFile
from pushproof.model.units import to_inside

SAMPLE = 500
"""Rows looked at to guess units."""


class DelimitedFormat:
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
        """Return the one sounding of a text table.

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
        if not {"length", "depth"} & set(series):
            found = ", ".join(repr(h) for h in table.structure.heading) or "no headings"
            raise FormatError(
                f"no column is a depth or a penetration length (found: {found}); name it with "
                '--columns "depth=1:m, qc=2:MPa"',
                path=path,
                line=table.structure.above + 1,
            )
        about = metadata(table.header(), path)
        source = SourceFile(
            name=path.name,
            sha256=hashlib.sha256(data).hexdigest(),
            size=len(data),
            format=self.name,
            encoding=table.text.encoding,
        )
        notes = (*table.block.findings, *findings, *about.pop("findings"))
        return [Sounding(readings=series, source=source, findings=notes, **about)]


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
        self.text: Text = decode(data, path)
        self.lines = self.text.text.splitlines()
        self.structure: Structure = find_structure(self.lines, path)
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
        self.block: Block = parse_block(
            rows,
            self.structure.first + 1,
            self.structure.columns,
            self.structure.separator,
            self.structure.decimal,
        )
        sample = self.block.values[:SAMPLE]
        self.guesses = (
            said(columns, self.structure, sample)
            if columns.strip()
            else guess(self.structure, sample)
        )

    def header(self) -> list[tuple[int, str]]:
        """Return the lines above the table with their numbers."""
        above = list(enumerate(self.lines[: self.structure.above], start=1))
        return above + [(item.line or 0, item.value) for item in self.comments]

    def series(self) -> tuple[Series, list[Finding]]:
        """Return the columns and what was assumed about them."""
        series = Series()
        findings: list[Finding] = []
        for one in self.guesses:
            raw = self.block.values[:, one.index - 1]
            unreadable = self.block.unreadable[:, one.index - 1]
            void = np.isin(raw, SENTINELS)
            if void.any():
                text = f"column {one.index} holds {raw[void][0]:g} {int(void.sum())} times; "
                findings.append(Finding("void-not-declared", Severity.INFO, text + "taken as void"))
                raw = np.where(void, np.nan, raw)
            missing = ~np.isfinite(raw)
            reason = np.where(unreadable, Reason.UNREADABLE, Reason.VOID_IN_FILE)
            reason = np.where(missing, reason, Reason.PRESENT).astype(np.uint8)
            if one.key is None:
                key = f"column {one.index}"
                extra = extra_quantity(key, one.heading or key, one.unit)
                series = series.with_column(key, raw, reason, extra=extra)
                continue
            series = series.with_column(one.key, to_inside(raw, one.unit), reason)
            if one.assumed:
                findings.append(
                    Finding(
                        "column-assumed",
                        Severity.CAUTION,
                        f"column {one.index} {one.heading!r} is taken as {one.key} in {one.unit} "
                        f"({one.how})",
                        "say it with --columns",
                        channel=one.key,
                        line=self.structure.above + 1,
                    )
                )
        return series, findings

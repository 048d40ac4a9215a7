"""Reads a GEF-CPT file and the dissipation children that lie beside it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np

from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.gef.columns import DISSIPATION, to_series
from pushproof.formats.gef.header import Header, column_count, read_header
from pushproof.formats.gef.metadata import Metadata
from pushproof.formats.gef.writer import GefWriting
from pushproof.formats.numbers import Block, parse_block, parse_number
from pushproof.formats.source import source_file
from pushproof.formats.text import decode, read_bytes
from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation, Sounding, SourceFile


class GefFormat(GefWriting):
    """GEF-CPT reports and their dissipation tests."""

    name = "gef"
    title = "GEF-CPT"
    suffixes: tuple[str, ...] = (".gef",)

    def detect(self, path: Path, head: bytes) -> float:
        """Return how sure it is that this is a GEF file."""
        start = head.lstrip(b"\xef\xbb\xbf \t\r\n\"'")
        if start.startswith(b"#GEFID"):
            return 1.0
        if b"#COLUMNINFO" in head or b"#EOH" in head:
            return 0.9
        return 0.3 if path.suffix.lower() in self.suffixes else 0.0

    def edition(self, head: bytes) -> str:
        """Return the edition of the format and of the report that a file names."""
        parts = []
        for word, label in ((rb"GEFID", "GEF"), (rb"(?:REPORT|PROCEDURE)CODE", "report")):
            found = re.search(rb"#\s*" + word + rb"\s*=[^\d\r\n]*([\d ,]+)", head)
            if found:
                parts.append(f"{label} {'.'.join(re.findall('[0-9]+', found[1].decode()))}")
        return ", ".join(parts)

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return the one sounding of a GEF-CPT file.

        Raises
        ------
        FormatError
            If the file is no GEF-CPT report, or has no end of header or no data.
        """
        data = read_bytes(path, options.max_bytes)
        decoded = decode(data, path)
        lines = decoded.text.splitlines()
        header = read_header(lines, path, options.salvage)
        report = header.text("REPORTCODE") or header.text("PROCEDURECODE")
        if "DISS" in report.upper():
            raise FormatError(
                "this is a dissipation test of a sounding; read the GEF-CPT file that names it",
                path=path,
            )
        if "BORE" in report.upper():
            raise FormatError("this is a borehole report, not a cone test", path=path)
        block = _data(lines, header, path)
        cut = _cut_end(decoded.text, header, block, path, options.salvage)
        if cut:
            block = block.without_last()
        columns = to_series(block, header)
        source = source_file(path, data, self.name, decoded.encoding)
        sounding = _sounding(header, columns.series, path, source)
        sounding = _with_children(sounding, header, path, options)
        odd = (*block.findings, *columns.findings, *cut, *_endless(header), *_scan(header, block))
        return [sounding.with_findings(*odd)]


def _cut_end(
    text: str, header: Header, block: Block, path: Path, salvage: bool
) -> tuple[Finding, ...]:
    """Tell whether the file ends in the middle of its last row.

    Raises
    ------
    FormatError
        If it does and is not salvaged.
    """
    last = text.rstrip()
    mark = header.text("RECORDSEPARATOR")[:1].strip()
    half = bool(mark) and not last.endswith(mark) and last.count(mark) > 0
    short = not text.endswith(("\n", "\r")) and any(
        one.id in ("row-short", "row-blank") for one in block.findings
    )
    if not (half or short) or not len(block.values) or np.isfinite(block.values[-1]).all():
        return ()
    line = int(block.line[-1])
    if not salvage:
        raise FormatError(
            "the file ends in the middle of a row; it is cut. Read what is left with --salvage",
            path=path,
            line=line,
        )
    found = "the file ends in the middle of a row; that row is left out"
    return (Finding("file-cut", Severity.STOP, found, "the whole file", line=line),)


def _endless(header: Header) -> tuple[Finding, ...]:
    if not header.without_end:
        return ()
    text = "the header has no end (#EOH=); data are taken to begin after its last line"
    return (Finding("header-without-end", Severity.STOP, text, line=header.data_line),)


def _data(lines: list[str], header: Header, path: Path) -> Block:
    columns = column_count(header, path)
    body = lines[header.data_line :]
    first_line = header.data_line + 1
    record = header.text("RECORDSEPARATOR")[:1]
    separator = header.text("COLUMNSEPARATOR")[:1].strip() or None
    if record.strip():
        joined = "\n".join(body).rstrip()
        if joined.count(record + "\n") + joined.endswith(record) == joined.count(record):
            body = joined.replace(record, "").split("\n")
        elif all(line.count(record) <= 1 for line in body[:1000]):
            body = [line.partition(record)[0] for line in body]
        else:
            body = [row for line in body for row in line.split(record) if row.strip()]
    if separator is None and body and ";" in body[0]:
        separator = ";"
    while body and not body[-1].strip():
        body.pop()
    if not any(line.strip() for line in body):
        raise FormatError(
            "there is no row of data after the header", path=path, line=header.data_line
        )
    return parse_block(body, first_line, columns, separator)


def _sounding(header: Header, series: Series, path: Path, source: SourceFile) -> Sounding:
    if not ({"length", "depth"} & set(series)):
        raise FormatError(
            "no column is penetration length (quantity 1) or depth (quantity 11)", path=path
        )
    about = Metadata(header)
    predrilled = about.number(13, "m")
    before, after = about.zeros()
    standard, quality_class = about.standard()
    return Sounding(
        name=header.text("TESTID") or path.stem,
        readings=series,
        location=about.location(),
        cone=about.cone({key for key in series if series.measured(key)}),
        predrilled=predrilled,
        removed=about.removed(predrilled),
        zeros_before=before,
        zeros_after=after,
        standard=standard,
        quality_class=quality_class,
        stop_reason=about.stop_reason(),
        started=about.started(),
        project=header.text("PROJECTID") or about.text(2),
        client=about.text(1),
        place=about.text(3),
        header=header.items(),
        findings=tuple(about.findings),
        source=source,
    )


def _scan(header: Header, block: Block) -> tuple[Finding, ...]:
    """Compare the row count that the header states; it is often wrong and never binding."""
    stated = header.text("LASTSCAN")
    rows = len(block.values)
    if not stated.isdecimal() or int(stated) == rows:
        return ()
    text = f"the header states {stated} rows (#LASTSCAN=), the file has {rows}"
    return (Finding("row-count-stated", Severity.INFO, text),)


def _with_children(
    sounding: Sounding, header: Header, path: Path, options: ReadOptions
) -> Sounding:
    tests: list[Dissipation] = []
    findings: list[Finding] = []
    for entry in header.all("CHILD"):
        parts = entry.parts(6)
        if len(parts) < 3:
            continue
        name = parts[1]
        try:
            depth = parse_number(parts[2])
        except ValueError:
            depth = float("nan")
        child = path.parent / Path(name.replace("\\", "/")).name
        if not child.is_file():
            findings.append(
                Finding(
                    "dissipation-not-delivered",
                    Severity.INFO,
                    f"the dissipation test {name} at {depth:.2f} m is named but not here",
                    "the file beside the sounding",
                    top=depth if depth == depth else None,
                    line=entry.line,
                )
            )
            continue
        try:
            tests.append(read_dissipation(child, depth, options))
        except FormatError as error:
            if not options.salvage:
                raise
            text = f"the dissipation test {name} cannot be read: {error.message}"
            findings.append(
                Finding("dissipation-unreadable", Severity.CAUTION, text, line=entry.line)
            )
    return replace(sounding, dissipations=tuple(tests)).with_findings(*findings)


def read_dissipation(path: Path, depth: float, options: ReadOptions) -> Dissipation:
    """Read a GEF dissipation file.

    Raises
    ------
    FormatError
        If it has no header, no data or no time column.
    """
    data = read_bytes(path, options.max_bytes)
    decoded = decode(data, path)
    lines = decoded.text.splitlines()
    header = read_header(lines, path)
    series = to_series(_data(lines, header, path), header, DISSIPATION).series
    if "time" not in series:
        raise FormatError("no column is time (quantity 1)", path=path)
    return Dissipation(
        depth=depth,
        readings=series,
        start=Metadata(header).started(),
        header=header.items(),
        source=source_file(path, data, "gef-diss", decoded.encoding),
    )

"""Opening a workbook that nobody vouches for: bounds first, then its sheets as rows of text.

A workbook is a zip archive of XML. Before it is read: number and unpacked size of the parts are
bounded, names that reach outside are refused, and so is a part with a DOCTYPE, which could grow
without end or reach outside. Nothing is unpacked to the disk.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from io import BytesIO
from pathlib import Path, PurePosixPath
from typing import Any

from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.delimited.structure import MOST_COLUMNS
from pushproof.formats.text import read_bytes

MOST_PARTS = 2000
LARGEST_UNPACKED = 256 * 1024 * 1024
"""Unpacked size of all parts [bytes]; a sheet of a million rows and eight columns stays below."""
MOST_ROWS = 1_048_576
MOST_CELLS = 20_000_000
MOST_SHEETS = 500
_PROLOGUE = 65536
_OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


@dataclass(frozen=True)
class Sheet:
    """One sheet: its title, and its rows as lines of text with a tab between cells."""

    title: str
    lines: list[str]


def sheets(path: Path, options: ReadOptions) -> tuple[bytes, list[Sheet]]:
    """Return the bytes of a workbook and its sheets.

    Raises
    ------
    FormatError
        If it is no workbook, is damaged, or is larger than any sounding.
    """
    data = read_bytes(path, options.max_bytes)
    _check(data, path, min(LARGEST_UNPACKED, options.max_bytes))
    from openpyxl import load_workbook

    try:
        book = load_workbook(BytesIO(data), read_only=True, data_only=True, keep_links=False)
        try:
            return data, [
                Sheet(one.title, _lines(one, path)) for one in book.worksheets[:MOST_SHEETS]
            ]
        finally:
            book.close()
    except FormatError:
        raise
    except Exception as error:
        # openpyxl lets many kinds of errors out for a damaged part
        raise FormatError(
            f"the workbook is damaged ({type(error).__name__}: {str(error)[:120]}); open it in a "
            "spreadsheet program, let it repair the file, and save it again",
            path=path,
        ) from error


def _check(data: bytes, path: Path, largest: int) -> None:
    if data.startswith(_OLD):
        raise FormatError(
            "this is an old or an encrypted workbook; save it as .xlsx without a password",
            path=path,
        )
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            parts = archive.infolist()
            _check_parts(parts, path, largest)
            if not any(part.filename == "xl/workbook.xml" for part in parts):
                raise FormatError(
                    "this is a zip archive, not a workbook; unpack it and read what is in it",
                    path=path,
                )
            for part in parts:
                if part.filename.endswith((".xml", ".rels", ".vml")):
                    with archive.open(part) as file:
                        _check_prologue(file.read(_PROLOGUE), part.filename, path)
    except FormatError:
        raise
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, RuntimeError, OSError,
            ValueError, EOFError, zlib.error) as error:  # fmt: skip
        raise FormatError(
            f"the workbook cannot be unpacked ({str(error)[:120]}); it is cut or damaged. A "
            "spreadsheet program may be able to repair it",
            path=path,
        ) from error


def _check_parts(parts: list[zipfile.ZipInfo], path: Path, largest: int) -> None:
    if len(parts) > MOST_PARTS:
        raise FormatError(
            f"the archive has {len(parts)} parts, more than the limit of {MOST_PARTS}", path=path
        )
    size = sum(part.file_size for part in parts)
    if size > largest:
        raise FormatError(
            f"unpacked, the workbook has {size / 1e6:.0f} MB, more than the limit of "
            f"{largest / 1e6:.0f} MB; save the sheet as text (.csv) instead",
            path=path,
        )
    for part in parts:
        place = PurePosixPath(part.filename.replace("\\", "/"))
        if place.is_absolute() or ".." in place.parts or re.match(r"[A-Za-z]:", part.filename):
            raise FormatError(
                f"the archive holds a part whose name reaches outside: {part.filename[:60]!r}",
                path=path,
            )


def _check_prologue(head: bytes, name: str, path: Path) -> None:
    plain = head.replace(b"\0", b"")
    if re.search(rb"<!\s*(DOCTYPE|ENTITY)", plain, re.IGNORECASE):
        raise FormatError(
            f"part {name[:60]!r} has a DOCTYPE or entities of its own; such files are not read, as "
            "they can reach outside the file or grow without end",
            path=path,
        )
    if len(head) == _PROLOGUE and not re.search(rb"<[A-Za-z_]", plain):
        raise FormatError(f"part {name[:60]!r} does not begin like XML", path=path)


def _lines(sheet: Any, path: Path) -> list[str]:
    """Return the rows of a sheet as text, all of one width."""
    # what a sheet says of its size may be a million rows of nothing
    sheet.reset_dimensions()
    rows: list[list[str]] = []
    cells = 0
    for row in sheet.iter_rows(values_only=True):
        texts = [_text(value) for value in row]
        while texts and not texts[-1]:
            texts.pop()
        cells += len(texts)
        rows.append(texts)
        if len(rows) > MOST_ROWS or cells > MOST_CELLS:
            raise FormatError(
                f"a sheet has more than {MOST_ROWS:,} rows or {MOST_CELLS:,} cells; this is no "
                "sounding",
                path=path,
            )
    while rows and not rows[-1]:
        rows.pop()
    width = min(max(map(len, rows), default=0), MOST_COLUMNS + 1)
    return ["\t".join(texts + [""] * (width - len(texts))) for texts in rows]


def _text(value: object) -> str:
    """Return a cell as text that reads back to the same number."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value)
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, datetime):
        return value.isoformat(sep=" ")
    if isinstance(value, timedelta):
        return repr(value.total_seconds())
    if isinstance(value, time):
        return repr(
            value.hour * 3600.0 + value.minute * 60 + value.second + value.microsecond / 1e6
        )
    if isinstance(value, date):
        return value.isoformat()
    return " ".join(str(value).split())

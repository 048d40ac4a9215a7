"""Workbooks whose bytes repeat: written row by row, with one time in every part."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from pushproof import __version__

FIXED = datetime(2000, 1, 1)
"""Time stamp inside workbooks, so that bytes repeat."""


def new_workbook() -> Any:
    """Return an empty workbook that is written row by row and tells no time of its own."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    book.properties.created = book.properties.modified = FIXED
    book.properties.creator = f"Pushproof {__version__}"
    return book


def bold(sheet: Any, texts: list[str]) -> list[Any]:
    """Return the cells of a row of headings."""
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    cells = [WriteOnlyCell(sheet, value=text) for text in texts]
    for cell in cells:
        cell.font = Font(bold=True)
    return cells


def plain_row(sheet: Any, values: Iterable[Any]) -> list[Any]:
    """Return the cells of a row in which text stays text.

    What begins like a formula is none, and signs that a workbook cannot hold become spaces: text
    of people must not keep it from being made.
    """
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    cells = []
    for value in values:
        if not isinstance(value, str):
            cells.append(value)
            continue
        cell = WriteOnlyCell(sheet, value=ILLEGAL_CHARACTERS_RE.sub(" ", value))
        cell.data_type = "s"
        cells.append(cell)
    return cells


def packed(book: Any) -> bytes:
    """Return the bytes of a finished workbook."""
    sink = io.BytesIO()
    book.save(sink)
    return _same_time(sink.getvalue())


def _same_time(data: bytes) -> bytes:
    """Pack a zip file again with a fixed time in every entry, so that bytes repeat."""
    sink = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(sink, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "docProps/core.xml":
                content = _fixed_modified(content)
            entry = zipfile.ZipInfo(name, date_time=FIXED.timetuple()[:6])
            entry.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(entry, content)
    return sink.getvalue()


def _fixed_modified(core: bytes) -> bytes:
    stamp = FIXED.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
    return re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>" + stamp, core)

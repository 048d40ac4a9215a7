"""Tables of numbers in the text of an XML element, with the line of each row in the file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import islice
from typing import TYPE_CHECKING

from pushproof.formats.numbers import Block, parse_block
from pushproof.formats.xmltree import line_of
from pushproof.model.findings import Finding

if TYPE_CHECKING:
    from lxml.etree import _Element

_TOKEN = re.compile(r"\S+")


def rows_in(text: str, mark: str, *, cut: bool = False) -> list[str]:
    """Cut a text into its rows at a mark; a blank mark is any white space.

    With ``cut`` the file ended inside this text: the last row may be half a row, and is left out.

    Examples
    --------
    >>> rows_in(" 1,2;3,4; ", ";"), rows_in("1 2\\n 3", " ")
    (['1,2', '3,4'], ['1', '2', '3'])
    """
    if not mark.strip():
        return text.split()[:-1] if cut else text.split()
    rows = [row.strip() for row in text.strip().split(mark)]
    while rows and not rows[-1]:
        rows.pop()
    return rows[:-1] if cut else rows


def records(
    element: _Element,
    rows: list[str],
    columns: int,
    separator: str | None,
    decimal: str = ".",
    mark: str = " ",
) -> Block:
    """Parse rows from the text of an element; findings carry the line in the file.

    Parameters
    ----------
    element
        The element whose text they stand in.
    rows
        The rows, as :func:`rows_in` cut them.
    columns, separator, decimal
        As for :func:`~pushproof.formats.numbers.parse_block`.
    mark
        The mark the rows were cut at.
    """
    block = parse_block(rows, 1, columns, separator, decimal)
    return replace(block, findings=_placed(block.findings, element, mark))


def _placed(findings: Sequence[Finding], element: _Element, mark: str) -> tuple[Finding, ...]:
    """Return findings that count rows with the row in their words and the line of the file."""
    return tuple(
        replace(
            one,
            found=one.found.replace("on line", "record"),
            line=line_of_row(element, (one.line or 1) - 1, mark),
        )
        for one in findings
    )


def line_of_row(element: _Element, row: int, mark: str = " ") -> int | None:
    """Return the line in the file of a row in the text of an element, counted from 0."""
    first = line_of(element)
    if first is None:
        return None
    text = element.text or ""
    if not mark.strip():
        found = next(islice(_TOKEN.finditer(text), row, None), None)
        place = found.start() if found else len(text)
    else:
        place = len(text) - len(text.lstrip())
        for _ in range(row):
            place = text.find(mark, place) + 1
        place += len(text[place:]) - len(text[place:].lstrip())
    return first + text.count("\n", 0, place)

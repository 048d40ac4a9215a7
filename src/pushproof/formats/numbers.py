"""Blocks of numbers: a fast pass over clean rows, a careful one over the rest.

Nothing is guessed: a field that is no number is missing with the reason ``UNREADABLE``, and the
caller gets the first line and the count to report.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding, Severity

EMPTY_WORDS = frozenset({"", "-", "--", "---", "na", "n/a", "nan", "null", "none", "*", "void"})
SENTINELS = (-9999.0, -99999.0, -999999.0, -999.25, -32768.0, 1e30, -1e30)
"""Numbers that stand for nothing in files that do not say so."""

_ODD = re.compile(r"[^-+.\d\seE]")
_PADDED_MINUS = re.compile(r"^([-+])\s+(?=[\d.])")


@dataclass(frozen=True)
class Block:
    """Parsed rows.

    ``values`` has shape (rows, columns); ``unreadable`` marks fields that were no number;
    ``line`` is the line of each row; ``findings`` report what was odd.
    """

    values: NDArray[np.float64]
    unreadable: NDArray[np.bool_]
    line: NDArray[np.intp]
    findings: tuple[Finding, ...]

    def without_last(self) -> Block:
        """Return the rows without the last one."""
        return replace(
            self,
            values=self.values[:-1],
            unreadable=self.unreadable[:-1],
            line=self.line[:-1],
        )


def parse_number(text: str, decimal: str = ".") -> float:
    """Return the number in a field, NaN for an empty one.

    Raises
    ------
    ValueError
        If the field is no number.

    Examples
    --------
    >>> parse_number(" 0.0994"), parse_number("- 0.012"), parse_number("1,5", ",")
    (0.0994, -0.012, 1.5)
    """
    field = text.strip().strip('"').strip()
    if field.lower() in EMPTY_WORDS:
        return math.nan
    if decimal == ",":
        field = field.replace(",", ".")
    field = _PADDED_MINUS.sub(r"\1", field)
    if "_" in field or not field.isascii():
        raise ValueError(f"no number: {text!r}")
    value = float(field)
    return value if math.isfinite(value) else math.nan


def parse_column(
    texts: Sequence[str], decimal: str = "."
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return the numbers of a column of fields, NaN where empty, and which were no number.

    Examples
    --------
    >>> parse_column(["1.5", "", "%1006.6"])
    (array([1.5, nan, nan]), array([False, False,  True]))
    """
    unreadable = np.zeros(len(texts), dtype=bool)
    if decimal == ",":
        texts = [text.replace(",", ".") for text in texts]
    if not _ODD.search("\n".join(texts)):
        try:
            found = [float(text) if text else math.nan for text in texts]
        except ValueError:
            pass
        else:
            values = np.array(found, dtype=np.float64)
            values[np.isinf(values)] = np.nan
            return values, unreadable
    values = np.full(len(texts), np.nan)
    for i, text in enumerate(texts):
        try:
            values[i] = parse_number(text)
        except ValueError:
            unreadable[i] = True
    return values, unreadable


def split_row(line: str, separator: str | None) -> list[str]:
    """Split a row; None is any white space, and a quote may wrap a field."""
    if separator is None:
        return line.split()
    if '"' not in line:
        return line.split(separator)
    import csv

    return next(csv.reader([line], delimiter=separator), [])


def parse_block(
    lines: list[str],
    first_line: int,
    columns: int,
    separator: str | None,
    decimal: str = ".",
) -> Block:
    """Parse rows of numbers.

    Parameters
    ----------
    lines
        The rows as text.
    first_line
        Line number of the first row in its file.
    columns
        Number of leading fields to read; text after them is passed over.
    separator
        One character, or None for any white space.
    decimal
        ``"."`` or ``","``.
    """
    fast = _fast(lines, columns, separator, decimal)
    if fast is not None:
        number = np.arange(first_line, first_line + len(lines), dtype=np.intp)
        return Block(fast, np.zeros(fast.shape, dtype=bool), number, ())
    if separator is not None and not any('"' in line or "\0" in line for line in lines):
        return _by_columns(lines, first_line, columns, separator, decimal)
    return _careful(lines, first_line, columns, separator, decimal)


def _fast(
    lines: list[str], columns: int, separator: str | None, decimal: str
) -> NDArray[np.float64] | None:
    """Parse with numpy's C reader, or return None where a row is not clean."""
    text = "\n".join(lines)
    if '"' in text or "\0" in text or "_" in text or not text or text.isspace():
        return None
    if decimal == ",":
        text = text.replace(",", ".")
    values = _loaded(text, columns, separator)
    if values is None and separator is not None:
        values = _loaded(_with_nan(text, separator), columns, separator)
    if values is None or len(values) != len(lines):
        return None  # the reader passes over blank lines
    finite = np.isfinite(values)
    if not finite.all():
        values[~finite] = np.nan
    return values


def _loaded(text: str, columns: int, separator: str | None) -> NDArray[np.float64] | None:
    if separator is not None and len(separator) != 1:
        return None
    try:
        return np.loadtxt(
            io.StringIO(text),
            delimiter=separator,
            comments=None,
            usecols=range(columns),
            ndmin=2,
        )
    except (ValueError, IndexError):
        return None


def _with_nan(text: str, separator: str) -> str:
    """Return rows with ``nan`` in their empty fields."""
    for before, after in ((separator, separator), ("\n", separator), (separator, "\n")):
        while before + after in text:
            text = text.replace(before + after, f"{before}nan{after}")
    start = "nan" if text.startswith(separator) else ""
    return start + text + ("nan" if text.endswith(separator) else "")


def _by_columns(
    lines: list[str], first_line: int, columns: int, separator: str, decimal: str
) -> Block:
    """Parse rows with a separator column by column: empty fields, short rows and odd ones."""
    kept = [i for i, line in enumerate(lines) if line and not line.isspace()]
    rows = [lines[i].split(separator, columns) for i in kept]
    odd: dict[str, list[int]] = {"short": [], "blank": [], "field": [], "nul": []}
    for at, row in enumerate(rows):
        if len(row) < columns:
            odd["short"].append(kept[at])
            row += [""] * (columns - len(row))
    values = np.full((len(rows), columns), np.nan)
    unreadable = np.zeros((len(rows), columns), dtype=bool)
    for j in range(columns):
        values[:, j], unreadable[:, j] = parse_column([row[j].strip() for row in rows], decimal)
    bad = np.argwhere(unreadable)
    odd["field"] = [kept[i] for i in bad[:, 0].tolist()]
    example = rows[bad[0, 0]][bad[0, 1]].strip()[:30] if len(bad) else ""
    number = np.array(kept, dtype=np.intp) + first_line
    return Block(values, unreadable, number, _odd_findings(odd, example, first_line))


def _careful(
    lines: list[str], first_line: int, columns: int, separator: str | None, decimal: str
) -> Block:
    values = np.full((len(lines), columns), np.nan)
    unreadable = np.zeros((len(lines), columns), dtype=bool)
    kept: list[int] = []
    odd: dict[str, list[int]] = {"short": [], "blank": [], "field": [], "nul": []}
    example = ""
    for i, line in enumerate(lines):
        if not line.strip("\0 \t\r"):
            if "\0" in line:
                odd["nul"].append(i)
            continue
        if "\0" in line:
            odd["nul"].append(i)
        row = len(kept)
        kept.append(i)
        fields = split_row(line, separator)
        if len(fields) < columns:
            # with a separator only trailing fields can be missing; with blanks any may be
            kind = "blank" if separator is None else "short"
            odd[kind].append(i)
            unreadable[row, len(fields) :] = separator is None
        for j, field in enumerate(islice(fields, columns)):
            try:
                values[row, j] = parse_number(field, decimal)
            except ValueError:
                unreadable[row, j] = True
                odd["field"].append(i)
                example = example or field.strip()[:30]
    findings = _odd_findings(odd, example, first_line)
    number = np.array(kept, dtype=np.intp) + first_line
    count = len(kept)
    return Block(values[:count], unreadable[:count], number, findings)


def _odd_findings(odd: dict[str, list[int]], example: str, first_line: int) -> tuple[Finding, ...]:
    left_out = "the values are left out; the file itself is unchanged"
    words = {
        "short": ("row-short", Severity.INFO, "rows end early; their last fields are void", ""),
        "blank": (
            "row-short",
            Severity.CAUTION,
            "rows have fewer fields than the table has columns",
            "the same number of fields in each row; " + left_out,
        ),
        "field": (
            "field-unreadable",
            Severity.CAUTION,
            f"fields are no number, such as {example!r}",
            left_out,
        ),
        "nul": (
            "bytes-nul",
            Severity.CAUTION,
            "lines hold NUL bytes, as a lost disk sector leaves them",
            left_out,
        ),
    }
    return tuple(
        Finding(
            words[kind][0],
            words[kind][1],
            f"{len(rows)} {words[kind][2]}; the first is on line {first_line + rows[0]}",
            words[kind][3],
            line=first_line + rows[0],
        )
        for kind, rows in odd.items()
        if rows
    )

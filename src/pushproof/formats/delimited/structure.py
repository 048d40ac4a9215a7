"""The structure of a text table: separator, decimal sign, heading, first row of data."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pushproof.errors import FormatError
from pushproof.formats.delimited.names import column_key, split_unit
from pushproof.formats.numbers import EMPTY_WORDS, split_row
from pushproof.model.quantities import QUANTITIES
from pushproof.model.units import unit

LOOK = 2000
"""Lines in which the table must begin."""
LONG_ENOUGH = 200
"""Rows of numbers in a run that make a table without doubt."""
MOST_COLUMNS = 500
SEPARATORS: tuple[str | None, ...] = ("\t", ";", "|", ",", None)

_POINT = re.compile(r"^[-+]?\s?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$")
_COMMA = re.compile(r"^[-+]?\s?(\d+,?\d*|,\d+)([eE][-+]?\d+)?$")


@dataclass(frozen=True)
class Structure:
    """Where the table is and how its rows are cut.

    ``heading`` and ``units`` hold one text for each column; ``first`` is the index of the first
    row of data, ``above`` of the first line that belongs to the heading. ``keys`` holds the keys of
    the columns where the table names them, as our own tables do.
    """

    separator: str | None
    decimal: str
    heading: tuple[str, ...]
    units: tuple[str, ...]
    above: int
    first: int
    columns: int
    keys: tuple[str, ...] = ()


def find_structure(
    lines: list[str],
    path: object = None,
    separators: tuple[str | None, ...] = SEPARATORS,
) -> Structure:
    """Find the table in a text.

    Parameters
    ----------
    lines
        The text.
    path
        The file, for messages.
    separators
        What may stand between fields; the first is preferred.

    Raises
    ------
    FormatError
        If no run of rows of numbers is found, or a row has absurdly many fields.
    """
    ours = _of_ours(lines)
    if ours is not None:
        return ours
    best: tuple[float, Structure] | None = None
    begin = "\n".join(lines[:LOOK])
    for preference, separator in enumerate(separators):
        if separator is not None and separator not in begin:
            continue
        for decimal in (".", ","):
            if decimal == "," and (separator == "," or "," not in begin):
                continue
            found = _longest_run(lines, separator, decimal, path)
            if found is None:
                continue
            first, rows, columns, fractions = found
            score = rows * min(columns, 40) + 0.01 * fractions - 0.001 * preference
            if best is None or score > best[0]:
                above, heading, units, keys = _heading(lines, first, separator, columns)
                structure = Structure(
                    separator, decimal, heading, units, above, first, columns, keys
                )
                best = (score, structure)
    if best is None:
        raise FormatError(
            f"no table of numbers in the first {LOOK} lines; expected rows with a depth and at "
            "least one measured value",
            path=str(path) if path else None,
        )
    return best[1]


def _longest_run(
    lines: list[str], separator: str | None, decimal: str, path: object
) -> tuple[int, int, int, int] | None:
    """Return first line, rows, columns and fractions of the longest run of numeric rows."""
    best: tuple[int, int, int, int] | None = None
    start, columns, fractions, rows = 0, 0, 0, 0
    for i, line in enumerate(lines[:LOOK]):
        width, broken = _numeric_width(line, separator, decimal, i, path)
        if width >= 2 and (rows == 0 or abs(width - columns) <= 2):
            if rows == 0:
                start, columns, fractions = i, width, 0
            columns = max(columns, width)
            rows += 1
            fractions += broken
        elif line.strip("\0 \t\r;,|") and not (rows and line.startswith("#")):
            rows = 0
        if rows and (best is None or rows * columns > best[1] * best[2]):
            best = (start, rows, columns, fractions)
        if rows >= LONG_ENOUGH:
            break
    return best


def _numeric_width(
    line: str, separator: str | None, decimal: str, number: int, path: object
) -> tuple[int, int]:
    """Return the number of fields of a numeric row (0 if it is none) and how many have a
    fraction.
    """
    if len(line) > 2 and line.count(separator or " ") > 20 * MOST_COLUMNS:
        raise FormatError(
            f"a row has more than {MOST_COLUMNS} fields; this is no sounding",
            path=str(path) if path else None,
            line=number + 1,
        )
    fields = [field.strip().strip('"').strip() for field in split_row(line, separator)]
    pattern = _POINT if decimal == "." else _COMMA
    numeric = sum(bool(pattern.match(field)) for field in fields)
    empty = sum(field.lower() in EMPTY_WORDS for field in fields)
    # a row of a table may hold a depth and voids only, but then its separators show it
    least = 2 if separator is None else 1
    if numeric < least or numeric + empty < len(fields) - 2:
        return 0, 0
    if numeric < (len(fields) - empty) * 0.6:
        return 0, 0
    return len(fields), sum(decimal in field for field in fields)


def _of_ours(lines: list[str]) -> Structure | None:
    """Return the structure of a table that Pushproof wrote: it names its keys, so nothing is found.

    A text table names them in a line above its headings, a sheet in its second row.
    """
    at = next((i for i, line in enumerate(lines[:LOOK]) if line.startswith("# keys:")), None)
    if at is not None and at + 1 < len(lines):
        keys = tuple(key.strip() for key in lines[at].partition(":")[2].split(","))
        heading = split_row(lines[at + 1], ",")
        separator, first = ",", at + 2
    elif len(lines) > 1 and lines[0].rstrip().endswith("]"):
        heading = lines[0].rstrip("\t").split("\t")
        keys = tuple(lines[1].rstrip("\t").split("\t"))
        separator, first = "\t", 2
    else:
        return None
    if len(heading) != len(keys) or keys[0] not in QUANTITIES or len(keys) > MOST_COLUMNS:
        return None
    if not all(one.endswith("]") for one in heading):
        return None
    blank = ("",) * len(keys)
    return Structure(separator, ".", tuple(heading), blank, first - 2, first, len(keys), keys)


_Heading = tuple[int, tuple[str, ...], tuple[str, ...], tuple[str, ...]]


def _heading(lines: list[str], first: int, separator: str | None, columns: int) -> _Heading:
    """Return where the heading begins, the headings, the units of a units line, and keys."""
    empty = ("",) * columns
    for above in range(first - 1, max(first - 5, -1), -1):
        if not lines[above].strip():
            continue
        fields = _fields(lines[above], separator, columns)
        if fields is None:
            return first, empty, empty, ()
        if _are_keys(fields):
            at = next((i for i in range(above - 1, -1, -1) if lines[i].strip()), -1)
            names = _fields(lines[at], separator, columns) if at >= 0 else None
            if names is not None:
                return at, names, empty, fields
        if _all_units(fields):
            names_at = next((i for i in range(above - 1, -1, -1) if lines[i].strip()), -1)
            names = _fields(lines[names_at], separator, columns) if names_at >= 0 else None
            if names is not None:
                return names_at, names, fields, ()
            return above, empty, fields, ()
        return above, fields, empty, _keys_above(lines[:above], columns)
    return first, empty, empty, ()


def _are_keys(fields: tuple[str, ...]) -> bool:
    """Tell whether a row holds keys of the vocabulary, as the second row of our own sheets."""
    known = [field in QUANTITIES for field in fields if field]
    return len(known) >= 2 and all(known[:2]) and sum(known) > len(known) / 2


def _keys_above(lines: list[str], columns: int) -> tuple[str, ...]:
    """Return the keys that a line of our own text tables names."""
    for line in reversed(lines[-5:]):
        if line.startswith("# keys:"):
            keys = tuple(key.strip() for key in line.partition(":")[2].split(","))
            return keys if len(keys) == columns and _are_keys(keys) else ()
    return ()


def _fields(line: str, separator: str | None, columns: int) -> tuple[str, ...] | None:
    fields = [field.strip().strip('"').strip() for field in split_row(line.lstrip("#"), separator)]
    while len(fields) > columns and not fields[-1]:
        fields.pop()
    known = sum(column_key(split_unit(field)[0]) is not None for field in fields)
    if abs(len(fields) - columns) > 2:
        return None
    plain = separator is not None and len(fields) == columns and all(fields)
    if known == 0 and not plain and not _all_units(tuple(fields)):
        return None
    return (*fields, *[""] * columns)[:columns]


def _all_units(fields: tuple[str, ...]) -> bool:
    known = [unit(field) is not None for field in fields if field]
    return len(known) >= 2 and all(known) and any(len(field) > 1 for field in fields)

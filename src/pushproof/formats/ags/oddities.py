"""What is odd about an AGS file as a whole: a cut end, rows without their parent, keys twice.

Edition 4 asks for unique keys and for a parent of each row (rules 10a to 10c of the AGS format).
Nothing is left out for it; the findings say where to look.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import FormatError
from pushproof.formats.ags.names import EDITION_4, Names
from pushproof.formats.ags.tables import Group, Tables
from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Reason, Series


def whole_lines(text: str, path: Path, salvage: bool) -> tuple[list[str], list[Finding]]:
    """Return the lines of a file that does not end in the middle of one.

    With ``salvage`` a cut last line is left out and reported: its last number may be half a number.

    Raises
    ------
    FormatError
        If it ends in the middle of a line, with the line.
    """
    lines = text.splitlines()
    while lines and not lines[-1].strip():
        lines.pop()
    last = lines[-1].rstrip() if lines else ""
    if text.endswith(("\n", "\r")) or not last.startswith('"') or last.endswith(('"', ",")):
        return lines, []
    number = len(lines)
    if not salvage:
        raise FormatError(
            "the file ends in the middle of a line; it is cut. Read what is left with --salvage",
            path=path,
            line=number,
        )
    text = f"the file ends in the middle of line {number}; that line is left out"
    return lines[:-1], [Finding("file-cut", Severity.STOP, text, "the whole file", line=number)]


def oddities(tables: Tables, names: Names, group: Group) -> list[Finding]:
    """Return what is odd about the table of readings and its parents."""
    found = [*_headings_twice(group)]
    if names == EDITION_4:
        found += _keys_twice(group, names)
    found += _without_place(tables, names, group)
    return found


def _headings_twice(group: Group) -> list[Finding]:
    twice = sorted({one for one in group.headings if one and group.headings.count(one) > 1})
    if not twice:
        return []
    text = f"group {group.name} has the heading {' and '.join(twice)} twice; the first is taken"
    return [Finding("heading-twice", Severity.CAUTION, text, "each once", line=group.line)]


def _keys_twice(group: Group, names: Names) -> list[Finding]:
    parts = (names.place_id, names.test, f"{group.name}_DPTH")
    keys = list(zip(*(group.column(part) for part in parts), strict=True))
    if len(set(keys)) == len(keys):
        return []
    seen: set[tuple[str, ...]] = set()
    first, count = 0, 0
    for i, key in enumerate(keys):
        if key in seen:
            first, count = (group.lines[i] if not count else first), count + 1
        seen.add(key)
    text = f"{count} rows of {group.name} repeat the place, test and depth of another row"
    return [Finding("key-twice", Severity.CAUTION, text, "each key once (rule 10a)", line=first)]


def _without_place(tables: Tables, names: Names, group: Group) -> list[Finding]:
    places = tables.groups.get(names.place)
    known = {one.strip() for one in places.column(names.place_id)} if places else set()
    lost: dict[str, int] = {}
    for place, line in zip(group.column(names.place_id), group.lines, strict=True):
        if place.strip("\0 ") not in known:
            lost.setdefault(place.strip("\0 "), line)
    if not lost:
        return []
    shown = ", ".join(list(lost)[:5])
    text = f"group {names.place} has no row for {shown}; nothing is known of the place"
    expected = "a parent for each row (rule 10c)"
    first = next(iter(lost.values()))
    return [Finding("place-missing", Severity.CAUTION, text, expected, line=first)]


def not_fitted(series: Series, findings: list[Finding]) -> Series:
    """Take away filter positions that hold nothing but zeros: not fitted, no pressure of zero."""
    for key in ("u1", "u2", "u3"):
        values: NDArray[np.float64] = series.get(key)
        finite = values[np.isfinite(values)]
        if finite.size < 2 or finite.any():
            continue
        rows = np.ones(len(series), dtype=bool)
        series = series.blank(key, rows, Reason.NOT_MEASURED)
        text = f"every value of {key} is 0; taken as a filter that is not fitted"
        findings.append(Finding("filter-not-fitted", Severity.INFO, text, channel=key))
    return series

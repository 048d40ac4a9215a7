"""AGS text to tables: groups, headings, units and rows as text. Nothing is interpreted here."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from pushproof.errors import FormatError
from pushproof.model.findings import Finding, Severity

MOST_HEADINGS = 500
MOST_GROUPS = 2000
_SPLIT = '","'


@dataclass
class Group:
    """One group: headings, units and types side by side, rows as text with their lines."""

    name: str
    line: int
    headings: list[str] = field(default_factory=list)
    units: list[str] = field(default_factory=list)
    rows: list[list[str]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)

    def index(self, heading: str) -> int | None:
        """Return the place of a heading, or None."""
        try:
            return self.headings.index(heading)
        except ValueError:
            return None

    def unit(self, heading: str) -> str:
        """Return the unit of a heading, empty if it has none."""
        i = self.index(heading)
        return self.units[i] if i is not None and i < len(self.units) else ""

    def column(self, heading: str) -> list[str]:
        """Return a column as text, empty where it is not there."""
        i = self.index(heading)
        if i is None:
            return [""] * len(self.rows)
        return [row[i] if i < len(row) else "" for row in self.rows]

    def records(self) -> Iterator[tuple[int, dict[str, str]]]:
        """Iterate over rows as line number and heading to text."""
        for line, row in zip(self.lines, self.rows, strict=True):
            yield line, dict(zip(self.headings, row, strict=False))


@dataclass
class Tables:
    """Every group of a file by name, and what was odd on the way."""

    groups: dict[str, Group] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    salvage: bool = False

    def broken(self, text: str, number: int, path: Path) -> None:
        """Stop at a line that cannot be placed, or leave it out if the file is salvaged.

        Raises
        ------
        FormatError
            With the line.
        """
        if not self.salvage:
            raise FormatError(
                f"{text}. Read what can be placed with --salvage", path=path, line=number
            )
        self.report("row-not-placed", Severity.STOP, f"{text}; left out", "the whole file", number)

    def report(self, id: str, severity: Severity, found: str, expected: str, line: int) -> None:
        """Note a defect once for each kind, at its first line."""
        if not any(one.id == id for one in self.findings):
            self.findings.append(Finding(id, severity, found, expected, line=line))

    def fields(self, text: str, line: int) -> list[str]:
        """Return the fields of a line, and note an open quote."""
        fields, sound = cut(text)
        if not sound:
            self.report(
                "quotes-unbalanced",
                Severity.CAUTION,
                f"line {line} has an open quote; its last field may be wrong",
                "every field in double quotes",
                line,
            )
        return fields

    def add_row(self, group: Group, fields: list[str], line: int) -> None:
        """Add a row to a group; one that is too short or too long is taken from the left."""
        if len(fields) != len(group.headings):
            self.report(
                "row-width",
                Severity.CAUTION,
                f"line {line} has {len(fields)} fields, group {group.name} has "
                f"{len(group.headings)} headings; fields are taken from the left",
                "as many fields as headings",
                line,
            )
        group.rows.append(fields)
        group.lines.append(line)


def cut(line: str) -> tuple[list[str], bool]:
    """Cut a line into fields; the flag tells whether its quotes are in order.

    Examples
    --------
    >>> cut('"DATA","a ""b"" c","1,5"')
    (['DATA', 'a "b" c', '1,5'], True)
    >>> cut('"DATA","open')
    (['DATA', 'open'], False)
    """
    if line[:1] == '"' and line[-1:] == '"' and len(line) > 1:
        fields = line[1:-1].split(_SPLIT)
        if line.count('"') == 2 * len(fields):
            return fields, True
    try:
        fields = next(csv.reader([line], strict=False), [])
    except csv.Error:
        return line.replace('"', "").split(","), False
    return [one.rstrip("\n") for one in fields], line.count('"') % 2 == 0


def edition_4(lines: list[str], path: Path, salvage: bool = False) -> Tables:
    """Read the tables of an AGS 4 file.

    Raises
    ------
    FormatError
        At the first line that breaks the structure so that rows cannot be placed, unless it is
        salvaged.
    """
    tables = Tables(salvage=salvage)
    group: Group | None = None
    for number, line in enumerate(lines, start=1):
        if group is not None and _add_plain_row(group, line, number):
            continue
        if not line or line.isspace():
            continue
        fields = tables.fields(line.rstrip(), number)
        kind = fields[0].strip().upper()
        if kind == "GROUP":
            name = fields[1].strip().upper() if len(fields) > 1 else ""
            group = _new_group(tables, name, number, path)
            continue
        if group is None:
            tables.report(
                "line-outside-group",
                Severity.CAUTION,
                f"line {number} stands before any group; left out: {line[:40]!r}",
                "GROUP first",
                number,
            )
            continue
        _take(tables, group, kind, fields[1:], number, path)
    return tables


def _add_plain_row(group: Group, line: str, number: int) -> bool:
    """Add a row with a field for each heading and nothing odd, as nearly all are; else say no."""
    if line[:8] != '"DATA","' or line[-1:] != '"':
        return False
    fields = line[8:-1].split(_SPLIT)
    if len(fields) != len(group.headings) or line.count('"') != 2 * len(fields) + 2:
        return False
    group.rows.append(fields)
    group.lines.append(number)
    return True


def _new_group(tables: Tables, name: str, number: int, path: Path) -> Group:
    if not name or len(tables.groups) >= MOST_GROUPS:
        raise FormatError("a GROUP without a name, or far too many groups", path=path, line=number)
    if name in tables.groups:
        tables.report(
            "group-twice",
            Severity.CAUTION,
            f"group {name} stands twice; the rows are taken together",
            "each group once",
            number,
        )
    else:
        tables.groups[name] = Group(name, number)
    return tables.groups[name]


def _take(
    tables: Tables, group: Group, kind: str, fields: list[str], number: int, path: Path
) -> None:
    if kind == "HEADING":
        headings = [one.strip().upper() for one in fields]
        if len(headings) > MOST_HEADINGS:
            raise FormatError(
                f"group {group.name} has {len(headings)} headings, more than {MOST_HEADINGS}",
                path=path,
                line=number,
            )
        if group.headings and headings != group.headings:
            text = f"group {group.name} has a second, different HEADING row; its rows cannot be "
            tables.broken(f"{text}placed", number, path)
            return
        group.headings = headings
    elif kind == "UNIT":
        group.units = [one.strip() for one in fields]
    elif kind == "DATA":
        if not group.headings:
            tables.broken(f"group {group.name} has DATA before its HEADING row", number, path)
            return
        tables.add_row(group, fields, number)
    elif kind != "TYPE":
        tables.report(
            "row-kind-unknown",
            Severity.CAUTION,
            f"line {number} begins with {kind[:20]!r}; left out",
            "GROUP, HEADING, UNIT, TYPE or DATA",
            number,
        )


def edition_3(lines: list[str], path: Path, salvage: bool = False) -> Tables:
    """Read the tables of an AGS 3 file or older.

    Lines that end with a comma go on in the next one; ``<CONT>`` rows fill the row before.

    Raises
    ------
    FormatError
        If rows stand before any group or heading, unless it is salvaged.
    """
    tables = Tables(salvage=salvage)
    group: Group | None = None
    waiting: list[str] = []
    for number, line in enumerate(lines, start=1):
        if not line or line.isspace():
            continue
        line = line.strip()
        fields = tables.fields(line.rstrip(","), number)
        first = fields[0].strip() if fields else ""
        if first.startswith("**"):
            group = _new_group(tables, first.strip("*? ").upper(), number, path)
            waiting = []
            continue
        if group is None:
            text = f'a row before any group: {line[:40]!r}; expected a line such as "**STCN"'
            tables.broken(text, number, path)
            continue
        if first.startswith("*"):
            group.headings += [one.strip().strip("*?").upper() for one in fields if one.strip()]
            if len(group.headings) > MOST_HEADINGS:
                raise FormatError(
                    f"group {group.name} has more than {MOST_HEADINGS} headings",
                    path=path,
                    line=number,
                )
            continue
        fields = waiting + fields
        if line.endswith(",") and len(fields) < len(group.headings):
            waiting = fields
            continue
        waiting = []
        _row_3(tables, group, fields, number, path)
    return tables


def _row_3(tables: Tables, group: Group, fields: list[str], number: int, path: Path) -> None:
    if not group.headings:
        tables.broken(f"group {group.name} has rows before its headings", number, path)
        return
    first = fields[0].strip().upper()
    if first == "<UNITS>":
        group.units = ["", *(one.strip() for one in fields[1:])]
    elif first == "<CONT>":
        if not group.rows:
            tables.broken("a <CONT> row with no row before it", number, path)
            return
        before = group.rows[-1]
        for i, text in enumerate(fields[1:], start=1):
            if text.strip() and i < len(before):
                before[i] += text
            elif text.strip() and i < len(group.headings):
                before += [""] * (i - len(before)) + [text]
    else:
        tables.add_row(group, fields, number)

"""The header of a GEF file: words, values, line numbers; nothing interpreted yet."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from pushproof.errors import FormatError
from pushproof.formats.numbers import parse_number
from pushproof.model.sounding import HeaderItem

LONGEST_HEADER = 20_000
"""Header lines after which a file without ``#EOH=`` is given up."""
MOST_COLUMNS = 500

_LINE = re.compile(r'^[\s"]*#\s*([A-Za-z]+)\s*=?\s*(.*?)\s*$')


@dataclass(frozen=True)
class Entry:
    """One header line: its word, its value as text, its line number."""

    word: str
    value: str
    line: int

    def parts(self, most: int) -> list[str]:
        """Cut the value at the first commas; the last part keeps any further ones."""
        return [part.strip() for part in self.value.split(",", most - 1)]


@dataclass
class Header:
    """All header lines in order, and where the data begin."""

    entries: list[Entry] = field(default_factory=list)
    strays: list[HeaderItem] = field(default_factory=list)
    data_line: int = 0
    without_end: bool = False

    def all(self, word: str) -> list[Entry]:
        """Return every line of a word."""
        return [entry for entry in self.entries if entry.word == word]

    def first(self, word: str) -> Entry | None:
        """Return the first line of a word, or None."""
        return next((entry for entry in self.entries if entry.word == word), None)

    def text(self, word: str) -> str:
        """Return the value of a word, empty if it is not there or void."""
        entry = self.first(word)
        return "" if entry is None or entry.value == "-" else entry.value

    def numbered(self, word: str) -> dict[int, Entry]:
        """Return the lines of a numbered word (``MEASUREMENTVAR= n, ...``) by number."""
        found: dict[int, Entry] = {}
        for entry in self.all(word):
            number = entry.parts(2)[0]
            if number.isdecimal():
                found.setdefault(int(number), entry)
        return found

    def items(self) -> tuple[HeaderItem, ...]:
        """Return every header line, to travel with the sounding as found."""
        known = [HeaderItem(key=e.word, value=e.value, line=e.line) for e in self.entries]
        return (*known, *self.strays)


def read_header(lines: list[str], path: object, salvage: bool = False) -> Header:
    """Read the header.

    Raises
    ------
    FormatError
        If there is no end of header, unless it is salvaged: then the data begin after its last
        line.
    """
    header = Header()
    for number, line in enumerate(lines[:LONGEST_HEADER], start=1):
        match = _LINE.match(line)
        if match is None:
            if line.strip():
                header.strays.append(HeaderItem(key="", value=line.strip()[:500], line=number))
            continue
        value = match[2].rstrip('"').rstrip()
        if value.endswith(('",', '";')):
            value = value[:-2]
        entry = Entry(match[1].upper(), value.replace('""', '"'), number)
        if entry.word == "EOH":
            header.data_line = number
            return header
        header.entries.append(entry)
    if salvage and header.entries:
        header.data_line = header.entries[-1].line
        header.strays = [one for one in header.strays if (one.line or 0) < header.data_line]
        header.without_end = True
        return header
    raise FormatError(
        "the header has no end (#EOH=); the file is cut or no GEF file. Read what is left with "
        "--salvage",
        path=str(path),
        line=min(len(lines), LONGEST_HEADER),
    )


def column_count(header: Header, path: object) -> int:
    """Return the number of columns.

    Raises
    ------
    FormatError
        If it is missing, no number or absurd.
    """
    entry = header.first("COLUMN")
    described = len(header.numbered("COLUMNINFO"))
    if entry is None and described:
        return described
    if entry is None:
        raise FormatError("the header has no #COLUMN= and no #COLUMNINFO=", path=str(path))
    try:
        count = int(parse_number(entry.value))
    except ValueError:
        raise FormatError(
            f"#COLUMN= is {entry.value!r}, expected a number", path=str(path), line=entry.line
        ) from None
    if not 1 <= count <= MOST_COLUMNS:
        raise FormatError(
            f"#COLUMN= is {count}, expected 1 to {MOST_COLUMNS}", path=str(path), line=entry.line
        )
    return count

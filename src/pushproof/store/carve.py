"""Finding links in a damaged job file without the help of its database.

Each link carries its own hash, so a row that is found anywhere in the file or its log, and gives
that hash, is genuine, whatever else is broken: header, page tree, index, lock, log checksum.
Pages are read after the SQLite file format (sqlite.org/fileformat2.html, sections 1.5, 1.6, 2.1
and 4.1); nothing is written.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from sqlalchemy import create_engine

from pushproof.store import migrations
from pushproof.store.chain import Value, link_hash
from pushproof.store.engine import PAGE_SIZE
from pushproof.store.walk import Link, fact_tables

_LEAF = 13
_INTEGERS = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}
_HASH = 32


@dataclass
class Carved:
    """What was found.

    Parameters
    ----------
    links
        Links that prove themselves, by number.
    unproven
        Rows that read like a link that was not found otherwise, but do not give their hash.
    """

    links: dict[int, Link] = field(default_factory=dict)
    unproven: dict[int, Link] = field(default_factory=dict)


@dataclass(frozen=True)
class _Table:
    name: str
    columns: tuple[str, ...]
    real: frozenset[str]


@cache
def _tables() -> tuple[_Table, ...]:
    engine = create_engine("sqlite://")
    try:
        with engine.begin() as connection:
            for _, step in migrations.MIGRATIONS:
                step(connection)
            database = connection.connection.driver_connection
            assert database is not None
            return tuple(
                _Table(
                    name,
                    tuple(columns),
                    frozenset(
                        str(row[1])
                        for row in database.execute(f'PRAGMA table_info("{name}")')
                        if row[2] == "REAL"
                    ),
                )
                for name, columns in fact_tables(database).items()
            )
    finally:
        engine.dispose()


class _Pages:
    """The pages of a file and of its log, by number; the log's newest version counts."""

    def __init__(self, path: Path) -> None:
        self.data = path.read_bytes()
        log = path.with_name(path.name + "-wal")
        self.log = log.read_bytes() if log.exists() else b""
        self.size = self._page_size()
        self.usable = self.size - (self.data[20] if len(self.data) > 20 else 0)
        if self.usable < self.size * 3 // 4:
            self.usable = self.size
        self.frames: dict[int, list[int]] = {}
        for at in range(32, len(self.log) - self.size - 23, 24 + self.size):
            number = struct.unpack_from(">I", self.log, at)[0]
            self.frames.setdefault(number, []).append(at + 24)

    def _page_size(self) -> int:
        found = struct.unpack_from(">H", self.data, 16)[0] if len(self.data) > 18 else 0
        in_log = struct.unpack_from(">I", self.log, 8)[0] if len(self.log) > 12 else 0
        for size in (65536 if found == 1 else found, in_log):
            if size in (512, 1024, 2048, 4096, 8192, 16384, 32768, 65536):
                return int(size)
        return PAGE_SIZE

    def every(self) -> Iterator[tuple[int, bytes]]:
        """Iterate over every version of every page, with its number."""
        for start in range(0, len(self.data), self.size):
            yield start // self.size + 1, self.data[start : start + self.size]
        for number, places in self.frames.items():
            for at in places:
                yield number, self.log[at : at + self.size]

    def versions(self, number: int) -> Iterator[bytes]:
        """Iterate over the versions of one page, newest first."""
        for at in reversed(self.frames.get(number, ())):
            yield self.log[at : at + self.size]
        start = (number - 1) * self.size
        if 0 <= start < len(self.data):
            yield self.data[start : start + self.size]


def carve(path: Path) -> Carved:
    """Find every link in a job file and its log.

    Where two rows have one number (one was written and not committed before the program died),
    the one that the chain goes on from is taken.
    """
    pages = _Pages(path)
    candidates: dict[int, dict[bytes, Link]] = {}
    suspects: dict[int, Link] = {}
    for number, page in pages.every():
        for cell in _cells(number, page):
            _take(pages, page, cell, candidates, suspects)
    _look_again(pages, candidates, suspects)
    links = _choose(candidates)
    return Carved(links, {n: link for n, link in sorted(suspects.items()) if n not in links})


def _take(
    pages: _Pages,
    page: bytes,
    cell: int,
    candidates: dict[int, dict[bytes, Link]],
    suspects: dict[int, Link],
) -> None:
    for payload, rowid in _payloads(pages, page, cell):
        values = _record(payload)
        if values is None:
            continue
        found, suspect = _link(values, rowid)
        if found is not None:
            candidates.setdefault(found.number, {})[found.row["hash"]] = found  # type: ignore[index]
            return
        if suspect is not None:
            suspects[suspect.number] = suspect


def _look_again(
    pages: _Pages, candidates: dict[int, dict[bytes, Link]], suspects: dict[int, Link]
) -> None:
    """Look for the link after each known one by the hash that it must carry as ``previous``.

    This finds rows on pages whose head or cell list is damaged.
    """
    waiting = [n for n in candidates if n + 1 not in candidates]
    while waiting:
        number = waiting.pop()
        for value in list(candidates[number]):
            for page in _pages_with(pages, value):
                for cell in range(len(page) - _HASH):
                    if number + 1 in candidates:
                        break
                    _take_exactly(pages, page, cell, number + 1, candidates)
        if number + 1 in candidates and number + 2 not in candidates:
            waiting.append(number + 1)
    for number in candidates:
        suspects.pop(number, None)


def _pages_with(pages: _Pages, value: bytes) -> Iterator[bytes]:
    for data, first in ((pages.data, 0), (pages.log, 32)):
        step = pages.size if data is pages.data else pages.size + 24
        at = data.find(value)
        while at >= 0:
            start = first + (at - first) // step * step
            start += 0 if data is pages.data else 24
            yield data[start : start + pages.size]
            at = data.find(value, at + 1)


def _take_exactly(
    pages: _Pages,
    page: bytes,
    cell: int,
    number: int,
    candidates: dict[int, dict[bytes, Link]],
) -> None:
    for payload, rowid in _payloads(pages, page, cell):
        if rowid != number:
            return
        values = _record(payload)
        found = None if values is None else _link(values, rowid)[0]
        if found is not None:
            candidates.setdefault(number, {})[found.row["hash"]] = found  # type: ignore[index]
            return


def _choose(candidates: dict[int, dict[bytes, Link]]) -> dict[int, Link]:
    chosen: dict[int, Link] = {}
    for number in sorted(candidates, reverse=True):
        among = candidates[number]
        after = chosen.get(number + 1)
        wanted = None if after is None else after.row["previous"]
        before = candidates.get(number - 1, {})
        chosen[number] = max(
            among.values(),
            key=lambda link: (link.hash == wanted, link.row["previous"] in before),
        )
    return dict(sorted(chosen.items()))


def _cells(number: int, page: bytes) -> list[int]:
    """Return where the cells of a leaf page begin; none if it is no leaf of a table."""
    start = 100 if number == 1 else 0
    if len(page) < start + 8 or page[start] != _LEAF:
        return []
    count = struct.unpack_from(">H", page, start + 3)[0]
    count = min(count, (len(page) - start - 8) // 2)
    return list(struct.unpack_from(f">{count}H", page, start + 8))


def _payloads(pages: _Pages, page: bytes, at: int) -> Iterator[tuple[bytes, int]]:
    """Iterate over the possible payloads of a cell and its row number."""
    try:
        length, at = _varint(page, at)
        rowid, at = _varint(page, at)
    except IndexError:
        return
    if not 0 < length < len(pages.data) + len(pages.log) or not 0 < rowid < 1 << 40:
        return
    usable = pages.usable
    largest = usable - 35
    if length <= largest:
        if at + length <= len(page):
            yield page[at : at + length], rowid
        return
    least = (usable - 12) * 32 // 255 - 23
    here = least + (length - least) % (usable - 4)
    here = here if here <= largest else least
    if at + here + 4 > len(page):
        return
    first = struct.unpack_from(">I", page, at + here)[0]
    for newest in (True, False):
        rest = _overflow(pages, first, length - here, newest)
        if rest is not None:
            yield page[at : at + here] + rest, rowid


def _overflow(pages: _Pages, number: int, length: int, newest: bool) -> bytes | None:
    """Return what overflowed from a cell, from the newest or the oldest version of each page."""
    parts: list[bytes] = []
    seen = set()
    while length > 0:
        versions = list(pages.versions(number))
        if not versions or number in seen:
            return None
        seen.add(number)
        page = versions[0 if newest else -1]
        take = min(length, pages.usable - 4)
        if len(page) < 4 + take:
            return None
        parts.append(page[4 : 4 + take])
        length -= take
        number = struct.unpack_from(">I", page)[0]
    return b"".join(parts)


def _varint(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for step in range(9):
        byte = data[at + step]
        if step == 8:
            return (value << 8) | byte, at + 9
        value = (value << 7) | (byte & 0x7F)
        if byte < 0x80:
            return value, at + step + 1
    raise AssertionError("unreachable")


def _record(payload: bytes) -> list[Value] | None:
    """Return the columns of a record, or None if it is none."""
    try:
        end, at = _varint(payload, 0)
        if not at <= end <= len(payload):
            return None
        kinds = []
        while at < end:
            kind, at = _varint(payload, at)
            kinds.append(kind)
        values: list[Value] = []
        for kind in kinds:
            value, size = _column(payload, end, kind)
            if end + size > len(payload):
                return None
            values.append(value)
            end += size
    except (IndexError, struct.error, ValueError):
        return None
    return values if end == len(payload) else None


def _column(payload: bytes, at: int, kind: int) -> tuple[Value, int]:
    if kind == 0:
        return None, 0
    if kind in _INTEGERS:
        size = _INTEGERS[kind]
        return int.from_bytes(payload[at : at + size], "big", signed=True), size
    if kind == 7:
        return float(struct.unpack_from(">d", payload, at)[0]), 8
    if kind in (8, 9):
        return kind - 8, 0
    if kind < 12:
        raise ValueError("a kind of column that no file has")
    size = (kind - 12) // 2
    raw = payload[at : at + size]
    return (raw if kind % 2 == 0 else raw.decode("utf-8", "surrogateescape")), size


def _link(values: list[Value], rowid: int) -> tuple[Link | None, Link | None]:
    """Return the link that a record is, or the one that it may have been."""
    if not values or values[0] is not None:
        return None, None
    suspect = None
    for table in _tables():
        if len(values) > len(table.columns):
            continue
        row = dict(zip(table.columns, values, strict=False))
        row["link"] = rowid
        for name in table.real:
            value = row.get(name)
            if isinstance(value, int):  # a whole number is kept as an integer to save room
                row[name] = float(value)
        if not _is_hash(row.get("hash")) or not _is_hash(row.get("previous")):
            continue
        link = Link(rowid, table.name, row)
        try:
            if link_hash(table.name, row) == row["hash"]:
                return link, None
        except (ValueError, TypeError):
            continue
        if len(values) == len(table.columns) and table.name == "block":
            suspect = link
    return None, suspect


def _is_hash(value: Value) -> bool:
    return isinstance(value, bytes) and len(value) == _HASH

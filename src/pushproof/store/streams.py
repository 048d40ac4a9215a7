"""Reading a job: opening it, and its streams as messages and as arrays."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import Any, Self, TypeVar

from sqlalchemy import Connection, Row, Select, Table, func, select

from pushproof.errors import RecordDamagedError, RecordError
from pushproof.model.stream import Message, Reading, StreamKind, Undecoded
from pushproof.store import schema
from pushproof.store.chain import Head
from pushproof.store.content import ENCODING, Mark, unpack_readings, unpack_undecoded
from pushproof.store.engine import in_words, reading_engine, tidy
from pushproof.store.facts import (
    Readings,
    Stored,
)

_BLOCKS_AT_A_TIME = 500
_T = TypeVar("_T")


class StreamReader:
    """Opens a job for reading and gives its streams back. Use it through ``Job``."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._reading = reading_engine(path)
        self._links: dict[str, int] = {}

    def close(self) -> None:
        """Close the job. Safe to call twice."""
        self._reading.dispose()
        tidy(self.path)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()

    @contextmanager
    def _read(self) -> Iterator[Connection]:
        with in_words(self.path), self._reading.begin() as connection:
            yield connection

    def _rows(self, query: Select[Any]) -> Sequence[Row[Any]]:
        with self._read() as connection:
            return connection.execute(query).all()

    def _understood(self, row: Any, read: Callable[..., _T], *stored: Any) -> _T:
        """Return ``read(*stored)``; what does not read is damage, not a traceback."""
        try:
            return read(*stored)
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            raise RecordDamagedError(
                f"{self.path}: link {row.link} does not read: {error}. "
                "'pushproof verify' tells whether it is damaged; if not, another version of "
                "Pushproof wrote it."
            ) from error

    # The job

    @property
    def head(self) -> Head:
        """The newest link and its hash, as stored."""
        row = self._rows(select(schema.head.c.link, schema.head.c.hash))[0]
        return Head(row.link, row.hash)

    @property
    def identity(self) -> str:
        """The random UUID of the job."""
        return str(self._rows(select(schema.job.c.identity))[0].identity)

    def soundings(self) -> tuple[str, ...]:
        """Return the names of the soundings, in the order in which they were added."""
        table = schema.sounding
        return tuple(
            str(row.name) for row in self._rows(select(table.c.name).order_by(table.c.link))
        )

    def _link(self, name: str) -> int:
        """Return the link of a sounding by its name."""
        if name not in self._links:
            table = schema.sounding
            self._links |= {row.name: row.link for row in self._rows(select(table))}
        try:
            return self._links[name]
        except KeyError:
            have = ", ".join(self.soundings()) or "none"
            raise RecordError(f"{self.path}: no sounding {name!r}; there are: {have}") from None

    def _of(self, table: Table, sounding: str | None, job_too: bool = False) -> Select[Any]:
        """Select rows of a table with the name of their sounding, for one sounding or all."""
        name = schema.sounding.c.name.label("of")
        query = select(table, name).select_from(
            table.outerjoin(schema.sounding, table.c.sounding == schema.sounding.c.link)
        )
        if sounding is not None:
            mine = table.c.sounding == self._link(sounding)
            query = query.where(mine | table.c.sounding.is_(None) if job_too else mine)
        return query.order_by(table.c.link)

    # Streams

    def messages(
        self, sounding: str, stream: StreamKind | str, *, after: int = 0
    ) -> Iterator[Stored]:
        """Iterate over the readings of a stream whose number is above ``after``.

        Readings stored while iterating are given too. To follow a push that is being recorded,
        call it again with the number of the last one.
        """
        kind = StreamKind(stream)
        for row in self._blocks(sounding, kind, "reading", after):
            unpacked = self._understood(row, _read_block, row.content, kind)
            for number, (reading, mark) in enumerate(unpacked, row.first):
                if number > after:
                    yield Stored(number, reading, mark)

    def readings(self, sounding: str, stream: StreamKind | str, *, after: int = 0) -> Readings:
        """Return the readings of a stream whose number is above ``after``, as arrays."""
        return Readings.of(StreamKind(stream), self.messages(sounding, stream, after=after))

    def undecoded(
        self, sounding: str, stream: StreamKind | str, *, after: int = 0
    ) -> Iterator[Undecoded]:
        """Iterate over the bytes of a stream that could not be decoded, those after a number."""
        kind = StreamKind(stream)
        for row in self._blocks(sounding, kind, "undecoded", after):
            rows = self._understood(row, _undecoded_block, row.content, kind)
            yield from rows[max(after - row.first + 1, 0) :]

    def recorded(
        self,
        sounding: str,
        streams: Iterable[StreamKind | str] = (
            StreamKind.CONE,
            StreamKind.DEPTH,
            StreamKind.POSITION,
        ),
    ) -> Iterator[Message]:
        """Iterate over everything that sources gave, in the order in which it arrived.

        Readings and undecoded bytes of all streams together, as a source would give them again.
        Each stretch between two starts of the recorder is ordered by its monotonic clock, which
        does not go on from one start to the next.
        """
        kinds = {str(StreamKind(stream)) for stream in streams}
        events = self._rows(self._of(schema.event, sounding))
        starts = [event.link for event in events if event.kind == "resumed"]
        for first, end in pairwise([0, *starts, 1 << 62]):
            yield from sorted(
                self._between(self._link(sounding), first, end, kinds),
                key=lambda message: message.monotonic,
            )

    def _between(
        self, sounding: int, first: int, end: int, streams: set[str]
    ) -> Iterator[Reading | Undecoded]:
        table = schema.block
        query = (
            select(table.c.link, table.c.stream, table.c.kind, table.c.encoding, table.c.content)
            .where(table.c.sounding == sounding, table.c.link > first, table.c.link < end)
            .order_by(table.c.link)
        )
        for row in self._rows(query):
            if row.stream not in streams:
                continue
            self._check_encoding(row)
            if row.kind == "undecoded":
                yield from self._understood(
                    row, _undecoded_block, row.content, StreamKind(row.stream)
                )
            else:
                unpacked = self._understood(row, _read_block, row.content, StreamKind(row.stream))
                yield from (reading for reading, _ in unpacked)

    def last(self, sounding: str, stream: StreamKind | str) -> int:
        """Return the number of the newest reading of a stream, 0 if there is none."""
        return self._last(self._link(sounding), StreamKind(stream), "reading")

    def last_undecoded(self, sounding: str, stream: StreamKind | str) -> int:
        """Return how often bytes of a stream could not be decoded."""
        return self._last(self._link(sounding), StreamKind(stream), "undecoded")

    def _last(self, link: int, stream: StreamKind, kind: str) -> int:
        table = schema.block
        query = select(func.max(table.c.last)).where(
            table.c.sounding == link, table.c.stream == str(stream), table.c.kind == kind
        )
        return self._rows(query)[0][0] or 0

    def _blocks(
        self, sounding: str, stream: StreamKind, kind: str, after: int
    ) -> Iterator[Row[Any]]:
        table = schema.block
        mine = (
            table.c.sounding == self._link(sounding),
            table.c.stream == str(stream),
            table.c.kind == kind,
        )
        columns = (table.c.link, table.c.first, table.c.last, table.c.encoding, table.c.content)
        while True:
            rows = self._rows(
                select(*columns)
                .where(*mine, table.c.last > after)
                .order_by(table.c.last)
                .limit(_BLOCKS_AT_A_TIME)
            )
            if not rows:
                return
            for row in rows:
                self._check_encoding(row)
                yield row
            after = rows[-1].last

    def _check_encoding(self, row: Row[Any]) -> None:
        if row.encoding != ENCODING:
            raise RecordDamagedError(
                f"{self.path}: block {row.link} is written as {row.encoding!r}, "
                f"expected {ENCODING!r}"
            )


def _read_block(content: bytes, stream: StreamKind) -> list[tuple[Reading, Mark]]:
    return list(unpack_readings(content, stream))


def _undecoded_block(content: bytes, stream: StreamKind) -> list[Undecoded]:
    return list(unpack_undecoded(content, stream))

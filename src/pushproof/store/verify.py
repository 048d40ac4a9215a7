"""Proving a job: every link, the head, the tables, the anchors.

What it proves: that no link was changed, removed, put in, swapped or repeated since the chain
was written, as far as whoever did it did not also write the rest of the chain anew; with the
anchors or a head noted elsewhere, that the end of the chain was not cut off either. Somebody who
rewrites the whole file, hashes and anchors included, is found only by a head kept out of reach,
or by a signature.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine

from pushproof.errors import RecordError, RecordVersionError
from pushproof.store import migrations
from pushproof.store.anchors import Anchor, file_hash, read_anchors
from pushproof.store.chain import NOTHING, Head, Value
from pushproof.store.engine import in_words, reading_engine, tidy
from pushproof.store.walk import Link, walk

MOST = 50
"""So many problems are told; the rest are counted."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that does not hold.

    Parameters
    ----------
    kind
        ``database``, ``tables``, ``altered``, ``missing``, ``order``, ``repeated``, ``head``,
        ``anchor`` or ``seal``.
    text
        What was found, in a sentence.
    link
        The link concerned, None for the whole file.
    table
        Its table, empty for the whole file.
    """

    kind: str
    text: str
    link: int | None = None
    table: str = ""


@dataclass(frozen=True)
class VerifyReport:
    """What a job proves.

    Parameters
    ----------
    path
        The job.
    links
        Links that were read.
    head
        The newest link, if it could be read.
    problems
        What does not hold, at most 50; empty if the job proves itself.
    more
        How many problems were found beyond those.
    notes
        What is worth knowing but breaks no proof: not closed, no anchors.
    closed
        Whether the program that wrote it last closed it.
    anchors
        How many anchors beside the job were compared.
    sealed
        Whether the file is, byte for byte, what it was when it was closed; None if unknown.
    """

    path: Path
    links: int = 0
    head: Head | None = None
    problems: tuple[Problem, ...] = ()
    more: int = 0
    notes: tuple[str, ...] = ()
    closed: bool = False
    anchors: int = 0
    sealed: bool | None = None

    @property
    def ok(self) -> bool:
        """Whether everything holds."""
        return not self.problems

    @property
    def first_bad(self) -> Problem | None:
        """The problem at the lowest link; one of the whole file if there is no other."""
        at_links = [problem for problem in self.problems if problem.link is not None]
        return (
            min(at_links, key=lambda p: p.link or 0)
            if at_links
            else next(iter(self.problems), None)
        )

    def __str__(self) -> str:
        if self.ok:
            return f"{self.path}: whole, {self.links} links, head {self.head}"
        first = self.first_bad
        where = f"link {first.link}: " if first and first.link is not None else ""
        return f"{self.path}: damaged. {where}{first.text if first else ''}"


@dataclass
class _Findings:
    problems: list[Problem] = field(default_factory=list)
    more: int = 0

    def add(self, kind: str, text: str, link: int | None = None, table: str = "") -> None:
        if len(self.problems) < MOST:
            self.problems.append(Problem(kind, text, link, table))
        else:
            self.more += 1


def verify(path: Path | str, *, expected: Head | str | None = None) -> VerifyReport:
    """Prove a job file. It is not changed, and may be one that is being recorded.

    Parameters
    ----------
    path
        The job.
    expected
        A head that was noted before, for example on the sheet: it must still be in the chain.

    Raises
    ------
    RecordError
        If there is no such file, or it holds a database of something else.
    RecordVersionError
        If a newer version of Pushproof wrote it.
    """
    path = Path(path)
    if not path.is_file():
        raise RecordError(f"{path}: no such job file")
    if isinstance(expected, str):
        expected = Head.parse(expected)
    found = _Findings()
    proof = _Proof(found)
    engine = reading_engine(path)
    try:
        with in_words(path), engine.connect() as connection:
            database: Any = connection.connection.driver_connection
            database.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
            database.execute("BEGIN")
            try:
                _prove(path, database, proof)
            finally:
                database.rollback()
    except RecordError as error:
        if error.__cause__ is None:
            raise  # another version or no job at all: there is nothing to prove
        found.add("database", f"the database cannot be read: {error.__cause__}")
    finally:
        engine.dispose()
        tidy(path)
    return _report(path, proof, expected)


def _prove(path: Path, database: sqlite3.Connection, proof: _Proof) -> None:
    """Check the tables, then the chain; a fault in the one does not keep from the other."""
    try:
        _check_tables(path, database, proof.found)
    except (sqlite3.Error, UnicodeDecodeError) as error:
        proof.found.add("database", f"the database is damaged: {error}")
    try:
        proof.walk(database)
    except (sqlite3.Error, UnicodeDecodeError, TypeError) as error:
        proof.found.add(
            "database",
            f"the chain cannot be read past link {proof.last}: {error}",
            proof.last + 1,
        )


def _check_tables(path: Path, database: sqlite3.Connection, found: _Findings) -> None:
    application = database.execute("PRAGMA application_id").fetchone()[0]
    done = database.execute("PRAGMA user_version").fetchone()[0]
    here = _objects(database)
    if application != migrations.APPLICATION_ID and "head" not in {name for name, _ in here}:
        raise RecordError(f"{path} is a database, but not a job file of Pushproof")
    names = [str(row[0]) for row in database.execute("SELECT name FROM migration ORDER BY link")]
    known = [name for name, _ in migrations.MIGRATIONS]
    if len(names) > len(known) and names[: len(known)] == known:
        raise RecordVersionError(
            f"{path}: written by a newer version of Pushproof (it knows {names[-1]!r}, this "
            "program does not). Install the newer version to prove it."
        )
    if application != migrations.APPLICATION_ID:
        found.add("tables", "the mark of a job file in the header was changed")
    if names != known[: len(names)] or done != len(names):
        found.add("tables", f"version {done}, steps {', '.join(names)}: not a version there was")
    elif here != _expected_objects(done):
        changed = {name for name, _ in here ^ _expected_objects(done)}
        found.add("tables", f"not as they were made: {', '.join(sorted(changed))}")
    for pragma, what in (("integrity_check(20)", "database"), ("foreign_key_check", "tables")):
        for row in database.execute(f"PRAGMA {pragma}"):
            if row[0] != "ok":
                found.add(what, f"{pragma.split('(')[0]}: {' '.join(map(str, row))}")


def _objects(database: sqlite3.Connection) -> frozenset[tuple[str, str]]:
    rows = database.execute("SELECT name, type, tbl_name, sql FROM sqlite_master")
    return frozenset((str(row[0]), " ".join(map(str, row[1:]))) for row in rows)


@cache
def _expected_objects(done: int) -> frozenset[tuple[str, str]]:
    """Return the tables, triggers and indexes of a version: made anew and looked at."""
    engine = create_engine("sqlite://")
    try:
        with engine.begin() as connection:
            for _, step in migrations.MIGRATIONS[:done]:
                step(connection)
            database: Any = connection.connection.driver_connection
            return _objects(database)
    finally:
        engine.dispose()


class _Proof:
    """Walks the chain and keeps what it saw."""

    def __init__(self, found: _Findings) -> None:
        self.found = found
        self.links = 0
        self.last = 0
        self.head: Head | None = None
        self.closed = False
        self.identity = ""
        self.hashes: list[Value] = [NOTHING]
        self.streams: dict[tuple[Value, ...], int] = {}

    def walk(self, database: sqlite3.Connection) -> None:
        """Check every link, then the head."""
        for link in walk(database):
            self._check(link)
        head = database.execute("SELECT link, hash FROM head").fetchall()
        if len(head) != 1:
            self.found.add("head", "the head of the chain is missing")
            return
        number, value = head[0]
        if number > self.last:
            self.found.add(
                "missing",
                f"links {self.last + 1} to {number} are missing: the end of the chain was cut off",
                self.last + 1,
            )
        elif number < self.last:
            self.found.add(
                "head", f"the head says {number} links, there are {self.last}", number + 1
            )
        elif value != self.hashes[-1]:
            self.found.add("head", "the newest link is not the one that the head names", number)
        if isinstance(value, bytes) and len(value) == len(NOTHING):
            self.head = Head(number, value)

    def _check(self, link: Link) -> None:
        self.links += 1
        expected = self.last + 1
        if link.number < expected:
            text = f"there is another link {link.number}, in table {link.table}"
            self.found.add("repeated", text, link.number, link.table)
            return
        whole = link.proves_itself
        if link.number > expected:
            gone = (
                str(expected) if link.number == expected + 1 else f"{expected} to {link.number - 1}"
            )
            self.found.add("missing", f"gone from the chain: {gone}", expected)
            self.hashes += [None] * (link.number - expected)
        if not whole:
            text = f"{_named(link)} was altered: its content does not give its hash"
            self.found.add("altered", text, link.number, link.table)
        elif link.number == expected and link.row.get("previous") != self.hashes[-1]:
            text = (
                f"{_named(link)} does not follow the link before it: one was put in another's place"
            )
            self.found.add("order", text, link.number, link.table)
        self.last = link.number
        self.hashes.append(link.hash)
        self._note(link)

    def _note(self, link: Link) -> None:
        row = link.row
        if link.table == "event" and row.get("kind") in ("job-opened", "job-closed"):
            self.closed = row.get("kind") == "job-closed"
        elif link.table == "job":
            self.identity = str(row.get("identity"))
        elif link.table == "block":
            stream = (row.get("sounding"), row.get("stream"), row.get("kind"))
            first, last = row.get("first"), row.get("last")
            before = self.streams.get(stream, 0)
            if not (isinstance(first, int) and isinstance(last, int)) or first <= before:
                text = f"{_named(link)} does not come after message {before} of its stream"
                self.found.add("order", text, link.number, link.table)
            else:
                self.streams[stream] = last

    def holds(self, head: Head) -> bool:
        """Tell whether a head noted before is in the chain."""
        return head.link < len(self.hashes) and self.hashes[head.link] == head.hash


def _named(link: Link) -> str:
    if link.table != "block":
        return f"{link.table} (link {link.number})"
    row = link.row
    return (
        f"{row.get('stream')!s} block of messages {row.get('first')!s} to {row.get('last')!s} "
        f"(link {link.number})"
    )


def _report(path: Path, proof: _Proof, expected: Head | None) -> VerifyReport:
    found, notes = proof.found, []
    anchors = [one for one in read_anchors(path) if one.identity == proof.identity]
    for anchor in _broken(proof, anchors):
        found.add(
            "anchor",
            f"the chain had link {anchor.head.link} with another hash at {anchor.time} "
            f"({anchor.what}): the end was cut off or written anew",
            anchor.head.link,
        )
    if expected is not None and not proof.holds(expected):
        found.add("anchor", f"the head {expected} is not in this chain", expected.link)
    if not anchors:
        notes.append(
            "no anchors beside the job: a cut of the newest links together with the head "
            "cannot be ruled out"
        )
    if not proof.closed:
        notes.append(
            "not closed: it is being written, or the program that wrote it ended early, "
            "or it was copied without its log (-wal) and lacks the newest links"
        )
    sealed = _sealed(path, anchors)
    if sealed is False:
        found.add("seal", "the bytes of the file are not those it had when it was closed")
    return VerifyReport(
        path,
        proof.links,
        proof.head,
        tuple(found.problems),
        found.more,
        tuple(notes),
        proof.closed,
        len(anchors),
        sealed,
    )


def _broken(proof: _Proof, anchors: list[Anchor]) -> Iterator[Anchor]:
    return (anchor for anchor in anchors if not proof.holds(anchor.head))


def _sealed(path: Path, anchors: list[Anchor]) -> bool | None:
    """Compare the file with its hash at the last closing, where nothing was opened since."""
    if not anchors or anchors[-1].sha256 is None:
        return None
    log = path.with_name(path.name + "-wal")
    if log.exists() and log.stat().st_size:
        return None
    return path.stat().st_size == anchors[-1].size and file_hash(path) == anchors[-1].sha256

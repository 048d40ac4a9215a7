"""Opening a job for writing, closing it, and adding links to its chain.

Everything is one transaction or part of one; the head of the chain moves on in the same
transaction as the links it names, and the head in memory follows only when they are stored.
"""

from __future__ import annotations

import json
import logging
import math
import os
import socket
import sqlite3
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Self, cast
from uuid import uuid4

from sqlalchemy import Connection, Engine, Float, Integer, Table, bindparam, select

import pushproof
from pushproof.errors import RecordBusyError, RecordDamagedError, RecordError
from pushproof.model.stream import StreamKind
from pushproof.store import schema
from pushproof.store.anchors import add_anchor
from pushproof.store.chain import NOTHING, Head, Value, link_hash
from pushproof.store.engine import WAIT, in_words, writing_engine
from pushproof.store.lock import WriterLock
from pushproof.store.reader import JobReader
from pushproof.store.versions import bring_up_to_date, check_version, run_migrations
from pushproof.store.walk import walk

_MOVE = schema.head.update().values(link=bindparam("to"), hash=bindparam("by"))
_INSERT = {table.name: table.insert() for table in schema.FACTS}
_log = logging.getLogger("pushproof.store")


class JobWriter(JobReader):
    """A job that may be open for writing. Use it through :class:`pushproof.store.Job`."""

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        self._lock: WriterLock | None = None
        self._engine: Engine | None = None
        self._connection: Connection | None = None
        self._depth = 0
        self._begun_at = 0
        self._mutex = threading.RLock()
        self._head = Head(0, NOTHING)
        self._numbers: dict[tuple[int, StreamKind, str], int] = {}

    # Opening and closing

    @classmethod
    def create(
        cls,
        path: Path | str,
        *,
        project: str | None = None,
        client: str | None = None,
        place: str | None = None,
        purpose: str = "",
    ) -> Self:
        """Make a new job file and open it for writing.

        Parameters
        ----------
        path
            Where; the folder must exist, the file must not.
        project, client, place
            What the job belongs to; can be added later.
        purpose
            What the program does, told to others who want to write too.

        Raises
        ------
        RecordError
            If the file exists or cannot be made.
        """
        job = cls(Path(path))
        if not job.path.parent.is_dir():
            raise RecordError(f"{job.path.parent}: no such folder; make it first")
        with in_words(job.path):
            job._lock = WriterLock(job.path, purpose)
        try:
            if job.path.exists():
                raise RecordError(f"{job.path} exists; open it, or choose another name")
            # Made under another name: a job file is there whole or not at all.
            new = job.path.with_name(job.path.name + ".new")
            cls(new)._make({"name": project, "client": client, "place": place})
            with in_words(job.path):
                new.rename(job.path)
                _sync_folder(job.path)
            job._take_up()
        except BaseException:
            job._abandon()
            raise
        return job

    def _make(self, project: Mapping[str, str | None]) -> None:
        self._remove()  # what a program left that was killed while making it
        try:
            self._connect(create=True)
            with self.writing():
                run_migrations(self._writer, self._insert)
                values = {"identity": str(uuid4()), "software": pushproof.__version__}
                self._insert(schema.job, values)
                if any(project.values()):
                    self._insert(schema.project, project)
            self._checkpoint()
            self._disconnect()
        except BaseException:
            self._abandon()
            self._remove()
            raise

    def _remove(self) -> None:
        for suffix in ("", "-wal", "-shm"):
            self.path.with_name(self.path.name + suffix).unlink(missing_ok=True)

    @classmethod
    def open(cls, path: Path | str, *, write: bool = False, purpose: str = "") -> Self:
        """Open a job file, for reading unless ``write``.

        Raises
        ------
        RecordBusyError
            If another program has it open for writing.
        RecordVersionError
            If a newer version of Pushproof wrote it, or an older one and it is opened for
            reading only.
        RecordDamagedError
            If it is not a sound job file.
        """
        job = cls(Path(path))
        if not job.path.is_file():
            raise RecordError(f"{job.path}: no such job file")
        try:
            if write:
                with in_words(job.path):
                    job._lock = WriterLock(job.path, purpose)
                job._take_up()
            else:
                with job._read() as connection:
                    check_version(job.path, connection, may_be_older=False)
        except BaseException:
            job._abandon()
            raise
        return job

    def _take_up(self) -> None:
        """Make ready for writing a job that is locked."""
        with self._read() as connection:
            steps = check_version(self.path, connection, may_be_older=True)
        self._connect()
        self._load_head()
        self._check_head()
        if steps:
            bring_up_to_date(self.path, self._writer, self.writing, self._insert)
        with self.writing():
            self._add_opening()
        self._settle()

    def _connect(self, *, create: bool = False) -> None:
        with in_words(self.path):
            self._engine = writing_engine(self.path, create=create)
            self._connection = self._engine.connect()

    def _load_head(self) -> None:
        with in_words(self.path), self._writer.begin():
            row = self._writer.execute(select(schema.head)).one_or_none()
        if row is None or not isinstance(row.hash, bytes) or len(row.hash) != len(NOTHING):
            raise RecordDamagedError(
                f"{self.path}: the head of the chain is missing. Keep the file as it is and "
                "salvage it with 'pushproof recover'."
            )
        self._head = Head(row.link, row.hash)

    def _check_head(self) -> None:
        """Refuse to write behind a newest link that does not prove itself."""
        with in_words(self.path), self._writer.begin():
            found = list(walk(self._database, first=self._head.link))
        if [link.hash for link in found if link.proves_itself] != [self._head.hash]:
            raise RecordDamagedError(
                f"{self.path}: the newest link, {self._head.link}, is missing or does not prove "
                "itself. Keep the file as it is, look at 'pushproof verify' and salvage it with "
                "'pushproof recover'."
            )

    def _add_opening(self) -> None:
        if self._newest_event("job-opened", "job-closed") == "job-opened":
            self._mark(
                "job-interrupted", "the program before this one ended without closing the job"
            )
        details = {
            "software": pushproof.__version__,
            "process": os.getpid(),
            "host": socket.gethostname(),
        }
        self._mark("job-opened", details=json.dumps(details))

    def _mark(self, kind: str, text: str = "", details: str | None = None) -> None:
        values = {
            "kind": kind,
            "at": time.time(),
            "monotonic": time.monotonic(),
            "text": text,
            "details": details,
        }
        self._insert(schema.event, values)

    def _newest_event(self, *kinds: str) -> str | None:
        table = schema.event
        query = (
            select(table.c.kind)
            .where(table.c.kind.in_(kinds))
            .order_by(table.c.link.desc())
            .limit(1)
        )
        return cast("str | None", self._writer.execute(query).scalar())

    def _settle(self) -> None:
        """Bring the opening into the file itself: a copy without its log then shows as open."""
        self._checkpoint()
        add_anchor(self.path, self.identity, self._head, "opened")

    def _checkpoint(self) -> None:
        with in_words(self.path):
            # A reader may be in the way: not waited for long, the log then simply stays.
            self._database.execute("PRAGMA busy_timeout = 300")
            self._database.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
            self._database.execute(f"PRAGMA busy_timeout = {int(WAIT * 1000)}")

    def close(self) -> None:
        """Close the job. Safe to call twice.

        Raises
        ------
        RecordError
            If the closing mark could not be stored; the job is closed all the same.
        """
        with self._mutex:
            if self._connection is None:
                self._abandon()
                super().close()
                return
            try:
                identity = self.identity
                self._mark("job-closed")
                self._checkpoint()
                self._disconnect()
                whole = not self.path.with_name(self.path.name + "-wal").exists()
                add_anchor(self.path, identity, self._head, "closed", seal=whole)
            finally:
                self._abandon()

    def anchor(self, what: str = "noted") -> Head:
        """Note the newest link beside the job and return it, to be kept elsewhere too."""
        with self._mutex:
            head = self._head if self.writable else self.head
            if self.writable:
                add_anchor(self.path, self.identity, head, what)
            return head

    @property
    def writable(self) -> bool:
        """Whether the job is open for writing."""
        return self._connection is not None

    def _disconnect(self) -> None:
        # Readers first: whoever closes last takes the log away, and only a writer may.
        self._reading.dispose()
        if self._connection is not None:
            self._connection.close()
        if self._engine is not None:
            self._engine.dispose()
        self._connection = self._engine = None

    def _abandon(self) -> None:
        try:
            self._disconnect()
        finally:
            if self._lock is not None:
                self._lock.release()
                self._lock = None

    # Writing

    @property
    def _writer(self) -> Connection:
        if self._connection is None:
            raise RecordBusyError(f"{self.path} is open for reading only, or closed")
        return self._connection

    @property
    def _database(self) -> sqlite3.Connection:
        """The driver's connection below the writer, for what is no transaction."""
        return cast(sqlite3.Connection, self._writer.connection.driver_connection)

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Store everything inside in one transaction: all of it or nothing.

        It is on the disk when the outermost ``writing`` ends. Other threads wait meanwhile.
        """
        with self._mutex:
            connection = self._writer
            if self._depth:
                yield
                return
            before, numbers = self._head, dict(self._numbers)
            self._depth, self._begun_at = 1, before.link
            try:
                with in_words(self.path):
                    transaction = connection.begin()
                try:
                    yield
                    with in_words(self.path):
                        self._move_head(before)
                        transaction.commit()
                except BaseException:
                    transaction.rollback()
                    raise
            except BaseException:
                if not self._reached(self._head, before):
                    self._head, self._numbers = before, numbers
                    raise
                _log.warning("%s: the disk reported a fault, but the commit is there", self.path)
            finally:
                self._depth = 0

    def _move_head(self, before: Head) -> None:
        if self._head != before:
            self._writer.execute(_MOVE, {"to": self._head.link, "by": self._head.hash})

    def _reached(self, wanted: Head, before: Head) -> bool:
        """Tell whether a commit that failed is in the file all the same."""
        if wanted == before:
            return False
        try:
            with in_words(self.path), self._writer.begin():
                row = self._writer.execute(select(schema.head)).one()
            return Head(row.link, row.hash) == wanted
        except RecordError:
            return False

    def restore(self, table: str, values: Mapping[str, Any]) -> int:
        """Add a row that was salvaged from another job; return its link in this one.

        Parameters
        ----------
        table
            Name of its table.
        values
            Every column but link, previous and hash; ``time`` is when it was first stored.
        """
        columns = dict(values)
        time_ = columns.pop("time")
        return self._insert(schema.metadata.tables[table], columns, time_)

    def _insert(self, table: Table, values: Mapping[str, Any], time_: float | None = None) -> int:
        """Add one link and return its number."""
        with self.writing():
            row: dict[str, Value] = {
                "link": self._head.link + 1,
                "time": time.time() if time_ is None else float(time_),
                "previous": self._head.hash,
            }
            for name, value in values.items():
                row[name] = _stored(table, name, value)
            row["hash"] = link_hash(table.name, row)
            with in_words(self.path):
                self._writer.execute(_INSERT[table.name], row)
            self._head = Head(self._head.link + 1, cast(bytes, row["hash"]))
            return self._head.link


def _stored(table: Table, name: str, value: Any) -> Value:
    """Return a value exactly as the database will give it back, so that its hash holds."""
    if value is None:
        return None
    kind = table.c[name].type
    if isinstance(kind, Float):
        number = float(value)
        if math.isnan(number):
            raise ValueError(f"{table.name}.{name}: not a number")
        return number
    if isinstance(kind, Integer):
        return int(value)
    return cast(Value, value)


def _sync_folder(path: Path) -> None:
    """Make the name of a new file durable (POSIX; Windows keeps it with the file)."""
    if os.name != "posix":
        return
    handle = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

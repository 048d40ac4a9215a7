"""Opening the database of a job, and putting its errors into words.

Writing uses one connection: WAL, ``synchronous=FULL`` (a commit is on the disk when it returns;
on macOS with a full flush), foreign keys on. Reading uses connections of its own that cannot
write, so a long read never holds up the recorder.
"""

from __future__ import annotations

import errno
import logging
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool, StaticPool

from pushproof.errors import RecordDamagedError, RecordError, RecordFullError

PAGE_SIZE = 1024
"""Small pages: a commit of a few readings writes a third of what pages of 4096 would."""

WAIT = 5.0
"""How long to wait for a lock of another program [s]."""

_log = logging.getLogger("pushproof.store")


def writing_engine(path: Path, *, create: bool = False) -> Engine:
    """Return an engine with one connection that writes the job."""
    mode = "rwc" if create else "rw"

    def connect() -> sqlite3.Connection:
        opened = _connect(path, mode)
        try:
            if create:
                opened.execute(f"PRAGMA page_size = {PAGE_SIZE}")
            found = opened.execute("PRAGMA journal_mode = WAL").fetchone()[0]
            if found != "wal":
                raise RecordError(
                    f"{path}: this disk does not allow a write-ahead log (SQLite answers "
                    f"{found!r}). Keep the job on a local disk."
                )
            for pragma in (
                "synchronous = FULL",
                "fullfsync = ON",
                "checkpoint_fullfsync = ON",
                "foreign_keys = ON",
                "trusted_schema = OFF",
            ):
                opened.execute(f"PRAGMA {pragma}")
        except BaseException:
            opened.close()
            raise
        return opened

    return _engine(connect, StaticPool, "BEGIN IMMEDIATE")


def reading_engine(path: Path) -> Engine:
    """Return an engine whose connections read the job and cannot write it."""

    def connect() -> sqlite3.Connection:
        try:
            return _ready(_connect(path, "ro"))
        except sqlite3.OperationalError as error:
            # A log beside the file would hold the newest readings: never look past it.
            unusable = error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_CANTOPEN, _READONLY)
            if not unusable or not path.is_file() or path.with_name(f"{path.name}-wal").exists():
                raise
            return _ready(_connect(path, "ro", "&immutable=1"))

    return _engine(connect, QueuePool, "BEGIN", pool_size=2, max_overflow=8)


_READONLY = sqlite3.SQLITE_READONLY


def tidy(path: Path) -> None:
    """Take away the empty log that reading leaves beside a job when nobody writes it.

    A log with anything in it, left by a program that was killed, stays as it is. SQLite's own
    locks decide, so this is safe beside any other program.
    """
    log = path.with_name(f"{path.name}-wal")
    try:
        if log.exists() and log.stat().st_size == 0:
            opened = _connect(path, "rw")
            try:
                opened.execute("SELECT count(*) FROM sqlite_master").fetchone()
            finally:
                opened.close()
    except (OSError, sqlite3.Error, UnicodeDecodeError) as error:
        _log.debug("%s: the empty log stays: %s", path, error)


def _connect(path: Path, mode: str, more: str = "") -> sqlite3.Connection:
    return sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}{more}",
        uri=True,
        timeout=WAIT,
        isolation_level=None,
        check_same_thread=False,
    )


def _ready(opened: sqlite3.Connection) -> sqlite3.Connection:
    """Turn on what every reader needs; this also proves that the file can be read at all."""
    try:
        opened.execute("PRAGMA query_only = ON")
        opened.execute("PRAGMA trusted_schema = OFF")
        opened.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except BaseException:
        opened.close()
        raise
    return opened


def _engine(connect: Any, pool: Any, begin: str, **options: Any) -> Engine:
    engine = create_engine("sqlite://", creator=connect, poolclass=pool, **options)

    @event.listens_for(engine, "begin")
    def _(connection: Any) -> None:
        # The driver's own transaction handling is off: it would not cover reads and DDL.
        connection.exec_driver_sql(begin)

    return engine


_FULL = {sqlite3.SQLITE_FULL}
_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT}
_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}


@contextmanager
def in_words(path: Path) -> Iterator[None]:
    """Turn every error of the database below into one of our own.

    Raises
    ------
    RecordFullError
        If the disk takes no more.
    RecordDamagedError
        If the file is not a sound database.
    RecordError
        For anything else.
    """
    try:
        yield
    except DBAPIError as error:
        raise _translated(path, error.orig or error) from error
    except sqlite3.Error as error:
        raise _translated(path, error) from error
    except UnicodeDecodeError as error:
        # The driver cannot even put the database's own error text together.
        raise _translated(path, sqlite3.DatabaseError("Could not decode its text")) from error
    except OSError as error:
        full = error.errno in (errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC))
        kind = RecordFullError if full else RecordError
        raise kind(f"{path}: {error.strerror or error}") from error


def _translated(path: Path, error: BaseException) -> RecordError:
    extended = getattr(error, "sqlite_errorcode", 0) or 0
    code = extended & 0xFF
    said = f"{path}: {error}"
    # A file-size limit comes out as a failed write (SQLITE_IOERR_WRITE), not as a full disk.
    if code in _FULL or extended in (sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_SHMSIZE):
        return RecordFullError(
            f"{said}. The disk is full or takes no more; everything stored before is safe. "
            "Free some space: recording goes on by itself."
        )
    if code in _DAMAGED or str(error).startswith("Could not decode"):
        return RecordDamagedError(
            f"{said}. The file is damaged or not a job. Keep it as it is, look at "
            "'pushproof verify' and salvage it with 'pushproof recover'."
        )
    if code in _BUSY:
        return RecordError(f"{said}. Another program keeps the file locked; end it and try again.")
    if code == sqlite3.SQLITE_CANTOPEN:
        return RecordError(
            f"{said}. Check that the file and its folder can be read; a job on a read-only disk "
            "with a log (-wal) beside it has to be copied, log included, to another disk."
        )
    return RecordError(said)

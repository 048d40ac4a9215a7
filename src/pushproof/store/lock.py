"""The writer's lock: one program writes a job, and the operating system keeps it honest.

The lock is an advisory lock on a small file beside the job, not the existence of that file, so
it ends with the process that holds it, also when that process is killed. The file names the
holder. It is kept apart from the job itself because closing any handle of a database file would
drop SQLite's own locks on it.

Do not keep a job that is being written on a network share: many of them do not pass locks on.
"""

from __future__ import annotations

import json
import os
import socket
import sys
import time
from datetime import datetime
from pathlib import Path
from typing import Any

from pushproof.errors import RecordBusyError, RecordError

_FAR = 1 << 30
"""Offset of the locked byte on Windows, past the text, which others may then still read."""
_TRIES = 8
"""Tries before a lock counts as held: who only looks at a lock has it for a moment."""
_BETWEEN = 0.01
"""Time between two of them [s]."""


class WriterLock:
    """The right to write one job.

    Parameters
    ----------
    job
        The job file.
    purpose
        What the holder does, for the message that others get.

    Raises
    ------
    RecordBusyError
        Naming the holder, if another program (or this one) has the job open for writing.
    """

    def __init__(self, job: Path, purpose: str = "") -> None:
        self.path = lock_path(job)
        self._handle: int | None = _take(self.path, job)
        holder = {
            "process": os.getpid(),
            "host": socket.gethostname(),
            "purpose": purpose or Path(sys.argv[0] or "python").name,
            "since": time.time(),
        }
        os.ftruncate(self._handle, 0)
        os.lseek(self._handle, 0, os.SEEK_SET)
        os.write(self._handle, json.dumps(holder).encode())

    def release(self) -> None:
        """Give the lock back and take its file away. Safe to call twice."""
        handle, self._handle = self._handle, None
        if handle is None:
            return
        if sys.platform == "win32":
            os.close(handle)
            try:
                self.path.unlink(missing_ok=True)
            except PermissionError:
                return  # another program took it in between: the file is now its own
        else:
            self.path.unlink(missing_ok=True)
            os.close(handle)


def lock_path(job: Path) -> Path:
    """Return the path of the lock file of a job."""
    return job.with_name(job.name + ".lock")


def held(job: Path) -> bool:
    """Tell whether a living program has a job open for writing.

    The file that a killed program leaves behind does not count: its lock ended with it. This only
    looks, and takes the lock from nobody.
    """
    try:
        handle = os.open(lock_path(job), os.O_RDWR)
    except FileNotFoundError:
        return False
    except OSError:
        return True  # it is there and belongs to somebody whose files we may not open
    try:
        return not _locked(handle, shared=True)
    finally:
        os.close(handle)  # which gives the lock back


def _take(path: Path, job: Path) -> int:
    while True:
        try:
            handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        except OSError as error:
            raise RecordError(
                f"{job}: cannot be opened for writing, {error.strerror}. Open it for reading, or "
                "copy it to a folder that can be written."
            ) from error
        if not _locked(handle):
            os.close(handle)
            raise RecordBusyError(
                f"{job}: {holder_of(path)} has the job open for writing. Open it for reading, "
                "or end that program first."
            )
        if _same(handle, path):
            return handle
        os.close(handle)  # the holder before us took its file away while we waited for it


def _locked(handle: int, shared: bool = False) -> bool:
    """Lock an open file, and tell whether that could be done."""
    for attempt in range(_TRIES):
        if attempt:
            time.sleep(_BETWEEN)
        try:
            _lock(handle, shared)
        except OSError:
            continue
        return True
    return False


def _lock(handle: int, shared: bool) -> None:
    if sys.platform == "win32":
        import msvcrt

        os.lseek(handle, _FAR, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(handle, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)


def _same(handle: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except FileNotFoundError:
        return False


def holder_of(path: Path) -> str:
    """Return who holds a lock file, in words."""
    try:
        found: Any = json.loads(path.read_text())
        since = datetime.fromtimestamp(found["since"]).astimezone()
        return (
            f"{found['purpose']} (process {found['process']} on {found['host']}, "
            f"since {since:%Y-%m-%d %H:%M})"
        )
    except (OSError, ValueError, KeyError, TypeError):
        return "another program"

"""What a server shows: one job file, or the sounding files of one folder."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from pushproof.errors import ConfigurationError, PushproofError
from pushproof.recording.job_format import is_job

if TYPE_CHECKING:
    from pushproof.recording.session import Session


@dataclass(frozen=True)
class Entry:
    """One sounding of the site.

    Parameters
    ----------
    id
        Name for addresses: letters, digits and ``-_.`` only, unlike any other here.
    name
        Name of the sounding.
    file
        File that holds it.
    is_job
        Whether that is a job file, which keeps decisions itself.
    waiting
        Whether it is still to be pushed: there is nothing to show of it but its checklist.
    """

    id: str
    name: str
    file: Path
    is_job: bool
    waiting: bool = False


@dataclass(frozen=True)
class Unread:
    """A file of the folder that could not be read, and why."""

    file: Path
    fault: str


_Names: TypeAlias = list[tuple[str, bool]]
"""Soundings of a file, and whether each is still to be pushed."""
LOOK = 3.0
"""A job that is written now is asked for its soundings again after this long [s]."""


class Site:
    """What a server shows.

    Parameters
    ----------
    path
        A job file, one sounding file, or a folder of both.
    session
        The push that is being recorded by this server, if any.

    Raises
    ------
    ConfigurationError
        If there is no such file or folder.
    """

    def __init__(self, path: Path, session: Session | None = None) -> None:
        if not path.exists():
            raise ConfigurationError(f"{path}: no such file or folder")
        self.path = path.resolve()
        self.session = session
        self._lock = threading.Lock()
        self._known: dict[Path, tuple[tuple[int, ...], _Names, str]] = {}

    @property
    def folder(self) -> Path:
        """The folder that holds everything; nothing outside it is ever read or written."""
        return self.path if self.path.is_dir() else self.path.parent

    @property
    def job(self) -> Path | None:
        """The job file, if the site is one."""
        return self.path if self.path.is_file() and is_job(self.path) else None

    def entries(self) -> list[Entry]:
        """Return every sounding, in the order of files and of each file."""
        found: list[Entry] = []
        taken: set[str] = set()
        for file, names, _ in self._files():
            for name, waiting in names:
                id = plain_id(name)
                if id in taken:
                    id = f"{id}.{hashlib.sha256(f'{file.name}/{name}'.encode()).hexdigest()[:6]}"
                taken.add(id)
                found.append(Entry(id, name, file, is_job(file), waiting))
        return found

    def jobs(self) -> list[Path]:
        """Return the job files that are served."""
        return [file for file, _, fault in self._files() if not fault and is_job(file)]

    def unread(self) -> list[Unread]:
        """Return the files that could not be read."""
        return [Unread(file, fault) for file, _, fault in self._files() if fault]

    def entry(self, id: str) -> Entry:
        """Return one sounding by its id.

        Raises
        ------
        LookupError
            If there is none.
        """
        found = next((one for one in self.entries() if one.id == id), None)
        if found is None:
            raise LookupError(f"no sounding {id!r} here")
        return found

    def forget(self, file: Path) -> None:
        """Look again at the soundings of a file: one was added."""
        with self._lock:
            self._known.pop(file, None)

    def job_entry(self, id: str) -> Entry:
        """Return one sounding of a job by its id.

        Raises
        ------
        LookupError
            If there is none.
        ConfigurationError
            If it is in a loose file, which takes no facts.
        """
        entry = self.entry(id)
        if not entry.is_job:
            raise ConfigurationError(f"{entry.name} is not in a job file; import it into one first")
        return entry

    def hide(self, text: str) -> str:
        """Return a text without the name of the folder."""
        return text.replace(f"{self.folder}/", "").replace(str(self.folder), "this folder")

    def _files(self) -> Iterator[tuple[Path, _Names, str]]:
        if self.path.is_dir():
            paths = sorted(p for p in self.path.iterdir() if p.is_file() and _may_hold(p))
        else:
            paths = [self.path]
        for path in paths:
            yield (path, *self._names(path))

    def _names(self, path: Path) -> tuple[_Names, str]:
        """Return the soundings in a file, or why it cannot be read; read again when it changed."""
        try:
            state = path.stat()
        except OSError as error:
            return [], f"{error.strerror}"
        stamp = (state.st_mtime_ns, state.st_size, _written(path))
        with self._lock:
            known = self._known.get(path)
        if known is not None and known[0] == stamp:
            return known[1], known[2]
        names: _Names = []
        fault = ""
        try:
            names = _names_in(path)
        except (PushproofError, ValueError, OSError) as error:
            fault = self.hide(" ".join(str(error).split()))
        with self._lock:
            self._known[path] = (stamp, names, fault)
        return names, fault


def _names_in(path: Path) -> _Names:
    if is_job(path):
        from pushproof.recording.assemble import to_be_pushed
        from pushproof.store import Job

        with Job.open(path) as job:
            waiting = to_be_pushed(job)
            return [(name, name in waiting) for name in job.soundings()]
    from pushproof.formats import read_all

    return [(one.name, False) for one in read_all(path)]


def _written(path: Path) -> int:
    """Return when what is written to a job now was written last, in steps of some seconds.

    A job that is open for writing keeps what is new in a file beside it, and stays as it was.
    """
    try:
        return int(path.with_name(f"{path.name}-wal").stat().st_mtime / LOOK)
    except OSError:
        return 0


def _may_hold(path: Path) -> bool:
    """Tell whether a file of a folder may hold soundings: what Pushproof itself makes does not."""
    if path.name.startswith("."):
        return False
    suffixes = {".job", ".gef", ".xml", ".ags", ".csv", ".txt", ".xlsx", ".parquet", ".json"}
    made = (".recipe.toml", ".signed.json", "-memory.csv")
    return path.suffix.lower() in suffixes and not path.name.endswith(made)


def plain_id(name: str) -> str:
    """Return a name as a part of an address.

    Examples
    --------
    >>> plain_id("N6196/02 (3)")
    'N6196-02-3'
    """
    kept = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "-" for c in name)
    while "--" in kept:
        kept = kept.replace("--", "-")
    return kept.strip("-.") or "sounding"

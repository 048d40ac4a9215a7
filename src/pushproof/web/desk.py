"""The soundings that a page can open: those of job files and of loose files, computed once.

A sounding is named by an id that is safe in an address. Facts are read again when their file
changes; results are kept for the recipes used last. Nothing is written here but decisions.
"""

from __future__ import annotations

import logging
import re
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from pushproof.errors import PushproofError
from pushproof.model.recipe import Recipe
from pushproof.model.sounding import Sounding
from pushproof.store import Job
from pushproof.store.recipes import FileRecipes, JobRecipes, RecipeBook
from pushproof.web.logdocument import Log, make_log

_log = logging.getLogger("pushproof.web")

Lend = Callable[[Path], AbstractContextManager[Job] | None]
"""Gives a job that is open for writing in this process, or None if it is not."""

_KEPT = 12
"""Results kept, over all soundings and recipes."""
_FRESH = 2.0
"""A sounding that is being recorded is read again after this long [s], not at every request."""
_JOB = b"SQLite format 3\0"
_BESIDE = (".toml", ".json", ".pdf", ".png", ".svg", ".xlsx", ".md", ".part")
"""Endings of what stands beside soundings in a folder."""


class NoSuchSoundingError(PushproofError):
    """No sounding of that id is on the desk."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One sounding on the desk: its id, its name, the file it is in."""

    id: str
    name: str
    path: Path
    in_job: bool
    alone: bool = True


@dataclass
class _Read:
    """The facts of a file or of one sounding of a job, and when they were true."""

    stamp: tuple[float, int]
    at: float
    soundings: dict[str, Sounding]
    fault: PushproofError | None = None


class Desk:
    """Soundings by id, with what was computed of them.

    Parameters
    ----------
    paths
        Job files, sounding files, and folders of them.
    lend
        Gives a job that a recorder in this process has open for writing.
    """

    def __init__(self, paths: Sequence[Path], lend: Lend | None = None) -> None:
        self.paths = tuple(Path(path) for path in paths)
        self._lend = lend
        self._mutex = threading.RLock()
        self._files_read: dict[Path, _Read] = {}
        self._job_read: dict[tuple[Path, str], _Read] = {}
        self._logs: OrderedDict[tuple[str, int, str], Log] = OrderedDict()
        self._drafts: OrderedDict[str, Recipe] = OrderedDict()

    def entries(self) -> list[Entry]:
        """Return every sounding, by file and in the order in which they stand there."""
        found: list[Entry] = []
        taken: set[str] = set()
        for path in self._files():
            in_job = _is_job(path)
            names = self._names(path, in_job)
            for name in names:
                slug = _slug(name or path.stem, taken)
                taken.add(slug)
                found.append(Entry(slug, name, path, in_job, len(names) == 1))
        return found

    def entry(self, id: str) -> Entry:
        """Return one sounding.

        Raises
        ------
        NoSuchSoundingError
            If there is none of that id.
        """
        for one in self.entries():
            if one.id == id:
                return one
        raise NoSuchSoundingError(f"there is no sounding {id!r} here")

    def book(self, id: str) -> RecipeBook:
        """Return where the versions of a sounding's recipe are kept."""
        entry = self.entry(id)
        if not entry.in_job:
            return FileRecipes(entry.path, "" if entry.alone else entry.name)

        def writing() -> AbstractContextManager[Job]:
            lent = self._lend(entry.path) if self._lend is not None else None
            return lent or Job.open(entry.path, write=True, purpose="save a decision")

        return JobRecipes(entry.path, entry.name, writing)

    def sounding(self, id: str) -> Sounding:
        """Return the facts of a sounding."""
        entry = self.entry(id)
        if entry.in_job:
            return self._of_job(entry)
        return self._of_file(entry.path).soundings[entry.name]

    def log(self, id: str, recipe: Recipe | None = None) -> Log:
        """Return a sounding under a recipe; under its newest one if none is given."""
        if recipe is None:
            recipe = self.book(id).versions()[-1].recipe
        sounding = self.sounding(id)
        with self._mutex:
            for key, log in self._logs.items():
                same = log.interpretation.profile.sounding is sounding
                if same and key == (id, len(sounding.readings), recipe.fingerprint()):
                    self._logs.move_to_end(key)
                    return log
        made = make_log(sounding, recipe)
        with self._mutex:
            self._logs[(id, len(sounding.readings), recipe.fingerprint())] = made
            while len(self._logs) > _KEPT:
                self._logs.popitem(last=False)
        return made

    def keep_draft(self, recipe: Recipe) -> str:
        """Keep a recipe that nobody saved, so that it can be looked at; return its fingerprint."""
        mark = recipe.fingerprint()
        with self._mutex:
            self._drafts[mark] = recipe
            self._drafts.move_to_end(mark)
            while len(self._drafts) > 10 * _KEPT:
                self._drafts.popitem(last=False)
        return mark

    def draft(self, fingerprint: str) -> Recipe | None:
        """Return a recipe kept by its fingerprint, None if it is not there any more."""
        with self._mutex:
            return self._drafts.get(fingerprint)

    # Reading

    def _files(self) -> Iterator[Path]:
        for path in self.paths:
            if path.is_dir():
                yield from sorted(
                    one
                    for one in path.iterdir()
                    if one.is_file()
                    and not one.name.startswith(".")
                    and one.suffix.lower() not in _BESIDE
                    and not one.name.endswith(("-wal", "-shm", ".lock"))
                )
            else:
                yield path

    def _names(self, path: Path, in_job: bool) -> list[str]:
        if in_job:
            with Job.open(path) as job:
                return list(job.soundings())
        return list(self._of_file(path).soundings)

    def _of_file(self, path: Path) -> _Read:
        from pushproof.formats import read_all

        stamp = _stamp(path)
        with self._mutex:
            read = self._files_read.get(path)
            if read is not None and read.stamp == stamp:
                return read
            try:
                found = {one.name or path.stem: one for one in read_all(path)}
                read = _Read(stamp, time.monotonic(), found)
            except PushproofError as error:
                _log.info("%s is not shown: %s", path.name, error)
                read = _Read(stamp, time.monotonic(), {}, error)
            self._files_read[path] = read
            return read

    def _of_job(self, entry: Entry) -> Sounding:
        from pushproof.recording.assemble import sounding

        key = (entry.path, entry.name)
        with self._mutex, Job.open(entry.path) as job:
            read = self._job_read.get(key)
            if read is not None and time.monotonic() - read.at < _FRESH:
                return read.soundings[entry.name]
            stamp = (0.0, job.newest_fact(entry.name))
            if read is None or read.stamp != stamp:
                found = {entry.name: sounding(job, entry.name)}
                read = _Read(stamp, 0.0, found)
                self._job_read[key] = read
            read.at = time.monotonic()
            return read.soundings[entry.name]


def _is_job(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(_JOB)) == _JOB
    except OSError:
        return False


def _stamp(path: Path) -> tuple[float, int]:
    try:
        stat = path.stat()
    except OSError:
        return (0.0, -1)
    return (stat.st_mtime, stat.st_size)


def _slug(name: str, taken: set[str]) -> str:
    base = re.sub(r"[^A-Za-z0-9_.]+", "-", name).strip("-.") or "sounding"
    slug, number = base, 2
    while slug in taken:
        slug = f"{base}-{number}"
        number += 1
    return slug

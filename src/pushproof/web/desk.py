"""The soundings that a page can open: those of job files and of loose files, computed once.

A sounding is named by an id that is safe in an address. Facts are read again when their file
changes; results are kept for the recipes used last. Nothing is written here but decisions.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from pathlib import Path

from pushproof.model.observations import Observation
from pushproof.model.recipe import Recipe
from pushproof.model.sounding import Sounding
from pushproof.store import Job
from pushproof.store.observations import observations
from pushproof.store.recipes import FileRecipes, JobRecipes, RecipeBook
from pushproof.store.signing import SignOff, changes, newest_sign_offs
from pushproof.web.logdocument import Log, make_log
from pushproof.web.site import Entry, Site

_KEPT = 12
"""Results kept, over all soundings and recipes."""
_FRESH = 2.0
"""A sounding that is being recorded is read again after this long [s], not at every request."""


@dataclass
class _Read:
    """The facts of a file or of one sounding of a job, and when they were true."""

    stamp: tuple[float, int]
    at: float
    soundings: dict[str, Sounding]


class Desk:
    """Soundings of a site by id, with what was computed of them."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self._mutex = threading.RLock()
        self._files_read: dict[Path, _Read] = {}
        self._job_read: dict[tuple[Path, str], _Read] = {}
        self._logs: OrderedDict[tuple[str, int, str], Log] = OrderedDict()
        self._drafts: OrderedDict[str, Recipe] = OrderedDict()

    def book(self, id: str) -> RecipeBook:
        """Return where the versions of a sounding's recipe are kept.

        Raises
        ------
        LookupError
            If there is no such sounding.
        """
        entry = self.site.entry(id)
        if not entry.is_job:
            shared = sum(one.file == entry.file for one in self.site.entries()) > 1
            return FileRecipes(entry.file, entry.name if shared else "")

        return JobRecipes(entry.file, entry.name, lambda: self.writing(entry.file))

    def writing(self, file: Path) -> AbstractContextManager[Job]:
        """Return a job open for writing: that of the recorder where it has it open already."""
        session = self.site.session
        if session is not None and session.job.path.resolve() == file.resolve():
            return nullcontext(session.job)
        return Job.open(file, write=True, purpose="save a decision")

    def forget(self, id: str) -> None:
        """Read the facts of a sounding again at the next call: something was added to them."""
        entry = self.site.entry(id)
        with self._mutex:
            self._job_read.pop((entry.file, entry.name), None)
            self._files_read.pop(entry.file, None)

    def sign_off(self, id: str) -> tuple[SignOff, list[str]] | None:
        """Return the newest sign-off of a sounding of a job, and what is not as it was signed."""
        entry = self.site.entry(id)
        if not entry.is_job:
            return None
        with Job.open(entry.file) as job:
            signed = newest_sign_offs(job).get(entry.name)
        if signed is None:
            return None
        recipe = self.book(id).versions()[-1].recipe
        return signed, changes(signed, self.sounding(id), recipe)

    def signed_line(self, id: str) -> str | None:
        """Return the line of a sign-off that holds, else None."""
        found = self.sign_off(id)
        return None if found is None or found[1] else found[0].line

    def observed(self, id: str) -> tuple[Observation, ...]:
        """Return the observations from elsewhere that a job holds for a sounding."""
        entry = self.site.entry(id)
        if not entry.is_job:
            return ()
        with Job.open(entry.file) as job:
            return observations(job, entry.name)

    def sounding(self, id: str) -> Sounding:
        """Return the facts of a sounding."""
        entry = self.site.entry(id)
        return self._of_job(entry) if entry.is_job else self._of_file(entry)

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

    def _of_file(self, entry: Entry) -> Sounding:
        from pushproof.formats import read_all

        stamp = _stamp(entry.file)
        with self._mutex:
            read = self._files_read.get(entry.file)
            if read is None or read.stamp != stamp:
                found = {one.name: one for one in read_all(entry.file)}
                read = _Read(stamp, time.monotonic(), found)
                self._files_read[entry.file] = read
        try:
            return read.soundings[entry.name]
        except KeyError:
            raise LookupError(f"no sounding {entry.id!r} here any more") from None

    def _of_job(self, entry: Entry) -> Sounding:
        from pushproof.recording.assemble import sounding

        key = (entry.file, entry.name)
        with self._mutex, Job.open(entry.file) as job:
            read = self._job_read.get(key)
            if read is not None and time.monotonic() - read.at < _FRESH:
                return read.soundings[entry.name]
            stamp = (0.0, job.newest_fact(entry.name))
            if read is None or read.stamp != stamp:
                read = _Read(stamp, 0.0, {entry.name: sounding(job, entry.name)})
                self._job_read[key] = read
            read.at = time.monotonic()
            return read.soundings[entry.name]


def _stamp(path: Path) -> tuple[float, int]:
    try:
        stat = path.stat()
    except OSError:
        return (0.0, -1)
    return (stat.st_mtime, stat.st_size)

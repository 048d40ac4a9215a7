"""The soundings that a page can open: those of job files and of loose files, computed once.

A sounding is named by an id that is safe in an address. Facts are read again when their file
changes; results are kept for the recipes used last, and whoever asks for one that is being made
waits for it. Nothing is written here but decisions.
"""

from __future__ import annotations

import math
import threading
import time
from collections import OrderedDict
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from pathlib import Path

from pushproof.model.observations import Observation
from pushproof.model.recipe import Recipe
from pushproof.model.sounding import Sounding
from pushproof.processing.streams.mergereport import MergeReport
from pushproof.recording.assemble import Kept, merged, sounding
from pushproof.recording.underway import underway
from pushproof.store import Job
from pushproof.store.observations import observations
from pushproof.store.recipes import FileRecipes, JobRecipes, RecipeBook
from pushproof.store.signing import SignOff, changes, newest_sign_offs
from pushproof.web.logdocument import Log, make_log
from pushproof.web.push.feed import WORDS
from pushproof.web.push.models import Recording
from pushproof.web.site import Entry, Site

_KEPT = 12
"""Results kept, over all soundings and recipes."""
_FRESH = 2.0
"""A sounding that is being recorded is read again after this long [s], not at every request."""
_SHARE = 4.0
"""A record that takes long is read again after this many times what reading it took."""
_LOOK = 1.0
"""Time between two looks how far a recording is, for all who ask [s]."""


@dataclass
class _Read:
    """The facts of a file or of one sounding of a job, and when they were true."""

    stamp: tuple[float, int]
    at: float
    soundings: dict[str, Sounding]
    cost: float = 0.0
    report: MergeReport | None = None

    @property
    def pace(self) -> float:
        """Time until it may be read again [s]."""
        return max(_FRESH, _SHARE * self.cost)


@dataclass(frozen=True)
class Growth:
    """How far the recording of a sounding is.

    Parameters
    ----------
    recording
        Who records it.
    newest
        Number of the newest fact that bears on it; 0 for a loose file.
    pace
        The log is made anew after this long at the earliest [s].
    """

    recording: Recording
    newest: int = 0
    pace: float = _FRESH


class Desk:
    """Soundings of a site by id, with what was computed of them."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self._mutex = threading.RLock()
        self._files_read: dict[Path, _Read] = {}
        self._job_read: dict[tuple[Path, str], _Read] = {}
        self._kept: dict[tuple[Path, str], Kept] = {}
        self._turns: dict[str, threading.RLock] = {}
        self._grown: dict[str, tuple[float, Growth]] = {}
        self._logs: OrderedDict[tuple[str, str], Log] = OrderedDict()
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
            self._grown.pop(id, None)

    def growth(self, id: str) -> Growth:
        """Return how far the recording of a sounding is: cheap, and looked at once for all."""
        entry = self.site.entry(id)
        if not entry.is_job:
            return Growth(Recording.NONE)
        with self._turn(f"growth {id}"):
            at, known = self._grown.get(id, (-math.inf, None))
            if known is not None and time.monotonic() - at < _LOOK:
                return known
            with Job.open(entry.file) as job:
                recording = WORDS[underway(job, entry.name)]
                newest = job.newest_fact(entry.name)
            if recording is Recording.ELSEWHERE and self._mine(entry):
                recording = Recording.HERE
            read = self._job_read.get((entry.file, entry.name))
            found = Growth(recording, newest, _FRESH if read is None else read.pace)
            self._grown[id] = (time.monotonic(), found)
            return found

    def newest(self, id: str, log: Log) -> int:
        """Return the number of the newest fact in a log; 0 where that is not known any more."""
        entry = self.site.entry(id)
        with self._mutex:
            read = self._job_read.get((entry.file, entry.name))
        facts = log.interpretation.profile.sounding
        if read is None or read.soundings.get(entry.name) is not facts:
            return 0
        return read.stamp[1]

    def _mine(self, entry: Entry) -> bool:
        """Tell whether this server records a sounding."""
        session = self.site.session
        return (
            session is not None
            and session.sounding == entry.name
            and session.job.path.resolve() == entry.file.resolve()
        )

    def _turn(self, id: str) -> threading.RLock:
        """Return what lets one after the other work on a sounding."""
        with self._mutex:
            return self._turns.setdefault(id, threading.RLock())

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

    def merge_report(self, id: str) -> MergeReport:
        """Return what link and memory hold of a push, as it was merged for its sounding.

        Raises
        ------
        RecordError
            If the sounding holds no cone or no depth readings.
        """
        entry = self.site.job_entry(id)
        with self._turn(id):
            self._of_job(entry)
            read = self._job_read[(entry.file, entry.name)]
        if read.report is not None:
            return read.report
        with Job.open(entry.file) as job:
            return merged(job, entry.name).report

    def log(self, id: str, recipe: Recipe | None = None) -> Log:
        """Return a sounding under a recipe; under its newest one if none is given."""
        entry = self.site.entry(id)
        if recipe is None:
            recipe = self.book(id).versions()[-1].recipe
        key = (id, recipe.fingerprint())
        with self._turn(id):
            facts = self.sounding(id)
            with self._mutex:
                log = self._logs.get(key)
                if log is not None and log.interpretation.profile.sounding is facts:
                    self._logs.move_to_end(key)
                    return log
            begun = time.thread_time()
            made = make_log(facts, recipe)
            with self._mutex:
                read = self._job_read.get((entry.file, entry.name))
                if read is not None:
                    read.cost += time.thread_time() - begun
                self._logs[key] = made
                self._logs.move_to_end(key)
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
        key = (entry.file, entry.name)
        with self._turn(entry.id):
            read = self._job_read.get(key)
            if read is not None and time.monotonic() - read.at < read.pace:
                return read.soundings[entry.name]
            with Job.open(entry.file) as job:
                stamp = (0.0, job.newest_fact(entry.name))
                if read is None or read.stamp != stamp:
                    begun = time.thread_time()
                    kept = self._kept.setdefault(key, Kept(entry.name))
                    found = sounding(job, entry.name, kept)
                    cost = time.thread_time() - begun
                    read = _Read(stamp, 0.0, {entry.name: found}, cost, kept.report)
                    with self._mutex:
                        self._job_read[key] = read
                    if not self.growth(entry.id).recording.runs:
                        self._kept.pop(key, None)
            read.at = time.monotonic()
            return read.soundings[entry.name]


def _stamp(path: Path) -> tuple[float, int]:
    try:
        stat = path.stat()
    except OSError:
        return (0.0, -1)
    return (stat.st_mtime, stat.st_size)

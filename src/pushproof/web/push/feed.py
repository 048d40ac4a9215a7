"""The push that is shown: the one this server records, or one that another program records.

Both are a live listener with the same guard. For a push of another program the listener goes
through its record as it grows, so that the page says what the terminal of that program says.
"""

from __future__ import annotations

import threading
import time
from abc import ABC, abstractmethod
from pathlib import Path

from pushproof.errors import PushproofError, RecordError
from pushproof.model.stream import StreamKind
from pushproof.recording.live import Live, LiveRow
from pushproof.recording.retrace import Place, end_of, retrace
from pushproof.recording.session import Session, setup_of, water_of
from pushproof.recording.snapshot import LiveState
from pushproof.recording.underway import MARKS, Underway, after_mark
from pushproof.store import Job
from pushproof.store.facts import StoredEvent
from pushproof.web.push.models import Recording
from pushproof.web.push.rail import LiveRail

REPLAY = 30.0
"""A record that is further ahead of our clock than this runs in its own time [s]."""
LOOK = 1.0
"""Time between two looks whether the program that records still lives [s]."""
WORDS = {
    Underway.NONE: Recording.NONE,
    Underway.RUNNING: Recording.ELSEWHERE,
    Underway.INTERRUPTED: Recording.INTERRUPTED,
    Underway.ENDED: Recording.ENDED,
}


class Feed(ABC):
    """A push as the page follows it.

    Attributes
    ----------
    sounding
        Its name.
    live
        The listener that judges it.
    rail
        Its proof rail so far.
    """

    def __init__(self, job: Job, sounding: str, live: Live) -> None:
        self.job, self.sounding, self.live = job, sounding, live
        rate = live.guard.rules.get("rate")
        band = (0.015, 0.025) if rate is None else (rate.bounds[0].low, rate.bounds[0].high)
        self.rail = LiveRail(live.guard.setup.depth.start, band)
        self._railed = 0
        self._event = 0
        self._lock = threading.Lock()

    @property
    @abstractmethod
    def recording(self) -> Recording:
        """Who records it."""

    @abstractmethod
    def state(self) -> LiveState:
        """Return the snapshot now."""

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is wrong with the recording itself."""
        return ()

    @property
    def last(self) -> int:
        """Number of the newest row in the record."""
        rows = self.live.rows
        return rows[-1].stored if rows else 0

    def rows_after(self, number: int, most: int) -> tuple[list[LiveRow], bool]:
        """Return rows after a number of the record, and whether there are more."""
        rows = self.live.rows_after(number)
        return rows[:most], len(rows) > most

    def catch_up(self) -> None:
        """Take what is new in the record; called from a thread of its own."""
        with self._lock:
            self._read()
            rows = self.live.rows_since(self._railed)
            self._railed += len(rows)
            self.rail.rows(rows)
            events = self.job.events(self.sounding, after=self._event)
            if events:
                self._event = events[-1].link
                self.rail.events(events)
            self._saw(events)

    def _read(self) -> None:  # noqa: B027
        """Bring the listener up to date, where that is not done by itself."""

    def _saw(self, events: list[StoredEvent]) -> None:  # noqa: B027
        """Look at new events of the record."""

    def close(self) -> None:  # noqa: B027
        """Let go of the record."""


class Hosted(Feed):
    """The push that this server records."""

    def __init__(self, session: Session) -> None:
        super().__init__(session.job, session.sounding, session.live)
        self.session = session

    @property
    def recording(self) -> Recording:
        """Who records it: this server."""
        return Recording.HERE

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is wrong with the recording itself."""
        return self.session.warnings

    def state(self) -> LiveState:
        """Return the snapshot now."""
        return self.session.state()


class Followed(Feed):
    """A push that another program records, or one that is over."""

    def __init__(self, job: Job, sounding: str) -> None:
        water = water_of(job, sounding)
        live = Live(sounding, setup_of(job, sounding), water=water, count_rods="strokes")
        super().__init__(job, sounding, live)
        self._place = Place()
        self._mark = ("", 0)  # kind and link
        self._underway, self._looked = Underway.INTERRUPTED, 0.0
        self._newest = (0.0, 0.0)  # monotonic and wall time of the newest message
        self._seen = 0.0  # when it was read, on our clock
        self._fault = ""

    @property
    def recording(self) -> Recording:
        """Who records it."""
        return WORDS[self._underway]

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is wrong with following the record."""
        return (self._fault,) if self._fault else ()

    def state(self) -> LiveState:
        """Return the snapshot now, with ages by the clock of the record."""
        monotonic, wall = self._now()
        self.live.tick(monotonic, wall)
        return self.live.state(monotonic, wall)

    def close(self) -> None:
        """Let go of the record."""
        self.job.close()

    def _now(self) -> tuple[float, float | None]:
        monotonic, wall = self._newest
        ahead = time.time() - wall
        if ahead < -REPLAY:  # a rehearsal that runs fast: only how long ago we read it counts
            passed = time.monotonic() - self._seen
            return monotonic + passed, None
        return monotonic + max(ahead, 0.0), max(time.time(), wall)

    def _read(self) -> None:
        until = end_of(self.job, self.sounding, self._place)
        if until == self._place:
            return
        try:
            self._place = retrace(self.live, self.job, self.sounding, self._place, until)
            self._fault = ""
        except (PushproofError, ValueError) as error:
            self._place = until
            self._fault = f"a part of the record could not be followed: {error}"
        streams = self.live.signals.streams
        last = [streams[k].last for k in (StreamKind.CONE, StreamKind.DEPTH)]
        newest = max(((r.monotonic, r.arrival) for r in last if r), default=self._newest)
        if newest != self._newest:
            self._newest, self._seen = newest, time.monotonic()

    def _saw(self, events: list[StoredEvent]) -> None:
        marks = [(event.kind, event.link) for event in events if event.kind in MARKS]
        now = time.monotonic()
        if not marks and now - self._looked < LOOK:
            return
        self._mark = (marks or [self._mark])[-1]
        self._underway, self._looked = after_mark(self.job, *self._mark), now


def pushed(job: Job) -> list[str]:
    """Return the soundings of a job that have readings of a push, the newest last."""
    started: dict[str, int] = {}
    for event in job.events():
        if event.kind in MARKS and event.sounding:
            started[event.sounding] = event.link
    return sorted(started, key=lambda name: started[name])


def followed(path: Path, sounding: str = "") -> Followed:
    """Return a feed of a job file: of the sounding named, else of the newest that was pushed.

    Raises
    ------
    RecordError
        If no push was ever recorded in it, or not of that sounding.
    """
    job = Job.open(path)
    try:
        names = pushed(job)
        if not names or (sounding and sounding not in names):
            what = f"of {sounding}" if sounding else "here"
            raise RecordError(f"{path}: no push {what} is in the record yet")
        return Followed(job, sounding or names[-1])
    except BaseException:
        job.close()
        raise

"""The push desk of a site: which push is shown, who controls it, and what the keys do."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

from pushproof.errors import RecordError
from pushproof.recording.session import Session
from pushproof.store import Job
from pushproof.store.lock import held
from pushproof.web.push import models, view
from pushproof.web.push.feed import Feed, Followed, Hosted, followed, pushed
from pushproof.web.push.lease import Lease, mark_of
from pushproof.web.push.station import Station
from pushproof.web.site import Site

LOOK = 2.0
"""Time between two looks for another push in the record [s]."""


class PushDesk:
    """What the push page of one site shows and does.

    Parameters
    ----------
    site
        What is served; the push that this server records is its session.
    station
        The sources to record from, if this server has any.
    """

    def __init__(self, site: Site, station: Station | None = None) -> None:
        self.site, self.station = site, station
        self.lease = Lease()
        self.feed: Feed | None = None
        self.feed_number = 0
        """Counts the pushes that were shown."""
        self._chosen = ""
        self._looked = 0.0
        self._lock = threading.RLock()

    # -- what is shown ---------------------------------------------------------------------------

    @property
    def sounding(self) -> str:
        """Name of the sounding that is shown, empty if none is."""
        return self.feed.sounding if self.feed is not None else ""

    @property
    def recording(self) -> models.Recording:
        """Who records the push that is shown."""
        return self.feed.recording if self.feed is not None else models.Recording.NONE

    def catch_up(self) -> None:
        """Take what is new: another push, and what the record of this one holds."""
        with self._lock:
            self._choose()
            if self.feed is not None:
                self.feed.catch_up()

    def _choose(self) -> None:
        session = self.site.session
        if session is not None:
            if not isinstance(self.feed, Hosted) or self.feed.session is not session:
                self._show(Hosted(session))
            return
        path = self._path()
        if path is None:
            return
        if isinstance(self.feed, Hosted):
            self._show(None)
        elif self.feed is not None and time.monotonic() - self._looked < LOOK:
            return
        self._looked = time.monotonic()
        with Job.open(path) as job:
            names = pushed(job)
        if not names:
            return
        newest = self._chosen if self._chosen in names else names[-1]
        if self.feed is None or (self.feed.job.path, self.feed.sounding) != (path, newest):
            feed = followed(path, newest)
            feed.catch_up()  # a long record takes a while: nobody is shown half of it
            self._show(feed)

    def _path(self) -> Path | None:
        """Return the job to follow: the one served, or the one of a folder that is written now."""
        if self.site.path.is_file():
            return self.site.job
        locks = sorted(self.site.folder.glob("*.lock"), key=lambda p: p.stat().st_mtime)
        jobs = [job for lock in reversed(locks) if (job := lock.with_suffix("")).is_file()]
        # a killed program leaves its file behind: one that lives comes first
        return next(iter(sorted(jobs, key=lambda job: not held(job))), None)

    def _show(self, feed: Feed | None) -> None:
        if self.feed is not None:
            self.feed.close()
        self.feed = feed
        self.feed_number += 1

    def close(self) -> None:
        """End the push that this server records, and let go of the record."""
        with self._lock:
            if self.feed is not None:
                self.feed.close()
                self.feed = None
            if self.station is not None:
                self.station.stop()
                self.site.session = None

    def document(self, client: str) -> models.PushDocument:
        """Return what there is to show."""
        self.catch_up()
        names = [] if self.feed is None else pushed(self.feed.job)
        return models.PushDocument(
            recording=self.recording,
            sounding=self.sounding,
            soundings=names,
            can_record=self.station is not None,
            sources=[] if self.station is None else list(self.station.addresses),
            columns=view.columns(),
            state=self.state() if self.feed is not None else None,
            mark=mark_of(client),
        )

    def control(self) -> models.Control:
        """Return who steers."""
        lease = self.lease
        taken = not lease.free
        return models.Control(
            holder=lease.name if taken else "",
            client=mark_of(lease.holder) if taken else "",
            away=round(lease.away, 0) if taken else 0.0,
            viewers=lease.viewers,
        )

    def state(self) -> models.PushState:
        """Return the state now.

        Raises
        ------
        LookupError
            If there is no push to show.
        """
        feed = self.feed
        if feed is None:
            raise LookupError("no push is recorded here, and none is in the record")
        return view.push_state(
            feed.state(),
            recording=feed.recording,
            row=feed.last,
            warnings=feed.warnings,
            control=self.control(),
        )

    def state_json(self) -> bytes:
        """Return the state now as JSON; without a push, only who is here."""
        if self.feed is None:
            control = self.control().model_dump_json()
            return f'{{"recording":"none","control":{control}}}'.encode()
        return self.state().model_dump_json().encode()

    def rows(self, after: int, most: int) -> models.RowBlock:
        """Return rows after a number of the record."""
        self.catch_up()
        feed = self.feed
        if feed is None:
            raise LookupError("no push is recorded here, and none is in the record")
        rows, more = feed.rows_after(after, most)
        return view.row_block(feed.sounding, rows, after, more)

    # -- what the keys do ------------------------------------------------------------------------

    def act(self, client: str, name: str, deed: Callable[[Session], object]) -> models.PushState:
        """Do something to the push that this server records; return the state after it.

        Raises
        ------
        RecordError
            If this server records no push.
        ControlledElsewhereError
            If another page controls it.
        """
        session = self.site.session
        if session is None:
            elsewhere = self.recording is models.Recording.ELSEWHERE
            raise RecordError(
                "another program records this push; its keys are in its own window"
                if elsewhere
                else "no push is recorded by this server"
            )
        self.lease.act(client, name)
        deed(session)
        self.catch_up()
        return self.state()

    def record(self, client: str, name: str, sounding: str) -> models.PushState:
        """Begin the next push from the sources of this server."""
        if self.station is None:
            raise RecordError("this server has no sources; start it with --source")
        self.lease.act(client, name)
        with self._lock:
            if isinstance(self.feed, Followed):
                self._show(None)
            self.site.session = self.station.start(sounding)
        self.catch_up()
        return self.state()

    def stop(self, client: str, name: str) -> models.PushDocument:
        """End the push: store what is waiting and close the record."""
        session = self.site.session
        if session is None:
            raise RecordError("no push is recorded by this server")
        self.lease.act(client, name)
        with self._lock:
            try:
                if self.station is not None:
                    self.station.stop()
                else:
                    session.close()
            finally:
                self.site.session = None
        return self.document(client)

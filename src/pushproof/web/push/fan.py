"""One look at the push for all viewers, and a stream of events for each.

The state is made and encoded once, however many watch. Rows are numbered as in the record: a
viewer that was away says the number of its last row and gets what came after it. A slow viewer
gets the newest state and all rows; it holds nobody up.
"""

from __future__ import annotations

import asyncio
import itertools
import json
import logging
import time
from collections.abc import AsyncIterator

from pushproof.errors import PushproofError
from pushproof.web.push import models, view
from pushproof.web.push.desk import PushDesk
from pushproof.web.push.rail import NOTHING, Counts

_log = logging.getLogger("pushproof.web")

LOOK = 0.025
"""Time between two looks for something new [s]."""
AT_LEAST = 0.25
"""A state is sent at least this often [s], so that a page knows that it is still connected."""
AT_MOST = 0.1
"""Time between two states without a new row [s]."""
RECORD = 0.4
"""Time between two looks at the events of the record [s]."""
FOLLOW = 0.15
"""Time between two looks at a record that another program writes [s]."""
MOST_ROWS = 2000
"""Rows in one event."""


class Fan:
    """Makes the state for everybody who watches; runs only while somebody does."""

    def __init__(self, desk: PushDesk) -> None:
        self.desk = desk
        self.made = 0
        """States made so far."""
        self._state = b""
        self._rails: dict[tuple[int, int, Counts], bytes] = {}
        self._changed: asyncio.Condition | None = None
        self._task: asyncio.Task[None] | None = None
        self._keys = itertools.count(1)
        self._blocks: dict[tuple[int, int, int], bytes] = {}

    async def stream(self, after: int, sounding: str, client: str) -> AsyncIterator[bytes]:
        """Yield the events of one viewer: ``state``, ``rows`` and ``rail``.

        Parameters
        ----------
        after
            Number of the last row that the viewer has.
        sounding
            The sounding of that row; of another one all rows are sent.
        client
            Which page it is.
        """
        key = next(self._keys)
        self.desk.lease.watches(key, client)
        seen, feed = 0, 0
        rail: tuple[int, Counts] = (-1, NOTHING)
        changed = self._begin()
        try:
            yield b"retry: 500\n\n"
            while True:
                async with changed:
                    await changed.wait_for(lambda: self.made != seen)  # noqa: B023
                seen = self.made
                # between two feeds there is none for a moment: that is no other push
                if self.desk.feed is not None and self.desk.feed_number != feed:
                    # a push that ended is the same rows read from the record: their numbers hold
                    after = after if sounding == self.desk.sounding else 0
                    sounding = self.desk.sounding
                    feed, rail = self.desk.feed_number, (-1, NOTHING)
                    yield _event("push", json.dumps({"sounding": self.desk.sounding}).encode())
                while (block := self._rows(after)) is not None:
                    data, after, more = block
                    yield data
                    if not more:
                        break
                    await asyncio.sleep(0)
                yield self._state
                if (grown := self._rail(rail)) is not None:
                    data, rail = grown
                    yield data
        finally:
            self.desk.lease.left(key)

    def _begin(self) -> asyncio.Condition:
        if self._changed is None:
            self._changed = asyncio.Condition()
        if self._task is None or self._task.done():
            self._task = asyncio.get_running_loop().create_task(self._run())
        return self._changed

    async def _run(self) -> None:
        """Look for something new as long as anybody watches."""
        assert self._changed is not None
        read = sent = 0.0
        number = row = -1
        while self.desk.lease.viewers:
            now = time.monotonic()
            feed = self.desk.feed
            pace = RECORD if feed is None or feed.recording is models.Recording.HERE else FOLLOW
            if now - read >= pace:
                read = now
                try:
                    await asyncio.to_thread(self.desk.catch_up)
                except (PushproofError, OSError):
                    _log.exception("the record could not be read; it is tried again")
            feed = self.desk.feed
            seen = (-1, -1) if feed is None else (feed.live.signals.number, feed.last)
            passed = time.monotonic() - sent
            fresh = seen[1] != row or (seen[0] != number and passed >= AT_MOST)
            if fresh or passed >= AT_LEAST:
                (number, row), sent = seen, time.monotonic()
                try:
                    self._make()
                except Exception:  # one bad moment must not end the stream of everybody
                    _log.exception("the state could not be made; it is tried again")
                async with self._changed:
                    self.made += 1
                    self._changed.notify_all()
            await asyncio.sleep(LOOK)

    def _make(self) -> None:
        self._state = _event("state", self.desk.state_json())

    def _rail(self, seen: tuple[int, Counts]) -> tuple[bytes, tuple[int, Counts]] | None:
        """Return the event of what is new on the rail since a version and its counts."""
        feed = self.desk.feed
        if feed is None or feed.rail.version == seen[0]:
            return None
        rail = feed.rail
        now = (rail.version, rail.counts)
        name = (self.desk.feed_number, rail.version, seen[1])
        if name not in self._rails:
            if len(self._rails) > 8:
                self._rails.clear()
            self._rails[name] = _event("rail", rail.document(seen[1]).model_dump_json().encode())
        return self._rails[name], now

    def _rows(self, after: int) -> tuple[bytes, int, bool] | None:
        """Return the event of the rows after a number, the last of them and whether more wait."""
        feed = self.desk.feed
        if feed is None or feed.last <= after:
            return None
        rows, more = feed.rows_after(after, MOST_ROWS)
        if not rows:
            return None
        last = rows[-1].stored
        name = (self.desk.feed_number, after, last)
        if name not in self._blocks:
            if len(self._blocks) > 8:
                self._blocks.clear()
            block = view.row_block(feed.sounding, rows, after, more)
            self._blocks[name] = _event("rows", block.model_dump_json().encode(), last)
        return self._blocks[name], last, more


def _event(kind: str, data: bytes, number: int | None = None) -> bytes:
    head = f"event: {kind}\n" if number is None else f"event: {kind}\nid: {number}\n"
    return head.encode() + b"data: " + data + b"\n\n"

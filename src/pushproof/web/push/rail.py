"""The proof rail of a push that is going on.

It says depth by depth where values came from and where none came, where the rate was outside its
band, rods, pauses, tests and alarms. It grows at its end; nothing of it is judged here: the band
is that of the guard, the alarms are those of the record.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from typing import TypeAlias

from pushproof.recording.live import LiveRow
from pushproof.store.facts import StoredEvent
from pushproof.web.push.models import (
    LiveRailDocument,
    RailFinding,
    RailMark,
    RailRate,
    RailSpan,
)

Counts: TypeAlias = tuple[int, int, int, int]
NOTHING: Counts = (0, 0, 0, 0)

HOLE = 0.05
"""A step between two rows longer than this [m] is a hole: two and a half readings at 20 mm/s."""
PAUSE = 15.0
"""A stop longer than this [s] is marked as a pause, as on the sheet."""


class LiveRail:
    """What the rail shows so far.

    Parameters
    ----------
    start
        Depth at which the push began [m].
    band
        Lowest and highest penetration rate [m/s].
    """

    def __init__(self, start: float, band: tuple[float, float]) -> None:
        self.start, self.band = start, band
        self.version = 0
        self._spans: list[RailSpan] = []
        self._rate: list[RailRate] = []
        self._marks: list[RailMark] = []
        self._findings: list[RailFinding] = []
        self._lengths: list[float] = []
        self._offsets: list[float] = []
        self._deepest = -math.inf
        if start > 0:
            self._spans.append(RailSpan(trace="pre-excavated", top=0.0, base=start))

    @property
    def counts(self) -> Counts:
        """How many spans, rate stretches, marks and findings there are."""
        return len(self._spans), len(self._rate), len(self._marks), len(self._findings)

    def document(self, since: Counts = NOTHING) -> LiveRailDocument:
        """Return the rail from where it may have changed since it had these counts.

        The last span and the last stretch may have grown, so they come again.
        """
        begins = [max(since[0] - 1, 0), max(since[1] - 1, 0), since[2], since[3]]
        return LiveRailDocument(
            begins=begins,
            spans=self._spans[begins[0] :],
            rate=self._rate[begins[1] :],
            marks=self._marks[begins[2] :],
            findings=self._findings[begins[3] :],
        )

    def rows(self, rows: Sequence[LiveRow]) -> None:
        """Take new rows."""
        for row in rows:
            if row.pushing and row.depth > self._deepest:
                self._row(row)

    def _row(self, row: LiveRow) -> None:
        depth, above = round(row.depth, 3), self._deepest
        self._lengths.append(row.length)
        self._offsets.append(row.depth - row.length)
        self._deepest = row.depth
        self.version += 1
        last = self._spans[-1] if self._spans and self._spans[-1].trace == "live" else None
        if last is not None and depth - above <= HOLE:
            last.base = depth
        else:
            if last is not None:
                self._spans.append(RailSpan(trace="missing", top=last.base, base=depth))
            self._spans.append(RailSpan(trace="live", top=depth, base=depth))
        low, high = self.band
        if math.isnan(row.rate) or low <= row.rate <= high:
            return
        fast = row.rate > high
        before = self._rate[-1] if self._rate else None
        if before is not None and before.fast is fast and depth - before.base <= HOLE:
            before.base = depth
        else:
            self._rate.append(RailRate(fast=fast, top=depth, base=depth))

    def events(self, events: Iterable[StoredEvent]) -> None:
        """Take new events of the record."""
        for event in events:
            length = event.details.get("length", event.depth)
            depth = None if length is None else round(self.depth_of(float(length)), 3)
            if event.kind == "alarm":
                self._alarm(event, depth)
            elif depth is not None:
                self._mark(event, depth)

    def depth_of(self, length: float) -> float:
        """Return the depth of a penetration length [m]."""
        at = bisect_right(self._lengths, length) - 1
        return length + (self._offsets[at] if at >= 0 else 0.0)

    def _mark(self, event: StoredEvent, depth: float) -> None:
        kinds = {"rod-change": "rod-change", "dissipation-start": "dissipation"}
        seconds = event.details.get("duration", event.duration)
        kind = kinds.get(event.kind)
        if event.kind == "pause" and (seconds or 0.0) >= PAUSE:
            kind = "pause"
        if kind is not None:
            self._marks.append(RailMark(kind=kind, depth=depth, seconds=seconds))
            self.version += 1

    def _alarm(self, event: StoredEvent, depth: float | None) -> None:
        details = event.details
        if details.get("change") not in ("raised", "rose to stop") or "rule" not in details:
            return
        rule = str(details["rule"])
        if rule == "tilt-change" and depth is not None:
            self._marks.append(RailMark(kind="tilt-step", depth=depth, seconds=None))
        self._findings.append(
            RailFinding(
                number=len(self._findings) + 1,
                id=rule,
                severity=str(details.get("level", "caution")),
                found=event.text,
                expected=str(details.get("advice", "")),
                top=depth,
                base=depth,
            )
        )
        self.version += 1

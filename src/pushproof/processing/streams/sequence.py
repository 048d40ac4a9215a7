"""Order of a stream by the counter in its messages: new, repeated, late, missing, restarted.

A link repeats packets, swaps them and loses them; a sender that restarts begins to count anew.
The counter tells these apart where the sender has one. Without a counter every reading is taken.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

WINDOW = 64
"""Readings looked back on: farther back than this the sender has restarted. Our own choice."""

REACH = 36_000
"""Readings a gap may have: ten hours at one per second. A longer one is a restart."""


class Place(StrEnum):
    """Where a reading stands in its stream."""

    NEW = "new"
    DUPLICATE = "duplicate"
    LATE = "late"
    RESTART = "restart"


@dataclass(slots=True)
class SequenceWatch:
    """Counts what a stream received, repeated, delivered late and lost.

    Parameters
    ----------
    modulus
        Value at which the counter of the sender starts again at 0 (256, 65536), if it does.

    Examples
    --------
    >>> watch = SequenceWatch()
    >>> [watch.see(n).value for n in (1, 2, 5, 5, 3)]
    ['new', 'new', 'new', 'duplicate', 'late']
    >>> watch.lost
    1
    """

    modulus: int | None = None
    received: int = 0
    duplicate: int = 0
    late: int = 0
    lost: int = 0
    restarts: int = 0
    gap: int = 0
    """Readings missing directly before the last one that was new."""
    _last: int | None = None
    _seen: set[int] = field(default_factory=set)

    @property
    def expected(self) -> int:
        """Readings the sender sent, as far as its counter tells."""
        return self.received + self.lost

    def see(self, sequence: int | None) -> Place:
        """Take the counter of the next reading and return where it stands."""
        self.gap = 0
        if sequence is None:
            self.received += 1
            return Place.NEW
        if self._last is None:
            return self._begin(sequence, Place.NEW)
        ahead = sequence - self._last
        if self.modulus is not None:
            ahead = (ahead + self.modulus // 2) % self.modulus - self.modulus // 2
        if ahead > REACH or ahead <= -WINDOW:
            self.restarts += 1
            return self._begin(sequence, Place.RESTART)
        place = self._last + ahead
        if place in self._seen:
            self.duplicate += 1
            return Place.DUPLICATE
        self.received += 1
        self._seen.add(place)
        if ahead < 0:
            self.late += 1
            self.lost = max(self.lost - 1, 0)
            return Place.LATE
        self.gap = ahead - 1
        self.lost += self.gap
        self._forget(place)
        self._last = place
        return Place.NEW

    def _begin(self, sequence: int, place: Place) -> Place:
        self.received += 1
        self._seen = {sequence}
        self._last = sequence
        return place

    def _forget(self, place: int) -> None:
        """Keep only the counters that a late reading could still have."""
        if len(self._seen) > 4 * WINDOW:
            self._seen = {n for n in self._seen if n > place - WINDOW}

"""Replay: recorded messages again, at any speed."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace

from pushproof.model.stream import Message, StreamKind
from pushproof.sources.contract import Source

LONGEST_PAUSE = 60.0
"""A longer pause in the recording is shortened to this [s]: a night between two shifts."""


class ReplaySource(Source):
    """Yields recorded messages with the pauses they had.

    Parameters
    ----------
    messages
        Recorded messages, in order.
    stream
        Stream of what the replay says about itself.
    speed
        1 for the pace of the recording, 10 for ten times as fast, 0 for no pauses at all.
    restamp
        Give the messages present times: the first one now, the others as far after it as they
        were in the recording, whatever the speed, so that rates stay those of the rig. False keeps
        their own times, so that a replay gives exactly what was recorded.
    longest_pause
        Longest pause that is kept [s], in the pace and in new times.
    """

    def __init__(
        self,
        messages: Iterable[Message],
        *,
        stream: StreamKind = StreamKind.CONE,
        speed: float = 1.0,
        restamp: bool = False,
        longest_pause: float = LONGEST_PAUSE,
    ):
        bad = [
            f"{name} {value}, expected 0 or more"
            for name, value in (("speed", speed), ("longest_pause", longest_pause))
            if not 0 <= value < float("inf")
        ]
        if bad:
            raise ValueError("; ".join(bad))
        self.stream = stream
        self.messages = messages
        self.speed = speed
        self.restamp = restamp
        self.longest_pause = longest_pause
        self._stopped = threading.Event()

    def stop(self) -> None:
        """Ask the replay to end."""
        self._stopped.set()

    @property
    def stopped(self) -> bool:
        """Whether it was asked to end."""
        return self._stopped.is_set()

    def __iter__(self) -> Iterator[Message]:
        """Yield the messages until the end or until stopped."""
        wall, begun = time.time(), time.monotonic()
        elapsed, previous = 0.0, None
        for message in self.messages:
            if previous is not None:
                # the monotonic clock begins anew when the computer does
                step = max(0.0, message.monotonic - previous)
                elapsed += min(step, self.longest_pause)
            previous = message.monotonic
            due = begun + elapsed / self.speed if self.speed > 0 else begun
            if self._stopped.wait(max(0.0, due - time.monotonic())):
                return
            if self.restamp:
                message = replace(message, arrival=wall + elapsed, monotonic=begun + elapsed)
            yield message

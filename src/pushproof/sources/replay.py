"""Replay: recorded messages again, at any speed."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace

from pushproof.model.stream import Message, StreamKind
from pushproof.sources.contract import Source


class ReplaySource(Source):
    """Yields recorded messages with the pauses they had.

    Parameters
    ----------
    messages
        Recorded messages, in order.
    speed
        1 for the pace of the recording, 10 for ten times as fast, 0 for no pauses at all.
    restamp
        Give the messages the moment at which they are replayed; False keeps their own, so that
        a replay gives exactly what was recorded.
    """

    def __init__(
        self,
        messages: Iterable[Message],
        *,
        stream: StreamKind = StreamKind.CONE,
        speed: float = 1.0,
        restamp: bool = False,
    ):
        if speed < 0:
            raise ValueError(f"speed {speed}, expected 0 or more")
        self.stream = stream
        self.messages = messages
        self.speed = speed
        self.restamp = restamp
        self._stopped = threading.Event()

    def stop(self) -> None:
        """Ask the replay to end."""
        self._stopped.set()

    def __iter__(self) -> Iterator[Message]:
        """Yield the messages until the end or until stopped."""
        begun = time.monotonic()
        first: float | None = None
        for message in self.messages:
            first = message.monotonic if first is None else first
            if self.speed > 0:
                due = begun + (message.monotonic - first) / self.speed
                if self._stopped.wait(max(0.0, due - time.monotonic())):
                    return
            elif self._stopped.is_set():
                return
            if self.restamp:
                message = replace(message, arrival=time.time(), monotonic=time.monotonic())
            yield message

"""Handing on what is stored: one bounded queue and one thread for each listener.

A listener may be slow, fail or hang; neither the recorder nor the other listeners notice. One
that hangs until its queue is full is dropped, and the messages it missed are counted.
"""

from __future__ import annotations

import logging
import threading
from collections import deque
from collections.abc import Callable, Sequence
from enum import Enum
from typing import Any

from pushproof.model.stream import Message
from pushproof.store import Stored

_log = logging.getLogger("pushproof.recording")


class Wants(Enum):
    """What a listener is given."""

    MESSAGES = "messages"
    STORED = "readings with their numbers"
    BOTH = "readings with their numbers, and all other messages"


def wanted(
    wants: Wants, messages: list[Message], handed: list[Stored | Message]
) -> Sequence[Stored | Message]:
    """Return of what was stored what a listener wants."""
    if wants is Wants.MESSAGES:
        return messages
    if wants is Wants.BOTH:
        return handed
    return [one for one in handed if isinstance(one, Stored)]


class Subscription:
    """One listener and its queue.

    Parameters
    ----------
    take
        What is called with each item, in a thread of its own.
    name
        Who listens, in words.
    depth
        Items that may wait; a batch larger than that is still taken when nothing waits.
    """

    def __init__(self, take: Callable[[Any], object], *, name: str, depth: int) -> None:
        self.name = name
        self.depth = depth
        self.delivered = 0
        """Items that the listener has taken."""
        self.missed = 0
        """Items that it did not get because it was dropped."""
        self.faults = 0
        """Items on which it raised an error."""
        self.last_fault = ""
        """The newest of these errors, in words."""
        self.dropped = False
        """Whether it was dropped because it did not take what it was given."""
        self._take = take
        self._queue: deque[Any] = deque()
        self._changed = threading.Condition()
        self._ended = False
        self._busy = False
        self._thread = threading.Thread(target=self._run, name=f"listener {name}", daemon=True)
        self._thread.start()

    @property
    def waiting(self) -> int:
        """Items that it has not taken yet, the one it is at included."""
        return len(self._queue) + self._busy

    @property
    def alive(self) -> bool:
        """Whether it still gets what is stored."""
        return not self._ended

    def offer(self, items: Sequence[Any]) -> bool:
        """Queue items without waiting; return False if the listener is or was dropped."""
        with self._changed:
            if self._ended:
                self.missed += len(items) if self.dropped else 0
                return not self.dropped
            if self._queue and len(self._queue) + len(items) > self.depth:
                self.missed += len(self._queue) + len(items)
                self._queue.clear()
                self.dropped = self._ended = True
                self._changed.notify_all()
                return False
            self._queue.extend(items)
            self._changed.notify_all()
            return True

    def end(self, timeout: float = 2.0) -> bool:
        """Let the listener take what waits, then stop; return whether it did in time."""
        with self._changed:
            self._ended = True
            self._changed.notify_all()
        if threading.current_thread() is self._thread:
            return True
        self._thread.join(timeout)
        return not self._thread.is_alive()

    def _run(self) -> None:
        while True:
            with self._changed:
                while not self._queue and not self._ended:
                    self._changed.wait()
                if not self._queue:
                    return
                item, self._busy = self._queue.popleft(), True
            try:
                self._take(item)
                self.delivered += 1
            except Exception as error:
                self.faults += 1
                self.last_fault = f"{type(error).__name__}: {error}"
                if self.faults == 1:
                    _log.exception("listener %s failed; it goes on with the next item", self.name)
            finally:
                self._busy = False

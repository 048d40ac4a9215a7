"""What a source is, and the pump that joins it with listeners.

A source yields messages until it is closed. It never raises for noise on the line or a lost port:
such things are messages too. A new source overrides :meth:`Source.open_link` (and nothing else, if
it delivers bytes). The pump runs a source on a thread of its own and hands every message to its
listeners.
"""

from __future__ import annotations

import logging
import threading
import time
from abc import ABC, abstractmethod
from collections.abc import Generator, Iterator
from dataclasses import asdict, dataclass
from typing import Protocol, Self

from pushproof.errors import SourceError
from pushproof.model.stream import Listener, Message, Reading, SourceState, StreamKind
from pushproof.sources.lines import LineDecoder

log = logging.getLogger("pushproof.sources")

WAIT_FIRST, WAIT_LONGEST = 0.05, 2.0
"""First and longest wait before a lost link is tried again [s]."""


@dataclass
class Counters:
    """What a source has seen."""

    received_bytes: int = 0
    readings: int = 0
    undecoded: int = 0
    connects: int = 0


class Link(Protocol):
    """An open way to bytes: a port, a socket, a file."""

    def receive(self, timeout: float) -> bytes:
        """Return what has come, empty if nothing came in time.

        Raises
        ------
        OSError, EOFError
            If the link is gone.
        """
        ...

    def close(self) -> None:
        """Close the link; may be called twice."""
        ...


class Source(ABC):
    """Iterates over messages; a context manager; :meth:`stop` may come from any thread.

    A source is iterated once: after :meth:`stop` it gives nothing more.
    """

    stream: StreamKind

    @abstractmethod
    def __iter__(self) -> Iterator[Message]:
        """Yield messages until stopped or, for a source that ends, until the end."""

    @abstractmethod
    def stop(self) -> None:
        """Ask the source to end soon; iteration then stops by itself."""

    def __enter__(self) -> Self:
        """Return the source."""
        return self

    def __exit__(self, *exception: object) -> None:
        """Stop the source."""
        self.stop()


class LinkSource(Source):
    """A source that reads bytes from a link, reconnects by itself and decodes lines.

    Parameters
    ----------
    decoder
        Turns bytes into readings.
    reconnect
        Whether a lost link is tried again; False ends the iteration.
    """

    longest_wait = WAIT_LONGEST
    """Longest wait before a lost link is tried again [s]."""

    def __init__(self, decoder: LineDecoder, *, reconnect: bool = True):
        self.decoder = decoder
        self.stream = decoder.stream
        self.reconnect = reconnect
        self.counters = Counters()
        self._stopped = threading.Event()
        self._holding = threading.Lock()
        self._iterating = False

    @abstractmethod
    def open_link(self) -> Link:
        """Open the link.

        Raises
        ------
        OSError
            If it cannot be opened now; it is tried again.
        SourceError
            If it can never be opened as described.
        """

    @property
    @abstractmethod
    def address(self) -> str:
        """Where it reads from, for people."""

    def release(self) -> None:
        """Let go of what is held between links, such as a port to listen on."""

    def stop(self) -> None:
        """Ask the source to end soon."""
        self._stopped.set()
        with self._holding:
            # while it is iterated it releases by itself: closing a socket under a thread that
            # waits on it is not safe
            if not self._iterating:
                self.release()

    @property
    def stopped(self) -> bool:
        """Whether it was asked to end."""
        return self._stopped.is_set()

    def __iter__(self) -> Iterator[Message]:
        """Yield messages, over lost and found links, until stopped."""
        with self._holding:
            if self.stopped:
                return
            self._iterating = True
        try:
            yield from self._links()
        finally:
            with self._holding:
                self._iterating = False
                self.release()

    def _links(self) -> Iterator[Message]:
        """Yield messages from one link after another."""
        wait, said = WAIT_FIRST, ""
        while not self.stopped:
            try:
                link = self.open_link()
            except OSError as error:
                text = f"{self.address}: {error.strerror or error}"
                if text != said and not self.stopped:
                    said = text
                    yield self._state(connected=False, text=text)
            else:
                before = self.counters.received_bytes
                said = yield from self._one_link(link)
                if self.counters.received_bytes > before:
                    wait = WAIT_FIRST
            if not self.reconnect:
                return
            self._stopped.wait(min(wait, self.longest_wait))
            # a link that opens and brings nothing is tried less and less often too
            wait = min(wait * 2, WAIT_LONGEST)

    def _one_link(self, link: Link) -> Generator[Message, None, str]:
        """Yield messages from one link until it is lost; return why, empty if stopped."""
        self.counters.connects += 1
        try:
            yield self._state(connected=True, text=self.address)
            lost = yield from self._receive(link)
        finally:
            link.close()
        yield from self._count(self.decoder.flush(time.time(), time.monotonic()))
        if lost:
            yield self._state(connected=False, text=lost)
        return lost

    def _receive(self, link: Link) -> Generator[Message, None, str]:
        """Yield messages from one link; return why it was lost, empty if stopped."""
        while not self.stopped:
            try:
                data = link.receive(0.1)
            except (OSError, EOFError) as error:
                return f"{self.address}: lost: {error}"
            if data:
                arrival, monotonic = time.time(), time.monotonic()
                self.counters.received_bytes += len(data)
                yield from self._count(self.decoder.feed(data, arrival, monotonic))
        return ""

    def _count(self, messages: list[Message]) -> Iterator[Message]:
        for message in messages:
            if isinstance(message, Reading):
                self.counters.readings += 1
            else:
                self.counters.undecoded += 1
            yield message

    def _state(self, *, connected: bool, text: str) -> SourceState:
        details = {key: float(value) for key, value in asdict(self.counters).items()}
        now = time.time(), time.monotonic()
        return SourceState(self.stream, *now, connected, text, details)


class Pump:
    """Runs a source on a thread and hands each message to the listeners, in order.

    A listener that raises is logged and kept: one faulty listener must not end a recording. A
    source that ends with an error is never silent: the error is the last message, and
    :attr:`failure` keeps it.
    """

    def __init__(self, source: Source, *listeners: Listener):
        self.source = source
        self.listeners = list(listeners)
        self.failure: Exception | None = None
        self._thread = threading.Thread(target=self._run, name="pump", daemon=True)

    def start(self) -> Self:
        """Start the thread."""
        self._thread.start()
        return self

    def _run(self) -> None:
        try:
            for message in self.source:
                self._hand_on(message)
        except Exception as error:
            self.failure = error
            log.error("%s", error, exc_info=not isinstance(error, SourceError))
            text = f"reading ended: {error}"
            now = time.time(), time.monotonic()
            self._hand_on(SourceState(self.source.stream, *now, connected=False, text=text))

    def _hand_on(self, message: Message) -> None:
        for listener in self.listeners:
            try:
                listener(message)
            except Exception:
                log.exception("a listener failed on a message")

    def stop(self, timeout: float = 5.0) -> None:
        """Stop the source and wait for the thread.

        Raises
        ------
        SourceError
            If the source does not end in time, or ended with an error.
        """
        self.source.stop()
        if self._thread.ident is not None:
            self._thread.join(timeout)
        if self._thread.is_alive():
            raise SourceError(f"a source does not end within {timeout:g} s; its link hangs")
        if self.failure is not None:
            raise SourceError(str(self.failure)) from self.failure

    @property
    def running(self) -> bool:
        """Whether the thread is alive."""
        return self._thread.is_alive()

    def __enter__(self) -> Self:
        """Start."""
        return self.start()

    def __exit__(self, *exception: object) -> None:
        """Stop."""
        self.stop()

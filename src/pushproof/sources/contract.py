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
from dataclasses import dataclass
from types import TracebackType
from typing import Protocol, Self

from pushproof.errors import SourceError
from pushproof.model.stream import Listener, Message, SourceState, StreamKind
from pushproof.sources.decoder import Decoder

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
    """Iterates over messages; a context manager; :meth:`stop` may come from any thread."""

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

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
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

    def __init__(self, decoder: Decoder, *, reconnect: bool = True):
        self.decoder = decoder
        self.stream = decoder.stream
        self.reconnect = reconnect
        self.counters = Counters()
        self._stopped = threading.Event()

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

    def stop(self) -> None:
        """Ask the source to end soon."""
        self._stopped.set()

    def __iter__(self) -> Iterator[Message]:
        """Yield messages, over lost and found links, until stopped."""
        wait = WAIT_FIRST
        said_lost = ""
        while not self._stopped.is_set():
            try:
                link = self.open_link()
            except OSError as error:
                text = f"{self.address}: {error.strerror or error}"
                if text != said_lost:
                    yield self._state(connected=False, text=text)
                    said_lost = text
                if not self.reconnect:
                    return
                self._stopped.wait(wait)
                wait = min(wait * 2, WAIT_LONGEST)
                continue
            wait, said_lost = WAIT_FIRST, ""
            self.counters.connects += 1
            yield self._state(connected=True, text=self.address)
            lost = yield from self._receive(link)
            link.close()
            yield from self._finish()
            if lost:
                yield self._state(connected=False, text=lost)
                if not self.reconnect:
                    return
                self._stopped.wait(wait)

    def _receive(self, link: Link) -> Generator[Message, None, str]:
        """Yield messages from one link; return why it was lost, empty if stopped."""
        while not self._stopped.is_set():
            try:
                data = link.receive(0.1)
            except (OSError, EOFError) as error:
                return f"{self.address}: lost: {error}"
            if data:
                arrival, monotonic = time.time(), time.monotonic()
                self.counters.received_bytes += len(data)
                yield from self._count(self.decoder.feed(data, arrival, monotonic))
        return ""

    def _finish(self) -> Iterator[Message]:
        yield from self._count(self.decoder.flush(time.time(), time.monotonic()))

    def _count(self, messages: list[Message]) -> Iterator[Message]:
        from pushproof.model.stream import Reading

        for message in messages:
            if isinstance(message, Reading):
                self.counters.readings += 1
            else:
                self.counters.undecoded += 1
            yield message

    def _state(self, *, connected: bool, text: str) -> SourceState:
        return SourceState(self.stream, time.time(), time.monotonic(), connected, text)


class Pump:
    """Runs a source on a thread and hands each message to the listeners, in order.

    A listener that raises is logged and kept: one faulty listener must not end a recording.
    """

    def __init__(self, source: Source, *listeners: Listener):
        self.source = source
        self.listeners = list(listeners)
        self.failure: BaseException | None = None
        self._thread = threading.Thread(target=self._run, name="pump", daemon=True)

    def start(self) -> Self:
        """Start the thread."""
        self._thread.start()
        return self

    def _run(self) -> None:
        try:
            for message in self.source:
                for listener in self.listeners:
                    try:
                        listener(message)
                    except Exception:
                        log.exception("a listener failed on a message")
        except SourceError as error:
            self.failure = error
            log.error("%s", error)

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
            raise SourceError("a source does not end; its link hangs")
        if self.failure is not None:
            raise SourceError(str(self.failure)) from self.failure

    @property
    def running(self) -> bool:
        """Whether the thread is alive."""
        return self._thread.is_alive()

    def __enter__(self) -> Self:
        """Start."""
        return self.start()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Stop."""
        self.stop()

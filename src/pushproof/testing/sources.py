"""The contract of a source as a test class; every source's tests inherit it."""

from __future__ import annotations

import threading
from abc import ABC, abstractmethod

from pushproof.model.stream import Message, Reading, SourceState, Undecoded
from pushproof.sources.contract import Pump, Source
from pushproof.sources.decoder import Decoder
from pushproof.sources.description import load_description

WAIT = 5.0
"""Longest wait for anything in the contract [s]."""


class Listener:
    """Collects messages and wakes whoever waits for them."""

    def __init__(self) -> None:
        self.messages: list[Message] = []
        self._changed = threading.Condition()

    def __call__(self, message: Message) -> None:
        """Take a message."""
        with self._changed:
            self.messages.append(message)
            self._changed.notify_all()

    def of(self, kind: type) -> list[Message]:
        """Return the messages of one kind so far."""
        return [m for m in self.messages if isinstance(m, kind)]

    def wait_for(self, kind: type, count: int = 1) -> list[Message]:
        """Wait until so many messages of a kind have come."""
        with self._changed:
            came = self._changed.wait_for(lambda: len(self.of(kind)) >= count, WAIT)
        assert came, f"{len(self.of(kind))} {kind.__name__}, expected {count}: {self.messages[-5:]}"
        return self.of(kind)


class SourceContract(ABC):
    """What every source must do.

    A subclass gives :meth:`make` and :meth:`send`; :meth:`send` delivers bytes to the source made
    last.
    """

    @abstractmethod
    def make(self, decoder: Decoder) -> Source:
        """Return the source under test."""

    @abstractmethod
    def send(self, data: bytes) -> None:
        """Deliver bytes to it."""

    def decoder(self) -> Decoder:
        """Return a decoder of the shipped link box."""
        return Decoder(load_description("link-box"))

    def sentence(self, sequence: int) -> bytes:
        """Return a right sentence."""
        return self.decoder().encode({"qc": 1000.0 + sequence, "cone_time": sequence}, sequence)

    def test_delivers_readings_in_order(self) -> None:
        """Readings come in the order in which they were sent."""
        listener = Listener()
        with Pump(self.make(self.decoder()), listener):
            listener.wait_for(SourceState)
            for sequence in range(20):
                self.send(self.sentence(sequence))
            got = listener.wait_for(Reading, 20)
        assert [m.sequence for m in got if isinstance(m, Reading)] == list(range(20))

    def test_says_that_it_is_connected(self) -> None:
        """The first message is a state."""
        listener = Listener()
        with Pump(self.make(self.decoder()), listener):
            listener.wait_for(SourceState)
        first = listener.messages[0]
        assert isinstance(first, SourceState)
        assert first.connected

    def test_noise_is_kept_and_not_fatal(self) -> None:
        """Binary noise and a wrong checksum become messages; the next reading still comes."""
        listener = Listener()
        wrong = self.sentence(1).replace(b"*", b"9*")
        with Pump(self.make(self.decoder()), listener):
            listener.wait_for(SourceState)
            self.send(bytes(range(128, 256)) + b"\n" + wrong)
            self.send(self.sentence(2))
            listener.wait_for(Reading)
            undecoded = listener.wait_for(Undecoded, 2)
        assert all(isinstance(m, Undecoded) and m.raw and m.fault for m in undecoded)

    def test_stop_ends_it_soon(self) -> None:
        """Stop from another thread ends the iteration."""
        pump = Pump(self.make(self.decoder()), Listener()).start()
        pump.stop()
        assert not pump.running

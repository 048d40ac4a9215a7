"""The contract of a source as a test class; every source's tests inherit it."""

from __future__ import annotations

import threading
import time
from abc import ABC, abstractmethod
from collections.abc import Callable

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
        self.wait_until(lambda: len(self.of(kind)) >= count, f"{count} {kind.__name__}")
        return self.of(kind)

    def wait_until(self, holds: Callable[[], bool], what: str = "it") -> None:
        """Wait until something holds; it is looked at after each message."""
        with self._changed:
            came = self._changed.wait_for(holds, WAIT)
        assert came, f"{what} did not come; {len(self.messages)} messages: {self.messages[-5:]}"


class SourceContract(ABC):
    """What every source must do.

    A subclass gives :meth:`make` and :meth:`send`; :meth:`send` delivers bytes to the source made
    last. ``description`` names the sentences that are used, ``any_pieces`` says whether the bytes
    may be cut anywhere on their way (a datagram may not).
    """

    description = "link-box"
    any_pieces = True

    @abstractmethod
    def make(self, decoder: Decoder) -> Source:
        """Return the source under test."""

    @abstractmethod
    def send(self, data: bytes) -> None:
        """Deliver bytes to it."""

    def decoder(self) -> Decoder:
        """Return a decoder of the sentences that are used."""
        return Decoder(load_description(self.description))

    def sentence(self, sequence: int) -> bytes:
        """Return a right sentence."""
        return self.decoder().encode({"qc": 1000.0 + sequence, "cone_time": sequence}, sequence)

    def test_delivers_readings_in_order(self) -> None:
        """Readings come in the order in which they were sent, each with the bytes it came from."""
        listener = Listener()
        with Pump(self.make(self.decoder()), listener):
            listener.wait_for(SourceState)
            for sequence in range(20):
                self.send(self.sentence(sequence))
            got = listener.wait_for(Reading, 20)
        assert [m.sequence for m in got if isinstance(m, Reading)] == list(range(20))
        assert [m.raw for m in got if isinstance(m, Reading)] == [
            self.sentence(sequence).strip() for sequence in range(20)
        ]

    def test_says_that_it_is_connected(self) -> None:
        """The first message is a state."""
        listener = Listener()
        with Pump(self.make(self.decoder()), listener):
            listener.wait_for(SourceState)
        first = listener.messages[0]
        assert isinstance(first, SourceState)
        assert first.connected

    def test_times_go_on(self) -> None:
        """Both clocks of the surface are in each message and the monotonic one never goes back."""
        listener = Listener()
        with Pump(self.make(self.decoder()), listener):
            listener.wait_for(SourceState)
            for sequence in range(5):
                self.send(self.sentence(sequence))
            listener.wait_for(Reading, 5)
        times = [m.monotonic for m in listener.messages]
        assert times == sorted(times)
        assert all(abs(m.arrival - time.time()) < 60 for m in listener.messages)

    def test_pieces_of_lines_are_joined(self) -> None:
        """A line that comes in pieces, glued to its neighbours, is one reading."""
        sentences = [self.sentence(sequence) for sequence in range(4)]
        data = b"".join(sentences)
        size = 17 if self.any_pieces else len(sentences[0])
        listener = Listener()
        with Pump(self.make(self.decoder()), listener):
            listener.wait_for(SourceState)
            for start in range(0, len(data), size):
                self.send(data[start : start + size])
            got = listener.wait_for(Reading, 4)
        assert [m.sequence for m in got if isinstance(m, Reading)] == [0, 1, 2, 3]
        assert not listener.of(Undecoded)

    def test_noise_is_kept_and_not_fatal(self) -> None:
        """Binary noise and half a line become messages; the next reading still comes."""
        listener = Listener()
        half = self.sentence(1)[:20] + b"\n"
        with Pump(self.make(self.decoder()), listener):
            listener.wait_for(SourceState)
            self.send(bytes(range(128, 256)) + b"\n" + half)
            self.send(self.sentence(2))
            listener.wait_for(Reading)
            undecoded = listener.wait_for(Undecoded, 2)
        assert [m.raw for m in undecoded if isinstance(m, Undecoded)] == [
            bytes(range(128, 256)),
            half.strip(),
        ]
        assert all(m.fault for m in undecoded if isinstance(m, Undecoded))

    def test_a_faulty_listener_does_not_end_it(self) -> None:
        """Other listeners get every message though one raises."""

        def faulty(message: Message) -> None:
            raise RuntimeError(f"planted at {message.monotonic}")

        listener = Listener()
        with Pump(self.make(self.decoder()), faulty, listener):
            listener.wait_for(SourceState)
            self.send(self.sentence(1) + self.sentence(2))
            listener.wait_for(Reading, 2)

    def test_stop_ends_it_soon(self) -> None:
        """Stop from another thread ends the iteration, and there is no error in it."""
        listener = Listener()
        pump = Pump(self.make(self.decoder()), listener).start()
        listener.wait_for(SourceState)
        begun = time.monotonic()
        pump.stop()
        assert not pump.running
        assert time.monotonic() - begun < 2
        assert all(m.connected for m in listener.messages if isinstance(m, SourceState))

    def test_stopped_before_it_begins_it_gives_nothing(self) -> None:
        """A source that was stopped ends at once when it is iterated."""
        source = self.make(self.decoder())
        source.stop()
        assert list(source) == []

    def test_it_can_be_left_in_the_middle(self) -> None:
        """Whoever iterates may leave; the source then lets go of what it holds."""
        with self.make(self.decoder()) as source:
            messages = iter(source)
            assert isinstance(next(messages), SourceState)
            del messages

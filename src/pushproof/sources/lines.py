"""What all decoders of text lines have in common: framing, glued sentences, counting of faults."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import TypeAlias

from pushproof.model.stream import Message, Reading, StreamKind, Undecoded
from pushproof.sources.framing import Framer

Found: TypeAlias = tuple[StreamKind, Mapping[str, float], int | None]
"""What a sentence says: its stream, its values and the counter of its sender."""

OTHER = "other sentence"
"""Fault of a sentence that is meant for somebody else."""


class LineFault(Exception):
    """Why a line is no reading; the words before a colon name the kind of fault."""


class LineDecoder(ABC):
    """Turns the bytes of a link into messages. Nothing on a line is ever fatal.

    A subclass overrides :meth:`interpret`.

    Parameters
    ----------
    stream
        Stream of what cannot be decoded.
    marks
        Bytes a sentence begins with. Where a line end was lost, a line that is no reading as a
        whole is taken apart at them, so that one bad sentence does not hide its neighbours.

    Notes
    -----
    The messages do not depend on how the bytes are cut into pieces. ``faults`` counts the lines
    that were no reading by kind of fault; each is kept as :class:`Undecoded`. ``passed`` counts
    what was read and not used: well-formed sentences of other kinds, unknown names.
    """

    def __init__(self, stream: StreamKind, marks: Iterable[bytes] = ()):
        self.stream = stream
        self.marks = tuple(mark for mark in marks if mark)
        self.faults: Counter[str] = Counter()
        self.passed: Counter[str] = Counter()
        self._framer = Framer()
        self._begin = re.compile(b"|".join(map(re.escape, self.marks))) if self.marks else None

    @abstractmethod
    def interpret(self, line: bytes) -> Found | None:
        """Return what a line says, or None if it is whole and says nothing that is wanted.

        Raises
        ------
        LineFault
            If it is no reading.
        """

    def feed(self, data: bytes, arrival: float, monotonic: float) -> list[Message]:
        """Take bytes that arrived at a moment and return the messages they complete."""
        return self._read(self._framer.feed(data), arrival, monotonic)

    def flush(self, arrival: float, monotonic: float) -> list[Message]:
        """Return what is left when a link ends (half a line), as messages."""
        return self._read(self._framer.flush(), arrival, monotonic)

    def decode(self, line: bytes, arrival: float, monotonic: float) -> Message | None:
        """Decode one sentence without its line end; None if it is passed over."""
        try:
            return self._reading(line, arrival, monotonic)
        except LineFault as fault:
            return self._undecoded(line, arrival, monotonic, fault)

    def _read(self, lines: list[bytes], arrival: float, monotonic: float) -> list[Message]:
        messages: list[Message | None] = []
        for line in lines:
            try:
                messages.append(self._reading(line, arrival, monotonic))
            except LineFault as fault:
                pieces = self._apart(line)
                if len(pieces) > 1:
                    messages += [self.decode(piece, arrival, monotonic) for piece in pieces]
                else:
                    messages.append(self._undecoded(line, arrival, monotonic, fault))
        return [message for message in messages if message is not None]

    def _reading(self, line: bytes, arrival: float, monotonic: float) -> Message | None:
        found = self.interpret(line)
        if found is None:
            return None
        stream, values, sequence = found
        return Reading(stream, arrival, monotonic, values, sequence, line)

    def _undecoded(
        self, line: bytes, arrival: float, monotonic: float, fault: LineFault
    ) -> Undecoded:
        text = str(fault)
        self.faults[text.split(":")[0]] += 1
        return Undecoded(self.stream, arrival, monotonic, line, text)

    def _apart(self, line: bytes) -> list[bytes]:
        """Cut a line where sentences begin; the pieces together are the line."""
        if self._begin is None:
            return [line]
        cuts = [found.start() for found in self._begin.finditer(line)]
        edges = [0, *(cut for cut in cuts if cut), len(line)]
        return [line[a:b] for a, b in pairwise(edges) if b > a]


class SharedDecoder(LineDecoder):
    """Several decoders on one link, for a box that sends cone and depth over one port.

    A line belongs to the first decoder that can read it.
    """

    def __init__(self, decoders: Iterable[LineDecoder]):
        self.decoders = tuple(decoders)
        if not self.decoders:
            raise ValueError("no decoder given")
        marks = (mark for decoder in self.decoders for mark in decoder.marks)
        super().__init__(self.decoders[0].stream, marks)

    def interpret(self, line: bytes) -> Found | None:
        """Return what the first decoder that can read the line finds."""
        fault = LineFault(OTHER)
        for decoder in self.decoders:
            try:
                return decoder.interpret(line)
            except LineFault as found:
                if str(found) != OTHER:
                    fault = found
        raise fault

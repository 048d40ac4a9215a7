"""Framing: bytes as they come to whole lines, whatever the pieces they come in."""

from __future__ import annotations

LONGEST = 4096
"""Bytes after which a line without an end is given up as noise."""


class Framer:
    """Cuts a stream of bytes into lines.

    Any of LF, CR or CR LF ends a line; empty lines are passed over; a line longer than
    ``longest`` is cut there, so that noise cannot fill the memory. The lines are the same however
    the bytes are cut into pieces.
    """

    def __init__(self, longest: int = LONGEST):
        self.longest = longest
        self._rest = b""

    def feed(self, data: bytes) -> list[bytes]:
        """Take bytes and return the lines they complete, without their ends."""
        whole = (self._rest + data).replace(b"\r", b"\n")
        *lines, self._rest = whole.split(b"\n")
        found: list[bytes] = []
        for line in lines:
            found += self._cut(line)
        while len(self._rest) >= self.longest:
            found.append(self._rest[: self.longest])
            self._rest = self._rest[self.longest :]
        return found

    def flush(self) -> list[bytes]:
        """Return the half line that is left when the link ends."""
        rest, self._rest = self._rest, b""
        return self._cut(rest)

    def _cut(self, line: bytes) -> list[bytes]:
        pieces = range(0, len(line), self.longest)
        return [line[start : start + self.longest] for start in pieces]

"""What is inside a block: JSON lines, one message each, packed with zlib.

Measured on messages of a cone (five channels and their line of text, ``benchmarks/record.py``):
packed JSON lines are smaller than packed columns in blocks of up to 100 messages, which is what
a rig gives, and a person can read them without this program in thirty years.

Lines of a block of readings, in short names because most blocks are short::

    {"a": arrival, "m": monotonic, "n": sender's sequence, "v": {key: value}, "r": raw, "k": marks}

``n``, ``r`` and ``k`` are left out where empty. A value that is not a number is null, an infinite
one the text ``inf`` or ``-inf``; bytes are written as Latin-1 text, byte for character. Lines of
undecoded bytes have ``a``, ``m``, ``r`` and ``f``, the fault.
"""

from __future__ import annotations

import json
import math
import zlib
from collections.abc import Iterator, Sequence
from enum import IntFlag
from typing import Any

from pushproof.model.stream import Reading, StreamKind, Undecoded

ENCODING = "jsonl+zlib"
_LEVEL = 1
_LARGEST = 64 * 1024 * 1024
_dump = json.JSONEncoder(separators=(",", ":"), allow_nan=False, ensure_ascii=False).encode


class Mark(IntFlag):
    """What the recorder noticed about a message when it arrived. The message is kept as it is."""

    NONE = 0
    DUPLICATE = 1
    """The same sequence number (or cone time) and the same content came before."""
    LATE = 2
    """Its sequence number (or cone time) is behind one that came before."""
    RESTART = 4
    """The sender's counter or clock began again."""
    UNPROVEN = 8
    """Salvaged from a damaged job: it reads well, but its block did not prove itself."""

    @property
    def words(self) -> str:
        """The marks in words, empty for none."""
        return ", ".join(str(mark.name).lower() for mark in Mark if mark in self)


def _number(value: float) -> float | str | None:
    number = float(value)
    if math.isfinite(number):
        return number
    return None if math.isnan(number) else str(number)


def _value(found: float | str | None) -> float:
    return math.nan if found is None else float(found)


def pack_readings(readings: Sequence[Reading], marks: Sequence[int]) -> bytes:
    """Pack readings and their marks (same length) as the content of a block."""
    lines = []
    for reading, mark in zip(readings, marks, strict=True):
        line: dict[str, Any] = {"a": _number(reading.arrival), "m": _number(reading.monotonic)}
        if reading.sequence is not None:
            line["n"] = int(reading.sequence)
        line["v"] = {key: _number(value) for key, value in reading.values.items()}
        if reading.raw:
            line["r"] = reading.raw.decode("latin-1")
        if mark:
            line["k"] = int(mark)
        lines.append(_dump(line))
    return _pack(lines)


def pack_undecoded(messages: Sequence[Undecoded]) -> bytes:
    """Pack undecoded bytes as the content of a block."""
    lines = [
        _dump(
            {
                "a": _number(message.arrival),
                "m": _number(message.monotonic),
                "r": message.raw.decode("latin-1"),
                "f": message.fault,
            }
        )
        for message in messages
    ]
    return _pack(lines)


def _pack(lines: list[str]) -> bytes:
    return zlib.compress("\n".join(lines).encode("utf-8", "surrogatepass"), _LEVEL)


def lines_of(content: bytes) -> Iterator[dict[str, Any]]:
    """Unpack the content of a block into its lines.

    Raises
    ------
    ValueError
        If it does not unpack, or to more than 64 MB.
    """
    opener = zlib.decompressobj()
    try:
        text = opener.decompress(content, _LARGEST)
    except zlib.error as error:
        raise ValueError(f"block content does not unpack: {error}") from error
    if not opener.eof or opener.unused_data:
        raise ValueError("block content does not unpack: cut short, too large or followed by more")
    for line in text.split(b"\n"):
        found = json.loads(line.decode("utf-8", "surrogatepass"))
        if not isinstance(found, dict):
            raise ValueError("block content: a line is not a JSON object")
        yield found


def unpack_readings(content: bytes, stream: StreamKind) -> Iterator[tuple[Reading, Mark]]:
    """Unpack a block of readings."""
    for line in lines_of(content):
        yield (
            Reading(
                stream,
                _value(line["a"]),
                _value(line["m"]),
                {key: _value(value) for key, value in line["v"].items()},
                line.get("n"),
                line.get("r", "").encode("latin-1"),
            ),
            Mark(line.get("k", 0)),
        )


def unpack_undecoded(content: bytes, stream: StreamKind) -> Iterator[Undecoded]:
    """Unpack a block of undecoded bytes."""
    for line in lines_of(content):
        raw = line["r"].encode("latin-1")
        yield Undecoded(stream, _value(line["a"]), _value(line["m"]), raw, line["f"])

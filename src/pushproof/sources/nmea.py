"""NMEA 0183 position sentences: where the rig stands.

Only the three common sentences that carry a position are read (GGA, RMC, GLL), from any talker.
The checksum is the XOR of the characters between ``$`` and ``*``.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from pushproof.model.stream import StreamKind
from pushproof.sources.checksum import checksum
from pushproof.sources.lines import OTHER, Found, LineDecoder, LineFault

NAME = "nmea-position"
"""What an address calls this decoder."""

_SENTENCE = re.compile(rb"\$([ -)+-~]*)\*([0-9A-Fa-f]{2})\s*")
_ANGLE = re.compile(r"(\d{1,3})(\d\d(?:\.\d*)?)")


@dataclass(frozen=True)
class Fix:
    """A position: latitude and longitude [deg], height above mean sea level [m] if given."""

    latitude: float
    longitude: float
    height: float | None = None
    satellites: int | None = None


class PositionDecoder(LineDecoder):
    """Turns the sentences of a satellite receiver into readings of the position stream.

    Sentences of other kinds are right and not wanted: they are passed over and counted.
    """

    def __init__(self) -> None:
        super().__init__(StreamKind.POSITION, [b"$"])

    def interpret(self, line: bytes) -> Found | None:
        """Return the position in a sentence."""
        try:
            fields = sentence_fields(line)
            if fields[0][-3:] not in ("GGA", "RMC", "GLL"):
                self.passed[f"sentence {fields[0]}"] += 1
                return None
            fix = _position(fields)
        except ValueError as error:
            raise LineFault(str(error)) from None
        if fix is None:
            raise LineFault("no fix")
        values = {"latitude": fix.latitude, "longitude": fix.longitude}
        if fix.height is not None:
            values["elevation"] = fix.height
        return self.stream, values, None


def parse_position(sentence: bytes) -> Fix | None:
    """Return the position in a sentence, or None if it has none that is valid.

    Raises
    ------
    ValueError
        If the checksum is wrong or missing, or a field is unreadable.

    Examples
    --------
    >>> parse_position(b"$GPGLL,4916.45,N,12311.12,W,225444,A,*1D").latitude
    49.274166666666666
    """
    return _position(sentence_fields(sentence.strip()))


def sentence_fields(sentence: bytes) -> list[str]:
    """Return the fields of a sentence whose checksum is right.

    Raises
    ------
    ValueError
        If it is no sentence, or its checksum is wrong or missing.
    """
    found = _SENTENCE.fullmatch(sentence)
    if found is None:
        raise ValueError("no checksum" if sentence.startswith(b"$") else OTHER)
    body, stated = found[1], int(found[2], 16)
    if stated != checksum("xor8", body):
        raise ValueError(f"checksum wrong: {stated:02X}, expected {checksum('xor8', body):02X}")
    return body.decode("ascii").split(",")


def _position(fields: list[str]) -> Fix | None:
    kind = fields[0][-3:]
    if kind == "GGA" and len(fields) > 9 and fields[6] not in ("", "0"):
        height = _height(fields[9])
        count = int(fields[7]) if fields[7].isdecimal() else None
        return _fix(fields[2:6], height, count)
    if kind == "RMC" and len(fields) > 6 and fields[2] == "A":
        return _fix(fields[3:7])
    if kind == "GLL" and len(fields) > 6 and fields[6] == "A":
        return _fix(fields[1:5])
    return None


def _height(text: str) -> float | None:
    if not text:
        return None
    height = float(text)
    if not math.isfinite(height):
        raise ValueError(f"no height: {text}")
    return height


def _fix(parts: list[str], height: float | None = None, count: int | None = None) -> Fix:
    latitude = _angle(parts[0], parts[1], "NS", 90)
    return Fix(latitude, _angle(parts[2], parts[3], "EW", 180), height, count)


def _angle(text: str, side: str, sides: str, largest: float) -> float:
    """Return degrees from the form ``ddmm.mmm`` and a side, the second one negative."""
    found = _ANGLE.fullmatch(text)
    if found is None or len(side) != 1 or side not in sides:
        raise ValueError(f"no position: {text} {side}")
    degrees, minutes = float(found[1]), float(found[2])
    value = degrees + minutes / 60
    if minutes >= 60 or value > largest:
        raise ValueError(f"no position: {text} {side}")
    return -value if side == sides[1] else value

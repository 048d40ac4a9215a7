"""NMEA 0183 position sentences: where the rig stands.

Only the three common sentences that carry a position are read (GGA, RMC, GLL), from any talker.
The checksum is the XOR of the characters between ``$`` and ``*``.
"""

from __future__ import annotations

from dataclasses import dataclass

from pushproof.sources.checksum import checksum


@dataclass(frozen=True)
class Fix:
    """A position: latitude and longitude [deg], height above mean sea level [m] if given."""

    latitude: float
    longitude: float
    height: float | None = None
    satellites: int | None = None


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
    text = sentence.strip()
    if not text.startswith(b"$"):
        raise ValueError("a sentence starts with $")
    body, star, stated = text[1:].rpartition(b"*")
    if not star:
        raise ValueError("no checksum")
    if int(stated[:2], 16) != checksum("xor8", body):
        raise ValueError(f"checksum {stated!r}, expected {checksum('xor8', body):02X}")
    fields = body.decode("ascii").split(",")
    kind = fields[0][-3:]
    if kind == "GGA" and len(fields) > 9 and fields[6] not in ("", "0"):
        height = float(fields[9]) if fields[9] else None
        count = int(fields[7]) if fields[7] else None
        return Fix(_angle(fields[2], fields[3]), _angle(fields[4], fields[5]), height, count)
    if kind == "RMC" and len(fields) > 6 and fields[2] == "A":
        return Fix(_angle(fields[3], fields[4]), _angle(fields[5], fields[6]))
    if kind == "GLL" and len(fields) > 6 and fields[6] == "A":
        return Fix(_angle(fields[1], fields[2]), _angle(fields[3], fields[4]))
    return None


def _angle(text: str, side: str) -> float:
    """Return degrees from the form ``ddmm.mmm`` and a side of N, S, E or W."""
    dot = text.index(".") if "." in text else len(text)
    degrees, minutes = float(text[: dot - 2]), float(text[dot - 2 :])
    value = degrees + minutes / 60
    if side not in ("N", "S", "E", "W") or minutes >= 60:
        raise ValueError(f"no position: {text} {side}")
    return -value if side in ("S", "W") else value

"""Checksums of serial sentences: XOR, sums and cyclic redundancy checks.

The parameters of the cyclic checks (width, polynomial, start, reflection, final XOR) are those of
the public catalogue of parametrised CRC algorithms; each one's check value over ``123456789`` is
in the tests.
"""

from __future__ import annotations

import binascii
import zlib
from dataclasses import dataclass
from functools import cache, reduce
from operator import xor


@dataclass(frozen=True)
class Crc:
    """Parameters of one cyclic redundancy check."""

    width: int
    polynomial: int
    start: int
    reflected: bool
    final: int


CRCS = {
    "crc8": Crc(8, 0x07, 0x00, False, 0x00),
    "crc8-maxim": Crc(8, 0x31, 0x00, True, 0x00),
    "crc16-ccitt-false": Crc(16, 0x1021, 0xFFFF, False, 0x0000),
    "crc16-xmodem": Crc(16, 0x1021, 0x0000, False, 0x0000),
    "crc16-kermit": Crc(16, 0x1021, 0x0000, True, 0x0000),
    "crc16-modbus": Crc(16, 0x8005, 0xFFFF, True, 0x0000),
    "crc32": Crc(32, 0x04C11DB7, 0xFFFFFFFF, True, 0xFFFFFFFF),
}
SUMS = {"xor8": 8, "sum8": 8, "sum16": 16}
KINDS = (*SUMS, *CRCS)
"""Every kind a decoder description may name."""


def digits(kind: str) -> int:
    """Return how many hexadecimal digits a checksum has.

    Examples
    --------
    >>> digits("xor8"), digits("crc32")
    (2, 8)
    """
    return (SUMS[kind] if kind in SUMS else CRCS[kind].width) // 4


def checksum(kind: str, data: bytes) -> int:
    """Return the checksum of bytes.

    Raises
    ------
    ValueError
        If the kind is not known.

    Examples
    --------
    >>> hex(checksum("crc32", b"123456789"))
    '0xcbf43926'
    """
    if kind == "xor8":
        return reduce(xor, data, 0)
    if kind in SUMS:
        return sum(data) & ((1 << SUMS[kind]) - 1)
    if kind == "crc32":
        return zlib.crc32(data)
    if kind in ("crc16-ccitt-false", "crc16-xmodem"):
        return binascii.crc_hqx(data, CRCS[kind].start)
    if kind not in CRCS:
        raise ValueError(f"unknown checksum {kind!r}; known: {', '.join(KINDS)}")
    return _crc(CRCS[kind], data)


def _crc(crc: Crc, data: bytes) -> int:
    table = _table(crc)
    value = _reflect(crc.start, crc.width) if crc.reflected else crc.start
    mask = (1 << crc.width) - 1
    for byte in data:
        if crc.reflected:
            value = table[(value ^ byte) & 0xFF] ^ (value >> 8)
        else:
            value = (table[((value >> (crc.width - 8)) ^ byte) & 0xFF] ^ (value << 8)) & mask
    return value ^ crc.final


@cache
def _table(crc: Crc) -> tuple[int, ...]:
    mask, top = (1 << crc.width) - 1, 1 << (crc.width - 1)
    rows = []
    for index in range(256):
        if crc.reflected:
            value = index
            polynomial = _reflect(crc.polynomial, crc.width)
            for _ in range(8):
                value = (value >> 1) ^ polynomial if value & 1 else value >> 1
        else:
            value = index << (crc.width - 8)
            for _ in range(8):
                value = ((value << 1) ^ crc.polynomial if value & top else value << 1) & mask
        rows.append(value)
    return tuple(rows)


def _reflect(value: int, width: int) -> int:
    return int(f"{value:0{width}b}"[::-1], 2)

"""The hash chain: what a link is, how it is written down, and its SHA-256.

Every row of every fact table is one link of one chain per job. A link holds the hash of the link
before it (``previous``) and its own hash: the SHA-256 (FIPS 180-4) of its table name and of every
column that is not null, ``previous`` included. A column that a later version adds is null in the
older rows, so their hashes stay as they are.

The text that is hashed is plain enough to be rebuilt without Pushproof; it is laid down in
``docs/reference/job-file.md``, and a test proves a job with the standard library alone.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

Value: TypeAlias = int | float | str | bytes | None
"""Anything that a column of the job file can hold."""

NOTHING = bytes(32)
"""The hash before the first link."""


@dataclass(frozen=True, slots=True)
class Head:
    """The newest link of a job: how many there are, and the hash of the last.

    Noted elsewhere (on the printed sheet, in a message to the office) it lets anyone prove later
    that the job still holds everything it held then.
    """

    link: int
    hash: bytes

    def __str__(self) -> str:
        return f"{self.link}:{self.hash.hex()}"

    @classmethod
    def parse(cls, text: str) -> Head:
        """Read a head from its text form, ``link:hash``.

        Examples
        --------
        >>> Head.parse("7:" + "0a" * 32).link
        7
        """
        link, _, digits = text.strip().partition(":")
        if not link.isdigit() or len(digits) != 64:
            raise ValueError(
                f"{text!r} is not a head: expected a number, a colon and 64 hex digits"
            )
        return cls(int(link), bytes.fromhex(digits))


def written(name: str, value: Value) -> bytes:
    """Return one column as it enters the hash.

    Examples
    --------
    >>> written("rows", 3)
    b'rows=i1:3;'
    """
    if isinstance(value, int):
        kind, body = b"i", b"%d" % value
    elif isinstance(value, float):
        kind, body = b"f", value.hex().encode()
    elif isinstance(value, str):
        kind, body = b"s", value.encode()
    elif isinstance(value, bytes):
        kind, body = b"b", value
    else:
        raise TypeError(f"column {name}: {type(value).__name__} cannot be stored in a job")
    return b"%s=%s%d:%s;" % (name.encode(), kind, len(body), body)


def link_hash(table: str, row: Mapping[str, Value]) -> bytes:
    """Return the SHA-256 of a link.

    Parameters
    ----------
    table
        Name of its table.
    row
        Every column by name; ``hash`` itself and null columns are passed over.
    """
    columns = sorted(name for name, value in row.items() if value is not None and name != "hash")
    text = b"".join([table.encode() + b"\n", *(written(name, row[name]) for name in columns)])
    return hashlib.sha256(text).digest()

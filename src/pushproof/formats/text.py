"""Bytes to text: encodings of real files, and what is not text at all."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from pushproof.errors import FormatError

HEAD = 65536
DATABASE = b"SQLite format 3\0"
"""How a database begins, and so a job file."""
LONGEST_LINE = 1_000_000
"""Longest line that is taken for text; longer ones are refused before any work is done on them."""

_CONTROL = bytes(set(range(32)) - {9, 10, 11, 12, 13, 26, 27})


@dataclass(frozen=True)
class Text:
    """A decoded file."""

    text: str
    encoding: str


def looks_binary(head: bytes) -> bool:
    """Tell whether bytes are no text: too many control characters.

    A few NUL bytes are found in real text files whose disk lost a sector, so they alone do not
    decide.

    Examples
    --------
    >>> looks_binary(b"#GEFID= 1, 1, 0"), looks_binary(bytes(range(256)) * 4)
    (False, True)
    """
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, codecs.BOM_UTF8)):
        return False
    control = len(head) - len(head.translate(None, _CONTROL))
    nul = head.count(0)
    return (control - nul) * 50 > len(head) or nul * 10 > 7 * len(head)


def first_bytes(path: Path) -> bytes:
    """Return the first bytes of a file for detection, UTF-16 brought to UTF-8.

    Of a file that holds others (a database, an archive), only its own header: what comes after may
    look like any format.

    Raises
    ------
    FormatError
        If the file cannot be opened.
    """
    with readable(path), path.open("rb") as file:
        head = file.read(HEAD)
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return head.decode("utf-16", errors="replace").encode()
    if head.startswith(DATABASE):
        return head[:100]
    if head.startswith(b"PK\x03\x04"):
        return head[: 30 + int.from_bytes(head[26:28], "little")]
    return head[:4] if head.startswith(b"PAR1") else head


@contextmanager
def readable(path: Path) -> Iterator[None]:
    """Say of a file that is read inside why it cannot be: missing, a folder, or what else.

    Raises
    ------
    FormatError
        In place of the error of the system.
    """
    try:
        yield
    except FileNotFoundError:
        raise FormatError("no such file", path=path) from None
    except IsADirectoryError:
        raise FormatError("this is a folder, not a file", path=path) from None
    except OSError as error:
        raise FormatError(f"cannot be read: {error.strerror}", path=path) from error


def refuse_large(path: Path, largest: int) -> None:
    """Refuse a file of more bytes than the limit.

    Raises
    ------
    FormatError
        With both sizes.
    """
    size = path.stat().st_size
    if size > largest:
        raise FormatError(
            f"the file has {size / 1e6:.0f} MB, more than the limit of {largest / 1e6:.0f} MB",
            path=path,
        )


def read_bytes(path: Path, largest: int) -> bytes:
    """Return the bytes of a file, refusing one that is too large, missing or empty.

    Raises
    ------
    FormatError
        With the reason.
    """
    with readable(path):
        refuse_large(path, largest)
        data = path.read_bytes()
    if not data.strip(b"\0 \t\r\n"):
        raise FormatError("the file is empty", path=path)
    return data


def decode(data: bytes, path: Path | None = None) -> Text:
    """Decode text: UTF-8 or UTF-16 with a mark, UTF-8, code page 437 or 1252, ISO-8859-1.

    Raises
    ------
    FormatError
        If the bytes are no text, or hold a line longer than any table has.
    """
    if looks_binary(data[:HEAD]):
        raise FormatError("this is a binary file, not text", path=path)
    longest = _longest_line(data)
    if longest > LONGEST_LINE:
        raise FormatError(
            f"a line of {longest:,} characters is longer than any table has", path=path
        )
    for mark, name in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if data.startswith(mark):
            return Text(data.decode(name, errors="replace"), name)
    try:
        return Text(data.decode("utf-8"), "ascii" if data.isascii() else "utf-8")
    except UnicodeDecodeError:
        pass
    name = _single_byte_encoding(data)
    return Text(data.decode(name, errors="replace"), name)


def _longest_line(data: bytes) -> int:
    if len(data) <= LONGEST_LINE:
        return 0
    longest, start = 0, 0
    while start < len(data):
        end = min(
            (i for i in (data.find(b"\n", start), data.find(b"\r", start)) if i >= 0),
            default=len(data),
        )
        longest = max(longest, end - start)
        if longest > LONGEST_LINE:
            break
        start = max(end + 1, start + 1)
        nearest = data.rfind(b"\n", start, start + LONGEST_LINE)
        if nearest > start:
            start = nearest
    return longest


def _single_byte_encoding(data: bytes) -> str:
    """Choose between the code pages of DOS and of Windows by where the high bytes stand.

    In words, 0x80 to 0x9f are letters in code page 437 and punctuation in 1252.
    """
    if re.search(rb"[A-Za-z](?:[\x81-\x84\x87-\x8d]|[\x80-\x90\x93-\x9a][a-z])", data):
        return "cp437"
    try:
        data.decode("cp1252")
    except UnicodeDecodeError:
        return "iso-8859-1"
    return "cp1252"

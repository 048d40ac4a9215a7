"""What a format is: detect, read, and for some, write.

A third party adds a format with an entry point in the group ``pushproof.formats`` that names an
object with these attributes; :class:`pushproof.testing.FormatContract` checks it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol, runtime_checkable

from pushproof.model.profile import Interpretation
from pushproof.model.sounding import Sounding


@dataclass(frozen=True)
class ReadOptions:
    """What the caller knows better than the file.

    Parameters
    ----------
    columns
        Column mapping for delimited text: text of the form ``"depth=1:m, qc=2:MPa"`` or the path
        of a TOML file; empty to guess from names and units.
    salvage
        Read what can be read of a damaged file and report the rest as findings.
    max_bytes
        Largest file that is read.
    """

    columns: str = ""
    salvage: bool = False
    max_bytes: int = 512 * 1024 * 1024


@runtime_checkable
class Format(Protocol):
    """A file format.

    Attributes
    ----------
    name
        Short name, lower case (``"gef"``).
    title
        What people call it.
    suffixes
        Usual file suffixes, lower case with the dot.
    """

    name: str
    title: str
    suffixes: tuple[str, ...]

    def detect(self, path: Path, head: bytes) -> float:
        """Return how sure it is that the file is of this format, 0 to 1, from its first bytes."""
        ...

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return every sounding in the file; raise FormatError with the line if it cannot."""
        ...


Content = Sounding | Interpretation
"""What is handed over: a sounding as found, or what was derived from one."""
Given = Mapping[str, str]
"""Fields that the user gave, by name, as text."""


@dataclass(frozen=True)
class Field:
    """Something a format asks for that a sounding does not hold.

    Parameters
    ----------
    name
        Its name in ``--set NAME=VALUE`` and as an argument of :func:`pushproof.write`.
    words
        What it is, with its place in the format in brackets.
    default
        What is written if it is not given, in words; empty where nothing is.
    """

    name: str
    words: str
    default: str = ""


@dataclass(frozen=True)
class Missing:
    """Something a format asks for that is neither in the sounding nor given.

    Parameters
    ----------
    field
        Name of the field that supplies it.
    words
        What it is, with its place in the format in brackets.
    required
        The format does not allow it to be empty: nothing is written without it.
    sounding
        Name of the sounding that lacks it; empty if it is one value for the file.
    """

    field: str
    words: str
    required: bool = True
    sounding: str = ""


@dataclass(frozen=True)
class Loss:
    """Something a format cannot carry.

    Parameters
    ----------
    what
        What is not in the file, or not as it was, with its number.
    why
        Why, and where it is kept instead.
    keys
        Columns of the readings, and facts (keys of :data:`pushproof.formats.lost.HOLDS`), that do
        not come back.
    rows
        Rows that are not written.
    """

    what: str
    why: str
    keys: tuple[str, ...] = field(default=())
    rows: int = 0


@runtime_checkable
class WritableFormat(Format, Protocol):
    """A format that can be written too.

    Attributes
    ----------
    many
        Whether one file can hold several soundings.
    fields
        What it takes beside the soundings.
    """

    many: bool
    fields: tuple[Field, ...]

    def missing(self, contents: Sequence[Content], given: Given) -> list[Missing]:
        """Return what the format asks for and nobody gave."""
        ...

    def losses(self, contents: Sequence[Content], given: Given) -> list[Loss]:
        """Return what the file will not hold, or not as it was."""
        ...

    def encode(self, contents: Sequence[Content], name: str, given: Given) -> dict[str, bytes]:
        """Return the content of each file by its name, the first named ``name``.

        Nothing required is missing when it is called. The same input gives the same bytes. Some
        formats put parts in files beside the first one.
        """
        ...


def sounding_of(content: Content) -> Sounding:
    """Return the sounding behind what is handed over."""
    return content if isinstance(content, Sounding) else content.profile.sounding

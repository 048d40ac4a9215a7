"""What a format is: detect, read, and for some, write.

A third party adds a format with an entry point in the group ``pushproof.formats`` that names an
object with these attributes; :class:`pushproof.testing.FormatContract` checks it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol, runtime_checkable

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


@dataclass(frozen=True)
class Loss:
    """Something a format cannot carry."""

    what: str
    why: str
    keys: tuple[str, ...] = field(default=())


@runtime_checkable
class WritableFormat(Format, Protocol):
    """A format that can be written too."""

    def losses(self, soundings: list[Sounding]) -> list[Loss]:
        """Return what would be lost on writing."""
        ...

    def write(self, soundings: list[Sounding], path: Path) -> None:
        """Write soundings to a file."""
        ...

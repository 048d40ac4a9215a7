"""The AGS formats: detect and read; edition 4 is written too."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from pushproof.formats.ags.names import EDITION_3, EDITION_4, Names
from pushproof.formats.ags.oddities import whole_lines
from pushproof.formats.ags.soundings import soundings
from pushproof.formats.ags.tables import Tables, edition_3, edition_4
from pushproof.formats.ags.writer import Ags4Writing
from pushproof.formats.contract import ReadOptions
from pushproof.formats.source import source_file
from pushproof.formats.text import decode, read_bytes
from pushproof.model.sounding import Sounding

_GROUP_4 = re.compile(rb'^\s*"?GROUP"?\s*,\s*"?[A-Z0-9]{4}"?', re.MULTILINE)
_GROUP_3 = re.compile(rb'^\s*"?\*\*\??[A-Z]{4}"?', re.MULTILINE)


class Ags4Format(Ags4Writing):
    """AGS edition 4."""

    name = "ags4"
    title = "AGS 4"
    suffixes: tuple[str, ...] = (".ags",)

    def detect(self, path: Path, head: bytes) -> float:
        """Return how sure it is that this is an AGS 4 file."""
        if _GROUP_4.search(head):
            return 1.0
        return 0.2 if path.suffix.lower() in self.suffixes and b'"DATA"' in head else 0.0

    def edition(self, head: bytes) -> str:
        """Return the edition that the file names (TRAN_AGS)."""
        return _named(edition_4, head, "TRAN", "TRAN_AGS")

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return every cone test of the file, with its dissipation tests.

        Raises
        ------
        FormatError
            If there are no cone readings, or rows cannot be placed; with the line.
        """
        return _read(self.name, edition_4, EDITION_4, path, options)


class Ags3Format:
    """AGS editions 3, 3.1 and the second of 1994."""

    name = "ags3"
    title = "AGS 3 and older"
    suffixes: tuple[str, ...] = (".ags",)

    def detect(self, path: Path, head: bytes) -> float:
        """Return how sure it is that this is an AGS file of an older edition."""
        if _GROUP_3.search(head):
            return 1.0
        return 0.1 if path.suffix.lower() in self.suffixes else 0.0

    def edition(self, head: bytes) -> str:
        """Return the edition that the file names (PROJ_AGS)."""
        return _named(edition_3, head, "PROJ", "PROJ_AGS")

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return every cone test of the file.

        Raises
        ------
        FormatError
            If there are no cone readings, or rows cannot be placed; with the line.
        """
        return _read(self.name, edition_3, EDITION_3, path, options)


def _read(
    name: str, parse: Callable[..., Tables], names: Names, path: Path, options: ReadOptions
) -> list[Sounding]:
    """Return the cone tests of a file, its tables taken apart as its edition wants."""
    data = read_bytes(path, options.max_bytes)
    decoded = decode(data, path)
    lines, cut = whole_lines(decoded.text, path, options.salvage)
    tables = parse(lines, path, options.salvage)
    tables.findings += cut
    source = source_file(path, data, name, decoded.encoding)
    return soundings(tables, names, path, source, options.salvage)


def _named(tables: Callable[..., Tables], head: bytes, group: str, heading: str) -> str:
    lines = head.decode("cp1252", errors="replace").splitlines()
    found = tables(lines, Path(), salvage=True).groups.get(group)
    texts = found.column(heading) if found else []
    return next((text.strip() for text in texts if text.strip()), "")

"""The open soundings that a format reads, but for those that would make the tests slow."""

from __future__ import annotations

from pathlib import Path

from pushproof.errors import FormatError
from pushproof.formats import detect

NOT = ("unit_trap_2.6.xml", "SOURCES.md", "LICENSE-MPL-2.0.txt")


def real_files(folder: Path, largest: int = 3_000_000) -> list[Path]:
    found = []
    for path in sorted(folder.rglob("*.*")):
        if not path.is_file() or path.name in NOT or path.stat().st_size > largest:
            continue
        try:
            detect(path)
        except FormatError:
            continue
        found.append(path)
    return found

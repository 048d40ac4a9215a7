"""The file a sounding came from, as a fact: name, size, hash."""

from __future__ import annotations

import hashlib
from pathlib import Path

from pushproof.model.sounding import SourceFile


def source_file(path: Path, data: bytes, format: str, encoding: str | None = None) -> SourceFile:
    """Return the record of a file that was read."""
    return SourceFile(
        name=path.name,
        sha256=hashlib.sha256(data).hexdigest(),
        size=len(data),
        format=format,
        encoding=encoding,
    )

"""The anchors beside a job: what its newest link was, noted each time it is opened and closed.

A plain text file, ``NAME.anchors``, one line each, only ever added to::

    <job identity> <link>:<hash> <time UTC> opened|noted|closed [<size> <SHA-256 of the file>]

The chain inside the job cannot know that its last links, and the head with them, were cut off
by someone careful; an anchor kept outside can. The hash of the whole file, noted after closing,
finds a changed bit even where it changes no fact. Losing the anchors loses only that.
"""

from __future__ import annotations

import hashlib
import logging
import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pushproof.store.chain import Head

_log = logging.getLogger("pushproof.store")


@dataclass(frozen=True, slots=True)
class Anchor:
    """One line of the anchors of a job."""

    identity: str
    head: Head
    time: str
    what: str
    size: int | None = None
    sha256: str | None = None


def anchors_path(job: Path) -> Path:
    """Return where the anchors of a job are."""
    return job.with_name(job.name + ".anchors")


def add_anchor(job: Path, identity: str, head: Head, what: str, *, seal: bool = False) -> None:
    """Note the head of a job; with ``seal``, also the size and hash of the whole file.

    The job itself is safe without its anchors, so a failure is logged and no more.
    """
    parts = [identity, str(head), datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"), what]
    try:
        if seal:
            parts += [str(job.stat().st_size), file_hash(job)]
        with anchors_path(job).open("a", encoding="ascii") as file:
            file.write(" ".join(parts) + "\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        _log.warning("%s: the anchor could not be noted: %s", job, error)


def read_anchors(job: Path) -> Iterator[Anchor]:
    """Read the anchors beside a job; lines that make no sense are passed over with a warning."""
    path = anchors_path(job)
    if not path.is_file():
        return
    for number, line in enumerate(path.read_text("ascii", "replace").splitlines(), 1):
        parts = line.split()
        try:
            identity, head, time, what, *seal = parts
            size, sha256 = (int(seal[0]), seal[1]) if seal else (None, None)
            yield Anchor(identity, Head.parse(head), time, what, size, sha256)
        except (ValueError, IndexError):
            _log.warning("%s, line %d: not an anchor, passed over", path, number)


def file_hash(path: Path) -> str:
    """Return the SHA-256 of a file, hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()

"""Files of the pages, held in memory and packed once: a page of many modules comes at once.

The files are known before anybody asks, so that no address can name another one. A file that
changed is read again. Types are told from a table of ours and not from the machine's, which may
take a module for plain text.
"""

from __future__ import annotations

import gzip
import hashlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from fastapi import HTTPException, Request
from fastapi.responses import Response

TYPES = {
    ".css": "text/css",
    ".html": "text/html",
    ".js": "text/javascript",
    ".otf": "font/otf",
    ".svg": "image/svg+xml",
    ".txt": "text/plain",
}
"""Media type of each kind of file; others are not served."""


@dataclass(frozen=True)
class Held:
    """A file as it is sent."""

    stamp: tuple[int, int]
    content: bytes
    packed: bytes
    etag: str


class HeldFiles:
    """The files below a folder.

    Parameters
    ----------
    folder
        Only what lies in it now, and is of a known kind, is served.
    """

    def __init__(self, folder: Path) -> None:
        paths = [path for path in folder.rglob("*") if path.suffix in TYPES]
        self._paths = {path.relative_to(folder).as_posix(): path for path in paths}
        self._held: dict[str, Held] = {}

    async def answer(self, path: str, request: Request) -> Response:
        """Return a file, packed for whoever takes that."""
        file = self._file(path)
        headers = {"etag": file.etag, "vary": "accept-encoding"}
        if file.etag in request.headers.get("if-none-match", ""):
            return Response(status_code=304, headers=headers)
        content = file.content
        if "gzip" in request.headers.get("accept-encoding", ""):
            content, headers["content-encoding"] = file.packed, "gzip"
        return Response(content, media_type=TYPES[Path(path).suffix], headers=headers)

    def _file(self, name: str) -> Held:
        path = self._paths.get(name)
        if path is None:
            raise HTTPException(404, "there is no such file")
        stat = path.stat()
        stamp = (stat.st_mtime_ns, stat.st_size)
        held = self._held.get(name)
        if held is None or held.stamp != stamp:
            content = path.read_bytes()
            mark = hashlib.sha256(content).hexdigest()[:16]
            held = Held(stamp, content, gzip.compress(content, 6, mtime=0), f'"{mark}"')
            self._held[name] = held
        return held


@cache
def held_files(folder: Path) -> HeldFiles:
    """Return the files below a folder, held once for all applications of a process."""
    return HeldFiles(folder)

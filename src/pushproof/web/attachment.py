"""A file as the answer to a call."""

from __future__ import annotations

from pathlib import Path

from fastapi.responses import Response

ANY = "application/octet-stream"
TYPES = {
    ".pdf": "application/pdf",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".zip": "application/zip",
}
"""Media type of each kind of file that is handed out; ``ANY`` for others."""


def attachment(content: bytes, name: str) -> Response:
    """Return a file for the browser to keep; its name is plain ASCII and needs no quoting."""
    kind = TYPES.get(Path(name).suffix, ANY)
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=kind, headers=headers)

"""Files that were sent and are not kept yet: looked at first, then kept or thrown away."""

from __future__ import annotations

import re
import secrets
import shutil
import tempfile
import threading
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from pushproof.errors import PushproofError
from pushproof.model.sounding import Sounding

WAITING = 8
"""Files that may wait; the oldest is thrown away for a new one."""


@dataclass(frozen=True)
class Waiting:
    """One file that waits: its token, its name and where it lies."""

    token: str
    name: str
    path: Path


class Intake:
    """Files on trial, in a folder of their own that :meth:`close` takes away."""

    def __init__(self) -> None:
        self._folder: Path | None = None
        self._lock = threading.Lock()
        self._waiting: OrderedDict[str, Waiting] = OrderedDict()

    def add(self, name: str, content: bytes) -> Waiting:
        """Put a file on trial under a plain name."""
        token = secrets.token_urlsafe(12)
        plain = plain_name(name)
        with self._lock:
            if self._folder is None:
                self._folder = Path(tempfile.mkdtemp(prefix="pushproof-"))
            folder = self._folder / token
            folder.mkdir()
        path = folder / plain
        path.write_bytes(content)
        one = Waiting(token, plain, path)
        with self._lock:
            self._waiting[token] = one
            while len(self._waiting) > WAITING:
                _, old = self._waiting.popitem(last=False)
                shutil.rmtree(old.path.parent, ignore_errors=True)
        return one

    def close(self) -> None:
        """Throw everything away."""
        with self._lock:
            self._waiting.clear()
            if self._folder is not None:
                shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None

    def get(self, token: str) -> Waiting:
        """Return a file on trial.

        Raises
        ------
        LookupError
            If there is none, or not any more.
        """
        with self._lock:
            if token not in self._waiting:
                raise LookupError("this file is not here any more; send it again")
            return self._waiting[token]

    def drop(self, token: str) -> None:
        """Throw a file away."""
        with self._lock:
            old = self._waiting.pop(token, None)
        if old is not None:
            shutil.rmtree(old.path.parent, ignore_errors=True)


def plain_name(name: str) -> str:
    """Return a name without folders and without signs that a file system may not like.

    Examples
    --------
    >>> plain_name("../../etc/pass wd.gef")
    'pass wd.gef'
    """
    last = re.split(r"[/\\\\]", name)[-1]
    kept = re.sub(r"[^\w .()+-]", "_", last).strip(" .")
    return kept[-120:] or "file"


def preview(waiting: Waiting, columns: str = "") -> dict[str, Any]:
    """Return what is in a file: soundings, columns with units and ranges, findings, or the fault.

    Parameters
    ----------
    columns
        Mapping of the columns of a text table, as ``"depth=1:m, qc=2:MPa"``.
    """
    from pushproof.formats import read_all

    document: dict[str, Any] = {"token": waiting.token, "name": waiting.name, "fault": ""}
    document["head"] = _head(waiting.path)
    try:
        found = read_all(waiting.path, columns=columns)
    except (PushproofError, ValueError) as error:
        text = " ".join(str(error).split())
        return document | {
            "fault": text.replace(f"{waiting.path.parent}/", ""),
            "format": "",
            "soundings": [],
        }
    source = found[0].source if found else None
    return document | {
        "format": source.format if source is not None else "",
        "soundings": [_sounding(one) for one in found],
    }


def _head(path: Path) -> list[str]:
    """Return the first lines of a text file, for whoever names its columns; none of a binary."""
    with path.open("rb") as file:
        start = file.read(6000)
    if b"\0" in start:
        return []
    lines = start.decode("utf-8", errors="replace").splitlines()
    return [line[:160] for line in lines[:12]]


def _sounding(one: Sounding) -> dict[str, Any]:
    columns = []
    for key in one.readings:
        quantity, values = one.readings.quantity(key), one.readings[key]
        known = values[np.isfinite(values)]
        columns.append(
            {
                "key": key,
                "symbol": quantity.symbol,
                "name": quantity.name,
                "unit": quantity.unit,
                "rows": int(known.size),
                "low": float(known.min()) if known.size else None,
                "high": float(known.max()) if known.size else None,
            }
        )
    return {
        "name": one.name,
        "rows": len(one.readings),
        "dissipations": len(one.dissipations),
        "columns": columns,
        "findings": [
            {"severity": f.severity.word, "found": f.found, "expected": f.expected}
            for f in one.findings
        ],
    }

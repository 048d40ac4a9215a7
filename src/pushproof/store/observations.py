"""Observations from elsewhere as facts of a job: borings, vane tests, laboratory values.

The table is kept byte for byte as an original, and read from its bytes each time; an event of the
sounding, of kind ``observations``, says which table belongs to it, who brought it and why. Both are
links of the chain. Nothing is taken out: a table of the same name takes the place of the one
before it, and a withdrawal is an event too.
"""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pushproof.errors import FormatError, RecordError
from pushproof.formats.observations import LARGEST, read_observations
from pushproof.formats.text import read_bytes
from pushproof.model.observations import Observation
from pushproof.store.facts import StoredEvent
from pushproof.store.job import Job

KIND = "observations"
"""Kind of the event, and format of the original."""


@dataclass(frozen=True)
class KeptTable:
    """A table of observations that holds for a sounding.

    Parameters
    ----------
    link, time
        The event that brought it, and when [s since 1970 UTC].
    sounding, name
        The sounding, and the file name of the table.
    author, reason
        Who brought it and, where it took another's place, why.
    sha256
        Of its bytes.
    replaced
        How many tables of this name stood there before it.
    """

    link: int
    time: float
    sounding: str
    name: str
    author: str
    reason: str
    sha256: str
    replaced: int = 0


def keep_observations(
    job: Job, path: Path | str, *, soundings: Sequence[str], author: str, reason: str = ""
) -> int:
    """Keep a table of observations with soundings of a job; return how many it holds.

    Parameters
    ----------
    job
        Open for writing.
    path
        The table; its name is what a later one takes the place of.
    soundings
        The soundings it belongs to: depths count from the zero of each.
    author
        Who brings it.
    reason
        Why, asked for where it takes the place of another.

    Raises
    ------
    FormatError
        If the table cannot be read; the line is named. The job is then as it was.
    RecordError
        If it is kept already.
    ValueError
        If there is no author, no sounding, or no reason where one is asked for.
    """
    path = Path(path)
    content = read_bytes(path, LARGEST)
    try:
        rows = _rows(path.name, content)
    except FormatError as error:
        raise FormatError(error.message, path=path, line=error.line) from error
    digest = hashlib.sha256(content).hexdigest()
    known = {name: kept_tables(job, name) for name in soundings}
    before = {n: [t for t in tables if t.name == path.name] for n, tables in known.items()}
    same = [name for name, tables in before.items() if any(t.sha256 == digest for t in tables)]
    if same:
        raise RecordError(f"{job.path}: {path.name} is kept with {', '.join(same)} already")
    _check(author, soundings, reason if any(before.values()) else "none needed")
    with job.writing():
        if not any(one.sha256 == digest and one.format == KIND for one in job.originals()):
            job.add_original(path.name, content, format=KIND)
        for name in soundings:
            details = {"name": path.name, "sha256": digest, "reason": reason.strip()}
            text = f"{path.name}: {len(rows)} observations"
            job.add_event(KIND, sounding=name, author=author.strip(), text=text, details=details)
    return len(rows)


def withdraw_observations(
    job: Job, name: str, *, soundings: Sequence[str], author: str, reason: str
) -> None:
    """Say that a table does not hold for soundings any more; it stays in the record.

    Raises
    ------
    RecordError
        If one of them has no table of that name.
    ValueError
        If there is no author, no sounding or no reason.
    """
    _check(author, soundings, reason)
    without = [one for one in soundings if name not in [t.name for t in kept_tables(job, one)]]
    if without:
        raise RecordError(f"{job.path}: no table {name} is kept with {', '.join(without)}")
    with job.writing():
        for one in soundings:
            details = {"name": name, "withdrawn": True, "reason": reason.strip()}
            text = f"{name}: withdrawn"
            job.add_event(KIND, sounding=one, author=author.strip(), text=text, details=details)


def kept_tables(job: Job, sounding: str) -> tuple[KeptTable, ...]:
    """Return the tables that hold for a sounding, in the order in which their names came."""
    found: dict[str, KeptTable] = {}
    count: dict[str, int] = {}
    for event in job.events(sounding, kind=KIND):
        name = str(event.details["name"])
        if event.details.get("withdrawn"):
            found.pop(name, None)
            continue
        found[name] = _table(event, sounding, count.get(name, 0))
        count[name] = count.get(name, 0) + 1
    return tuple(found.values())


def observations(job: Job, sounding: str) -> tuple[Observation, ...]:
    """Return every observation that holds for a sounding.

    Raises
    ------
    RecordError
        If the bytes of a table are gone, or cannot be read any more.
    """
    rows: list[Observation] = []
    for table in kept_tables(job, sounding):
        rows += _read(job, table)
    return tuple(rows)


def _table(event: StoredEvent, sounding: str, replaced: int) -> KeptTable:
    details = event.details
    return KeptTable(
        event.link,
        event.time,
        sounding,
        str(details["name"]),
        event.author or "",
        str(details.get("reason", "")),
        str(details["sha256"]),
        replaced,
    )


def _read(job: Job, table: KeptTable) -> tuple[Observation, ...]:
    link = next((one.link for one in job.originals() if one.sha256 == table.sha256), None)
    if link is None:
        raise RecordError(
            f"{job.path}: the bytes of {table.name} (link {table.link}) are gone; keep the table "
            "again, or withdraw it"
        )
    try:
        return _rows(table.name, job.original_bytes(link))
    except FormatError as error:
        raise RecordError(f"{job.path}, link {link}: {table.name}: {error.message}") from error


def _rows(name: str, content: bytes) -> tuple[Observation, ...]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"table{Path(name).suffix}"
        path.write_bytes(content)
        return read_observations(path)


def _check(author: str, soundings: Sequence[str], reason: str) -> None:
    faults = []
    if len(author.strip()) < 2:
        faults.append("author: say who brings it")
    if not soundings:
        faults.append("soundings: name one at least")
    if len(reason.strip()) < 3:
        faults.append("reason: say why the table kept before does not hold")
    if faults:
        raise ValueError("; ".join(faults))

"""Ticks of the checklist as facts of a job."""

from __future__ import annotations

import time
from collections.abc import Sequence

from pushproof.planning.checklist import KIND, Line, Tick, checklist, item_of, standing
from pushproof.store import Job, StoredEvent


def tick(
    job: Job,
    sounding: str,
    item: str,
    by: str,
    *,
    done: bool = True,
    note: str = "",
    at: float | None = None,
) -> None:
    """Keep a tick.

    Parameters
    ----------
    job
        Open for writing.
    item
        Key of an item of the list.
    by
        Initials.
    done
        False for a doubt about an item that was ticked before, or could not be done.
    note
        What was seen; needed for a doubt.
    at
        When [s since 1970 UTC]; now if None.

    Raises
    ------
    ConfigurationError
        If there is no such item.
    ValueError
        If the initials are empty, or a doubt says no reason.
    """
    found = item_of(checklist(), item)
    faults = [] if by.strip() else ["by: expected initials"]
    if not done and not note.strip():
        faults.append("note: a doubt says why")
    if faults:
        raise ValueError("; ".join(faults))
    state = "done" if done else "in doubt"
    text = f"{found.words.split(':')[0]}: {state}, {by.strip()}"
    job.add_event(
        KIND,
        sounding=sounding,
        at=time.time() if at is None else at,
        author=by.strip(),
        text=text + (f" ({note.strip()})" if note.strip() else ""),
        details={"item": item, "done": done, "note": note.strip()},
    )


def ticks(job: Job, sounding: str) -> list[Tick]:
    """Return the ticks of a sounding, in the order in which they were made."""
    return [tick_of(event) for event in job.events(sounding, kind=KIND)]


def tick_of(event: StoredEvent) -> Tick:
    """Return the tick that an event holds."""
    return Tick(
        str(event.details.get("item", "")),
        bool(event.details.get("done", True)),
        event.author or "",
        event.at,
        str(event.details.get("note", "")),
    )


def lines_of(job: Job, sounding: str) -> list[Line]:
    """Return every item of the list and how it stands; all open for a sounding not in the job."""
    known = sounding in job.soundings()
    return standing(checklist(), ticks(job, sounding) if known else [])


def tick_all(
    job: Job,
    sounding: str,
    by: str,
    *,
    done: Sequence[str] = (),
    doubt: Sequence[str] = (),
    note: str = "",
) -> list[Line]:
    """Keep several ticks, all or none, and return how the list stands.

    The list is gone through before the push: a sounding that is not in the job yet is added.

    Raises
    ------
    ConfigurationError
        If there is no such item.
    ValueError
        If the name or the initials are empty, or a doubt says no reason.
    """
    items = checklist()
    for key in (*done, *doubt):
        item_of(items, key)
    with job.writing():
        if sounding not in job.soundings():
            job.add_sounding(sounding)
        for key in done:
            tick(job, sounding, key, by, note=note)
        for key in doubt:
            tick(job, sounding, key, by, done=False, note=note)
    return lines_of(job, sounding)

"""Ticks of the checklist as facts of a job."""

from __future__ import annotations

import time

from pushproof.planning.checklist import KIND, Tick, checklist, item_of
from pushproof.store import Job


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
    return [
        Tick(
            str(event.details.get("item", "")),
            bool(event.details.get("done", True)),
            event.author or "",
            event.at,
            str(event.details.get("note", "")),
        )
        for event in job.events(sounding)
        if event.kind == KIND
    ]

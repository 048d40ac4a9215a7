"""Whether a sounding is being recorded now, as its record and the writer's lock tell it.

A recording that is not stopped leaves its last mark open: it runs, or its program was killed. The
lock says which, since it ends with the program that holds it. A program that took the job up after
that mark, to save a decision or to record the next sounding, does not record this one.
"""

from __future__ import annotations

from enum import StrEnum

from pushproof.store import Job
from pushproof.store.lock import held

MARKS = ("recording-started", "resumed", "recording-stopped")
"""Events that begin and end a recording."""


class Underway(StrEnum):
    """How far the recording of a sounding is."""

    NONE = "none"
    RUNNING = "running"
    INTERRUPTED = "interrupted"
    ENDED = "ended"


def underway(job: Job, sounding: str) -> Underway:
    """Tell how far the recording of a sounding is.

    Parameters
    ----------
    job
        Open for reading or writing.
    sounding
        Its name.
    """
    marks = [event for kind in MARKS for event in job.events(sounding, kind=kind)]
    if not marks:
        return Underway.NONE
    last = max(marks, key=lambda event: event.link)
    return after_mark(job, last.kind, last.link)


def after_mark(job: Job, kind: str, link: int) -> Underway:
    """Tell how far a recording is whose last mark is known, by its kind and link."""
    if kind == "recording-stopped":
        return Underway.ENDED
    if not held(job.path) or job.events(kind="job-opened", after=link):
        return Underway.INTERRUPTED
    return Underway.RUNNING

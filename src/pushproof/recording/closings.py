"""Closing a hole as a fact of a job: what the record knows of the hole, and what went in."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pushproof.errors import ConfigurationError, RecordError
from pushproof.planning.closing import Closing, Take
from pushproof.planning.grouting import GroutPlan, Hole, hole_of
from pushproof.recording.assemble import sounding as assembled
from pushproof.store import Job, StoredEvent

KIND = "closing"
"""Kind of the event that holds a closing."""


@dataclass(frozen=True, slots=True)
class Closed:
    """A closing that was recorded, and when [s since 1970 UTC]."""

    closing: Closing
    at: float


def known_hole(job: Job, name: str) -> Hole:
    """Return what a job knows of the hole of a sounding.

    A push without readings, or whose readings cannot be merged, left a hole all the same: its
    depth is then the deepest that an event tells.

    Raises
    ------
    ConfigurationError
        If there is no such sounding; it names those there are.
    """
    names = job.soundings()
    if name not in names:
        told = ", ".join(names) or "it has none"
        raise ConfigurationError(f"{job.path}: name a sounding of it: {told}")
    try:
        found = assembled(job, name)
        if len(found.readings):
            return hole_of(found)
    except RecordError:
        found = job.sounding(name, merge=lambda known: known)
    hole = hole_of(found)
    reached = [e.details.get("length") for e in job.events(name)]
    deepest = max((float(length) for length in reached if length is not None), default=0.0)
    return replace(hole, depth=hole.depth or (deepest if deepest > 0 else None))


def close_hole(job: Job, name: str, plan: GroutPlan, take: Take) -> Closed:
    """Keep that a hole was closed.

    Parameters
    ----------
    job
        Open for writing.
    name
        The sounding.
    plan, take
        What was planned, and what went in.
    """
    done = plan.closing(take)
    link = job.add_event(
        KIND,
        sounding=name,
        depth=done.depth,
        author=done.by,
        text=done.text,
        details=done.model_dump(mode="json"),
    )
    return next(_closed(one) for one in job.events(name, kind=KIND) if one.link == link)


def closings(job: Job, name: str) -> list[Closed]:
    """Return every closing of a sounding; the newest is the last, and counts."""
    return [_closed(event) for event in job.events(name, kind=KIND)]


def _closed(event: StoredEvent) -> Closed:
    return Closed(Closing.model_validate(dict(event.details)), event.at)

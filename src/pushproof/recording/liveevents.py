"""What happens in a push beside the readings, and how a job file keeps it."""

from __future__ import annotations

from typing import Any, TypeAlias

from pushproof.processing.streams.depth import DepthEvent
from pushproof.recording.guard import AlarmEvent
from pushproof.recording.procedure import ProcedureEvent
from pushproof.recording.snapshot import as_json

LiveEvent: TypeAlias = AlarmEvent | ProcedureEvent | DepthEvent
"""Anything that goes into the record beside the readings."""


def event_fields(event: LiveEvent) -> dict[str, Any]:
    """Return an event as the fields that a job file keeps.

    Returns
    -------
    dict
        ``kind``, ``at`` (wall clock [s since 1970]), ``monotonic`` [s], ``text`` and ``details``.

    Examples
    --------
    >>> event = DepthEvent("stop", 12.0, 1.7e9, 3.5)
    >>> event_fields(event)["kind"], event_fields(event)["details"]
    ('stop', {'length': 3.5})
    """
    details: dict[str, Any] = {} if event.length is None else {"length": event.length}
    if isinstance(event, AlarmEvent):
        kind = "alarm"
        names = ("rule", "value", "limit", "unit", "source", "mark", "advice")
        details |= {name: getattr(event, name) for name in names}
        details |= {"change": event.change.value, "level": event.level.word}
    elif isinstance(event, ProcedureEvent):
        kind = event.kind
        details |= event.details
    else:
        kind = event.kind
        extra = {"duration": event.duration, "size": event.size}
        details |= {key: value for key, value in extra.items() if value is not None}
    return {
        "kind": kind,
        "at": event.arrival,
        "monotonic": event.monotonic,
        "text": event.text,
        "details": as_json(details),
    }

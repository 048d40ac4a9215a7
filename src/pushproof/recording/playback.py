"""What was recorded, as messages again: the job access of a replay."""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from pathlib import Path

from pushproof.errors import RecordError
from pushproof.model.stream import Message, StreamKind
from pushproof.store import Job


def recorded(path: Path, sounding: str = "", stream: StreamKind | None = None) -> Iterator[Message]:
    """Return the messages of a recorded push in order of arrival.

    Readings come with their repetitions and late ones, and undecoded bytes as they came: what
    listens to a replay sees what it would have seen.

    Parameters
    ----------
    path
        The job file.
    sounding
        Name; may be empty where the job has one only.
    stream
        One stream, or None for cone, depth and position.

    Raises
    ------
    RecordError
        If there is no such job, sounding, or several and none is named.
    """
    with Job.open(path) as job:
        names = job.soundings()
        if not sounding and len(names) != 1:
            raise RecordError(
                f"{path}: say which sounding to replay; there are: {', '.join(names) or 'none'}"
            )
        name = sounding or names[0]
        job.last(name, StreamKind.CONE)  # complains now about a name that is not there
    streams = (stream,) if stream else (StreamKind.CONE, StreamKind.DEPTH, StreamKind.POSITION)
    return _messages(path, name, streams)


def _messages(path: Path, name: str, streams: tuple[StreamKind, ...]) -> Iterator[Message]:
    with Job.open(path) as job:
        rows: list[Iterator[Message]] = []
        for kind in streams:
            rows.append(stored.message for stored in job.messages(name, kind))
            rows.append(iter(job.undecoded(name, kind)))
        yield from heapq.merge(*rows, key=lambda message: message.arrival)

"""From a job to soundings: recorded streams are merged, imported files are read again."""

from __future__ import annotations

import hashlib
import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from pushproof.errors import RecordError
from pushproof.formats.memory import read_memory
from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import Dissipation, Event, Sounding, SourceFile
from pushproof.model.stream import Reading, StreamKind
from pushproof.processing.streams.depth import DepthSettings
from pushproof.processing.streams.dissipation import DissipationLog
from pushproof.processing.streams.merge import Merged, merge
from pushproof.processing.streams.mergereport import MergeReport
from pushproof.processing.streams.position import Position, median_position
from pushproof.recording.procedure import Step
from pushproof.store import Job, Mark, StoredEvent

BEGUN = frozenset({"recording-started", "resumed", "start"})
"""Events that say that a push of a sounding was begun."""


def to_be_pushed(job: Job) -> tuple[str, ...]:
    """Return the soundings of which nothing was recorded or read yet.

    Their checklist, plan or equipment was entered before the push; there is nothing to assemble.
    """
    begun = {event.sounding for event in job.events() if event.kind in BEGUN}
    return tuple(
        name
        for name in job.soundings()
        if name not in begun and not job.imported(name) and not job.holds_readings(name)
    )


def soundings(path: Path) -> Iterator[Sounding]:
    """Yield every sounding of a job file but those that are still to be pushed.

    Raises
    ------
    RecordError
        If the file is no job or is damaged.
    """
    with Job.open(path) as job:
        waiting = to_be_pushed(job)
        for name in job.soundings():
            if name not in waiting:
                yield sounding(job, name)


class Kept:
    """The readings of a sounding, decoded once: of a record that grows only what is new is read.

    Parameters
    ----------
    name
        The sounding.

    Attributes
    ----------
    report
        What the newest merge of these readings made of them; None before.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self.report: MergeReport | None = None
        self._messages: dict[StreamKind, list[Reading]] = {}
        self._last: dict[StreamKind, int] = {}

    def messages(self, job: Job, kind: StreamKind) -> list[Reading]:
        """Return the readings of a stream; a packet marked as repeated is left to the merge."""
        found = self._messages.setdefault(kind, [])
        for stored in job.messages(self.name, kind, after=self._last.get(kind, 0)):
            self._last[kind] = stored.number
            if not stored.mark & Mark.DUPLICATE:
                found.append(stored.message)
        return found


def sounding(job: Job, name: str, kept: Kept | None = None) -> Sounding:
    """Return one sounding of a job as the model knows it.

    One that was begun and has no reading yet is a sounding without rows, which a finding says.

    Parameters
    ----------
    job
        Open for reading or writing.
    name
        The sounding.
    kept
        Its readings as they were read before, for a record that grows.

    Raises
    ------
    RecordError
        If there is none of that name, or its readings cannot be merged.
    """
    held = kept or Kept(name)
    found = job.sounding(name, merge=lambda known: _assembled(job, known, held))
    if found.source is None:
        head = job.head
        source = SourceFile(
            name=job.path.name,
            sha256=head.hash.hex() if head is not None else "",
            size=job.path.stat().st_size,
            format="job",
        )
        found = replace(found, source=source)
    return found


def merged(job: Job, name: str) -> Merged:
    """Merge the recorded streams of a sounding.

    Raises
    ------
    RecordError
        If it holds no cone or no depth readings.
    """
    known = job.sounding(name, merge=lambda known: known)
    return _merge(job, Kept(name), known.predrilled)


def _merge(job: Job, kept: Kept, predrilled: float | None) -> Merged:
    name = kept.name
    cone = kept.messages(job, StreamKind.CONE)
    depth = kept.messages(job, StreamKind.DEPTH)
    memory = kept.messages(job, StreamKind.MEMORY)
    events = job.events(name)
    try:
        found = merge(
            cone,
            depth,
            memory,
            depth_settings(job, name, predrilled),
            until=_push_end(events),
            references=_references(events),
        )
    except ValueError as error:
        raise RecordError(f"{job.path}: {name} cannot be merged: {error}") from error
    kept.report = found.report
    return found


def _push_end(events: Sequence[StoredEvent]) -> float | None:
    """Return when the crew said that the push was over: what the encoder does then is no push."""
    end: float | None = None
    for event in events:
        if event.kind != "step":
            continue
        if event.text in (Step.ZEROS_AFTER.value, Step.CLOSED.value):
            end = event.monotonic if end is None else end
        elif event.text in (Step.PUSH.value, Step.DISSIPATION.value):
            end = None
    return end


def _references(events: Sequence[StoredEvent]) -> list[tuple[float, float]]:
    """Return when the crew set the penetration length, and to what [s, m]."""
    return [
        (event.monotonic, float(event.details["length"]))
        for event in events
        if event.kind == "reference" and event.monotonic is not None and "length" in event.details
    ]


def import_memory(job: Job, name: str | None, path: str | Path, *, columns: str = "") -> int:
    """Keep the read-out of a cone's memory in a job: the file byte for byte, and its readings.

    Parameters
    ----------
    job
        Open for writing.
    name
        The sounding; may be None if the job holds one only.

    Returns
    -------
    int
        Readings that were in the file.

    Raises
    ------
    RecordError
        If the sounding is not named and there are several, or the same file was read in before.
    FormatError
        If the file is no table with a time of the cone.
    """
    path = Path(path)
    names = job.soundings()
    if name is None:
        if len(names) != 1:
            raise RecordError(f"{job.path}: it holds {len(names)} soundings; name one")
        name = names[0]
    readings = read_memory(path, columns=columns, arrival=time.time())
    content = path.read_bytes()
    digest = hashlib.sha256(content).hexdigest()
    if digest in {one.sha256 for one in job.originals()}:
        raise RecordError(f"{job.path}: {path.name} was read in before")
    with job.writing():
        job.add_original(path.name, content, format="memory", columns=columns or None)
        job.append(name, StreamKind.MEMORY, readings)
    return len(readings)


def depth_settings(job: Job, name: str, predrilled: float | None) -> DepthSettings:
    """Return how encoder counts become length: the encoder of the job, and where it began."""
    encoder = job.equipment(name).get("encoder")
    per_count = getattr(encoder, "metres_per_count", None)
    return DepthSettings(metres_per_count=per_count, start=predrilled or 0.0)


def _assembled(job: Job, known: Sounding, kept: Kept) -> Sounding:
    lacking = _lacking(job, kept)
    if lacking is not None:
        return replace(known, findings=(*known.findings, lacking))
    done = _merge(job, kept, known.predrilled)
    tests = _dissipations(job, kept, known, done)
    undecoded = sum(1 for _ in job.undecoded(known.name, StreamKind.CONE))
    findings = list(done.findings)
    if undecoded:
        findings.append(
            Finding(
                "undecoded",
                Severity.INFO,
                f"{undecoded} lines of the sound link could not be decoded; kept in the record",
            )
        )
    location = known.location
    place = _position(job, kept)
    if place is not None and location.x is None and location.latitude is None:
        at = {"latitude": place.latitude, "longitude": place.longitude}
        location = location.model_copy(update=at)
        findings.append(
            Finding(
                "position",
                Severity.INFO,
                f"position from {place.count} fixes of a satellite receiver, half of them within "
                f"{place.spread:.1f} m",
            )
        )
    started = known.started
    first = next(iter(kept.messages(job, StreamKind.DEPTH)), None)
    if started is None and first is not None:
        started = datetime.fromtimestamp(first.arrival, UTC).replace(tzinfo=None, microsecond=0)
    return replace(
        known,
        location=location,
        readings=done.series,
        events=(*_of_the_crew(known.events, done.events), *done.events),
        dissipations=(*known.dissipations, *tests),
        started=started,
        findings=(*known.findings, *findings),
    )


def _lacking(job: Job, kept: Kept) -> Finding | None:
    """Return what keeps a record from being merged at all, as before the first reading came."""
    cone, depth, memory = (
        len(kept.messages(job, kind))
        for kind in (StreamKind.CONE, StreamKind.DEPTH, StreamKind.MEMORY)
    )
    if not cone and not memory:
        return Finding("no-readings", Severity.INFO, "no reading of the cone is in the record yet")
    if not depth:
        return Finding(
            "no-depth",
            Severity.CAUTION,
            f"{cone or memory} readings of the cone are in the record and none of the depth "
            "encoder: they have no depth",
            "a depth reading",
            channel="length",
        )
    return None


def _position(job: Job, kept: Kept) -> Position | None:
    """Return the middle of the positions that were recorded, None if there is none."""
    fixes = [reading.values for reading in kept.messages(job, StreamKind.POSITION)]
    return median_position(
        [fix.get("latitude", math.nan) for fix in fixes],
        [fix.get("longitude", math.nan) for fix in fixes],
    )


def _dissipations(job: Job, kept: Kept, known: Sounding, done: Merged) -> tuple[Dissipation, ...]:
    """Return the tests that crew or recorder called, with what link and memory have of each.

    A record without a word of any test (its events were lost) gives every long pause.
    """
    tests: list[Dissipation] = []
    begun: StoredEvent | None = None
    called = False
    for event in job.events(known.name):
        if event.kind == "dissipation-start":
            begun, called = event, True
        elif event.kind == "dissipation-end" and begun is not None:
            test = _whole(begun, done) or _log(job, kept, begun, event.monotonic)
            begun = None
            if test is not None:
                tests.append(test)
    return tuple(tests) if called else done.dissipations


def _whole(begun: StoredEvent, done: Merged) -> Dissipation | None:
    """Return the merged pause at the depth of a test: it has the memory, and true times."""
    length = begun.details.get("length")
    near = [t for t in done.dissipations if length is not None and abs(t.depth - length) < 0.02]
    return near[0] if near else None


def _log(job: Job, kept: Kept, begun: StoredEvent, end: float | None) -> Dissipation | None:
    details = begun.details or {}
    stopped, length = details.get("stopped"), details.get("length")
    if stopped is None or length is None or end is None:
        return None
    log = DissipationLog(float(stopped), float(length), str(details.get("channel", "u2")))
    for reading in kept.messages(job, StreamKind.CONE):
        if stopped <= reading.monotonic <= end:
            log.push(reading.monotonic, reading.values)
    return log.result() if log.logged else None


def _of_the_crew(kept: tuple[Event, ...], found: tuple[Event, ...]) -> tuple[Event, ...]:
    """Return the events of the record that the merge does not find again from the encoder."""
    again = {event.kind for event in found}
    return tuple(event for event in kept if event.kind not in again)

"""Go through a record again: what was recorded brings a live listener to where the push stands.

Used when recording goes on after the program ended in the middle of a push, and to follow a push
that another program records. The same guard judges the same messages, so that both say the same;
the words of the crew (steps, rods, notes, acknowledgements) come from the events of the record.
Nothing is written here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice, takewhile
from typing import TypeAlias

from pushproof.model.stream import SourceState, StreamKind, Undecoded
from pushproof.recording.live import Live
from pushproof.recording.procedure import Step
from pushproof.store import Job, Stored
from pushproof.store.facts import StoredEvent

Item: TypeAlias = Stored | Undecoded | StoredEvent
"""What a listener is given of a record."""

STREAMS = (StreamKind.DEPTH, StreamKind.CONE)


@dataclass(frozen=True, slots=True)
class Place:
    """How far a record was gone through.

    Parameters
    ----------
    depth, cone
        Number of the last reading of each stream.
    event
        Link of the last event.
    noise
        How often bytes of the depth and the cone stream could not be decoded.
    """

    depth: int = 0
    cone: int = 0
    event: int = 0
    noise: tuple[int, int] = (0, 0)

    def number(self, kind: StreamKind) -> int:
        """Return the number of the last reading of a stream."""
        return self.depth if kind is StreamKind.DEPTH else self.cone


def end_of(job: Job, sounding: str, known: Place | None = None) -> Place:
    """Return the end of what a record holds now; quicker with a place that is known already."""
    before = 0 if known is None else known.event
    events = job.events(sounding, after=before)
    return Place(
        job.last(sounding, StreamKind.DEPTH),
        job.last(sounding, StreamKind.CONE),
        events[-1].link if events else before,
        (
            job.last_undecoded(sounding, StreamKind.DEPTH),
            job.last_undecoded(sounding, StreamKind.CONE),
        ),
    )


def retrace(
    live: Live, job: Job, sounding: str, place: Place | None = None, until: Place | None = None
) -> Place:
    """Give a listener what the record holds after a place; return the new place.

    Parameters
    ----------
    live
        The listener. It tells nobody of what it notices: that is in the record.
    job, sounding
        The record.
    place
        What the listener was given before; the beginning if None.
    until
        Where to end; the end of the record as it is now if None.
    """
    place = place or Place()
    until = until or end_of(job, sounding, place)
    events = [e for e in job.events(sounding, after=place.event) if e.link <= until.event]
    noise = _noise(job, sounding, place, until)
    with live.silently():
        for stretch, upto, ended in _stretches(events, until):
            found: list[tuple[float, Item]] = []
            for kind in STREAMS:
                rows = job.messages(sounding, kind, after=place.number(kind))
                found += ((s.message.monotonic, s) for s in _up_to(rows, upto.number(kind)))
            found += ((n.monotonic, n) for n in noise if n.arrival <= ended)
            found += (
                (e.monotonic, e) for e in stretch if e.monotonic is not None and e.kind in _APPLY
            )
            found.sort(key=lambda pair: pair[0])
            for _, item in found:
                if isinstance(item, StoredEvent):
                    _APPLY[item.kind](live, item)
                else:
                    live(item)
            noise = [n for n in noise if n.arrival > ended]
            place = upto
    return until


def _noise(job: Job, sounding: str, place: Place, until: Place) -> list[Undecoded]:
    found: list[Undecoded] = []
    for kind, after, last in zip(STREAMS, place.noise, until.noise, strict=True):
        if last > after:
            found += islice(job.undecoded(sounding, kind, after=after), last - after)
    return found


def _stretches(
    events: list[StoredEvent], until: Place
) -> Iterator[tuple[list[StoredEvent], Place, float]]:
    """Split at every start of the recorder: its monotonic clock does not go on over one.

    Each stretch has its events, its last readings, and when it ended [s since 1970].
    """
    stretch: list[StoredEvent] = []
    for event in events:
        if event.kind == "resumed":
            last = event.details.get("last") or {}
            depth, cone = (int(last.get(str(kind), 0)) for kind in STREAMS)
            yield stretch, Place(min(depth, until.depth), min(cone, until.cone)), event.at
            stretch = []
        stretch.append(event)
    yield stretch, until, math.inf


def _up_to(rows: Iterator[Stored], last: int) -> Iterator[Stored]:
    return takewhile(lambda stored: stored.number <= last, rows)


# The words of the crew


def _step(live: Live, event: StoredEvent) -> None:
    # the listener may have come to the push by itself, as it did then
    if event.text != live.procedure.step.value or event.text != Step.PUSH.value:
        live.go(event.text)


def _begin_test(live: Live, _: StoredEvent) -> None:
    if live.procedure.test is None:
        live.go(Step.DISSIPATION)


def _end_test(live: Live, _: StoredEvent) -> None:
    live.end_dissipation()


def _rod(live: Live, event: StoredEvent) -> None:
    more = int(event.details.get("rods", live.signals.rods)) - live.signals.rods
    if more:  # else the listener counted it by the stroke already
        live.rod_added(more)


def _note(live: Live, event: StoredEvent) -> None:
    if event.details.get("by") != "recorder":
        live.note(event.text)


def _pause(live: Live, event: StoredEvent) -> None:
    live.pause(str(event.details.get("reason", "")))


def _reference(live: Live, event: StoredEvent) -> None:
    live.set_length(float(event.details["length"]))


def _stick_up(live: Live, event: StoredEvent) -> None:
    live.measure_stick_up(float(event.details["stick_up"]))


def _alarm(live: Live, event: StoredEvent) -> None:
    change, rule = event.details.get("change"), event.details.get("rule")
    shown = {alarm.rule for alarm in live.guard.alarms()}
    if rule in shown and change == "acknowledged":
        live.acknowledge(rule)
    elif rule in shown and change == "shelved":
        live.shelve(rule, float(event.details.get("value") or 60.0))


def _source(live: Live, event: StoredEvent) -> None:
    stream = StreamKind(event.details.get("stream", StreamKind.CONE))
    up = event.kind == "source-connected"
    live(SourceState(stream, event.at, event.monotonic or 0.0, up, event.text))


_APPLY: dict[str, Callable[[Live, StoredEvent], None]] = {
    "step": _step,
    "dissipation-start": _begin_test,
    "dissipation-end": _end_test,
    "rod-added": _rod,
    "rod-removed": _rod,
    "note": _note,
    "pause-called": _pause,
    "reference": _reference,
    "stick-up": _stick_up,
    "alarm": _alarm,
    "source-connected": _source,
    "source-lost": _source,
}
"""What each kind of event does; the others follow from the readings."""

"""What is left to do in the field, sounding by sounding: checklist, push, hole."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pushproof.planning.checklist import KIND as TICKED
from pushproof.planning.checklist import Line, checklist, standing
from pushproof.recording.assemble import to_be_pushed
from pushproof.recording.closings import KIND as CLOSED
from pushproof.recording.daybook import OF_THE_PUSH
from pushproof.recording.ticks import tick_of
from pushproof.store import Job


@dataclass(frozen=True)
class FieldState:
    """Where one sounding stands in the field.

    Parameters
    ----------
    name
        Its name.
    pushed
        Whether a push of it is in the record.
    waiting
        Whether nothing of it was recorded or read from a file yet.
    lines
        Its checklist.
    closed, closed_at
        How its hole was closed, in words, and when that was recorded; empty and None if it is not.
    """

    name: str
    pushed: bool
    waiting: bool
    lines: tuple[Line, ...]
    closed: str = ""
    closed_at: float | None = None

    @property
    def hole_open(self) -> bool:
        """Whether it was pushed here and no closing is recorded."""
        return self.pushed and self.closed_at is None

    def left(self, when: str) -> int:
        """Return how many items ``before`` or ``after`` the push nobody looked at yet."""
        return _left(line for line in self.lines if line.item.when == when)

    @property
    def doubts(self) -> tuple[Line, ...]:
        """Items in doubt."""
        return tuple(line for line in self.lines if line.state == "in doubt")


def _left(lines: Iterable[Line]) -> int:
    return sum(line.state == "open" for line in lines)


def field_states(job: Job) -> list[FieldState]:
    """Return where every sounding of a job stands, in the order in which they were added."""
    items, events, waiting = checklist(), job.events(), to_be_pushed(job)
    found = []
    for name in job.soundings():
        mine = [event for event in events if event.sounding == name]
        closings = [event for event in mine if event.kind == CLOSED]
        ticks = [tick_of(event) for event in mine if event.kind == TICKED]
        found.append(
            FieldState(
                name,
                any(event.kind in OF_THE_PUSH for event in mine),
                name in waiting,
                tuple(standing(items, ticks)),
                closings[-1].text if closings else "",
                closings[-1].at if closings else None,
            )
        )
    return found

"""The recorder: everything a source yields is stored first, and only then given to anyone.

Sources put messages in from their own threads and never wait. One thread stores whatever has
come in since the last commit in one transaction, then hands it to the listeners. What a listener
was given is therefore on the disk, whatever happens next. What was put in and not yet stored is
lost when the process is killed: the time of one commit, milliseconds, or as long as the disk
takes no more.

Nothing is thrown away: a repeated or late packet is stored and marked, bytes that could not be
decoded are stored as they came. A full disk is told at once and recording goes on when there is
room again.
"""

from __future__ import annotations

import logging
import math
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any, Self

from pushproof.errors import RecordError, RecordFullError
from pushproof.model.stream import Listener, Message, Reading, SourceState, StreamKind, Undecoded
from pushproof.processing.streams.sequence import WINDOW, Place, SequenceWatch
from pushproof.recording.clocks import ClockWatch, SurfaceClock
from pushproof.recording.listeners import Subscription, Wants, wanted
from pushproof.recording.storable import finite, storable
from pushproof.store import Job, Mark, Stored

_log = logging.getLogger("pushproof.recording")

HEARTBEAT = 1.0
"""The storing thread looks at the clocks at least this often [s]."""

RETRY = 0.5
"""Wait before storing is tried again on a disk that takes no more [s]."""

MOST_AT_ONCE = 5000
"""Messages in one transaction at most."""

_MARKS = {
    Place.NEW: Mark.NONE,
    Place.DUPLICATE: Mark.DUPLICATE,
    Place.LATE: Mark.LATE,
    Place.RESTART: Mark.RESTART,
}


@dataclass(frozen=True, slots=True)
class RecorderAlarm:
    """Something is wrong with recording itself, or is right again.

    Parameters
    ----------
    kind
        ``disk-full``, ``storage-failed``, ``messages-lost`` or ``listener-dropped``.
    raised
        True when it begins, False when it is over.
    text
        What it is and what to do, in words.
    time
        Wall clock [s since 1970 UTC].
    """

    kind: str
    raised: bool
    text: str
    time: float


@dataclass(slots=True)
class RecorderState:
    """Counters of a recorder, to be shown.

    Parameters
    ----------
    stored
        Messages stored since it was started.
    waiting
        Messages put in and not yet stored.
    lost
        Messages refused because too many were waiting.
    alarms
        Kinds of alarm that are raised.
    """

    stored: int = 0
    waiting: int = 0
    lost: int = 0
    alarms: tuple[str, ...] = ()


class Recorder:
    """Stores the messages of one sounding and hands them on.

    Parameters
    ----------
    job
        The job, open for writing.
    sounding
        Name of the sounding; added to the job if it is new, else continued.
    modulus
        For each stream whose sender starts its counter again at some value: that value.
    backlog
        Messages that may wait while the disk takes no more.
    clock
        The clocks of this computer; another one in tests.

    Examples
    --------
    A recorder is a listener of its sources, and has listeners of its own::

        with Recorder(job, "CPT-01") as recorder:
            recorder.listen(guard)
            pump(source, recorder)
    """

    def __init__(
        self,
        job: Job,
        sounding: str,
        *,
        modulus: dict[StreamKind, int] | None = None,
        backlog: int = 100_000,
        clock: SurfaceClock | None = None,
    ) -> None:
        self.job = job
        self.sounding = sounding
        self._clock = clock or SurfaceClock()
        self._clocks = ClockWatch(self._clock)
        self._backlog = backlog
        self._modulus = modulus or {}
        self._watches: dict[StreamKind, SequenceWatch] = {}
        self._incoming: deque[Message] = deque()
        self._changed = threading.Condition()
        self._ending = False
        self._give_up_at = math.inf
        self._thread: threading.Thread | None = None
        self._listeners: list[tuple[Wants, Subscription]] = []
        self._alarm_takers: list[Subscription] = []
        self._raised: dict[str, RecorderAlarm] = {}
        self._events: deque[tuple[str, float, float, str, dict[str, Any]]] = deque()
        self._marks: deque[Mark] = deque()
        self._told: list[Subscription] = []
        self._told_lost = 0
        self._stored = 0
        self._lost = 0

    # Beginning and ending

    def start(self) -> Self:
        """Begin to store. A sounding that has readings already is continued.

        Raises
        ------
        RecordError
            If the beginning cannot be stored.
        """
        if self._thread is not None:
            raise ValueError("the recorder was started already")
        with self.job.writing():
            if self.sounding not in self.job.soundings():
                self.job.add_sounding(self.sounding)
                self._event("recording-started")
            else:
                self._event_of_resuming()
        self._clocks.begin()
        self._thread = threading.Thread(target=self._run, name="recorder", daemon=True)
        self._thread.start()
        return self

    def _event_of_resuming(self) -> None:
        marks = [
            event
            for event in self.job.events(self.sounding)
            if event.kind in ("recording-started", "resumed", "recording-stopped")
        ]
        last = {str(kind): self.job.last(self.sounding, kind) for kind in StreamKind}
        if not marks and not any(last.values()):
            self._event("recording-started")
            return
        interrupted = not marks or marks[-1].kind != "recording-stopped"
        for kind in StreamKind:
            self._prime(kind, last[str(kind)])
        why = "the program ended without stopping" if interrupted else "recording was stopped"
        self._event(
            "resumed",
            f"recording goes on; before, {why}",
            {"interrupted": interrupted, "last": last},
        )

    def _prime(self, kind: StreamKind, last: int) -> None:
        """Show the sequence watch what was stored before, so that a repeat is known as one."""
        watch = self._watch(kind)
        for stored in self.job.messages(self.sounding, kind, after=max(last - 2 * WINDOW, 0)):
            watch.see(stored.message.sequence)

    def _watch(self, kind: StreamKind) -> SequenceWatch:
        if kind not in self._watches:
            self._watches[kind] = SequenceWatch(self._modulus.get(kind))
        return self._watches[kind]

    def close(self, timeout: float = 10.0) -> None:
        """Store what is waiting, let the listeners take it, and end.

        Raises
        ------
        RecordError
            If something could not be stored within ``timeout`` seconds; it says how much.
        """
        if self._thread is None or self._ending:
            return
        with self._changed:
            self._ending = True
            self._give_up_at = self._clock.monotonic() + timeout
            self._changed.notify_all()
        self._thread.join(timeout + 5.0)
        left = len(self._incoming)
        for _, subscription in self._listeners:
            subscription.end()
        try:
            if left or self._thread.is_alive():
                raise RecordError(
                    f"{self.job.path}: {left} messages of {self.sounding} could not be stored "
                    "before the end; what was stored before is safe. Free some space and check "
                    "the disk."
                )
            self._event("recording-stopped", details={"stored": self._stored, "lost": self._lost})
        finally:
            for taker in self._alarm_takers:
                taker.end()

    def __enter__(self) -> Self:
        return self.start() if self._thread is None else self

    def __exit__(self, *exception: object) -> None:
        self.close()

    # Putting in and listening

    def __call__(self, message: Message) -> None:
        """Take a message from a source. Never waits; call it from any thread."""
        with self._changed:
            if self._ending or len(self._incoming) >= self._backlog:
                self._lost += 1
            else:
                self._incoming.append(message)
            self._changed.notify_all()

    def listen(self, listener: Listener, *, name: str = "", depth: int = 2000) -> Subscription:
        """Give every message to a listener, after it is stored.

        Parameters
        ----------
        listener
            Called with each message in a thread of its own.
        name
            Who listens, for the record if it has to be dropped.
        depth
            Messages that may wait for it.
        """
        return self._subscribe(Wants.MESSAGES, listener, name, depth)

    def follow(
        self, listener: Callable[[Stored], object], *, name: str = "", depth: int = 2000
    ) -> Subscription:
        """Give every reading to a listener with the number under which it was stored.

        Together with ``job.messages(sounding, stream, after=number)`` nothing is missed and
        nothing comes twice.
        """
        return self._subscribe(Wants.STORED, listener, name, depth)

    def follow_all(
        self, listener: Callable[[Stored | Message], object], *, name: str = "", depth: int = 2000
    ) -> Subscription:
        """Give every message to a listener, the readings with their numbers."""
        return self._subscribe(Wants.BOTH, listener, name, depth)

    def _subscribe(
        self, wants: Wants, listener: Callable[[Any], object], name: str, depth: int
    ) -> Subscription:
        named = name or getattr(listener, "__qualname__", type(listener).__name__)
        subscription = Subscription(listener, name=named, depth=depth)
        self._listeners = [*self._listeners, (wants, subscription)]
        return subscription

    def on_alarm(self, taker: Callable[[RecorderAlarm], object]) -> Subscription:
        """Tell somebody at once when something is wrong with recording itself."""
        subscription = Subscription(taker, name="alarms", depth=1000)
        self._alarm_takers = [*self._alarm_takers, subscription]
        return subscription

    @property
    def state(self) -> RecorderState:
        """The counters as they are now."""
        return RecorderState(
            self._stored, len(self._incoming), self._lost, tuple(sorted(self._raised))
        )

    # Storing

    def _run(self) -> None:
        while True:
            messages = self._next()
            try:
                if messages:
                    self._store(messages)
                self._tell_of_lost()
                self._store_events()
            except RecordError as error:
                self._storage_fails(error)
            except Exception as error:  # the recorder never dies: it tells, and tries again
                _log.exception("recording failed; it is tried again")
                self._storage_fails(error)
            else:
                self._storage_works()
                if self._ending and not self._incoming and not self._events:
                    return
                continue
            if self._clock.monotonic() > self._give_up_at:
                return
            time.sleep(RETRY)

    def _next(self) -> list[Message]:
        """Wait for messages, at most a heartbeat; they stay in the queue until stored."""
        overdue = 0.0
        with self._changed:
            if not self._incoming and not self._ending:
                before = self._clock.running()
                self._changed.wait(HEARTBEAT)
                overdue = self._clock.running() - before - HEARTBEAT
            messages = list(islice(self._incoming, MOST_AT_ONCE))
        for step in self._clocks.look(overdue):
            _log.warning("%s: %s", self.sounding, step.text)
            self._keep_event(step.kind, step.text, {"seconds": step.seconds})
        # A message is looked at once, however often storing it has to be tried.
        for message in messages[len(self._marks) :]:
            self._marks.append(self._mark(message))
        return messages

    def _mark(self, message: Message) -> Mark:
        if not isinstance(message, Reading):
            return Mark.NONE
        return _MARKS[self._watch(message.stream).see(message.sequence)]

    def _store(self, messages: list[Message]) -> None:
        try:
            handed = self._store_all(messages)
        except (TypeError, ValueError, AttributeError):
            messages = [storable(message) for message in messages]
            handed = self._store_all(messages)
        with self._changed:
            for _ in messages:
                self._incoming.popleft()
                self._marks.popleft()
        self._stored += len(messages)
        for wants, subscription in self._listeners:
            whole = subscription.offer(wanted(wants, messages, handed))
            if not whole and subscription not in self._told:
                self._told.append(subscription)
                self._raise_alarm(
                    "listener-dropped",
                    f"{subscription.name} does not take what is recorded and gets no more of it; "
                    "recording goes on",
                )

    def _store_all(self, messages: list[Message]) -> list[Stored | Message]:
        """Store messages in one transaction; return them with the numbers of the readings."""
        readings: dict[StreamKind, list[tuple[Reading, Mark]]] = {}
        undecoded: dict[StreamKind, list[Undecoded]] = {}
        with self.job.writing():
            for message, mark in zip(messages, self._marks, strict=False):
                if isinstance(message, Reading):
                    readings.setdefault(message.stream, []).append((message, mark))
                elif isinstance(message, Undecoded):
                    undecoded.setdefault(message.stream, []).append(message)
                else:
                    self._event_of_source(message)
            for stream, noise in undecoded.items():
                self.job.append(self.sounding, stream, noise)
            numbers = {stream: self._append(stream, rows) for stream, rows in readings.items()}
        return [
            Stored(next(numbers[message.stream]), message, mark)
            if isinstance(message, Reading)
            else message
            for message, mark in zip(messages, self._marks, strict=False)
        ]

    def _append(self, stream: StreamKind, rows: list[tuple[Reading, Mark]]) -> Iterator[int]:
        """Store the readings of one stream; return their numbers."""
        readings, marks = zip(*rows, strict=True)
        last = self.job.append(self.sounding, stream, readings, marks=marks)
        return iter(range(last - len(rows) + 1, last + 1))

    # Events and alarms

    def _event_of_source(self, state: SourceState) -> None:
        self.job.add_event(
            "source-connected" if state.connected else "source-lost",
            sounding=self.sounding,
            at=state.arrival,
            monotonic=state.monotonic,
            text=state.text,
            details={"stream": str(state.stream), **finite(state.details)},
        )

    def _event(self, kind: str, text: str = "", details: dict[str, Any] | None = None) -> None:
        self.job.add_event(
            kind,
            sounding=self.sounding,
            at=self._clock.wall(),
            monotonic=self._clock.monotonic(),
            text=text,
            details=details,
        )

    def _keep_event(self, kind: str, text: str, details: dict[str, Any]) -> None:
        """Keep an event until it can be stored."""
        at, monotonic = self._clock.wall(), self._clock.monotonic()
        self._events.append((kind, at, monotonic, text, details))

    def _store_events(self) -> None:
        while self._events:
            kind, at, monotonic, text, details = self._events[0]
            self.job.add_event(
                kind,
                sounding=self.sounding,
                at=at,
                monotonic=monotonic,
                text=text,
                details=details,
            )
            self._events.popleft()

    def _storage_fails(self, error: Exception) -> None:
        kind = "disk-full" if isinstance(error, RecordFullError) else "storage-failed"
        self._raise_alarm(kind, str(error))

    def _storage_works(self) -> None:
        for kind in ("disk-full", "storage-failed"):
            if kind in self._raised:
                self._clear_alarm(kind, "recording goes on; what was waiting is stored")

    def _tell_of_lost(self) -> None:
        kind = "messages-lost"
        if self._lost > self._told_lost:
            self._told_lost = self._lost
            text = f"more than {self._backlog} messages were waiting; newer ones were lost"
            self._raise_alarm(kind, text)
        elif kind in self._raised and len(self._incoming) < self._backlog // 2:
            self._clear_alarm(kind, f"{self._lost} messages were lost in all")

    def _raise_alarm(self, kind: str, text: str) -> None:
        if kind in self._raised and kind != "listener-dropped":
            return
        alarm = RecorderAlarm(kind, True, text, self._clock.wall())
        self._raised[kind] = alarm
        _log.error("%s: %s: %s", self.sounding, kind, text)
        self._tell(alarm)

    def _clear_alarm(self, kind: str, text: str) -> None:
        del self._raised[kind]
        _log.warning("%s: %s is over: %s", self.sounding, kind, text)
        self._tell(RecorderAlarm(kind, False, text, self._clock.wall()))

    def _tell(self, alarm: RecorderAlarm) -> None:
        for taker in self._alarm_takers:
            taker.offer([alarm])
        details = {"alarm": alarm.kind, "raised": alarm.raised}
        self._keep_event("alarm", alarm.text, details)

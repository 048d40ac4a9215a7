"""Encoder counts to penetration length, rate, pauses, strokes and rod changes.

The encoder follows the head of the rig, not the rods: it goes back or starts again at every
stroke. Only downward movement with the rods clamped is penetration. Where the source gives the
clamp it is used; else a return of the head beyond ``return_move`` is taken as a new stroke, and a
smaller one as rods that sprang back.

Fed one reading at a time, live and later alike. Nothing is repaired: a jump adds no length and
leaves an event.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

from pushproof.model.stream import Advance, Reading
from pushproof.processing.streams.head import Head, HeadLimits, Move
from pushproof.processing.streams.sequence import Place, SequenceWatch

_EVENT_WORDS = {
    "encoder-jump": "the counter jumped",
    "encoder-reset": "the counter began at zero again",
    "encoder-wrap": "the counter went over its end",
}
TRAIL_STEP = 0.05
"""Spacing of the remembered points [s]: bounds the work per reading for a fast encoder."""


@dataclass(frozen=True, slots=True)
class DepthSettings:
    """How counts become length. Times in s, lengths in m.

    The limits without a standard behind them are our own choice or remembered practice: a pause
    is 1 to 2 mm/s for 2 to 5 s, an up-move beyond 50 mm is re-pushed ground.

    Parameters
    ----------
    metres_per_count
        Signed; needed where the source gives counts.
    start
        Penetration length at the first reading: negative with the tip above the zero of depth,
        the depth of the hole where it is pre-excavated.
    window
        Length of the moving window of the rate.
    still_rate, still_time
        Slower than this for this long is a pause.
    resume_move
        Movement that ends a pause.
    return_move
        Upward movement that is a return stroke where the clamp is not given.
    grip_move
        Downward movement that ends a return stroke where the clamp is not given.
    lift_move
        Upward movement of clamped rods after which the ground below counts as pushed over.
    push_limit, move_limit
        Fastest movement that can be a push, and that the head can make [m/s].
    reset_band
        A jump that lands this near to zero is a reset of the counter.
    silence
        Gap between readings after which movement is reported as unseen.
    modulus
        Value at which the message counter of the encoder starts again, if it does.
    """

    metres_per_count: float | None = None
    start: float = 0.0
    window: float = 2.0
    still_rate: float = 0.002
    still_time: float = 3.0
    resume_move: float = 0.003
    return_move: float = 0.05
    grip_move: float = 0.005
    lift_move: float = 0.05
    push_limit: float = 0.2
    move_limit: float = 1.0
    reset_band: float = 0.03
    silence: float = 2.0
    modulus: int | None = None


@dataclass(frozen=True, slots=True)
class DepthPoint:
    """What one reading of the encoder says.

    Parameters
    ----------
    monotonic, arrival
        The two times of the reading [s].
    length
        Penetration length of the tip now [m].
    deepest
        Greatest length so far [m]; below it the ground is new.
    rate
        Over the moving window [m/s]; 0 in a pause, NaN while the window is too short.
    state, since
        What the rods do, and for how long [s].
    strokes, stroke
        Strokes counted, and metres into the present one.
    """

    monotonic: float
    arrival: float
    length: float
    deepest: float
    rate: float
    state: Advance
    since: float
    strokes: int
    stroke: float


@dataclass(frozen=True, slots=True)
class DepthEvent:
    """Something the encoder showed.

    ``kind`` is one of ``pause``, ``rod-change`` (both when they end, with their duration),
    ``stop`` (a push stopped), ``start`` (it goes on), ``stroke``, ``encoder-reset``,
    ``encoder-jump``, ``encoder-wrap``, ``lift``, ``encoder-silent``, ``reference``; ``size`` is
    what jumped or was lifted [m].
    """

    kind: str
    monotonic: float
    arrival: float
    length: float
    duration: float | None = None
    text: str = ""
    size: float | None = None


class DepthTracker:
    """Follow the encoder reading by reading.

    Parameters
    ----------
    settings
        How counts become length.

    Attributes
    ----------
    events
        Everything the encoder showed so far, in order of recognition.
    sequence
        Counts of repeated, late and lost readings.

    Examples
    --------
    >>> from pushproof.model.stream import Reading, StreamKind
    >>> tracker = DepthTracker(DepthSettings(metres_per_count=0.001))
    >>> for i in range(51):
    ...     point = tracker.push(Reading(StreamKind.DEPTH, i / 10, i / 10, {"count": 2.0 * i}))
    >>> round(point.length, 3), round(point.rate, 3), point.state.value
    (0.1, 0.02, 'pushing')
    """

    def __init__(self, settings: DepthSettings | None = None) -> None:
        self.settings = settings or DepthSettings()
        self.sequence = SequenceWatch(self.settings.modulus)
        self.events: list[DepthEvent] = []
        self.length = self.settings.start
        self.deepest = self.settings.start
        self.strokes = 0
        self.state = Advance.WAITING
        self.last: DepthPoint | None = None
        self._head: Head | None = None
        self._clamped: bool | None = None
        self._returning = False
        self._rise = 0.0  # upward movement not yet taken back
        self._top = (0.0, 0.0, 0.0)  # highest position of a return, time, arrival when last there
        self._stroke = 0.0
        self._stroke_seen = False  # a return happened in this pause
        self._lifted = False
        self._trail: deque[tuple[float, float, float]] = deque()  # time, length, arrival
        self._rest = (0.0, 0.0, 0.0)  # time, length, arrival where the rods last stood
        self._since = 0.0
        self._time = self._arrival = 0.0
        self._pause: tuple[float, float, float] | None = None  # time, length, arrival of the stop

    # -- what comes in -------------------------------------------------------------------------

    def push(self, reading: Reading) -> DepthPoint | None:
        """Take one reading of the depth stream.

        Parameters
        ----------
        reading
            With ``count`` (or ``length``) and, where the source has it, ``clamp``.

        Returns
        -------
        DepthPoint or None
            None where the reading is a repeat, late, or holds no position.

        Raises
        ------
        ValueError
            If it holds counts and the encoder is not calibrated.
        """
        raw = self._position(reading)
        if raw is None or not math.isfinite(raw):
            return None
        place = self.sequence.see(reading.sequence)
        if place in (Place.DUPLICATE, Place.LATE):
            return None
        clamp = reading.values.get("clamp")
        clamped = None if clamp is None or math.isnan(clamp) else clamp >= 0.5
        if self._head is None:
            self._head = self._begin(raw, reading)
        else:
            self._follow(self._head, raw, reading, clamped)
        self._clamped = clamped
        self._time, self._arrival = reading.monotonic, reading.arrival
        self.last = self._point(reading)
        return self.last

    def reference(self, length: float) -> None:
        """Set the penetration length now: tip at the zero of depth, or at the base of a hole."""
        moved = length - self.length
        self.length = self.deepest = length
        self._trail = deque((t, x + moved, a) for t, x, a in self._trail)
        time, rest, arrival = self._rest
        self._rest = (time, rest + moved, arrival)
        self._event("reference", text=f"length set to {length:.3f} m ({moved:+.3f} m)")

    # -- inside --------------------------------------------------------------------------------

    def _position(self, reading: Reading) -> float | None:
        """Return the position of the head [m, downward], or None."""
        count = reading.values.get("count")
        if count is None:
            return reading.values.get("length")
        if self.settings.metres_per_count is None:
            raise ValueError(
                "the depth stream gives counts and the encoder has no calibration: "
                "set metres_per_count (two points, or a length of travel)"
            )
        return count * self.settings.metres_per_count

    def _begin(self, raw: float, reading: Reading) -> Head:
        s, time = self.settings, reading.monotonic
        counted = "count" in reading.values
        if not counted:
            self.length += raw
            self.deepest = self.length
        self._since = time
        self._rest = (time, self.length, reading.arrival)
        self._trail.append(self._rest)
        factor = s.metres_per_count if counted else None
        limits = HeadLimits(factor, s.push_limit, s.move_limit, s.reset_band, s.silence)
        return Head(limits, raw, time, reading.arrival)

    def _follow(self, head: Head, raw: float, reading: Reading, clamped: bool | None) -> None:
        time, arrival = reading.monotonic, reading.arrival
        if time < self._time:  # another run of the recorder: its clock begins anew
            self._restart_clock(time, arrival)
            head.restart_clock(time)
        free = self._returning or self._clamped is False
        move = head.move(raw, time, arrival, gripped=not free)
        self._time, self._arrival = time, arrival
        self._report(move)
        if "count" not in reading.values:
            self._advance(move.metres)
        elif clamped is None:
            self._free(move, head.position)
        else:
            self._gripped(move.metres, clamped)
        if move.slept:
            self._restart_clock(time, arrival)
        self._lift()
        self._settle(time, arrival)

    def _report(self, move: Move) -> None:
        if move.event:
            text = f"{_EVENT_WORDS[move.event]} ({move.jump:+.3f} m, not counted)"
            self._event(move.event, text=text, size=move.jump)
        if move.event == "encoder-reset" and not self._stroke_seen:
            self._new_stroke()
        if move.span > self.settings.silence and abs(move.metres) > self.settings.resume_move:
            shown = f"{1000 * move.metres:+.0f} mm"
            text = f"no reading for {move.span:.1f} s while the head moved {shown}"
            self._event("encoder-silent", move.span, text)

    def _restart_clock(self, time: float, arrival: float) -> None:
        if self._pause is not None:
            start, length, stopped = self._pause
            self._pause = (start + time - self._time, length, stopped)
        self._trail.clear()
        self._trail.append((time, self.length, arrival))
        self._rest = (time, self._rest[1], arrival)
        self._top = (self._top[0], time, arrival)
        self._since = self._time = time

    def _gripped(self, move: float, clamped: bool) -> None:
        """Clamp given: the rods follow the head while it is closed.

        It closes at rest, so a downward move that ends closed is a push; an upward move lifts the
        rods only where it began closed too.
        """
        if clamped and (self._clamped is not False or move > 0):
            self._advance(move)
        if clamped and self._clamped is not False:
            return
        if not clamped:
            self._rise = max(self._rise - move, 0.0)
            if self._rise > self.settings.return_move and not self._stroke_seen:
                self._stroke_seen = True
                self._returns()
            return
        if self._rise > self.settings.return_move:
            self._new_stroke()
        self._rise = 0.0

    def _free(self, move: Move, position: float) -> None:
        """Clamp not given: tell a return of the head from rods that sprang back."""
        if self._returning:
            top, time, arrival = self._top
            if position <= top + 0.0005:
                self._top = (min(position, top), self._time, self._arrival)
            elif position - top > self.settings.grip_move:
                self._returning = False
                self._rise = 0.0
                self._rest = (time, self.length, arrival)
                self._advance(position - top)
            return
        if move.metres > self.settings.push_limit * max(move.span, 0.1):
            return  # faster than a push can be: the head runs down without the rods
        self._advance(move.metres)
        self._rise = max(self._rise - move.metres, 0.0)
        if self._rise > self.settings.return_move:
            self.length += self._rise
            self._stroke += self._rise
            self._returning = True
            self._top = (position, self._time, self._arrival)
            self._rest = (self._time, self.length, self._arrival)
            self._returns()
            self._new_stroke()

    def _returns(self) -> None:
        """The head goes back: a push that was not seen to stop has stopped."""
        if self.state in (Advance.PUSHING, Advance.LIFTING):
            self._stop(self._time, self._arrival)

    def _advance(self, move: float) -> None:
        self.length += move
        self._stroke += move
        self.deepest = max(self.deepest, self.length)

    def _new_stroke(self) -> None:
        self.strokes += 1
        self._stroke = 0.0
        self._stroke_seen = True
        self._rise = 0.0
        self._event("stroke", text=f"stroke {self.strokes} ended")

    def _lift(self) -> None:
        below = self.deepest - self.length
        if not self._lifted and below > self.settings.lift_move:
            self._lifted = True
            self._event("lift", text=f"rods lifted {1000 * below:.0f} mm; pushed over")
        elif self._lifted and below <= 0:
            self._lifted = False

    def _settle(self, time: float, arrival: float) -> None:
        """Update the state: pushing, paused, rod change, lifting."""
        trail = self._trail
        if time - trail[-1][0] >= TRAIL_STEP:
            trail.append((time, self.length, arrival))
        horizon = time - max(self.settings.window, self.settings.still_time)
        while len(trail) > 2 and trail[1][0] <= horizon:
            trail.popleft()
        if self.state in (Advance.WAITING, Advance.PAUSED, Advance.ROD_CHANGE):
            self._stand(time, arrival)
        elif self._still(time):
            self._stop(time, arrival)
        elif self.state is not self._moving():
            self.state, self._since = self._moving(), time
        if self.state is Advance.PAUSED and self._stroke_seen:
            self.state = Advance.ROD_CHANGE

    def _moving(self) -> Advance:
        return Advance.LIFTING if self._lifted else Advance.PUSHING

    def _stand(self, time: float, arrival: float) -> None:
        """Rods stand: note how long, and recognise the start of a push."""
        rest = self._rest[1]
        if abs(self.length - rest) <= 0.0005:
            if not self._returning:
                self._rest = (time, rest, arrival)
        elif self.length < rest and self.deepest - self.length <= self.settings.lift_move:
            # Rods that spring back stand still all the same.
            self._rest = (time, self.length, arrival)
        elif abs(self.length - rest) > self.settings.resume_move:
            self._resume()

    def _resume(self) -> None:
        time, rest, arrival = self._rest
        if self._pause is not None:
            start, length, stopped = self._pause
            kind = "rod-change" if self._stroke_seen else "pause"
            self.events.append(DepthEvent(kind, start, stopped, length, time - start))
        self.events.append(DepthEvent("start", time, arrival, rest))
        self._pause = None
        self._stroke_seen = False
        self.state, self._since = self._moving(), time
        self._trail = deque([(time, rest, arrival), *(e for e in self._trail if e[0] > time)])

    def _then(self, time: float) -> tuple[float, float, float]:
        """Return the last entry of the trail that is not after ``time``, or its first."""
        then = self._trail[0]
        for entry in self._trail:
            if entry[0] > time:
                break
            then = entry
        return then

    def _still(self, time: float) -> bool:
        s = self.settings
        then = self._then(time - s.still_time)
        band = s.still_rate * s.still_time
        if time - then[0] < s.still_time or abs(self.length - then[1]) >= band:
            return False
        recent = [x for t, x, _ in self._trail if t >= then[0]]
        return max(recent) - min(recent) < band

    def _stop(self, time: float, arrival: float) -> None:
        """A push has stopped: find when, from where the length first was what it is now."""
        now = (time, self.length, arrival)
        near = next((e for e in self._trail if abs(e[1] - self.length) <= 0.001), now)
        self._pause = (near[0], self.length, near[2])
        self.events.append(DepthEvent("stop", near[0], near[2], self.length))
        self.state, self._since = Advance.PAUSED, near[0]
        self._rest = now

    def _point(self, reading: Reading) -> DepthPoint:
        return DepthPoint(
            reading.monotonic,
            reading.arrival,
            self.length,
            self.deepest,
            self._rate(reading.monotonic),
            self.state,
            max(reading.monotonic - self._since, 0.0),
            self.strokes,
            self._stroke,
        )

    def _rate(self, time: float) -> float:
        if self.state not in (Advance.PUSHING, Advance.LIFTING):
            return 0.0
        then = self._then(max(time - self.settings.window, self._since))
        span = time - then[0]
        if span < self.settings.window / 2:
            return math.nan
        return (self.length - then[1]) / span

    def _event(
        self, kind: str, duration: float | None = None, text: str = "", size: float | None = None
    ) -> None:
        event = DepthEvent(kind, self._time, self._arrival, self.length, duration, text, size)
        self.events.append(event)

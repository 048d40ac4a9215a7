"""The head of the rig as its encoder counts it: which movements can be true.

A jump, a counter that starts again or goes over its end, a gap, a laptop that slept: each is told
apart from movement here, before anything is made of it. Nothing is repaired; a jump is no movement.
"""

from __future__ import annotations

from dataclasses import dataclass

WRAPS = tuple(2**bits for bits in (16, 24, 32))


@dataclass(frozen=True, slots=True)
class HeadLimits:
    """What a head can do.

    Parameters
    ----------
    metres_per_count
        Signed; None where the source gives a length.
    push_limit, move_limit
        Fastest movement that can be a push, and that the head can make [m/s].
    reset_band
        A jump that lands this near to zero is a reset of the counter [m].
    silence
        Time for which the position before a jump is remembered [s].
    """

    metres_per_count: float | None
    push_limit: float
    move_limit: float
    reset_band: float
    silence: float


@dataclass(frozen=True, slots=True)
class Move:
    """One movement of the head.

    Parameters
    ----------
    metres
        Downward positive [m]; 0 where the change of the counter is no movement.
    span
        Time it took [s].
    slept
        The surface clock stood meanwhile.
    event
        What else happened: ``encoder-jump``, ``encoder-reset``, ``encoder-wrap`` or nothing.
    jump
        Change of the counter that is no movement [m].
    """

    metres: float
    span: float
    slept: bool = False
    event: str = ""
    jump: float = 0.0


class Head:
    """Follow the position of the head; see :meth:`move`."""

    def __init__(self, limits: HeadLimits, raw: float, time: float, arrival: float) -> None:
        self.limits = limits
        self.position = 0.0
        """Sum of the movements that can be true [m]."""
        self._raw, self._time, self._arrival = raw, time, arrival
        self._before: tuple[float, float] | None = None  # raw and time before a jump

    def restart_clock(self, time: float) -> None:
        """Begin a new run of the surface clock."""
        self._time = time
        if self._before is not None:
            self._before = (self._before[0], time)

    def move(self, raw: float, time: float, arrival: float, *, gripped: bool) -> Move:
        """Return the movement since the last reading.

        Parameters
        ----------
        raw
            Position as counted [m].
        time, arrival
            Monotonic and wall time of the reading [s].
        gripped
            False where the rods are known not to follow; a quick return to zero is then no reset.
        """
        span = time - self._time
        slept = self._slept(raw, span, arrival - self._arrival)
        if slept:
            span = arrival - self._arrival
        metres, event = self._believe(raw, span, gripped)
        jump = raw - self._raw - metres if event else 0.0
        self.position += metres
        self._raw, self._time, self._arrival = raw, time, arrival
        return Move(metres, span, slept, event, jump)

    def _slept(self, raw: float, span: float, wall: float) -> bool:
        """Tell whether only the wall clock explains the movement.

        The monotonic clock may stand while a laptop sleeps. A wall clock that was merely set
        forward comes with no such movement.
        """
        limit = self.limits.push_limit
        return wall > span + 1.0 and limit * max(span, 0.1) < abs(raw - self._raw) <= limit * wall

    def _believe(self, raw: float, span: float, gripped: bool) -> tuple[float, str]:
        limits = self.limits
        # Readings that waited in a buffer arrive together: judge speed over 0.1 s at least.
        span = max(span, 0.1)
        move = raw - self._raw
        at_zero = raw == 0 and gripped and abs(move) > limits.push_limit * span
        if abs(move) <= limits.move_limit * span and not at_zero:
            self._before = None
            return move, ""
        if self._before is not None:
            back = raw - self._before[0]
            if abs(back) <= limits.move_limit * (self._time - self._before[1] + span):
                self._before = None
                return back, ""
        wrapped = self._unwrap(move)
        if abs(wrapped) <= limits.push_limit * span:
            return wrapped, "encoder-wrap"
        if at_zero or abs(raw) <= limits.reset_band:
            self._before = None
            return 0.0, "encoder-reset"
        if self._before is None or self._time - self._before[1] > limits.silence:
            self._before = (self._raw, self._time)
        return 0.0, "encoder-jump"

    def _unwrap(self, move: float) -> float:
        factor = self.limits.metres_per_count
        if factor is None:
            return move
        turns = [abs(factor) * wrap for wrap in WRAPS]
        return min((move + sign * turn for turn in turns for sign in (1, -1)), key=abs)

"""One surface time for a whole record: from the wall clock, the monotonic clock and the cone.

Each message carries two surface times. The monotonic clock does not jump, but stands while some
computers sleep and begins anew with each start of the computer. The wall clock runs on, but can be
set. Where the two part, the clock of the cone says which of them went on truly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
STEP = 1.0
"""The two clocks part when they differ by more than this from message to message [s]."""


@dataclass(frozen=True, slots=True)
class ClockStep:
    """Where the two surface clocks part.

    ``kind`` is ``slept`` (the monotonic clock stood), ``set`` (the wall clock was set) or
    ``restarted`` (the monotonic clock began anew); ``seconds`` is wall minus monotonic; ``row`` is
    the first message after it.
    """

    row: int
    kind: str
    seconds: float


def surface_time(
    arrival: ArrayLike, monotonic: ArrayLike, cone_time: ArrayLike | None = None
) -> tuple[FloatArray, tuple[ClockStep, ...]]:
    """Return one time axis for messages in the order of the record.

    Parameters
    ----------
    arrival, monotonic
        Wall and monotonic clock of each message, shape (n,) [s].
    cone_time
        Clock of the cone where the message has it, else NaN, shape (n,) [s].

    Returns
    -------
    FloatArray
        Surface time, shape (n,) [s]; it starts at the first arrival and never goes back.
    tuple of ClockStep
        Where the clocks parted, and what was made of it.

    Examples
    --------
    The computer slept for a minute: the cone went on for 61 s.

    >>> time, steps = surface_time([100, 101, 162], [5, 6, 7], [0, 1, 62])
    >>> [float(t) for t in time], steps[0].kind
    ([100.0, 101.0, 162.0], 'slept')
    """
    wall, mono = np.asarray(arrival, float), np.asarray(monotonic, float)
    n = len(wall)
    cone = np.full(n, np.nan) if cone_time is None else np.asarray(cone_time, float)
    by_wall, by_mono = np.diff(wall), np.diff(mono)
    elapsed = by_mono.copy()
    steps = []
    for at in np.flatnonzero((np.abs(by_wall - by_mono) > STEP) | (by_mono < 0)):
        row = int(at) + 1
        kind = _kind(by_wall[at], by_mono[at], _cone_elapsed(cone, mono, wall, row))
        elapsed[at] = by_mono[at] if kind == "set" else max(by_wall[at], 0.0)
        steps.append(ClockStep(row, kind, float(by_wall[at] - by_mono[at])))
    time = np.empty(n)
    if n:
        time[0] = wall[0]
        time[1:] = wall[0] + np.cumsum(np.maximum(elapsed, 0.0))
    return time, tuple(steps)


def _kind(wall: float, mono: float, cone: tuple[float, float, float] | None) -> str:
    if mono < 0:
        return "restarted"
    if cone is None:
        return "set"  # nobody can tell; the monotonic clock is the one that does not jump
    by_cone, by_wall, by_mono = cone
    if abs(by_cone - by_wall) >= abs(by_cone - by_mono):
        return "set"
    return "slept" if wall > mono else "restarted"


def _cone_elapsed(
    cone: FloatArray, mono: FloatArray, wall: FloatArray, row: int
) -> tuple[float, float, float] | None:
    """Return the time from the last cone reading before a step to the first after, on all clocks.

    None where there is no such pair or the cone itself started anew.
    """
    known = np.flatnonzero(np.isfinite(cone[max(row - 2000, 0) : row + 2000])) + max(row - 2000, 0)
    before, after = known[known < row], known[known >= row]
    if not before.size or not after.size:
        return None
    i, j = before[-1], after[0]
    by_cone = cone[j] - cone[i]
    if by_cone < 0:
        return None
    return float(by_cone), float(wall[j] - wall[i]), float(mono[j] - mono[i])

"""Initial pressure and time of half dissipation: direct, over root time, over log time.

* direct: the first reading; where the record rises first, its highest reading with the time from
  the stop, as a reading in the field does.
* root time: the straight part over the root of time run back to zero; the time counts from the
  stop. After Sully et al. 1999, from memory.
* log time: the start of a falling record taken as a parabola, ``u_i = 2 u(t) - u(4 t)``, as for
  the oedometer; where the record rises first, time is counted from the peak (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from pushproof.interpretation.dissipation.crossing import time_at
from pushproof.interpretation.dissipation.lines import Line, root_time_line, straight_part
from pushproof.interpretation.dissipation.record import Record
from pushproof.model.dissipation import DissipationKind
from pushproof.model.picks import DissipationChoice, DissipationMethod

STRAIGHT = 0.006
"""Scatter about the straight part, as a share of the excess [-], beside that of the noise."""
STRAIGHT_TO = 0.6
"""Share of the excess that may have gone where the straight part ends [-]."""
PARABOLA_TO = 0.3
"""Share of the excess that has gone at the later time of the parabola [-]."""


@dataclass(frozen=True)
class Way:
    """An initial pressure [kPa], where time counts from [s since the stop], and how.

    ``first`` and ``last`` are the crossings of u50 [s since the stop].
    """

    method: DissipationMethod
    how: str
    u_i: float
    from_time: float = 0.0
    line: Line | None = None
    window: tuple[float, float] | None = None
    t50: float = math.nan
    first: float = math.nan
    last: float = math.nan
    extrapolated: bool = False


def ways(record: Record, u0: float, choice: DissipationChoice) -> tuple[Way, ...]:
    """Return the ways that give an initial pressure, each with its time of half dissipation."""
    found = [
        direct(record, choice),
        root_time(record, u0, choice),
        log_time(record, u0),
    ]
    return tuple(_half(record, u0, way) for way in found if way is not None)


def direct(record: Record, choice: DissipationChoice) -> Way:
    """Return the initial pressure as it is read."""
    if choice.u_i is not None:
        return Way("direct", f"u_i of {choice.u_i:.1f} kPa as picked", choice.u_i)
    if record.kind is DissipationKind.RISING_FIRST:
        at, u = float(record.time[record.peak]), float(record.smooth[record.peak])
        how = f"highest reading, {u:.1f} kPa at {at:.0f} s; time from the stop"
        return Way("direct", how, u)
    how = f"first reading, {record.first:.1f} kPa at {record.time[0]:.1f} s"
    return Way("direct", how, record.first)


def root_time(record: Record, u0: float, choice: DissipationChoice) -> Way | None:
    """Return the initial pressure from the straight part over root time, run back to zero."""
    window, picked = choice.window, choice.window is not None
    if window is None:
        window = _straight(record, u0)
    line = None if window is None else root_time_line(record.time, record.u, window)
    if line is None or line.slope >= 0:
        return None
    words = "as picked" if picked else "longest straight part"
    how = (
        f"straight over root time from {line.window[0]:.1f} to {line.window[1]:.1f} s ({words}, "
        f"{line.count} readings), run back to {line.start:.1f} kPa"
    )
    return Way("root-time", how, line.start, line=line, window=line.window)


def log_time(record: Record, u0: float) -> Way | None:
    """Return the initial pressure from the start over log time, or time shifted to the peak."""
    at, top = float(record.time[record.peak]), float(record.smooth[record.peak])
    if record.kind is DissipationKind.RISING_FIRST:
        how = f"time counted from the peak of {top:.1f} kPa at {at:.0f} s"
        return Way("log-time", how, top, from_time=at)
    later, _, _ = time_at(record.time, record.smooth, top - PARABOLA_TO * (top - u0))
    if math.isnan(later) or later / 4.0 <= max(float(record.time[0]), 0.0) / 2.0:
        return None
    early, late = np.interp([later / 4.0, later], record.time, record.smooth)
    u_i = float(2.0 * early - late)
    how = f"parabola through {later / 4.0:.1f} and {later:.1f} s, run back to {u_i:.1f} kPa"
    return Way("log-time", how, u_i, window=(later / 4.0, later))


def _straight(record: Record, u0: float) -> tuple[float, float] | None:
    """Find the straight part of the fall."""
    top, last = float(record.smooth[record.peak]), float(record.smooth[-1])
    low = last if math.isnan(u0) else u0
    share = 1.0 if math.isnan(u0) else STRAIGHT_TO
    _, _, end = time_at(record.time, record.smooth, top - share * (top - low))
    begin = float(record.time[record.peak])
    end = record.length if math.isnan(end) else end
    if end <= begin:
        return None
    tolerance = max(STRAIGHT * (top - low), 1.2 * record.noise)
    return straight_part(record.time, record.u, begin, end, tolerance)


def _half(record: Record, u0: float, way: Way) -> Way:
    """Read the time of half dissipation; along the straight part where the record ends before."""
    if math.isnan(u0):
        return way
    u50 = 0.5 * (way.u_i + u0)
    fall = record.falling
    t50, first, last = time_at(record.time[fall], record.smooth[fall], u50)
    if math.isnan(t50) and way.line is not None and record.smooth[-1] > u50:
        t50 = ((u50 - way.line.start) / way.line.slope) ** 2
        return replace(way, t50=t50, extrapolated=True)
    since = t50 - way.from_time
    return replace(way, t50=since if since > 0 else math.nan, first=first, last=last)

"""From a seismic test to shear wave velocities: which arrivals belong together, and what they give.

True intervals come from two receivers and one strike, so the trigger does not count. Pseudo
intervals come from one receiver at two depths and two strikes: the trigger is taken to be as late
each time. Strikes from different sides are never compared with each other, only averaged.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeVar

import numpy as np

from pushproof.equations.seismic import Vs_interval, slant_path
from pushproof.interpretation.seismic.correlate import Handling, shift, stacked
from pushproof.interpretation.seismic.rays import velocities
from pushproof.interpretation.seismic.remarks import notes, remarks
from pushproof.model.seismic import (
    Arrival,
    IntervalKind,
    SeismicResult,
    SeismicTest,
    Trace,
    VelocityInterval,
)

Item = TypeVar("Item", Arrival, Trace)

CLOSE = 0.02
"""Depths this near count as the same [m]."""


@dataclass(frozen=True)
class _Pair:
    """Two arrivals of the same wave: depths, paths [m], time between [s]."""

    top: float
    base: float
    kind: IntervalKind
    path: float
    time: float
    correlation: float = math.nan


def seismic(test: SeismicTest, handling: Handling | None = None) -> SeismicResult:
    """Return the shear wave velocities of a seismic test.

    Parameters
    ----------
    test
        Picked arrivals, or traces; traces are used where there are any.
    handling
        Filter, window and range of velocities for traces.

    Returns
    -------
    SeismicResult
        One row for each interval and kind; NaN with a finding where a velocity cannot be.

    Raises
    ------
    ValueError
        If the test holds nothing that can be paired, or traces do not fit each other.

    Examples
    --------
    >>> arrivals = (
    ...     Arrival(depth=4.0, time=0.050, offset=3.0),
    ...     Arrival(depth=5.0, time=0.058, offset=3.0),
    ... )
    >>> round(seismic(SeismicTest("A", arrivals)).intervals[0].Vs, 1)
    103.9
    """
    how = handling or Handling()
    pairs = list(_of_traces(test.traces, how) if test.traces else _of_arrivals(test.arrivals))
    if not pairs:
        raise ValueError(
            f"{test.name}: no two arrivals belong together; expected two depths of one receiver "
            "with strikes from the same side, or two receivers of one shot"
        )
    intervals = _averaged(pairs)
    if not test.traces:
        intervals = _bent(intervals, test.arrivals)
    method = how.words if test.traces else "arrivals as picked"
    return SeismicResult(
        test, intervals, method, (*test.findings, *remarks(intervals)), notes(intervals)
    )


def _of_arrivals(arrivals: Sequence[Arrival]) -> Iterator[_Pair]:
    for kind, upper, lower in _together(arrivals):
        paths = slant_path([upper.depth, lower.depth], [upper.offset, lower.offset])
        yield _Pair(
            upper.depth,
            lower.depth,
            kind,
            float(paths[1] - paths[0]),
            lower.time - upper.time,
        )


def _of_traces(traces: Sequence[Trace], handling: Handling) -> Iterator[_Pair]:
    groups: dict[tuple[float, str, str, str], list[Trace]] = defaultdict(list)
    for one in traces:
        groups[one.depth, one.receiver, one.strike, one.shot].append(one)
    means = [stacked(group) for group in groups.values()]
    for kind, upper, lower in _together(means):
        paths = slant_path([upper.depth, lower.depth], [upper.offset, lower.offset])
        path = float(paths[1] - paths[0])
        found = shift(upper, lower, path, handling)
        time = math.nan if found.at_edge else found.time
        yield _Pair(upper.depth, lower.depth, kind, path, time, found.correlation)


def _together(items: Sequence[Item]) -> Iterator[tuple[IntervalKind, Item, Item]]:
    """Yield the pairs: receivers of one shot, then depths of one receiver and one side."""
    shots: dict[str, list[Item]] = defaultdict(list)
    receivers: dict[tuple[str, str], list[Item]] = defaultdict(list)
    for one in items:
        if one.shot:
            shots[one.shot].append(one)
        receivers[one.receiver, one.strike].append(one)
    for group in shots.values():
        for upper, lower in pairwise(sorted(group, key=lambda one: one.depth)):
            if lower.receiver != upper.receiver and lower.depth - upper.depth > CLOSE:
                yield IntervalKind.TRUE, upper, lower
    for group in receivers.values():
        depths: dict[float, list[Item]] = defaultdict(list)
        for one in group:
            near = next((z for z in depths if abs(z - one.depth) <= CLOSE), one.depth)
            depths[near].append(one)
        for above, below in pairwise(sorted(depths)):
            for upper, lower in zip(depths[above], depths[below], strict=False):
                yield IntervalKind.PSEUDO, upper, lower


def _averaged(pairs: Sequence[_Pair]) -> tuple[VelocityInterval, ...]:
    """Return one interval for each pair of depths and kind, the times averaged."""
    groups: dict[tuple[float, float, IntervalKind], list[_Pair]] = defaultdict(list)
    for one in pairs:
        groups[round(one.top, 2), round(one.base, 2), one.kind].append(one)
    found = []
    for (top, base, kind), group in sorted(groups.items(), key=lambda item: item[0][:2]):
        times = np.array([one.time for one in group])
        path = float(np.mean([one.path for one in group]))
        known = times[np.isfinite(times)]
        time = float(known.mean()) if known.size else math.nan
        each = Vs_interval(0.0, [one.path for one in group], 0.0, times)
        each = each[np.isfinite(each)]
        Vs = float(Vs_interval(0.0, path, 0.0, time))
        spread = float(np.ptp(each)) / 2.0 / Vs if len(each) > 1 and Vs > 0 else math.nan
        correlation = float(np.mean([one.correlation for one in group]))
        found.append(
            VelocityInterval(
                top,
                base,
                Vs,
                kind,
                path,
                time,
                correlation=correlation,
                strikes=len(group),
                spread=spread,
            )
        )
    return tuple(found)


def _bent(
    intervals: tuple[VelocityInterval, ...], arrivals: Sequence[Arrival]
) -> tuple[VelocityInterval, ...]:
    """Put the velocity by bent rays beside that by the straight path."""
    depths: dict[float, list[Arrival]] = defaultdict(list)
    for one in arrivals:
        depths[round(one.depth, 2)].append(one)
    levels = sorted(depth for depth in depths if depth > 0)
    times = [float(np.mean([one.time for one in depths[z]])) for z in levels]
    offsets = [float(np.mean([one.offset for one in depths[z]])) for z in levels]
    found = velocities(levels, times, offsets)
    by_layer = {
        (top, base): float(value)
        for (top, base), value in zip(pairwise(levels), found[1:], strict=True)
    }
    return tuple(
        replace(one, refracted=by_layer.get((one.top, one.base), math.nan)) for one in intervals
    )

"""Merging: the live readings, the depth stream and the memory of the cone, to one series.

The streams are facts and stay apart in the record; what is made here is a result. A reading gets
its length from the time it was made, by the fitted clock, not from when it arrived. The memory
wins value by value; a packet that the memory does not hold stays as it came. What neither has is
a gap with its reason, never an interpolated value.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding
from pushproof.model.series import Origin, Reason, Series, extra_quantity
from pushproof.model.sounding import Dissipation, Event, Sounding
from pushproof.model.stream import Reading
from pushproof.processing.streams.clocks import ClockFit, fit_clock
from pushproof.processing.streams.depth import DepthSettings
from pushproof.processing.streams.mergereport import MergeReport, findings
from pushproof.processing.streams.motion import fit_motion
from pushproof.processing.streams.rods import Rods, follow
from pushproof.processing.streams.rows import (
    Disagreement,
    Rows,
    combine,
    join,
    live_rows,
    measured,
    memory_rows,
)
from pushproof.processing.streams.surface import ClockStep, surface_time

FloatArray = NDArray[np.float64]

SAME = 0.1
"""A live packet and a memory reading closer than this in cone time are the same reading [s]."""
NEAR = 0.3
"""A memory reading this close to a missing packet restores it [s]."""
MOST_LOST = 20_000
"""A jump of the counter beyond this is no loss but another counter."""
NEW_GROUND = 0.0005
"""A reading that is less than this below the one before adds no depth [m]."""
RESOLUTION: Mapping[str, float] = {
    "qc": 10.0,
    "fs": 1.0,
    "u1": 1.0,
    "u2": 1.0,
    "u3": 1.0,
    "tilt": 0.1,
    "tilt_x": 0.1,
    "tilt_y": 0.1,
    "temperature": 0.5,
}
"""Difference up to which packet and memory say the same [inside unit]; our own choice."""
DISSIPATION = 60.0
"""A pause with pore pressure longer than this is given as a dissipation [s]; our own choice."""


@dataclass(frozen=True)
class Merged:
    """The series of a push, and how it was made.

    Parameters
    ----------
    series
        ``length``, ``time`` (from the first depth reading [s]), what was measured, ``origin``.
        The origin of a row is LIVE where it came over the link, else MEMORY.
    report
        What became of the readings.
    events
        Pauses, rod changes and faults of the encoder.
    findings
        What limits the result.
    origins
        Key to origin code of each value, shape of the series: MEMORY also where the memory
        contradicts the packet.
    dissipations
        Pauses long enough, with every reading that link and memory have.
    """

    series: Series
    report: MergeReport
    events: tuple[Event, ...]
    findings: tuple[Finding, ...]
    origins: Mapping[str, NDArray[np.uint8]]
    dissipations: tuple[Dissipation, ...] = ()

    def sounding(self, known: Sounding) -> Sounding:
        """Return a sounding with the merged readings, events, tests and findings put in."""
        return replace(
            known,
            readings=self.series,
            events=(*known.events, *self.events),
            dissipations=(*known.dissipations, *self.dissipations),
            findings=(*known.findings, *self.findings),
        )


def merge(
    cone: Sequence[Reading],
    depth: Sequence[Reading],
    memory: Sequence[Reading] = (),
    settings: DepthSettings | None = None,
    *,
    since: float | None = None,
    until: float | None = None,
    references: Sequence[tuple[float, float]] = (),
    resolution: Mapping[str, float] = RESOLUTION,
    modulus: int | None = None,
) -> Merged:
    """Merge the streams of a push.

    Parameters
    ----------
    cone, depth
        Messages in the order of the record.
    memory
        Read-out of the cone's memory, with ``cone_time``; empty if there is none.
    settings
        How encoder counts become length.
    since, until
        Surface monotonic time of the begin and end of the push [s]; what the encoder did before
        and after (setting up, drawing the rods) then counts for nothing.
    references
        Monotonic times and the penetration lengths that the crew set [s, m].
    resolution
        Difference up to which packet and memory say the same [inside unit].
    modulus
        Value at which the counter of the packets starts again, if it does.

    Raises
    ------
    ValueError
        If there is no cone reading in either stream, no depth reading, or the memory is all there
        is and its clock cannot be found.

    Notes
    -----
    A cone without a clock of its own is placed by the arrival of its readings; pauses still show
    how late the link is.
    """
    packets = [m for m in cone if "cone_time" in m.values]
    stored = memory_rows(memory)
    by_arrival = not packets and not len(stored)
    if by_arrival:
        packets = [m for m in cone if any(measured(key) for key in m.values)]
    faults = []
    if not packets and not len(stored):
        faults.append("no cone reading")
    if not depth:
        faults.append("no depth reading")
    if faults:
        raise ValueError("; ".join(faults))
    surface = _Surface(packets, depth)
    kept = [i for i, m in enumerate(depth) if _inside(m.monotonic, since, until)]
    marks = [(surface.at(mono), length) for mono, length in references]
    rods = follow([depth[i] for i in kept], surface.depth[kept], settings, marks)
    time = surface.cone if by_arrival else None
    live, duplicates = live_rows(packets, surface.cone, modulus, time=time)
    fits, parts, apart = _by_run(live, stored, rods, resolution)
    fits = tuple(replace(fit, by_arrival=by_arrival) for fit in fits)
    rows = join(parts)
    return _result(rows, rods, duplicates, fits, apart, surface.steps)


def _inside(time: float, since: float | None, until: float | None) -> bool:
    return (since is None or time >= since) and (until is None or time <= until)


class _Surface:
    """Both streams on one surface time."""

    def __init__(self, packets: Sequence[Reading], depth: Sequence[Reading]) -> None:
        together = [*packets, *depth]
        self._mono = np.array([m.monotonic for m in together])
        wall = np.array([m.arrival for m in together])
        n = len(packets)
        in_order = all((np.diff(part) >= 0).all() for part in (self._mono[:n], self._mono[n:]))
        order = np.argsort(self._mono if in_order else wall, kind="stable")
        cone_time = np.array([m.values.get("cone_time", np.nan) for m in together])
        time, self.steps = surface_time(wall[order], self._mono[order], cone_time[order])
        self._all = np.empty(len(together))
        self._all[order] = time
        self.cone, self.depth = self._all[:n], self._all[n:]

    def at(self, monotonic: float) -> float:
        """Return the surface time of something that happened at a monotonic time [s]."""
        nearest = int(np.argmin(np.abs(self._mono - monotonic)))
        return float(self._all[nearest] + monotonic - self._mono[nearest])


def _by_run(
    live: Rows, stored: Rows, rods: Rods, resolution: Mapping[str, float]
) -> tuple[tuple[ClockFit, ...], list[Rows], list[Disagreement]]:
    """Fit the clock of each run and put its readings together.

    The last runs of link and memory are the same one: a cone that starts anew while nothing is
    heard shows only in its memory.
    """
    last_live, last_stored = _last(live), _last(stored)
    runs_back = max(last_live if len(live) else -1, last_stored if len(stored) else -1)
    fits: list[ClockFit] = []
    parts: list[Rows] = []
    apart: list[Disagreement] = []
    for back in range(runs_back, -1, -1):
        own = live.take(live.run == last_live - back)
        kept = stored.take(stored.run == last_stored - back)
        if not len(own) and not len(kept):
            continue
        fit = _fit(own, kept, rods)
        if fit is None:
            continue
        rows, found = combine(own, kept, fit, resolution, SAME)
        fits.append(fit)
        parts.append(rows)
        apart += found
    if not parts:
        raise ValueError(
            "no packet came over the link, and motion alone does not show the clock of the memory"
        )
    return tuple(fits), parts, apart


def _last(rows: Rows) -> int:
    return int(rows.run.max()) if len(rows) else 0


def _fit(live: Rows, stored: Rows, rods: Rods) -> ClockFit | None:
    dense = stored if len(stored) else live
    order = np.argsort(dense.time, kind="stable")
    time, qc = dense.time[order], dense.column("qc")[order]
    if not len(live):
        return fit_motion(time, qc, rods.time, rods.length, rods.starts)
    return fit_clock(
        live.time,
        live.surface,
        dense_time=time,
        qc=qc,
        starts=rods.starts,
        depth_time=rods.time,
        length=rods.length,
    )


def _result(
    rows: Rows,
    rods: Rods,
    duplicates: int,
    fits: tuple[ClockFit, ...],
    apart: Sequence[Disagreement],
    steps: tuple[ClockStep, ...],
) -> Merged:
    length = rods.at(rows.surface)
    pushing = rods.pushing(rows.surface)
    unplaced = int(np.count_nonzero(pushing & ~np.isfinite(length)))
    new = pushing & np.isfinite(length)
    deepest = np.maximum.accumulate(np.where(new, length, -np.inf))
    before = np.concatenate(([-np.inf], deepest[:-1]))
    new &= length > before + NEW_GROUND
    pushed = rows.take(new)
    z = length[new]
    lost, restored = _missing(rows, rods)
    lost_at = rods.at(lost)
    own_clock = not any(fit.by_arrival for fit in fits)
    series, origins = _series(pushed, z, rods, lost, lost_at, own_clock)
    report = _report(pushed, z, rods, (len(lost), restored, duplicates, unplaced), fits)
    found = findings(report, apart, steps, rods)
    return Merged(series, report, _events(rods), found, origins, _dissipations(rows, rods))


def _report(
    pushed: Rows,
    z: FloatArray,
    rods: Rods,
    counts: tuple[int, int, int, int],
    fits: tuple[ClockFit, ...],
) -> MergeReport:
    lost, restored, duplicates, unplaced = counts
    edges = np.concatenate(([rods.length[0]], z, [rods.length[-1]])) if z.size else z
    gaps = np.diff(edges)
    usual = float(np.median(gaps)) if gaps.size else 0.0
    total = float(edges[-1] - edges[0]) if z.size else 0.0
    wide = gaps > max(2.5 * usual, 0.03)
    worst = int(np.argmax(gaps)) if gaps.size else 0
    live = int(np.count_nonzero(pushed.live))
    return MergeReport(
        expected=live + restored + lost,
        received=live,
        restored=restored,
        lost=lost,
        added=max(int(np.count_nonzero(~pushed.live)) - restored, 0),
        duplicates=duplicates,
        unplaced=unplaced,
        longest_gap=float(gaps[worst]) if gaps.size else 0.0,
        longest_gap_at=float(edges[worst]) if gaps.size else 0.0,
        covered=1.0 - float(gaps[wide].sum()) / total if total > 0 else 0.0,
        gaps=tuple(
            (float(a), float(b)) for a, b in zip(edges[:-1][wide], edges[1:][wide], strict=True)
        ),
        clock=fits,
    )


def _missing(rows: Rows, rods: Rods) -> tuple[FloatArray, int]:
    """Return the surface times of packets that nobody has, and how many the memory restored.

    A jump of the counter says how many packets are missing between two that came; without a
    counter the usual interval between packets says it.
    """
    times: list[float] = []
    for run in np.unique(rows.run):
        came = np.flatnonzero((rows.run == run) & rows.live)
        surface, sequence = rows.surface[came], rows.sequence[came]
        step = np.diff(surface)
        if not step.size:
            continue
        missing = np.round(step / max(float(np.median(step)), 1e-3)) - 1
        counted = np.diff(sequence)
        missing = np.where(np.isfinite(counted), counted - 1, missing)
        for i in np.flatnonzero((missing >= 1) & (missing <= MOST_LOST)).tolist():
            n = int(missing[i])
            times += (surface[i] + step[i] * np.arange(1, n + 1) / (n + 1)).tolist()
    at = np.array(times)
    if not at.size:
        return at, 0
    at = at[rods.pushing(at) & np.isfinite(rods.at(at))]
    kept = rows.surface[~rows.live]
    if not kept.size or not at.size:
        return at, 0
    place = np.clip(np.searchsorted(kept, at), 1, max(len(kept) - 1, 1))
    right = kept[np.minimum(place, len(kept) - 1)]
    held = np.minimum(np.abs(kept[place - 1] - at), np.abs(right - at)) <= NEAR
    return at[~held], int(np.count_nonzero(held))


def _series(
    pushed: Rows,
    z: FloatArray,
    rods: Rods,
    lost: FloatArray,
    lost_at: FloatArray,
    own_clock: bool,
) -> tuple[Series, dict[str, NDArray[np.uint8]]]:
    """Return the rows that add depth, with an empty row for each reading that is lost."""
    surface = np.concatenate((pushed.surface, lost))
    order = np.argsort(surface, kind="stable")
    gap = np.concatenate((np.zeros(len(z), bool), np.ones(len(lost), bool)))[order]
    length = np.maximum.accumulate(np.concatenate((z, lost_at))[order])
    begun = float(rods.time[0]) if len(rods.time) else 0.0
    cone_time = np.concatenate((pushed.time, np.full(len(lost), np.nan)))[order]
    series = Series({"length": length, "time": surface[order] - begun})
    reason = np.where(gap, Reason.LOST_ON_LINK, Reason.NOT_MEASURED).astype(np.uint8)
    if own_clock:
        series = series.with_column("cone_time", cone_time, reason)
    origins: dict[str, NDArray[np.uint8]] = {}
    for key, column in pushed.values.items():
        values = np.concatenate((column, np.full(len(lost), np.nan)))[order]
        if not np.isfinite(values).any():
            continue
        series = series.with_column(key, values, reason)
        codes = np.concatenate((pushed.origins[key], np.zeros(len(lost), np.uint8)))[order]
        origins[key] = codes
    came = np.where(pushed.live, float(Origin.LIVE), float(Origin.MEMORY))
    row = np.concatenate((came, np.full(len(lost), float(Origin.UNKNOWN))))[order]
    series = series.with_column("origin", row)
    return _with_mixed_origins(series, origins, row), origins


def _with_mixed_origins(
    series: Series, origins: Mapping[str, NDArray[np.uint8]], row: FloatArray
) -> Series:
    """Keep the origins of the values of a channel where they are not those of the rows."""
    for key, codes in origins.items():
        known = codes != Origin.UNKNOWN
        if (codes[known] != row[known]).any():
            extra = extra_quantity(f"origin_{key}", f"where the value of {key} came from", "")
            series = series.with_column(f"origin_{key}", codes.astype(float), extra=extra)
    return series


def _events(rods: Rods) -> tuple[Event, ...]:
    first = float(rods.time[0]) if len(rods.time) else 0.0
    kept = ("pause", "rod-change", "encoder-jump", "encoder-reset", "lift", "encoder-silent")
    return tuple(
        Event(
            one.kind,
            depth=round(one.length, 3),
            seconds=round(one.monotonic - first, 1),
            duration=None if one.duration is None else round(one.duration, 1),
            text=one.text,
        )
        for one in rods.events
        if one.kind in kept
    )


def _dissipations(rows: Rows, rods: Rods) -> tuple[Dissipation, ...]:
    """Return the long pauses in which a pore pressure was read and no rod was changed."""
    tests = []
    for stop, start, changed in rods.pauses:
        inside = (rows.surface >= stop) & (rows.surface <= start)
        pore = any(np.isfinite(rows.column(k)[inside]).sum() > 3 for k in ("u1", "u2", "u3"))
        if changed or start - stop < DISSIPATION or not pore:
            continue
        columns = {"time": rows.surface[inside] - stop}
        for key in ("qc", "fs", "u1", "u2", "u3", "temperature"):
            if np.isfinite(rows.column(key)[inside]).any():
                columns[key] = rows.column(key)[inside]
        depth = float(np.interp(stop, rods.time, rods.length))
        tests.append(Dissipation(depth, Series(columns)))
    return tuple(tests)

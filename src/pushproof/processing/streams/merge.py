"""Merging: the live readings, the depth stream and the memory of the cone, to one series.

The streams are facts and stay apart in the record; what is made here is a result. A reading gets
its length from the time it was made, by the fitted clock, not from when it arrived. The memory
wins value by value; a packet that the memory does not hold stays as it came. What neither has is
a gap with its reason, never an interpolated value.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding, Severity
from pushproof.model.quantities import QUANTITIES, Kind
from pushproof.model.series import Origin, Reason, Series
from pushproof.model.sounding import Event
from pushproof.model.stream import Reading
from pushproof.processing.streams.clocks import ClockFit, Start, fit_clock, runs
from pushproof.processing.streams.depth import DepthEvent, DepthSettings, DepthTracker
from pushproof.processing.streams.surface import surface_time

FloatArray = NDArray[np.float64]

MOVING = 0.002
"""Slower than this the rods stand, and readings add no depth [m/s]; common practice."""
SAME = 0.1
"""A live packet and a memory reading closer than this in cone time are the same reading [s]."""
NEAR = 0.3
"""A memory reading this close to a missing packet restores it [s]."""
MOST_LOST = 20_000
"""A jump of the counter beyond this is no loss but another counter."""


@dataclass(frozen=True)
class MergeReport:
    """What became of the readings of a push.

    Parameters
    ----------
    expected, received, restored, lost
        Packets of the cone while the rods moved, by their counter: sent, come over the link, given
        by the memory instead, and held by neither.
    added
        Readings that the memory holds beyond the packets.
    duplicates
        Packets that came more than once.
    longest_gap
        Longest stretch without a reading while pushing [m].
    covered
        Share of the pushed length that readings cover, 0 to 1.
    clock
        Fit of each run of the cone clock.
    """

    expected: int
    received: int
    restored: int
    lost: int
    added: int
    duplicates: int
    longest_gap: float
    covered: float
    clock: tuple[ClockFit, ...]

    @property
    def text(self) -> str:
        """The report in one sentence."""
        return (
            f"{self.expected} readings expected, {self.received} received, {self.restored} "
            f"restored from memory, {self.lost} lost, {self.added} more from memory; longest gap "
            f"{self.longest_gap * 1000:.0f} mm, {self.covered:.1%} of the length covered"
        )


@dataclass(frozen=True)
class Merged:
    """The series of a push with ``length``, ``time`` and ``origin``, and how it was made."""

    series: Series
    report: MergeReport
    events: tuple[Event, ...]
    findings: tuple[Finding, ...]


def merge(
    cone: Sequence[Reading],
    depth: Sequence[Reading],
    memory: Sequence[Reading] = (),
    settings: DepthSettings | None = None,
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

    Raises
    ------
    ValueError
        If there is no cone reading with a cone time, or no depth reading.
    """
    packets = [m for m in cone if "cone_time" in m.values]
    faults = []
    if not packets:
        faults.append("no cone reading with a cone time")
    if not depth:
        faults.append("no depth reading")
    if faults:
        raise ValueError("; ".join(faults))
    rods, packet_time = _surface(packets, depth, settings)
    live, duplicates = _live(packets, packet_time)
    stored = _stored(memory)
    fits: list[ClockFit] = []
    parts: list[_Rows] = []
    for run in np.unique(live.run):
        own = live.take(live.run == run)
        kept = stored.take(stored.run - _last(stored.run) == run - _last(live.run))
        fit = _fit(own, kept, rods)
        fits.append(fit)
        parts.append(_combine(own, kept, fit))
    rows = _join(parts)
    length = np.interp(rows.surface, rods.time, rods.length)
    return _result(rows, length, rods, duplicates, tuple(fits))


def _last(run: NDArray[np.intp]) -> int:
    return int(run.max()) if run.size else 0


@dataclass
class _Rods:
    """The depth stream: surface time, length and rate at each reading, and its events."""

    time: FloatArray
    length: FloatArray
    starts: tuple[Start, ...]
    events: list[DepthEvent]


@dataclass
class _Rows:
    """Readings: cone time, surface time, values by key, origin, sequence."""

    time: FloatArray
    surface: FloatArray
    values: dict[str, FloatArray]
    origin: FloatArray
    sequence: FloatArray
    run: NDArray[np.intp]

    def take(self, rows: NDArray[np.bool_] | NDArray[np.intp]) -> _Rows:
        values = {key: column[rows] for key, column in self.values.items()}
        return _Rows(
            self.time[rows],
            self.surface[rows],
            values,
            self.origin[rows],
            self.sequence[rows],
            self.run[rows],
        )


def _surface(
    packets: Sequence[Reading], depth: Sequence[Reading], settings: DepthSettings | None
) -> tuple[_Rods, FloatArray]:
    """Follow the encoder, and put both streams on one surface time."""
    together = [*packets, *depth]
    mono = np.array([m.monotonic for m in together])
    wall = np.array([m.arrival for m in together])
    n = len(packets)
    in_order = all((np.diff(part) >= 0).all() for part in (mono[:n], mono[n:]))
    order = np.argsort(mono if in_order else wall, kind="stable")
    cone_time = np.array([m.values.get("cone_time", np.nan) for m in together])
    time, _ = surface_time(wall[order], mono[order], cone_time[order])
    back = np.empty(len(together))
    back[order] = time
    tracker = DepthTracker(settings)
    rod_time, rod_length = [], []
    to_surface = dict(zip(mono[n:].tolist(), back[n:].tolist(), strict=True))
    for reading, at in zip(depth, back[n:].tolist(), strict=True):
        point = tracker.push(reading)
        if point is not None:
            rod_time.append(at)
            rod_length.append(point.deepest)
    t, z = np.array(rod_time), np.maximum.accumulate(np.array(rod_length))
    return _Rods(t, z, _starts(tracker.events, to_surface), tracker.events), back[:n]


def _starts(events: Sequence[DepthEvent], to_surface: dict[float, float]) -> tuple[Start, ...]:
    """Return the starts after pauses, each with the stop before and the stop after."""

    def at(event: DepthEvent) -> float:
        return to_surface.get(event.monotonic, event.arrival)

    marks = [(at(e), e.kind) for e in events if e.kind in ("stop", "start")]
    starts = []
    for i, (when, kind) in enumerate(marks):
        if kind != "start" or i == 0 or marks[i - 1][1] != "stop":
            continue
        until = next((t for t, k in marks[i + 1 :] if k == "stop"), when + 60.0)
        starts.append(Start(marks[i - 1][0], when, until))
    return tuple(starts)


def _live(packets: Sequence[Reading], surface: FloatArray) -> tuple[_Rows, int]:
    """Return packets in the order of the cone clock, repeated ones left out."""
    time = np.array([m.values["cone_time"] for m in packets])
    run = runs(time)
    order = np.lexsort((time, run))
    first = np.ones(len(order), dtype=bool)
    t, r = time[order], run[order]
    first[1:] = (np.diff(t) > 1e-6) | (np.diff(r) != 0)
    keep = order[first]
    keys = sorted({key for m in packets for key in m.values if _carried(key)})
    values = {
        key: np.array([packets[i].values.get(key, np.nan) for i in keep.tolist()]) for key in keys
    }
    sequence = [np.nan if (s := packets[i].sequence) is None else float(s) for i in keep.tolist()]
    rows = _Rows(
        time[keep],
        surface[keep],
        values,
        np.full(keep.size, float(Origin.LIVE)),
        np.array(sequence),
        run[keep],
    )
    return rows, len(packets) - keep.size


def _carried(key: str) -> bool:
    row = QUANTITIES.get(key)
    return row is not None and (row.kind is Kind.MEASURED or key in ("link_level", "battery"))


def _stored(memory: Sequence[Reading]) -> _Rows:
    kept = [m for m in memory if "cone_time" in m.values]
    time = np.array([m.values["cone_time"] for m in kept], dtype=float)
    run = runs(time)
    order = np.lexsort((time, run))
    keys = sorted({key for m in kept for key in m.values if _carried(key)})
    values = {
        key: np.array([kept[i].values.get(key, np.nan) for i in order.tolist()]) for key in keys
    }
    return _Rows(
        time[order],
        np.full(order.size, np.nan),
        values,
        np.full(order.size, float(Origin.MEMORY)),
        np.full(order.size, np.nan),
        run[order],
    )


def _fit(live: _Rows, stored: _Rows, rods: _Rods) -> ClockFit:
    dense = stored if len(stored.time) else live
    return fit_clock(
        live.time,
        live.surface,
        dense_time=dense.time,
        qc=dense.values.get("qc", np.full(len(dense.time), np.nan)),
        starts=rods.starts,
        depth_time=rods.time,
        length=rods.length,
    )


def _combine(live: _Rows, stored: _Rows, fit: ClockFit) -> _Rows:
    """Put live and stored readings of one run together; a reading held by both is LIVE."""
    nearest = np.full(len(live.time), -1, dtype=np.intp)
    if len(stored.time):
        place = np.clip(np.searchsorted(stored.time, live.time), 1, max(len(stored.time) - 1, 1))
        left = np.maximum(place - 1, 0)
        right = np.minimum(place, len(stored.time) - 1)
        closer = np.abs(stored.time[left] - live.time) <= np.abs(stored.time[right] - live.time)
        nearest = np.where(closer, left, right)
        off = np.abs(stored.time[nearest] - live.time)
        nearest = np.where(off <= SAME, nearest, -1)
    alone = nearest < 0
    origin, sequence = stored.origin.copy(), stored.sequence.copy()
    held = nearest[~alone]
    origin[held] = float(Origin.LIVE)
    sequence[held] = live.sequence[~alone]
    values: dict[str, FloatArray] = {}
    for key in sorted({*live.values, *stored.values}):
        mine = stored.values.get(key, np.full(len(stored.time), np.nan)).copy()
        theirs = live.values.get(key, np.full(len(live.time), np.nan))
        empty = ~np.isfinite(mine[held])
        mine[held[empty]] = theirs[~alone][empty]
        values[key] = np.concatenate((mine, theirs[alone]))
    time = np.concatenate((stored.time, live.time[alone]))
    rows = _Rows(
        time,
        fit.surface(time),
        values,
        np.concatenate((origin, live.origin[alone])),
        np.concatenate((sequence, live.sequence[alone])),
        np.full(len(time), live.run[0], dtype=np.intp),
    )
    return rows.take(np.argsort(rows.surface, kind="stable"))


def _join(parts: list[_Rows]) -> _Rows:
    keys = sorted({key for part in parts for key in part.values})
    values = {
        key: np.concatenate(
            [part.values.get(key, np.full(len(part.time), np.nan)) for part in parts]
        )
        for key in keys
    }
    whole = _Rows(
        np.concatenate([part.time for part in parts]),
        np.concatenate([part.surface for part in parts]),
        values,
        np.concatenate([part.origin for part in parts]),
        np.concatenate([part.sequence for part in parts]),
        np.concatenate([part.run for part in parts]),
    )
    return whole.take(np.argsort(whole.surface, kind="stable"))


def _result(
    rows: _Rows,
    length: FloatArray,
    rods: _Rods,
    duplicates: int,
    fits: tuple[ClockFit, ...],
) -> Merged:
    ahead = np.interp(rows.surface + 0.5, rods.time, rods.length)
    behind = np.interp(rows.surface - 0.5, rods.time, rods.length)
    inside = (rows.surface >= rods.time[0]) & (rows.surface <= rods.time[-1])
    moving = (ahead - behind > MOVING) & inside
    pushed = rows.take(moving)
    z = length[moving]
    lost, restored = _missing(rows, rods)
    series = _series(pushed, z, rods, lost)
    gaps = np.diff(z)
    usual = float(np.median(gaps)) if gaps.size else 0.0
    total = float(z[-1] - z[0]) if z.size else 0.0
    wide = gaps > max(2.5 * usual, 0.03)
    live = int(np.count_nonzero(pushed.origin == Origin.LIVE))
    report = MergeReport(
        expected=live + restored + len(lost),
        received=live,
        restored=restored,
        lost=len(lost),
        added=int(np.count_nonzero(pushed.origin == Origin.MEMORY)) - restored,
        duplicates=duplicates,
        longest_gap=float(gaps.max()) if gaps.size else 0.0,
        covered=1.0 - float(gaps[wide].sum()) / total if total > 0 else 0.0,
        clock=fits,
    )
    return Merged(series, report, _events(rods), _findings(report))


def _missing(rows: _Rows, rods: _Rods) -> tuple[FloatArray, int]:
    """Return the surface times of packets that nobody has, and how many the memory restored.

    A jump of the counter says how many packets are missing between two that came.
    """
    numbered = np.flatnonzero(np.isfinite(rows.sequence))
    sequence, surface = rows.sequence[numbered], rows.surface[numbered]
    times: list[float] = []
    for i in np.flatnonzero(np.diff(sequence) > 1).tolist():
        missing = int(sequence[i + 1] - sequence[i]) - 1
        span = surface[i + 1] - surface[i]
        if missing <= MOST_LOST:
            times += [surface[i] + span * (k + 1) / (missing + 1) for k in range(missing)]
    at = np.array(times)
    if not at.size:
        return at, 0
    ahead, behind = (np.interp(at + d, rods.time, rods.length) for d in (0.5, -0.5))
    at = at[ahead - behind > MOVING]
    kept = rows.surface[rows.origin == Origin.MEMORY]
    if not kept.size:
        return at, 0
    place = np.clip(np.searchsorted(kept, at), 1, max(len(kept) - 1, 1))
    right = kept[np.minimum(place, len(kept) - 1)]
    held = np.minimum(np.abs(kept[place - 1] - at), np.abs(right - at)) <= NEAR
    return at[~held], int(np.count_nonzero(held))


def _series(pushed: _Rows, z: FloatArray, rods: _Rods, lost: FloatArray) -> Series:
    """Return the rows that add depth, with an empty row for each reading that is lost."""
    begun = float(rods.time[0])
    surface = np.concatenate((pushed.surface, lost))
    order = np.argsort(surface, kind="stable")
    gap = np.concatenate((np.zeros(len(z), bool), np.ones(len(lost), bool)))[order]
    length = np.concatenate((z, np.interp(lost, rods.time, rods.length)))[order]
    series = Series({"length": length, "time": surface[order] - begun})
    for key, column in pushed.values.items():
        values = np.concatenate((column, np.full(len(lost), np.nan)))[order]
        if not np.isfinite(values).any():
            continue
        reason = np.where(gap, Reason.LOST_ON_LINK, Reason.NOT_MEASURED).astype(np.uint8)
        series = series.with_column(key, values, reason)
    origin = np.concatenate((pushed.origin, np.full(len(lost), float(Origin.UNKNOWN))))[order]
    return series.with_column("origin", origin)


def _events(rods: _Rods) -> tuple[Event, ...]:
    first = rods.events[0].monotonic if rods.events else 0.0
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


def _findings(report: MergeReport) -> tuple[Finding, ...]:
    found = [Finding("merge", Severity.INFO, report.text)]
    if report.lost:
        found.append(
            Finding(
                "readings-lost",
                Severity.CAUTION,
                f"{report.lost} readings were lost on the link and are in no memory; "
                f"the longest gap is {report.longest_gap * 1000:.0f} mm",
                "the read-out of the cone's memory",
            )
        )
    for number, fit in enumerate(report.clock, start=1):
        sure = f"{fit.offset_sd:.2f} s"
        run = f" of run {number}" if len(report.clock) > 1 else ""
        found.append(
            Finding(
                "clock",
                Severity.INFO if fit.offset_sd < 1.0 else Severity.CAUTION,
                f"the cone clock{run} is fitted to {sure} (standard deviation), drift "
                f"{fit.cone_ppm:+.0f} ppm; at 20 mm/s that is {fit.offset_sd * 20:.0f} mm of depth",
            )
        )
    return tuple(found)

"""Rows of cone readings on one clock: packets of the link and the memory, put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.quantities import QUANTITIES, Kind
from pushproof.model.series import Origin
from pushproof.model.stream import Reading
from pushproof.processing.streams.clocks import ClockFit, runs

FloatArray = NDArray[np.float64]
CodeArray = NDArray[np.uint8]

CARRIED = ("link_level", "link_noise", "battery", "cone_time")
"""Columns of the record that are kept beside what was measured."""


@dataclass(frozen=True)
class Rows:
    """Readings of the cone, shape (n,) each.

    Parameters
    ----------
    time
        On the clock of the cone [s].
    surface
        On the surface clock: of a packet when it arrived, once merged when it was made [s].
    run
        Run of the cone clock.
    sequence
        Counter of the packet, NaN for a reading of the memory; whole and growing in each run.
    live
        Whether it came over the link.
    values, origins
        Key to value and to :class:`~pushproof.model.series.Origin` code.
    """

    time: FloatArray
    surface: FloatArray
    run: NDArray[np.intp]
    sequence: FloatArray
    live: NDArray[np.bool_]
    values: Mapping[str, FloatArray]
    origins: Mapping[str, CodeArray]

    def __len__(self) -> int:
        """Return the number of readings."""
        return len(self.time)

    def take(self, rows: NDArray[np.bool_] | NDArray[np.intp]) -> Rows:
        """Return the given rows in the given order."""
        return Rows(
            self.time[rows],
            self.surface[rows],
            self.run[rows],
            self.sequence[rows],
            self.live[rows],
            {key: column[rows] for key, column in self.values.items()},
            {key: codes[rows] for key, codes in self.origins.items()},
        )

    def column(self, key: str) -> FloatArray:
        """Return a column, all NaN where there is none."""
        found = self.values.get(key)
        return np.full(len(self), np.nan) if found is None else found


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Where packet and memory differ by more than the resolution, for one channel."""

    channel: str
    compared: int
    differing: int
    worst: float
    at: float  # surface time of the worst [s]


def live_rows(
    packets: Sequence[Reading],
    surface: FloatArray,
    modulus: int | None = None,
    *,
    time: FloatArray | None = None,
) -> tuple[Rows, int]:
    """Return the packets in the order of the cone clock, and how many came more than once.

    Parameters
    ----------
    packets
        Each with ``cone_time``, unless ``time`` is given.
    surface
        When each arrived, shape (n,) [s].
    modulus
        Value at which their counter starts again, if it does.
    time
        Stands for the cone time where the cone has no clock, shape (n,) [s].
    """
    if time is None:
        time = _times(packets)
    run = runs(time)
    order = np.lexsort((surface, time, run))
    kept = _first_of_each(packets, time, run, order)
    sequence = np.array(
        [np.nan if (s := packets[i].sequence) is None else float(s) for i in kept.tolist()]
    )
    rows = Rows(
        time[kept],
        surface[kept],
        run[kept],
        _unwrapped(sequence, run[kept], modulus),
        np.ones(kept.size, dtype=bool),
        _columns([packets[i] for i in kept.tolist()]),
        {},
    )
    return rows, len(packets) - kept.size


def memory_rows(memory: Sequence[Reading]) -> Rows:
    """Return the readings of a memory in the order of the cone clock; ``surface`` is not known."""
    kept = [m for m in memory if "cone_time" in m.values]
    time = _times(kept)
    run = runs(time)
    order = np.lexsort((time, run))
    order = order[_first_of_each(kept, time, run, order, by_counter=False, index=True)]
    return Rows(
        time[order],
        np.full(order.size, np.nan),
        run[order],
        np.full(order.size, np.nan),
        np.zeros(order.size, dtype=bool),
        _columns([kept[i] for i in order.tolist()]),
        {},
    )


def _times(readings: Sequence[Reading]) -> FloatArray:
    return np.array([m.values["cone_time"] for m in readings], dtype=np.float64)


def _first_of_each(
    readings: Sequence[Reading],
    time: FloatArray,
    run: NDArray[np.intp],
    order: NDArray[np.intp],
    *,
    by_counter: bool = True,
    index: bool = False,
) -> NDArray[np.intp]:
    """Return the first of equal readings: same run and cone time, and same counter."""
    seen: set[tuple[int, float, int | None]] = set()
    first = []
    for place, i in enumerate(order.tolist()):
        key = (int(run[i]), float(time[i]), readings[i].sequence if by_counter else None)
        if key not in seen:
            seen.add(key)
            first.append(place if index else i)
    return np.array(first, dtype=np.intp)


def _columns(readings: Sequence[Reading]) -> dict[str, FloatArray]:
    keys = sorted({key for m in readings for key in m.values if _carried(key)})
    return {
        key: np.array([m.values.get(key, np.nan) for m in readings], dtype=np.float64)
        for key in keys
    }


def _carried(key: str) -> bool:
    return key in CARRIED or measured(key)


def measured(key: str) -> bool:
    """Tell whether a key is that of a quantity which the cone measures."""
    row = QUANTITIES.get(key)
    return row is not None and row.kind is Kind.MEASURED and key != "rate"


def _unwrapped(sequence: FloatArray, run: NDArray[np.intp], modulus: int | None) -> FloatArray:
    """Return counters that grow on over the end of a short counter."""
    if modulus is None:
        return sequence
    out = sequence.copy()
    for one in np.unique(run):
        inside = np.flatnonzero((run == one) & np.isfinite(sequence))
        out[inside] = np.unwrap(sequence[inside], period=modulus)
    return out


def combine(
    live: Rows,
    memory: Rows,
    fit: ClockFit,
    resolution: Mapping[str, float],
    same: float,
) -> tuple[Rows, list[Disagreement]]:
    """Put packets and memory of one run together.

    Parameters
    ----------
    live, memory
        Of the same run of the cone clock; either may be empty.
    fit
        Clock of that run.
    resolution
        Difference up to which packet and memory say the same, by channel [inside unit].
    same
        Packet and memory reading closer than this in cone time are the same reading [s].

    Returns
    -------
    Rows
        In the order of the cone clock, ``surface`` when each was made. A value is LIVE where it
        came over the link and the memory does not contradict it, else MEMORY.
    list of Disagreement
        One for each channel with a contradiction.
    """
    held = _nearest(live.time, memory.time, same)
    alone = held < 0
    into = held[~alone]
    n_memory, n_alone = len(memory), int(alone.sum())
    values: dict[str, FloatArray] = {}
    origins: dict[str, CodeArray] = {}
    found: list[Disagreement] = []
    for key in sorted({*live.values, *memory.values}):
        if key == "cone_time":
            continue
        mine, sent = memory.column(key).copy(), live.column(key)
        origin = np.where(np.isfinite(mine), Origin.MEMORY, Origin.UNKNOWN).astype(np.uint8)
        theirs, stored = sent[~alone], mine[into]
        apart = np.abs(theirs - stored)
        differs = apart > resolution.get(key, np.inf)
        agrees = np.isfinite(theirs) & ~differs
        origin[into[agrees]] = Origin.LIVE
        empty = ~np.isfinite(stored)
        mine[into[empty]] = theirs[empty]
        if differs.any():
            worst = int(np.nanargmax(apart))
            where = float(fit.surface(live.time[~alone][worst]))
            compared = int(np.isfinite(apart).sum())
            found.append(
                Disagreement(key, compared, int(differs.sum()), float(apart[worst]), where)
            )
        own = np.where(np.isfinite(sent[alone]), Origin.LIVE, Origin.UNKNOWN).astype(np.uint8)
        values[key] = np.concatenate((mine, sent[alone]))
        origins[key] = np.concatenate((origin, own))
    time = np.concatenate((memory.time, live.time[alone]))
    sequence = np.concatenate((np.full(n_memory, np.nan), live.sequence[alone]))
    sequence[into] = live.sequence[~alone]
    came = np.concatenate((np.zeros(n_memory, dtype=bool), np.ones(n_alone, dtype=bool)))
    came[into] = True
    run = np.full(len(time), live.run[0] if len(live) else memory.run[0], dtype=np.intp)
    rows = Rows(time, fit.surface(time), run, sequence, came, values, origins)
    return rows.take(np.argsort(time, kind="stable")), found


def _nearest(wanted: FloatArray, have: FloatArray, within: float) -> NDArray[np.intp]:
    """Return for each wanted time the row of the nearest in ``have``, -1 if none is near.

    A row is given once: of two that want it, the nearer has it.
    """
    found = np.full(len(wanted), -1, dtype=np.intp)
    if not len(have) or not len(wanted):
        return found
    right = np.clip(np.searchsorted(have, wanted), 0, len(have) - 1)
    left = np.maximum(right - 1, 0)
    closer = np.abs(have[left] - wanted) <= np.abs(have[right] - wanted)
    nearest = np.where(closer, left, right)
    off = np.abs(have[nearest] - wanted)
    taken: set[int] = set()
    for i in np.argsort(off, kind="stable").tolist():
        if off[i] > within:
            break
        if int(nearest[i]) not in taken:
            taken.add(int(nearest[i]))
            found[i] = nearest[i]
    return found


def join(parts: Sequence[Rows]) -> Rows:
    """Return several runs as one, in the order in which the readings were made."""
    keys = sorted({key for part in parts for key in part.values})
    unknown = np.uint8(Origin.UNKNOWN)

    def codes(part: Rows, key: str) -> CodeArray:
        found = part.origins.get(key)
        return np.full(len(part), unknown) if found is None else found

    whole = Rows(
        np.concatenate([part.time for part in parts]),
        np.concatenate([part.surface for part in parts]),
        np.concatenate([part.run for part in parts]),
        np.concatenate([part.sequence for part in parts]),
        np.concatenate([part.live for part in parts]),
        {key: np.concatenate([part.column(key) for part in parts]) for key in keys},
        {key: np.concatenate([codes(part, key) for part in parts]) for key in keys},
    )
    return whole.take(np.argsort(whole.surface, kind="stable"))

# ruff: noqa: ARG001
"""Defects to plant in a sounding, each at several sizes, to learn what the checks find.

A defect changes a copy of a sounding the way the real fault would and says where. It is not for
changing records.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pushproof.model.sounding import Sounding, Water, WaterOrigin

FloatArray = NDArray[np.float64]
Interval = tuple[float, float]
Plant = Callable[[Sounding, float, np.random.Generator], "Planted | None"]


@dataclass(frozen=True)
class Planted:
    """A sounding with a defect, and its interval of length [m]; None for the whole push."""

    sounding: Sounding
    interval: Interval | None = None


@dataclass(frozen=True)
class Defect:
    """One kind of defect.

    Parameters
    ----------
    name
        In plain words, without the size.
    finding, channel
        Id and channel of the finding that should report it; no channel means any.
    sizes, unit
        Sizes to plant and their unit.
    plant
        Plants it; None where the sounding lacks what it needs.
    """

    name: str
    finding: str
    channel: str
    sizes: tuple[float, ...]
    unit: str
    plant: Plant


def along(sounding: Sounding) -> FloatArray:
    """Return the length of each reading [m], or its depth where no length is given."""
    readings = sounding.readings
    return readings["length" if readings.measured("length") else "depth"]


def changed(sounding: Sounding, key: str, values: FloatArray) -> Sounding:
    """Return a sounding with a column of its readings replaced, kept to the step of its output."""
    readings = sounding.readings
    step = _step(readings[key])
    kept = np.round(values / step) * step if step else values
    return replace(sounding, readings=readings.with_column(key, kept, readings.reason(key)))


def _step(values: FloatArray) -> float:
    """Return the smallest step of a digital output, 0 if it shows none."""
    steps = np.diff(np.unique(np.round(values[np.isfinite(values)], 4)))
    steps = steps[steps > 1e-4]
    return float(np.round(steps.min(), 4)) if steps.size else 0.0


def _somewhere(
    sounding: Sounding, key: str, length: float, rng: np.random.Generator
) -> NDArray[np.bool_] | None:
    """Pick rows over a length at which a channel was measured, away from both ends."""
    if not sounding.readings.measured(key):
        return None
    z, known = along(sounding), np.isfinite(sounding.readings[key])
    if not known.any():
        return None
    low, high = np.nanmin(z[known]) + 1.0, np.nanmax(z[known]) - 1.0 - length
    if high <= low:
        return None
    for _ in range(20):
        top = rng.uniform(low, high)
        rows = (z >= top) & (z <= top + length) & known
        if (
            rows.any()
            and np.isfinite(sounding.readings[key][(z >= top) & (z <= top + length)]).all()
        ):
            return np.asarray(rows)
    return None


def _interval(sounding: Sounding, rows: NDArray[np.bool_]) -> Interval:
    z = along(sounding)[rows]
    return float(z.min()), float(z.max())


def _spike(key: str) -> Plant:
    def plant(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
        rows = _somewhere(sounding, key, 0.1, rng)
        if rows is None:
            return None
        row = int(rng.choice(np.flatnonzero(rows)))
        values = np.array(sounding.readings[key])
        level = float(np.nanmedian(np.abs(values)))
        values[row] += size / 100 * max(abs(values[row]), level) * rng.choice([1.0, 1.0, -0.5])
        z = float(along(sounding)[row])
        return Planted(changed(sounding, key, values), (z, z))

    return plant


def _stuck(*keys: str) -> Plant:
    def plant(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
        keys_here = [key for key in keys if sounding.readings.measured(key)]
        if len(keys_here) < min(len(keys), 2):
            return None
        rows = _somewhere(sounding, keys_here[0], size, rng)
        if rows is None or np.count_nonzero(rows) < 3:
            return None
        order = np.flatnonzero(rows)[np.argsort(along(sounding)[rows], kind="stable")]
        out = sounding
        for key in keys_here:
            values = np.array(out.readings[key])
            values[order] = values[order[0]]
            out = changed(out, key, values)
        return Planted(out, _interval(sounding, rows))

    return plant


def _ceiling(key: str) -> Plant:
    def plant(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
        if not sounding.readings.measured(key):
            return None
        values = sounding.readings[key]
        top = float(np.nanmax(values)) * (1 - size / 100)
        high = np.isfinite(values) & (values > top)
        if np.count_nonzero(high) < 5:
            return None
        return Planted(changed(sounding, key, np.where(high, top, values)))

    return plant


def _shifted(key: str) -> Plant:
    def plant(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
        if not sounding.readings.measured(key):
            return None
        return Planted(changed(sounding, key, sounding.readings[key] - size))

    return plant


def _gap(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    rows = _somewhere(sounding, "qc", size, rng)
    if rows is None:
        return None
    values = np.where(rows, np.nan, sounding.readings["qc"])
    return Planted(changed(sounding, "qc", values), _interval(sounding, rows))


def _tilt_step(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    key = next((k for k in ("tilt_x", "tilt") if sounding.readings.measured(k)), None)
    rows = None if key is None else _somewhere(sounding, key, 0.3, rng)
    if key is None or rows is None:
        return None
    place = _interval(sounding, rows)
    grow = np.clip((along(sounding) - place[0]) / 0.3, 0, 1) * size
    values = sounding.readings[key]
    away = np.where(np.nanmedian(values) < 0, -1.0, 1.0)
    return Planted(changed(sounding, key, values + away * grow), place)


def _tilt_drift(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    key = next((k for k in ("tilt_x", "tilt") if sounding.readings.measured(k)), None)
    if key is None:
        return None
    z, values = along(sounding), sounding.readings[key]
    share = (z - np.nanmin(z)) / max(float(np.nanmax(z) - np.nanmin(z)), 0.1)
    top = float(np.nanmax(np.abs(values)))
    away = np.where(np.nanmedian(values) < 0, -1.0, 1.0)
    return Planted(changed(sounding, key, values + away * share * max(size - top, 0.0)))


def _rate(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    """Push a fifth of the length at another rate."""
    readings = sounding.readings
    if not readings.measured("time") or not np.isfinite(readings["qc"]).any():
        return None
    z = along(sounding)
    order = np.argsort(z, kind="stable")
    time = readings["time"][order]
    step = np.diff(time)
    span = float(np.nanmax(z) - np.nanmin(z)) * 0.2
    top = float(rng.uniform(np.nanmin(z) + 0.5, np.nanmax(z) - span - 0.5))
    inside = (z[order][1:] >= top) & (z[order][1:] <= top + span)
    moving = inside & (step < 3.0 * np.nanmedian(step[step > 0])) & (step >= 0)
    if not moving.any():
        return None
    now = float(np.diff(z[order])[moving].sum() / max(step[moving].sum(), 1e-9))
    step = np.where(moving, step * now / (size / 1000), step)
    moved = np.empty_like(time)
    moved[0] = time[0]
    moved[1:] = time[0] + np.cumsum(np.nan_to_num(step))
    out = np.empty_like(time)
    out[order] = moved
    out = np.where(np.isfinite(readings["time"]), out, np.nan)
    return Planted(changed(sounding, "time", out), (top, top + span))


def _slow_filter(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    """Let u2 follow late, over a length, as a filter with air in it does."""
    readings = sounding.readings
    if not readings.measured("u2"):
        return None
    z, u2 = along(sounding), np.array(readings["u2"])
    rows = np.flatnonzero(np.isfinite(u2) & np.isfinite(z))
    rows = rows[np.argsort(z[rows], kind="stable")]
    state, last = u2[rows[0]], z[rows[0]]
    for row in rows.tolist():
        state += (u2[row] - state) * (1 - np.exp(-(z[row] - last) / size))
        last, u2[row] = z[row], state
    return Planted(changed(sounding, "u2", u2))


def _damped_filter(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    """Let u2 show a share of its value only, as a filter that lost its fluid does."""
    if not sounding.readings.measured("u2"):
        return None
    return Planted(changed(sounding, "u2", sounding.readings["u2"] * size / 100))


def _sleeve(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    """Move fs deeper against qc."""
    readings = sounding.readings
    if not readings.measured("fs"):
        return None
    z, fs = along(sounding), readings["fs"]
    known = np.flatnonzero(np.isfinite(fs) & np.isfinite(z))
    known = known[np.argsort(z[known], kind="stable")]
    moved = np.interp(z - size, z[known], fs[known])
    return Planted(changed(sounding, "fs", np.where(np.isfinite(fs), moved, np.nan)))


def _times(*keys: str) -> Plant:
    def plant(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
        readings = sounding.readings
        for key in keys:
            if not readings.measured(key):
                return None
            readings = readings.with_column(key, readings[key] * size, readings.reason(key))
        return Planted(replace(sounding, readings=readings))

    return plant


def _swap(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    readings = sounding.readings
    if not (readings.measured("fs") and readings.measured("u2")):
        return None
    fs, u2 = readings["fs"], readings["u2"]
    return Planted(replace(sounding, readings=readings.with_column("fs", u2).with_column("u2", fs)))


def _water(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    if sounding.water is None or not sounding.readings.measured("u2"):
        return None
    level = sounding.water.level + size
    return Planted(replace(sounding, water=Water(level=level, origin=WaterOrigin.STATED)))


def _rod_change(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    """Let qc fall by a share at every pause and come back over 0.15 m."""
    readings = sounding.readings
    if not readings.measured("time"):
        return None
    z, time = along(sounding), readings["time"]
    order = np.argsort(z, kind="stable")
    wait = np.diff(time[order]) - np.diff(z[order]) / 0.02
    starts = z[order][:-1][wait > 10.0]
    if starts.size < 5:
        return None
    share = np.ones(len(z))
    for start in starts.tolist():
        since = z - start
        fall = np.where(
            since > 0, size / 100 * np.exp(-(np.maximum(since, 0.0) - 0.02) / 0.06), 0.0
        )
        share *= 1 - np.clip(fall, 0, 1)
    return Planted(changed(sounding, "qc", readings["qc"] * share))


def _slip(sounding: Sounding, size: float, rng: np.random.Generator) -> Planted | None:
    """Let the encoder lose length during one rod: all below stands too shallow."""
    rods = [event for event in sounding.events if event.kind == "rod-change"]
    if len(rods) < 4 or not sounding.readings.measured("length"):
        return None
    depths = [event.depth or 0.0 for event in rods]
    place = int(rng.integers(1, len(rods) - 1))
    edge = depths[place] - 0.5
    z = along(sounding)
    moved = np.where(z > edge, z - size, z)
    events = tuple(
        replace(event, depth=event.depth - size)
        if event.depth is not None and event.depth > edge
        else event
        for event in sounding.events
    )
    out = replace(sounding, readings=sounding.readings.with_column("length", moved), events=events)
    return Planted(out, (edge - 0.6, edge + 0.6))


DEFECTS = (
    Defect("single reading off", "spike", "qc", (10, 20, 40, 80, 160), "% of value", _spike("qc")),
    Defect("single reading off", "spike", "fs", (20, 40, 80, 160), "% of value", _spike("fs")),
    Defect("single reading off", "spike", "u2", (10, 20, 40, 80, 160), "% of value", _spike("u2")),
    Defect("value stands still", "value-stuck", "qc", (0.1, 0.2, 0.3, 0.5, 1.0), "m", _stuck("qc")),
    Defect("value stands still", "value-stuck", "fs", (0.1, 0.2, 0.3, 0.5, 1.0), "m", _stuck("fs")),
    Defect("value stands still", "value-stuck", "u2", (0.1, 0.2, 0.3, 0.5, 1.0), "m", _stuck("u2")),
    Defect(
        "whole reading repeated",
        "reading-repeated",
        "",
        (0.06, 0.1, 0.2, 0.5),
        "m",
        _stuck("qc", "fs", "u2"),
    ),
    Defect("channel at its limit", "flat-top", "qc", (2, 5, 10, 25, 50), "% cut", _ceiling("qc")),
    Defect("channel at its limit", "flat-top", "fs", (2, 5, 10, 25, 50), "% cut", _ceiling("fs")),
    Defect("zero too low", "qc-negative", "qc", (20, 50, 100, 200, 400), "kPa", _shifted("qc")),
    Defect("zero too low", "fs-negative", "fs", (2, 5, 10, 20), "kPa", _shifted("fs")),
    Defect("readings missing", "gap", "", (0.05, 0.1, 0.2, 0.5), "m", _gap),
    Defect("step in tilt", "tilt-change", "", (0.5, 1.0, 1.5, 2.0, 3.0), "deg", _tilt_step),
    Defect("tilt grows to", "tilt-large", "", (12, 14, 16, 18), "deg", _tilt_drift),
    Defect("a fifth pushed at", "rate-outside", "", (10, 13, 22, 27, 30, 35), "mm/s", _rate),
    Defect("u2 follows late", "filter-not-saturated", "", (0.1, 0.3, 0.6, 1.2), "m", _slow_filter),
    Defect(
        "u2 shows only", "filter-not-saturated", "", (80, 60, 40, 20), "% of value", _damped_filter
    ),
    Defect("fs recorded deeper by", "sleeve-offset", "fs", (0.04, 0.08, 0.12), "m", _sleeve),
    Defect("qc times", "qc-unit-doubtful", "qc", (0.001, 1000), "-", _times("qc")),
    Defect("fs times", "fs-unit-doubtful", "fs", (0.001, 1000), "-", _times("fs")),
    Defect("u2 times", "u2-unit-doubtful", "u2", (0.001, 1000), "-", _times("u2")),
    Defect("qc and fs times", "qc-unit-doubtful", "qc", (0.001, 1000), "-", _times("qc", "fs")),
    Defect("fs and u2 swapped", "fs-u2-swapped", "", (1,), "-", _swap),
    Defect(
        "water level wrong by",
        "water-level-doubtful",
        "",
        (-4, -2, -1, 1, 2, 4),
        "m",
        _water,
    ),
    Defect("qc falls at rod changes", "interruption-qc", "qc", (5, 10, 20, 40), "%", _rod_change),
    Defect("encoder slips", "depth-closure", "", (0.01, 0.02, 0.05, 0.1, 0.2), "m", _slip),
)
"""Every kind of defect."""

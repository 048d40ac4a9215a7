"""The push of the rehearsal: strokes, rod changes, pauses, tilt, drift, refusal; to a sounding."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from pushproof.model.equipment import Calibration, Cone, Rig, Rods
from pushproof.model.series import Origin, Series
from pushproof.model.sounding import (
    Dissipation,
    Event,
    Location,
    RemovedLayer,
    Sounding,
    StopReason,
    Water,
    Zero,
)
from pushproof.sources.rehearsal.cone import Felt, desaturated, feel
from pushproof.sources.rehearsal.ground import Ground

FloatArray = NDArray[np.float64]
RESOLUTION = {"qc": 1.0, "fs": 0.1, "u2": 0.1, "tilt": 0.01, "temperature": 0.1}
"""Smallest step of the digital output, in inside units."""
CALIBRATIONS = tuple(
    Calibration(
        channel=channel,
        date=date(2031, 3, 3),
        laboratory="Heronmere bench (invented)",
        certificate=f"RC-0107-{channel}",
        capacity=capacity,
        uncertainty=uncertainty,
        resolution=RESOLUTION[channel],
    )
    for channel, capacity, uncertainty in (
        ("qc", 60_000.0, 30.0),
        ("fs", 1_000.0, 3.0),
        ("u2", 2_500.0, 5.0),
        ("tilt", 20.0, 0.4),
    )
)
"""Of the one cone of the rehearsal, invented like the rest [kPa, deg]."""
TIME_FACTOR = (
    (0.0, 0.0), (0.038, 0.2), (0.078, 0.3), (0.142, 0.4), (0.245, 0.5), (0.439, 0.6),
    (0.804, 0.7), (1.60, 0.8), (5.0, 0.93), (20.0, 1.0),
)  # fmt: skip
"""Time factor to degree of dissipation behind the cone (Teh & Houlsby 1991, from memory); the
last two points only close the curve."""


@dataclass(frozen=True)
class Plan:
    """How one push goes.

    Parameters
    ----------
    name
        Name of the sounding.
    target
        Depth to reach [m].
    start
        Depth of the pre-excavation [m].
    refusal
        Cone resistance at which the rig cannot push on [kPa].
    dissipations
        Depths and durations [m, s].
    air_in_filter
        True for a filter that was not saturated.
    without
        Channels that the cone does not have.
    tilt_drift
        Growth of tilt with depth [deg/m].
    tilt_step
        Depth and size of a step in tilt [m, deg], as at a stone.
    zero_drift
        Drift of the zeros of qc, fs, u2 over the push [kPa].
    """

    name: str
    target: float
    start: float = 0.0
    step: float = 0.02
    refusal: float = 60_000.0
    dissipations: tuple[tuple[float, float], ...] = ()
    air_in_filter: bool = False
    without: tuple[str, ...] = ()
    tilt_drift: float = 0.06
    tilt_step: tuple[float, float] | None = None
    zero_drift: tuple[float, float, float] = (12.0, 0.6, 0.8)
    area_ratio: float = 0.79
    location: Location = field(default_factory=Location)
    started: datetime | None = None
    project: str | None = None
    removed: tuple[RemovedLayer, ...] = ()
    water: Water | None = None


@dataclass(frozen=True)
class Pushed:
    """A simulated sounding and the truth behind it."""

    sounding: Sounding
    ground: Ground
    felt: Felt
    plan: Plan


def push(ground: Ground, plan: Plan, seed: int) -> Pushed:
    """Push once.

    Parameters
    ----------
    ground
        The ground.
    plan
        How the push goes.
    seed
        The same seed gives the same sounding.
    """
    rng = np.random.default_rng(seed)
    felt = feel(ground, rng)
    length = np.arange(plan.start + plan.step, min(plan.target, ground.depth - 0.3), plan.step)
    qt = felt.at("qt", length)
    stopped = np.flatnonzero(qt > plan.refusal)
    refused = stopped.size > 0
    if refused:
        length = length[: stopped[0] + 1]
    n = len(length)
    events, time, since = _timeline(length, plan, rng)
    tilt_x, tilt_y = _tilt(length, plan, rng)
    z = _depth(length, tilt_x, tilt_y)
    u0 = ground.pore_pressure(z)
    true_u2 = u0 + (felt.at("u2", z) - u0) * _recovery(since, 0.18, 0.35)
    u2 = true_u2
    if plan.air_in_filter:  # the filter shows something else than what acts behind the cone
        late = np.interp(z, felt.z, desaturated(felt))
        u2 = u0 + (late - u0) * _recovery(since, 0.18, 0.35)
    soft = ground.values("pore", z) > 0.1
    qt = felt.at("qt", z) * _recovery(since, np.where(soft, 0.05, 0.02), np.where(soft, 0.07, 0.2))
    fs = felt.at("fs", z) * _recovery(since, 0.06, 0.12)
    share = time / time[-1]
    drift = {key: d * share for key, d in zip(("qc", "fs", "u2"), plan.zero_drift, strict=True)}
    warmth = 11.0 + 3.0 * np.exp(-length / 4.0) + np.cumsum((qt - 12_000 > 0) * 0.002)
    columns = {
        "length": length,
        "time": np.round(time, 1),
        "qc": qt - (1 - plan.area_ratio) * true_u2 + drift["qc"] + rng.normal(0, 3.0, n),
        "fs": fs + drift["fs"] + rng.normal(0, 0.15, n),
        "u2": u2 + drift["u2"] + rng.normal(0, 0.3, n),
        "tilt_x": tilt_x,
        "tilt_y": tilt_y,
        "temperature": warmth,
    }
    for key, values in columns.items():
        size = RESOLUTION.get("tilt" if key.startswith("tilt") else key)
        if size:
            columns[key] = np.round(np.round(values / size) * size, 6)
    columns["origin"] = np.full(n, float(Origin.SIMULATED))
    kept = {key: values for key, values in columns.items() if key not in plan.without}
    tests, test_events = _dissipations(ground, felt, plan, length, z, time, rng)
    sounding = _sounding(plan, Series(kept), refused, tests, (*events, *test_events))
    return Pushed(sounding, ground, felt, plan)


def _timeline(
    length: FloatArray, plan: Plan, rng: np.random.Generator
) -> tuple[list[Event], FloatArray, FloatArray]:
    """Return rod changes, elapsed time [s] and length since the last pause [m]."""
    rate = 0.020 + 0.0008 * np.sin(length * 1.7) + rng.normal(0, 0.0005, len(length))
    step = np.diff(length, prepend=length[0] - plan.step) / np.clip(rate, 0.015, 0.025)
    events = []
    joints = np.flatnonzero(np.diff(np.floor(length + 1e-9)) > 0) + 1
    pauses = np.zeros(len(length))
    pauses[joints] = rng.normal(28.0, 6.0, joints.size).clip(14.0, 60.0)
    for depth, seconds in plan.dissipations:
        pauses[int(np.argmin(np.abs(length - depth)))] += seconds
    time = np.cumsum(step + pauses)
    for joint in joints:
        events.append(
            Event(
                "rod-change",
                depth=round(float(length[joint - 1]), 3),
                seconds=round(float(time[joint - 1]), 1),
                duration=round(float(pauses[joint]), 1),
            )
        )
    paused = np.flatnonzero(pauses > 0)
    last = np.full(len(length), -np.inf)
    if paused.size:
        at = np.searchsorted(paused, np.arange(len(length)), side="right") - 1
        last = np.where(at >= 0, length[paused[np.maximum(at, 0)]] - plan.step, -np.inf)
    return events, time, length - last


def _recovery(since: FloatArray, loss: FloatArray | float, reach: FloatArray | float) -> FloatArray:
    """Return the share of a value that is back after a pause, by length pushed since [m]."""
    with np.errstate(over="ignore"):
        return np.asarray(1.0 - loss * np.exp(-since / reach))


def _tilt(
    length: FloatArray, plan: Plan, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    n = len(length)
    wander = np.cumsum(rng.normal(0, 0.012, (2, n)), axis=1)
    direction = rng.uniform(0, 2 * np.pi)
    grow = plan.tilt_drift * (length - length[0])
    if plan.tilt_step is not None:
        depth, size = plan.tilt_step
        grow = grow + size / (1 + np.exp(-(length - depth) / 0.08))
    x = 0.3 + wander[0] + grow * np.cos(direction)
    y = -0.2 + wander[1] + grow * np.sin(direction)
    return x, y


def _depth(length: FloatArray, tilt_x: FloatArray, tilt_y: FloatArray) -> FloatArray:
    x, y = np.tan(np.radians(tilt_x)), np.tan(np.radians(tilt_y))
    factor = 1 / np.sqrt(1 + x * x + y * y)
    step = np.diff(length, prepend=length[0])
    return np.asarray(length[0] + np.cumsum(step * factor))


def _dissipations(
    ground: Ground,
    felt: Felt,
    plan: Plan,
    length: FloatArray,
    z: FloatArray,
    time: FloatArray,
    rng: np.random.Generator,
) -> tuple[tuple[Dissipation, ...], list[Event]]:
    tests, events = [], []
    factor, degree = np.array(TIME_FACTOR).T
    for depth, seconds in plan.dissipations:
        if depth > length[-1]:
            continue
        row = int(np.argmin(np.abs(length - depth)))
        here = z[row : row + 1]
        u0, start = ground.pore_pressure(here)[0], felt.at("u2", here)[0]
        t = np.unique(np.concatenate((np.arange(0, 60, 0.5), np.arange(60, seconds + 1, 1.0))))
        reached = ground.values("ch", here)[0] * t / (0.01785**2 * 10.0)
        shape = np.interp(np.sqrt(reached), np.sqrt(factor), degree)
        u2 = u0 + (start - u0) * (1 - shape) + rng.normal(0, 0.2, len(t))
        qc = felt.at("qt", here)[0] * (1 - 0.06 * (1 - np.exp(-t / 20)))
        series = Series({"time": t, "qc": np.round(qc), "u2": np.round(u2, 1)})
        tests.append(Dissipation(depth=float(length[row]), readings=series))
        events.append(
            Event(
                "dissipation",
                depth=round(float(length[row]), 3),
                seconds=round(float(time[row] - seconds), 1),
                duration=seconds,
            )
        )
    return tuple(tests), events


def _sounding(
    plan: Plan,
    series: Series,
    refused: bool,
    tests: tuple[Dissipation, ...],
    events: tuple[Event, ...],
) -> Sounding:
    channels = [key for key in ("qc", "fs", "u2") if key in series]
    offset = dict(zip(("qc", "fs", "u2"), plan.zero_drift, strict=True))
    zero = {"seconds": 60.0, "count": 60, "temperature": 11.5}
    before = tuple(Zero(channel=key, value=0.0, spread=0.4, **zero) for key in channels)
    after = tuple(Zero(channel=key, value=offset[key], spread=0.5, **zero) for key in channels)
    return Sounding(
        name=plan.name,
        readings=series,
        location=plan.location,
        cone=Cone(
            serial="RC-0107",
            model="rehearsal cone",
            tip_area=1e-3,
            tip_diameter=0.0357,
            area_ratio=plan.area_ratio,
            sleeve_area=0.015,
            sleeve_diameter=0.0358,
            tip_to_mid_sleeve=0.08,
            filters=("u2",) if "u2" in channels else (),
            filter_fluid="silicone oil" if "u2" in channels else None,
            calibrations=tuple(one for one in CALIBRATIONS if one.channel in (*channels, "tilt")),
        ),
        rods=Rods(),
        rig=Rig(name="rehearsal rig", mass=9000.0, thrust=100.0, stroke=1.2, anchors=2),
        water=plan.water,
        predrilled=plan.start or None,
        removed=plan.removed,
        zeros_before=before,
        zeros_after=after,
        dissipations=tests,
        events=tuple(sorted(events, key=lambda event: event.seconds or 0.0)),
        standard="rehearsal, no standard",
        stop_reason=StopReason.TIP if refused else StopReason.TARGET_DEPTH,
        started=plan.started,
        project=plan.project,
    )

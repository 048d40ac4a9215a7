"""The cone in time: what its sensors show at each moment of a push, moving or standing.

While the rods stand, resistance and friction relax and the excess pore pressure dissipates; when
they move again each comes back over some length.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.sources.rehearsal.cone import Felt
from pushproof.sources.rehearsal.faults import Faults
from pushproof.sources.rehearsal.ground import Ground
from pushproof.sources.rehearsal.motion import FREE, Motion
from pushproof.sources.rehearsal.push import TIME_FACTOR, Plan

FloatArray = NDArray[np.float64]
RIGIDITY_ROOT = 10.0
"""Root of the rigidity index: 100 is taken."""
RADIUS = 0.01785
"""Radius of a cone of 10 cm2 [m]."""
NOISE = {"qc": 3.0, "fs": 0.15, "u2": 0.3}
"""Electronic noise [kPa]."""


@dataclass(frozen=True)
class Path:
    """The way of the tip: true depth and tilt along the length [m, deg]."""

    length: FloatArray
    depth: FloatArray
    tilt_x: FloatArray
    tilt_y: FloatArray


def way(start: float, target: float, plan: Plan, faults: Faults, rng: np.random.Generator) -> Path:
    """Return the way of the tip from ``start`` to ``target`` [m], bent as plan and faults say."""
    length = np.arange(start, target + 0.01, 0.01)
    direction = rng.uniform(0, 2 * np.pi)
    grow = (plan.tilt_drift + faults.value("tilt")) * (length - start)
    steps = [(f.where, f.value) for f in faults.all("tilt") if f.where is not None]
    steps += [(f.where or 0.0, 1.5) for f in faults.all("stone")]
    for at, size in (*steps, *((plan.tilt_step,) if plan.tilt_step else ())):
        grow = grow + size / (1 + np.exp(-(length - at) / 0.08))
    wander = np.cumsum(rng.normal(0, 0.006, (2, length.size)), axis=1)
    x = 0.3 + wander[0] + grow * np.cos(direction)
    y = -0.2 + wander[1] + grow * np.sin(direction)
    cosine = 1 / np.sqrt(1 + np.tan(np.radians(x)) ** 2 + np.tan(np.radians(y)) ** 2)
    depth = start + np.concatenate(([0.0], np.cumsum(0.01 * cosine[1:])))
    return Path(length, depth, x, y)


def resistance(felt: Felt, depth: FloatArray, faults: Faults) -> FloatArray:
    """Return the resistance of steady pushing at depths, with planted stones [kPa]."""
    qt = felt.at("qt", depth)
    for stone in faults.all("stone"):
        bump = np.exp(-(((depth - (stone.where or 0.0)) / 0.07) ** 2))
        qt = np.maximum(qt, stone.value * 1000 * bump)
    return qt


def sense(
    ground: Ground,
    felt: Felt,
    plan: Plan,
    faults: Faults,
    path: Path,
    motion: Motion,
    times: FloatArray,
    rng: np.random.Generator,
) -> dict[str, FloatArray]:
    """Return what the cone shows at times.

    Parameters
    ----------
    times
        [s] on the clock of the motion, rising.

    Returns
    -------
    dict
        qc, fs, u2 [kPa], tilt_x, tilt_y [deg], temperature [degC], each of shape (n,), and the
        true ``length`` and ``depth`` [m].
    """
    length = np.interp(times, motion.time, motion.length)
    depth = np.interp(length, path.length, path.depth)
    row = np.searchsorted(motion.time, times, side="right") - 1
    free = np.isin(motion.stage[np.clip(row, 0, len(motion.time) - 1)], FREE)
    held = _Held.follow(ground, times, length, depth)
    u0 = ground.pore_pressure(depth)
    true_u2 = u0 + (felt.at("u2", depth) - u0) * held.pore
    qt = resistance(felt, depth, faults) * held.tip
    fs = felt.at("fs", depth) * held.sleeve
    shown = true_u2
    if plan.air_in_filter or "desaturated" in faults:
        shown = _late(true_u2, qt, times)
    clean = {"qc": qt - (1 - plan.area_ratio) * true_u2, "fs": fs, "u2": shown}
    drift = dict(zip(("qc", "fs", "u2"), plan.zero_drift, strict=True))
    drift["qc"] += faults.value("drift")
    pushing = np.interp(times, motion.time, np.cumsum(~np.isin(motion.stage, FREE)))
    share = pushing / max(pushing[-1], 1.0)
    sensed = {
        key: np.where(free, 0.0, value)
        + drift[key] * share
        + NOISE[key] * rng.standard_normal(len(times))
        for key, value in clean.items()
    }
    cold = 11.0 + 3.0 * np.exp(-depth / 4.0)
    sensed["temperature"] = np.where(free, 13.5, cold) + 0.03 * rng.standard_normal(len(times))
    for key in ("tilt_x", "tilt_y"):
        tilt = np.interp(length, path.length, getattr(path, key))
        sensed[key] = np.where(free, 0.1, tilt) + 0.01 * rng.standard_normal(len(times))
    kept = {key: value for key, value in sensed.items() if key not in plan.without}
    return {**kept, "length": length, "depth": depth}


@dataclass(frozen=True)
class _Held:
    """Share of each value of steady pushing that is there: 1 while moving on."""

    tip: FloatArray
    sleeve: FloatArray
    pore: FloatArray

    @classmethod
    def follow(
        cls, ground: Ground, times: FloatArray, length: FloatArray, depth: FloatArray
    ) -> _Held:
        factor, degree = np.array(TIME_FACTOR).T
        soft = ground.values("pore", depth) > 0.1
        drained = ground.values("density", depth) > 0
        speed = np.where(drained, 1e-2, ground.values("ch", depth)) / (RADIUS**2 * RIGIDITY_ROOT)
        held = np.ones((3, len(times)))
        tip = sleeve = pore = 1.0
        stood, at_stop = 0.0, 1.0
        for i in range(1, len(times)):
            dt, dl = times[i] - times[i - 1], length[i] - length[i - 1]
            if dl < 1e-4:
                stood += dt
                low = 0.94 if soft[i] else 0.97
                tip = low + (tip - low) * np.exp(-dt / 12)
                sleeve = 0.88 + (sleeve - 0.88) * np.exp(-dt / 12)
                reached = np.interp(np.sqrt(speed[i] * stood), np.sqrt(factor), degree)
                pore = at_stop * (1 - reached)
            else:
                reach = 0.07 if soft[i] else 0.15
                tip = 1 - (1 - tip) * np.exp(-dl / reach)
                sleeve = 1 - (1 - sleeve) * np.exp(-dl / 0.12)
                pore = 1 - (1 - pore) * np.exp(-dl / 0.25)
                stood, at_stop = 0.0, pore
            held[:, i] = tip, sleeve, pore
        return cls(*held)


def _late(u2: FloatArray, qt: FloatArray, times: FloatArray, lag: float = 60.0) -> FloatArray:
    """Return what a filter with air in it shows: late, damped, drawn to a vacuum in dense sand."""
    shown = np.empty_like(u2)
    state = 0.0
    for i, target in enumerate(u2):
        dt = times[i] - times[i - 1] if i else 0.0
        pull = -70.0 if qt[i] > 12_000 else 0.45 * target
        state += (pull - state) * (1 - np.exp(-dt / lag))
        shown[i] = state
    return np.maximum(shown, -90.0)

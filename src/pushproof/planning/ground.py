"""Ground that is expected along a push: layers, a design profile, or soundings nearby.

All become one table on an even grid: the middle value of cone resistance and sleeve friction, and
how far the resistance of one more sounding may lie from it (standard deviation of its logarithm).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import ConfigurationError
from pushproof.model.profile import Profile
from pushproof.planning.document import Layer

FloatArray = NDArray[np.float64]

STEP = 0.1
"""Grid of the planning [m]."""
LEAST_RESISTANCE = 20.0
"""Lower resistances count as this in logarithms [kPa]: the zero of a cone is no better."""
LEAST_FRICTION = 1.0
SCATTER_OF_A_GUESS = 0.5
"""Standard deviation of ln qc of layers, a design profile or one sounding nearby: own choice."""
LEAST_SCATTER = 0.25
"""No set of soundings is taken to tell the next one closer than this: own choice."""
_SMOOTH = 2.0
"""Scatter between soundings is averaged over this length [m]: own choice."""


@dataclass(frozen=True)
class Ground:
    """Expected ground.

    Parameters
    ----------
    depth
        Shape (n,): middle of each step [m].
    qc, fs
        Shape (n,): expected (median) resistance and friction [kPa]; NaN where nothing is known.
    spread
        Shape (n,): standard deviation of ln qc [-].
    source
        Where it comes from, in words.
    soundings
        Number of soundings behind it.
    """

    depth: FloatArray
    qc: FloatArray
    fs: FloatArray
    spread: FloatArray
    source: str
    soundings: int = 0

    @property
    def known_to(self) -> float:
        """Depth to which the ground is known [m]; 0 if nowhere."""
        known = np.flatnonzero(np.isfinite(self.qc))
        return float(self.depth[known[-1]] + STEP / 2) if known.size else 0.0

    def to(self, depth: float) -> Ground:
        """Return the ground down to a depth, carried on as its last metre where it ends sooner."""
        grid = depth_grid(depth)
        known = np.flatnonzero(np.isfinite(self.qc))
        if not known.size:
            raise ConfigurationError(f"{self.source}: no cone resistance is known at any depth")
        z, last = self.depth[known], known[-int(1 / STEP) :]
        beyond = grid > z[-1] + STEP / 2
        found = {}
        for key in ("qc", "fs"):
            column = np.log(np.maximum(getattr(self, key), 1e-3))
            column = np.exp(np.interp(grid, z, column[known]))
            column[beyond] = np.exp(np.mean(np.log(np.maximum(getattr(self, key)[last], 1e-3))))
            found[key] = column
        spread = np.interp(grid, z, self.spread[known])
        more = np.maximum(grid - z[-1], 0.0)
        # what is not known grows uncertain with the distance: own choice
        spread = np.hypot(spread, np.where(beyond, 0.3 * np.sqrt(more), 0.0))
        return replace(self, depth=grid, qc=found["qc"], fs=found["fs"], spread=spread)


def depth_grid(depth: float) -> FloatArray:
    """Return the middles of the steps down to a depth [m]; the last one holds it."""
    count = max(math.ceil(depth / STEP - 1e-6), 1)
    middles: FloatArray = np.asarray((np.arange(count) + 0.5) * STEP, dtype=np.float64)
    return middles


def from_layers(layers: Sequence[Layer]) -> Ground:
    """Return the ground that layers describe."""
    grid = depth_grid(max(layer.base for layer in layers))
    qc, fs, spread = (np.full(grid.shape, np.nan) for _ in range(3))
    for layer in layers:
        inside = (grid >= layer.top) & (grid < layer.base)
        qc[inside], fs[inside] = layer.qc, layer.friction
        spread[inside] = layer.scatter or SCATTER_OF_A_GUESS
    words = f"{len(layers)} layers of the plan"
    return Ground(grid, qc, fs, spread, words)


def from_profile(path: str | Path, scatter: float | None = None) -> Ground:
    """Return the ground of a design profile: a text file with depth [m], qc and fs [kPa].

    Raises
    ------
    ConfigurationError
        If it cannot be read; the line is named.
    """
    path = Path(path)
    rows: list[list[float]] = []
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"design profile {path}: {error}") from error
    for number, line in enumerate(lines, 1):
        words = line.replace(";", ",").split(",")
        try:
            rows.append([float(word) for word in words[:3]])
        except ValueError:
            if rows and line.strip():  # a heading may stand above the first row
                text = f"line {number}: expected depth, qc, fs as numbers, found {line!r}"
                raise ConfigurationError(f"design profile {path}: {text}") from None
    if len(rows) < 2 or {len(row) for row in rows} != {3}:
        raise ConfigurationError(f"design profile {path}: expected rows of depth, qc, fs [m, kPa]")
    depth, qc, fs = np.array(rows).T
    if np.any(np.diff(depth) < 0):
        raise ConfigurationError(f"design profile {path}: depth does not grow from row to row")
    grid = depth_grid(float(depth[-1]))
    outside = grid < depth[0] - STEP
    q, f = (np.where(outside, np.nan, np.interp(grid, depth, values)) for values in (qc, fs))
    spread = np.full(grid.shape, scatter or SCATTER_OF_A_GUESS)
    return Ground(grid, q, f, spread, f"design profile {path.name}")


def from_soundings(profiles: Sequence[Profile]) -> Ground:
    """Return the ground that soundings nearby show: their median, and their scatter.

    One sounding gives the scatter of a guess; from two on it is the standard deviation of the
    logarithms, averaged over two metres and never below :data:`LEAST_SCATTER`.
    """
    if not profiles:
        raise ValueError("no sounding given")
    grid = depth_grid(max(_deepest(profile) for profile in profiles))
    q = np.array([binned(profile, "qt", grid) for profile in profiles])
    f = np.array([binned(profile, "fs", grid) for profile in profiles])
    log_q = np.log(np.maximum(q, LEAST_RESISTANCE))
    count = np.isfinite(log_q).sum(axis=0)
    middle, spread = np.full(grid.shape, np.nan), np.full(grid.shape, SCATTER_OF_A_GUESS)
    some = count > 0
    middle[some] = np.exp(np.nanmedian(log_q[:, some], axis=0))
    if np.any(count > 1):
        several = count > 1
        variance = np.zeros(grid.shape)
        variance[several] = np.nanvar(log_q[:, several], axis=0, ddof=1)
        window = np.ones(round(_SMOOTH / STEP))
        weight = np.convolve(several * (count - 1.0), window, "same")
        total = np.convolve(variance * several * (count - 1.0), window, "same")
        enough = weight > 0
        spread[enough] = np.maximum(np.sqrt(total[enough] / weight[enough]), LEAST_SCATTER)
    friction = np.full(grid.shape, np.nan)
    measured = np.isfinite(f).any(axis=0)
    friction[measured] = np.nanmedian(np.maximum(f[:, measured], LEAST_FRICTION), axis=0)
    friction = np.where(np.isfinite(friction), friction, 0.015 * middle)
    names = ", ".join(profile.sounding.name for profile in profiles[:4])
    more = f" and {len(profiles) - 4} more" if len(profiles) > 4 else ""
    words = "sounding" if len(profiles) == 1 else f"{len(profiles)} soundings"
    return Ground(grid, middle, friction, spread, f"{words} nearby: {names}{more}", len(profiles))


def _deepest(profile: Profile) -> float:
    depth = profile.series.get("depth")
    return float(np.nanmax(depth)) if np.isfinite(depth).any() else STEP


def binned(profile: Profile, key: str, grid: FloatArray) -> FloatArray:
    """Return the mean of a column in each step of :func:`depth_grid`; NaN where it has no reading.

    ``qt`` falls back on ``qc``; short gaps are bridged.
    """
    series = profile.series
    if key == "qt" and not series.measured("qt"):
        key = "qc"
    mean = mean_in_steps(series.get("depth"), series.get(key), len(grid))
    filled = np.flatnonzero(np.isfinite(mean))
    if filled.size > 1:
        holes = np.setdiff1d(np.arange(filled[0], filled[-1]), filled)
        nearest = np.searchsorted(filled, holes)
        short = (filled[nearest] - filled[nearest - 1]) * STEP <= 0.6
        mean[holes[short]] = np.interp(grid[holes[short]], grid[filled], mean[filled])
    return mean


def mean_in_steps(depth: FloatArray, values: FloatArray, steps: int) -> FloatArray:
    """Return the mean of values in each of the first steps from 0; NaN where there is none."""
    known = np.isfinite(depth) & np.isfinite(values) & (depth >= 0)
    place = np.floor(depth[known] / STEP + 1e-9).astype(np.int64)
    inside = place < steps
    total = np.bincount(place[inside], values[known][inside], steps)
    count = np.bincount(place[inside], minlength=steps)
    mean: FloatArray = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    return mean

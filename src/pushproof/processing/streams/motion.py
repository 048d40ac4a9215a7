"""The clock of a cone whose link was silent: from motion alone.

With no packet there is no arrival. What is left is that the cone is quiet while the rods stand:
its readings and the encoder show the same pattern of motion and rest, shifted by the offset of
the clocks. The shift of the best match is taken only where no other shift matches nearly as well.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pushproof.processing.streams.clocks import DRIFT_PRIOR, ClockFit, Start, delay_by_pauses

FloatArray = NDArray[np.float64]

GRID = 0.5
"""Grid on which the patterns are compared [s]."""

AHEAD, ALIKE, STARTS = 1.13, 0.5, 8
"""The best match must beat every other, 10 s or more away, by the first; be a correlation of at
least the second; and rest on so many starts. On 27 simulated pushes each right match passed with
ten rods or more, and no memory of another sounding did."""


def fit_motion(
    cone_time: ArrayLike,
    qc: ArrayLike,
    depth_time: ArrayLike,
    length: ArrayLike,
    starts: Sequence[Start],
) -> ClockFit | None:
    """Fit the cone clock by matching motion and rest.

    Parameters
    ----------
    cone_time, qc
        Readings of the memory, ascending, shape (n,) [s, kPa].
    depth_time, length
        The encoder: surface time [s] and penetration length [m], shape (m,).
    starts
        Starts after pauses, from the encoder.

    Returns
    -------
    ClockFit or None
        None where no shift stands out; the drift stays at its prior.

    Notes
    -----
    Both patterns lose their running mean over 90 s, so that one long pause does not outweigh the
    many rod changes, and are correlated on a common grid for every shift. The
    match to half a second is then sharpened by :func:`~.clocks.delay_by_pauses`.
    """
    t, values = np.asarray(cone_time, float), np.asarray(qc, float)
    dt, dl = np.asarray(depth_time, float), np.asarray(length, float)
    if len(t) < 60 or len(dt) < 60 or len(starts) < STARTS:
        return None
    cone_grid = np.arange(t[0], t[-1], GRID)
    rods_grid = np.arange(dt[0], dt[-1], GRID)
    moving = np.diff(np.interp(rods_grid, dt, dl), prepend=dl[0]) > 0.002 * GRID
    lively = _liveliness(t, values, cone_grid)
    a, b = _sharp(lively), _sharp(moving.astype(np.float64))
    size = 1 << int(np.ceil(np.log2(len(a) + len(b))))
    match = np.fft.irfft(np.fft.rfft(b, size) * np.conj(np.fft.rfft(a, size)), size)
    best = int(np.argmax(match))
    lag = best - size if best > size // 2 else best
    away = np.abs((np.arange(size) - best + size // 2) % size - size // 2) > 10.0 / GRID
    alike = match[best] / np.sqrt(float((a**2).sum() * (b**2).sum()) + 1e-12)
    if match[best] < AHEAD * match[away].max() or alike < ALIKE:
        return None
    origin = float(t.mean())
    offset = float(rods_grid[0] - cone_grid[0] + lag * GRID)
    rough = ClockFit(origin, offset, 1.0, 0.0, DRIFT_PRIOR, first=float(t[0]), last=float(t[-1]))
    # Arrivals are one-sided, this match is not: look for the rest from 1.5 s on the early side.
    early = ClockFit(origin, offset + 1.5, 1.0, 0.0, DRIFT_PRIOR)
    found = delay_by_pauses(early, t, values, starts, dt, dl)
    if found is None:
        return rough
    delay, sd, pauses = found
    return ClockFit(
        origin,
        offset + 1.5 - delay,
        sd,
        0.0,
        DRIFT_PRIOR,
        pauses=pauses,
        first=float(t[0]),
        last=float(t[-1]),
    )


def _liveliness(t: FloatArray, values: FloatArray, grid: FloatArray) -> FloatArray:
    """Return 1 where the tip resistance changes as in motion, 0 as at rest, smoothed over 3 s."""
    change = np.abs(np.diff(values)) / np.maximum(np.diff(t), 1e-3)
    change = np.where(np.isfinite(change), change, 0.0)
    level = np.log(np.maximum(change, 1.0))
    middle = 0.5 * (np.quantile(level, 0.1) + np.quantile(level, 0.9))
    busy = np.interp(grid, t[1:], np.clip(level - middle, -1.5, 1.5))
    width = int(3.0 / GRID)
    return np.convolve(busy, np.ones(width) / width, mode="same")


def _sharp(pattern: FloatArray) -> FloatArray:
    width = int(90.0 / GRID)
    level: FloatArray | np.float64 = pattern.mean()
    if len(pattern) > width:
        level = np.convolve(pattern, np.ones(width) / width, mode="same")
    return np.asarray(pattern - level)

"""The time between two traces of the same wave, by cross-correlation, finer than a sample."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.signal import butter, sosfiltfilt

from pushproof.equations.arrays import FloatArray
from pushproof.model.seismic import Trace

FINER = 16
"""Traces are brought to so many times the rate before the peak is looked for; a parabola through
three points gives the rest."""
ORDER = 4
"""Order of the low-pass; it is run both ways, so it shifts nothing."""


@dataclass(frozen=True)
class Handling:
    """How traces are made ready: the same for both of a pair.

    Parameters
    ----------
    lowpass
        Corner of the low-pass [Hz]; None for none.
    window
        Part of the upper trace that is looked for in the lower one, from and to after the trigger
        [s]; None for all.
    slowest, fastest
        Velocities between which the shift is looked for [m/s].
    """

    lowpass: float | None = None
    window: tuple[float, float] | None = None
    slowest: float = 30.0
    fastest: float = 2000.0

    @property
    def words(self) -> str:
        """What was done, for sheets."""
        filtered = "no filter"
        if self.lowpass is not None:
            filtered = f"low-pass {self.lowpass:g} Hz both ways"
        part = "whole trace"
        if self.window is not None:
            part = f"window {self.window[0] * 1e3:g} to {self.window[1] * 1e3:g} ms above"
        return f"cross-correlation, {filtered}, {part}"


@dataclass(frozen=True)
class Shift:
    """Time from the upper to the lower trace [s], and the correlation coefficient there."""

    time: float
    correlation: float
    at_edge: bool = False


def shift(upper: Trace, lower: Trace, path: float, handling: Handling) -> Shift:
    """Return how much later the wave is in the lower trace.

    Parameters
    ----------
    upper, lower
        Traces with the same interval between samples.
    path
        Difference of their paths [m].
    handling
        Filter, window and range of velocities.

    Raises
    ------
    ValueError
        If the traces differ in interval, or the window leaves too few samples.
    """
    if not math.isclose(upper.interval, lower.interval, rel_tol=1e-6):
        raise ValueError(
            f"traces at {upper.depth:g} and {lower.depth:g} m: sample intervals of "
            f"{upper.interval * 1e3:g} and {lower.interval * 1e3:g} ms; resample one"
        )
    interval = upper.interval
    first, start = _windowed(upper, handling)
    second, other = _ready(lower, handling), lower.start
    size = len(first) + len(second)
    length = 1 << (2 * size - 1).bit_length()
    product = np.conj(np.fft.rfft(first, length)) * np.fft.rfft(second, length)
    # zeros beyond the top frequency are the exact interpolation of a sampled band-limited wave
    finer = np.fft.irfft(product, length * FINER) * FINER
    step = interval / FINER
    offset = other - start
    low = math.ceil((path / handling.fastest - offset) / step)
    high = math.floor((path / handling.slowest - offset) / step)
    lags = np.arange(low, high + 1)
    energy = _energies(first, second, lags / FINER)
    if len(lags) < 3 or not (energy > 0).any():
        return Shift(math.nan, math.nan)
    values = np.where(energy > 0, finer[lags % len(finer)] / np.where(energy > 0, energy, 1.0), 0.0)
    best = int(np.argmax(values))
    if best in (0, len(lags) - 1):
        return Shift(float(lags[best] * step + offset), float(values[best]), at_edge=True)
    before, peak, after = values[best - 1 : best + 2]
    curve = before - 2.0 * peak + after
    part = 0.0 if curve == 0 else 0.5 * (before - after) / curve
    height = float(peak - 0.25 * (before - after) * part)
    return Shift(float((lags[best] + part) * step + offset), min(height, 1.0))


def stacked(traces: list[Trace]) -> Trace:
    """Return the mean of traces of the same strike at the same receiver.

    Raises
    ------
    ValueError
        If they differ in start, interval or length.
    """
    first = traces[0]
    for one in traces[1:]:
        if (one.start, one.interval, len(one.values)) != (
            first.start,
            first.interval,
            len(first.values),
        ):
            raise ValueError(f"traces at {first.depth:g} m differ in start, interval or length")
    if len(traces) == 1:
        return first
    mean = np.mean([one.values for one in traces], axis=0)
    return Trace(
        first.depth,
        first.offset,
        first.start,
        first.interval,
        mean,
        first.receiver,
        first.strike,
        first.shot,
    )


def _ready(trace: Trace, handling: Handling) -> FloatArray:
    """Return the samples without mean, filtered."""
    samples = np.nan_to_num(np.asarray(trace.values, dtype=np.float64))
    values: FloatArray = samples - samples.mean()
    if handling.lowpass is None:
        return values
    nyquist = 0.5 / trace.interval
    if not 0 < handling.lowpass < nyquist:
        raise ValueError(
            f"low-pass of {handling.lowpass:g} Hz: expected below {nyquist:g} Hz, half the "
            "sampling rate"
        )
    sos = butter(ORDER, handling.lowpass / nyquist, output="sos")
    return np.asarray(sosfiltfilt(sos, values))


def _windowed(trace: Trace, handling: Handling) -> tuple[FloatArray, float]:
    """Return the samples of the window and the time of the first [s].

    Only the upper trace is cut: a window on both would cut the wave off the lower one.
    """
    values, start = _ready(trace, handling), trace.start
    if handling.window is not None:
        first = max(round((handling.window[0] - trace.start) / trace.interval), 0)
        last = round((handling.window[1] - trace.start) / trace.interval) + 1
        values, start = values[first:last], trace.start + first * trace.interval
    if len(values) < 8:
        raise ValueError(f"trace at {trace.depth:g} m: {len(values)} samples in the window")
    return values, start


def _energies(first: FloatArray, second: FloatArray, lags: FloatArray) -> FloatArray:
    """Return the root of the energies of both traces, of the second where it lies at each lag."""
    total = np.concatenate([[0.0], np.cumsum(second * second)])
    places = np.arange(len(total), dtype=np.float64)
    inside = np.interp(lags + len(first), places, total) - np.interp(lags, places, total)
    return np.asarray(np.sqrt(np.maximum(inside, 0.0) * float(first @ first)))

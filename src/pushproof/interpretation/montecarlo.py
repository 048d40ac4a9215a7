"""The Monte Carlo form of bands: all errors drawn at once, the chain run for every draw.

Rows are taken a few at a time with all draws, so that memory stays small whatever the number of
draws. One number per draw stands for a systematic error or for the scatter of a relation, at every
depth; noise is drawn from row to row with a short correlation length. Percentiles are those of the
draws that give a value.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.arrays import FloatArray
from pushproof.interpretation.ensemble import Draws, Ensemble
from pushproof.interpretation.orderstatistics import order_statistics
from pushproof.interpretation.uncertainty import ChannelError

CELLS = 10_000
"""Rows times draws that are run at once: large enough to be quick, small enough for the cache."""

NOISE_LENGTH = 0.05
"""Correlation length of the noise of a channel along depth [m]: readings closer than about the
width of a cone are of the same ground. Common sense, no source."""

LITTLE = 0.03
"""Noise below this part of the systematic error is left out: it widens a band by less than
0.05 %, and drawing it takes as long as a third of the chain."""

QUANTILES = (0.1, 0.5, 0.9)


@dataclass(frozen=True)
class Spread:
    """Percentiles and the share of the draws that gave a value, by key, shape (n,)."""

    quantiles: dict[str, tuple[FloatArray, FloatArray, FloatArray]]
    share: dict[str, FloatArray]


def monte_carlo(
    ready: Ensemble, draws: int, seed: int, *, measurement: bool = True, relation: bool = True
) -> Spread:
    """Draw all errors and return the percentiles of every column.

    Parameters
    ----------
    ready
        What to run.
    draws, seed
        Number of draws; the same seed gives the same result.
    measurement, relation
        Parts to put in.
    """
    rows = len(ready.interpretation)
    series = ready.interpretation.series
    found = {key: np.full((3, rows), np.nan) for key in ready.keys}
    share = {key: np.zeros(rows) for key in ready.keys}
    there = {key: np.isfinite(series[key]) for key in ready.keys}
    drawn = _drawn(ready, draws, seed, measurement=measurement, relation=relation)
    for part, numbers in drawn:
        for key, values in ready.evaluate(part, numbers).items():
            kept = there[key][part]
            if kept.any():
                _percentiles(values, draws, kept, found[key][:, part], share[key][part])
    quantiles = {key: (three[0], three[1], three[2]) for key, three in found.items()}
    return Spread(quantiles, share)


def drawn_means(
    ready: Ensemble,
    rows: NDArray[np.bool_],
    draws: int,
    seed: int,
    *,
    measurement: bool = True,
    relation: bool = True,
) -> FloatArray:
    """Return the mean of one column over some rows in every draw, shape (draws,).

    Parameters
    ----------
    ready
        What to run, made for one column.
    rows
        Rows that count, shape (n,); a row without a value in a draw does not count in it.
    draws, seed
        Number of draws; the same seed gives the same result.
    measurement, relation
        Parts to put in.
    """
    (key,) = ready.keys
    total, count = np.zeros(draws), np.zeros(draws)
    drawn = _drawn(ready, draws, seed, measurement=measurement, relation=relation)
    for part, numbers in drawn:
        chosen = rows[part]
        if chosen.any():
            values = ready.evaluate(part, numbers)[key][chosen]
            there = np.isfinite(values)
            total += np.where(there, values, 0.0).sum(axis=0)
            count += there.sum(axis=0)
    with np.errstate(invalid="ignore"):
        return total / count


def _drawn(
    ready: Ensemble, draws: int, seed: int, *, measurement: bool, relation: bool
) -> Iterator[tuple[slice, Draws]]:
    """Yield blocks of rows with their numbers; the order of drawing does not hang on the blocks."""
    rng = np.random.default_rng(seed)
    system = {one.channel: rng.standard_normal(draws) for one in ready.errors}
    of_step = {p: ready.move(p, rng.standard_normal(draws)) for p in ready.scatters}
    of_factor = {name: rng.standard_normal(draws) for name in ready.spreads}
    noisy = [one.channel for one in ready.errors if _counts(one)]
    if not relation:
        of_step, of_factor = {}, {}
    if not measurement:
        system, noisy = {}, []
    memory = _memory(ready.interpretation.series["depth"])
    state = {channel: rng.standard_normal(draws) for channel in noisy}
    rows = len(ready.interpretation)
    block = max(1, CELLS // draws)
    for top in range(0, rows, block):
        part = slice(top, min(top + block, rows))
        noise = {channel: np.empty((part.stop - top, draws)) for channel in noisy}
        for row in range(top, part.stop):
            kept = memory[row]
            for channel in noisy:
                new = rng.standard_normal(draws)
                new *= np.sqrt(1.0 - kept * kept)
                new += kept * state[channel]
                noise[channel][row - top] = state[channel] = new
        yield part, Draws(system, noise, of_step, of_factor)


def _counts(error: ChannelError) -> bool:
    """Tell whether the noise of a channel adds to its error at any reading."""
    least = float(np.min(error.system, initial=np.inf))
    return error.noise > LITTLE * least


def _memory(depth: FloatArray) -> FloatArray:
    """Return the correlation of the noise of each row with the row before."""
    steps = np.abs(np.diff(depth, prepend=np.nan))
    return np.where(np.isfinite(steps), np.exp(-steps / NOISE_LENGTH), 0.0)


def _percentiles(
    values: FloatArray, draws: int, kept: NDArray[np.bool_], found: FloatArray, share: FloatArray
) -> None:
    """Put in p10, p50, p90 of the rows kept, shape (3, rows), and the share that has a value."""
    if values.shape[1] == 1:
        found[:, kept] = values[kept, 0]
        share[kept] = np.isfinite(values[kept, 0])
        return
    single = values.astype(np.float32)
    for row in np.flatnonzero(kept).tolist():
        there = single[row]
        if np.isnan(there.min()):
            there = there[~np.isnan(there)]
        share[row] = len(there) / draws
        if len(there):
            places = [round(q * (len(there) - 1)) for q in QUANTILES]
            found[:, row] = order_statistics(there, places)

"""The first-order form of bands: each error at one standard deviation either way, one at a time.

Half the difference of the two results is what the error does, in the logarithm of the value for
columns that are factors of the ground, in the value itself for indices, angles and shares. The
errors are independent, so that their squares add. A scatter at the end of a branch of the chain
needs no run: it acts on its own column alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pushproof.equations.arrays import FloatArray
from pushproof.equations.scatter import TENTH, Scatter, ScatterKind
from pushproof.interpretation.chain import BLOCK
from pushproof.interpretation.ensemble import Draws, Ensemble

ADDED = frozenset({"Bq", "n", "Ic", "IB", "CD", "psi", "phi", "Dr", "FC"})
"""Columns whose errors are taken in their own unit; all others as factors."""


@dataclass(frozen=True)
class Parts:
    """The two parts of each column, as standard deviations of shape (n,).

    Parameters
    ----------
    ready
        What was run.
    measurement, relation
        Key to the part, in the logarithm or in the inside unit; see :data:`ADDED`.
    channels
        Key, then channel, to the largest share of the variance of the measurement it makes up.
    """

    ready: Ensemble
    measurement: dict[str, FloatArray]
    relation: dict[str, FloatArray]
    channels: dict[str, dict[str, float]]

    def added(self, key: str) -> bool:
        """Tell whether the parts of a column are in its own unit."""
        return key in ADDED

    def quantiles(
        self, key: str, *, measurement: bool, relation: bool
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return p10, p50 and p90 of a column, p50 being the value itself."""
        value = self.ready.interpretation.series[key]
        deviation = np.zeros(len(value))
        if measurement:
            deviation = np.hypot(deviation, self.measurement[key])
        if relation:
            deviation = np.hypot(deviation, self.relation[key])
        p10, p90 = reach(value, deviation, self.added(key))
        if self.added(key):
            p10, p90 = (np.clip(one, *self._limits(key)) for one in (p10, p90))
        return p10, np.where(np.isfinite(p10), value, np.nan), p90

    def _limits(self, key: str) -> tuple[float, float]:
        steps, scatters = self.ready.steps, self.ready.scatters
        found = [one for place, one in scatters.items() if steps[place].key == key]
        return (
            min((one.low for one in found), default=-np.inf),
            max((one.high for one in found), default=np.inf),
        )


def reach(value: FloatArray, deviation: FloatArray, added: bool) -> tuple[FloatArray, FloatArray]:
    """Return p10 and p90 about a value, the deviation in its unit or of its logarithm."""
    if added:
        return value - TENTH * deviation, value + TENTH * deviation
    factor = np.exp(TENTH * deviation)
    return value / factor, value * factor


@dataclass(frozen=True, slots=True)
class _Source:
    """One error: of a channel, of a relation that others build on, or of a factor."""

    kind: str
    name: str | int

    @property
    def measured(self) -> bool:
        return self.kind in ("system", "noise")


def first_order(ready: Ensemble) -> Parts:
    """Return the two parts of every column that the ensemble is made for."""
    sources = _sources(ready)
    rows = len(ready.interpretation)
    changes = {key: np.zeros((len(sources), rows)) for key in ready.keys}
    if sources:
        block = max(1, BLOCK // (2 * len(sources)))
        for top in range(0, rows, block):
            _fill(changes, ready, sources, slice(top, min(top + block, rows)))
    of_channel = np.array([source.measured for source in sources], dtype=bool)
    measurement, relation, channels = {}, {}, {}
    for key, change in changes.items():
        square = change * change
        of_measurement = square[of_channel].sum(axis=0)
        of_relation = square[~of_channel].sum(axis=0) + _own(ready, key) ** 2
        gone = ~np.isfinite(ready.interpretation.series[key])
        measurement[key] = np.where(gone, np.nan, np.sqrt(of_measurement))
        relation[key] = np.where(gone, np.nan, np.sqrt(of_relation))
        channels[key] = _shares(sources, square, of_measurement)
    return Parts(ready, measurement, relation, channels)


def _sources(ready: Ensemble) -> list[_Source]:
    found = [_Source("system", one.channel) for one in ready.errors if np.any(one.system > 0)]
    found += [_Source("noise", one.channel) for one in ready.errors if one.noise > 0]
    found += [_Source("relation", k) for k in ready.scatters if not ready.ends(k)]
    return found + [_Source("factor", name) for name in ready.spreads]


def _fill(
    changes: dict[str, FloatArray], ready: Ensemble, sources: list[_Source], rows: slice
) -> None:
    """Put in what each source does at some rows."""
    count = len(sources)
    draws = Draws({}, {}, {}, {})
    for k, source in enumerate(sources):
        z = np.zeros(2 * count)
        z[k], z[count + k] = 1.0, -1.0
        _put(draws, source, z, ready)
    found = ready.evaluate(rows, draws)
    size = rows.stop - rows.start
    for key, values in found.items():
        both = np.broadcast_to(values, (size, 2 * count))
        middle = ready.interpretation.series[key][rows, None]
        if key not in ADDED:
            with np.errstate(all="ignore"):
                both, middle = np.log(both), np.log(middle)
        changes[key][:, rows] = _half_difference(both[:, :count], both[:, count:], middle).T


def _put(draws: Draws, source: _Source, z: FloatArray, ready: Ensemble) -> None:
    """Put the numbers of one source among the draws."""
    if source.kind == "noise":
        draws.noise[str(source.name)] = z[None]
    elif source.kind == "system":
        draws.system[str(source.name)] = z
    elif source.kind == "factor":
        draws.factor[str(source.name)] = z
    else:
        place = int(source.name)
        draws.relation[place] = ready.move(place, z)


def _half_difference(up: FloatArray, down: FloatArray, middle: FloatArray) -> FloatArray:
    """Return half the difference; the one side that there is where the other has no value."""
    half = 0.5 * (up - down)
    half = np.where(np.isfinite(up), half, middle - down)
    return np.where(np.isfinite(down), half, up - middle)


def _own(ready: Ensemble, key: str) -> FloatArray:
    """Return the scatter of the relations of a column that nothing else builds on."""
    value = ready.interpretation.series[key]
    size = np.zeros(len(value))
    for place, scatter in ready.scatters.items():
        step = ready.steps[place]
        if step.key == key and ready.ends(place):
            size = np.where(ready.holds(step.ground), _in_scale(scatter, key, value), size)
    return size


def _in_scale(scatter: Scatter, key: str, value: FloatArray) -> FloatArray:
    is_factor = scatter.kind is ScatterKind.FACTOR
    if is_factor == (key not in ADDED):
        return np.full(len(value), scatter.size)
    with np.errstate(all="ignore"):
        return np.abs(value) * scatter.size if is_factor else scatter.size / np.abs(value)


def _shares(sources: list[_Source], square: FloatArray, total: FloatArray) -> dict[str, float]:
    shares: dict[str, float] = {}
    there = total > 0
    for k, source in enumerate(sources):
        if source.measured and there.any():
            share = float(np.nanmax(square[k][there] / total[there], initial=0.0))
            name = str(source.name)
            shares[name] = max(shares.get(name, 0.0), share)
    return shares

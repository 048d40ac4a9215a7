"""Bands: how far a derived value may be off, from two parts that stay apart.

The measurement part is what the channels may be off; the relation part is how far the ground
strays from the published fit, and a factor from the value used. See ``docs/explanation/bands.md``.
Not in a band: depth, water level, area ratio, the choice of the relation, and whether the ground
is what it was judged to be.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Literal

import numpy as np

from pushproof.equations.arrays import FloatArray
from pushproof.interpretation.basis import BandBasis, basis_of
from pushproof.interpretation.chain import Mask
from pushproof.interpretation.ensemble import Ensemble, ensemble
from pushproof.interpretation.firstorder import Parts, first_order
from pushproof.interpretation.montecarlo import QUANTILES, drawn_means, monte_carlo
from pushproof.interpretation.seismic.measured import measured_keys, measured_rows
from pushproof.model.profile import Interpretation

Method = Literal["first-order", "monte-carlo"]

NOT_IN_A_BAND = (
    "depth, water level, area ratio, the choice of the relation, and whether the ground is what "
    "it was judged to be"
)
"""What no band holds; footnotes say it."""


class Part(StrEnum):
    """The two parts of a band."""

    MEASUREMENT = "measurement"
    RELATION = "relation"


BOTH = (Part.MEASUREMENT, Part.RELATION)


@dataclass(frozen=True)
class Band:
    """Band of one column; all arrays of shape (n,) in the inside unit, NaN where there is none.

    Parameters
    ----------
    key
        The column.
    p10, p50, p90
        Values that are not reached in one, five and nine cases of ten.
    scale
        ``"factor"``: the parts are standard deviations of the natural logarithm; ``"added"``:
        standard deviations in the inside unit.
    measurement, relation
        Standard deviation of each part, by the first-order form.
    share
        Share of the draws that gave a value; 1 in the first-order form.
    basis
        What the band rests on.
    """

    key: str
    p10: FloatArray
    p50: FloatArray
    p90: FloatArray
    scale: Literal["factor", "added"]
    measurement: FloatArray
    relation: FloatArray
    share: FloatArray
    basis: BandBasis

    @property
    def note(self) -> str:
        """What the band rests on, as a footnote."""
        return self.basis.note


@dataclass(frozen=True)
class Bands(Mapping[str, Band]):
    """Bands of the derived columns of an interpretation, by key.

    Parameters
    ----------
    interpretation
        What they belong to.
    method
        ``"first-order"`` or ``"monte-carlo"``.
    parts
        Parts that are in them.
    draws, seed
        Of the Monte Carlo form; 0 draws in the first-order form.
    """

    interpretation: Interpretation
    method: Method
    parts: tuple[Part, ...]
    draws: int
    seed: int
    by_key: Mapping[str, Band]

    def __getitem__(self, key: str) -> Band:
        """Return the band of a column."""
        try:
            return self.by_key[key]
        except KeyError:
            raise KeyError(f"no band of {key!r}; there are: {' '.join(self.by_key)}") from None

    def __iter__(self) -> Iterator[str]:
        """Iterate over the keys."""
        return iter(self.by_key)

    def __len__(self) -> int:
        """Return the number of bands."""
        return len(self.by_key)

    @property
    def words(self) -> str:
        """How they were made, in a few words."""
        if self.method == "first-order":
            return "p10 to p90, first order"
        return f"p10 to p90 of {self.draws} draws, seed {self.seed}"


def bands(
    interpretation: Interpretation,
    *,
    draws: int = 1000,
    seed: int = 0,
    method: Method = "first-order",
    keys: Iterable[str] | None = None,
    parts: Iterable[Part | str] = BOTH,
) -> Bands:
    """Return the bands of derived columns.

    Parameters
    ----------
    interpretation
        What to give bands to.
    draws, seed
        Number of draws and seed of the Monte Carlo form; the same seed gives the same bands.
    method
        ``"first-order"``: the chain run again with each error at one standard deviation either
        way, quick enough for a screen. ``"monte-carlo"``: with all errors drawn at once.
    keys
        Columns wanted; all derived ones but the labels where None.
    parts
        Parts to put in: the measurement, the relation, or both.

    Returns
    -------
    Bands
        p10, p50 and p90 of each column, with its two parts and what it rests on.

    Raises
    ------
    ValueError
        Listing every wrong argument.

    Examples
    --------
    >>> import numpy as np
    >>> from pushproof.interpretation import interpret
    >>> from pushproof.model.series import Series
    >>> from pushproof.model.sounding import Sounding
    >>> from pushproof.processing import process
    >>> columns = {"length": np.array([4.0]), "qc": np.array([900.0]), "fs": np.array([20.0])}
    >>> derived = interpret(process(Sounding("A", Series(columns))))
    >>> su = bands(derived, keys=["su"], parts=["relation"])["su"]
    >>> [round(float(p[0])) for p in (su.p10, su.p50, su.p90)]
    [40, 59, 88]
    """
    chosen = _checked(draws, method, parts)
    ready = ensemble(interpretation, keys)
    split = first_order(ready)
    if method == "monte-carlo":
        spread = monte_carlo(
            ready,
            draws,
            seed,
            measurement=Part.MEASUREMENT in chosen,
            relation=Part.RELATION in chosen,
        )
        made = {
            key: _band(ready, split, key, spread.quantiles[key], spread.share[key])
            for key in ready.keys
        }
        made = _without_measured(made, interpretation)
        return Bands(interpretation, method, chosen, draws, seed, made)
    made = {}
    for key in ready.keys:
        quantiles = split.quantiles(
            key, measurement=Part.MEASUREMENT in chosen, relation=Part.RELATION in chosen
        )
        made[key] = _band(ready, split, key, quantiles, np.isfinite(quantiles[1]) * 1.0)
    made = _without_measured(made, interpretation)
    return Bands(interpretation, method, chosen, 0, seed, made)


@dataclass(frozen=True)
class MeanBand:
    """Band of the mean of a column between two depths, in the inside unit.

    Parameters
    ----------
    key, top, base
        Column and depths [m].
    rows
        Number of values in the mean.
    mean
        The mean itself.
    p10, p50, p90
        Its band.
    """

    key: str
    top: float
    base: float
    rows: int
    mean: float
    p10: float
    p50: float
    p90: float


def mean_band(
    interpretation: Interpretation,
    key: str,
    top: float,
    base: float,
    *,
    draws: int = 1000,
    seed: int = 0,
    parts: Iterable[Part | str] = BOTH,
) -> MeanBand:
    """Return the band of the mean of a column between two depths, by Monte Carlo.

    Systematic errors and the scatter of a relation are the same at all depths and stay in a mean;
    noise averages out. How much the ground itself varies in the interval is not in it.

    Parameters
    ----------
    interpretation, key
        Where the column stands.
    top, base
        Depths [m]; rows at both belong to it.
    draws, seed, parts
        As in :func:`bands`.

    Raises
    ------
    ValueError
        If an argument is wrong, or no row in the interval has a value.
    """
    chosen = _checked(draws, "monte-carlo", parts)
    ready = ensemble(interpretation, [key])
    depth, values = interpretation.series["depth"], interpretation.series[key]
    inside = (depth >= top) & (depth <= base) & np.isfinite(values)
    if key in measured_keys(interpretation.profile.recipe):
        inside &= ~measured_rows(interpretation.series, interpretation.profile.recipe)
    if not inside.any():
        raise ValueError(f"{key} has no estimate from {top:g} to {base:g} m")
    means = drawn_means(
        ready,
        inside,
        draws,
        seed,
        measurement=Part.MEASUREMENT in chosen,
        relation=Part.RELATION in chosen,
    )
    p10, p50, p90 = np.nanquantile(means, QUANTILES)
    mean = float(values[inside].mean())
    return MeanBand(key, top, base, int(inside.sum()), mean, float(p10), float(p50), float(p90))


def _without_measured(made: dict[str, Band], interpretation: Interpretation) -> dict[str, Band]:
    """Leave the bands of the estimate out where the velocity was measured: they are not its own."""
    rows = measured_rows(interpretation.series, interpretation.profile.recipe)
    if not rows.any():
        return made
    own = measured_keys(interpretation.profile.recipe)
    return {key: _blanked(band, rows) if key in own else band for key, band in made.items()}


def _blanked(band: Band, rows: Mask) -> Band:
    def without(values: FloatArray) -> FloatArray:
        return np.where(rows, np.nan, values)

    return replace(
        band,
        p10=without(band.p10),
        p50=without(band.p50),
        p90=without(band.p90),
        measurement=without(band.measurement),
        relation=without(band.relation),
    )


def _checked(draws: int, method: str, parts: Iterable[Part | str]) -> tuple[Part, ...]:
    faults = []
    if draws < 20:
        faults.append(f"draws: {draws} is too few for p10 and p90; use 20 or more")
    if method not in ("first-order", "monte-carlo"):
        faults.append(f"method: {method!r} is neither 'first-order' nor 'monte-carlo'")
    names = [str(part) for part in parts]
    wrong = [name for name in names if name not in tuple(Part)]
    if wrong or not names:
        faults.append(f"parts: {', '.join(wrong) or 'none'}; use {' or '.join(Part)}, or both")
    if faults:
        raise ValueError("; ".join(faults))
    return tuple(part for part in BOTH if part in names)


def _band(
    ready: Ensemble,
    split: Parts,
    key: str,
    quantiles: tuple[FloatArray, FloatArray, FloatArray],
    share: FloatArray,
) -> Band:
    return Band(
        key,
        *quantiles,
        scale="added" if split.added(key) else "factor",
        measurement=split.measurement[key],
        relation=split.relation[key],
        share=share,
        basis=basis_of(ready, split, key),
    )

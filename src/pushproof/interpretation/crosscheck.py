"""Cross-checks: observations against the relations, and factors fitted to a site.

Each observation is compared with the estimate over its interval, or over 0.25 m above and below its
depth: the geometric mean, for a friction angle the mean. The misfit of a relation is the ratio of
observed to estimated as the geometric mean (bias) and the standard deviation of its logarithm
(scatter); for a friction angle it is the difference and its standard deviation in degrees. A factor
is fitted as the geometric mean of what each observation asks for; its spread is one standard
deviation about it and its standard error the spread over the root of the number. Common practice;
three observations are few, and the result says how many there are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from pushproof.interpretation.derive import interpret
from pushproof.model.observations import Observation
from pushproof.model.profile import Interpretation
from pushproof.model.recipe import Factors, Methods, Recipe

FloatArray = NDArray[np.float64]
HALF = 0.25
"""Half of the interval that stands for a depth [m]: own choice."""
CHOICES = {
    "N60": ("n60",),
    "su": ("su",),
    "phi": ("phi_sand", "phi_clay"),
    "OCR": ("yield_stress",),
    "Vs": ("vs",),
}
"""Key of a quantity to the choices of relation behind it."""
Factor = Literal["Nkt", "Ndu", "Nke", "OCR_k"]
FITTED: tuple[str, ...] = get_args(Factor)
_OF = {"Nkt": "su", "Ndu": "su", "Nke": "su", "OCR_k": "OCR"}


@dataclass(frozen=True)
class Pair:
    """One observation and what a relation says there; NaN where it says nothing."""

    observation: Observation
    estimate: float


@dataclass(frozen=True)
class Misfit:
    """How a relation stands against observations.

    Parameters
    ----------
    key, relation
        The quantity, and the relation chosen for it.
    chosen
        Whether the recipe uses it.
    n, silent
        Observations compared, and those where the relation gives no value.
    bias, scatter
        See the module; NaN with too few observations. ``degrees`` says that they are differences.
    pairs
        The observations one by one.
    """

    key: str
    relation: str
    chosen: bool
    n: int
    silent: int
    bias: float
    scatter: float
    degrees: bool
    pairs: tuple[Pair, ...]


@dataclass(frozen=True)
class Fitted:
    """A factor fitted to a site: value, one standard deviation, standard error, observations."""

    factor: str
    value: float
    spread: float
    standard_error: float
    n: int
    each: tuple[float, ...]

    def into(self, recipe: Recipe, author: str, reason: str = "") -> Recipe:
        """Return a recipe that takes the factor and its spread as a decision."""
        factors = recipe.factors.model_copy(update={self.factor: round(self.value, 3)})
        spread = {**recipe.factor_spread, self.factor: round(self.spread, 3)}
        words = reason or f"{self.factor} fitted to {self.n} observations"
        update = {
            "factors": Factors.model_validate(factors.model_dump(exclude_none=True)),
            "factor_spread": spread,
            "author": author,
            "reason": words,
        }
        return Recipe.model_validate({**recipe.model_dump(exclude_unset=True), **update})


def misfits(
    interpretation: Interpretation, observations: Sequence[Observation], *, variants: bool = True
) -> list[Misfit]:
    """Return the misfit of each relation, the chosen one of a quantity first.

    Parameters
    ----------
    variants
        Also the other published relations for each quantity, one at a time.
    """
    found: list[Misfit] = []
    for key, choices in CHOICES.items():
        mine = [one for one in observations if one.kind == key]
        if not mine:
            continue
        found.append(_misfit(interpretation, key, " | ".join(_names(interpretation, key)), mine))
        if variants:
            found += _variants(interpretation, key, choices, mine)
    return found


def fit(interpretation: Interpretation, observations: Sequence[Observation], factor: str) -> Fitted:
    """Fit a factor of a relation to observations of a site.

    Raises
    ------
    ValueError
        If the factor cannot be fitted, or fewer than two observations say anything of it.
    """
    if factor not in FITTED:
        raise ValueError(f"factor {factor!r}: expected one of {', '.join(FITTED)}")
    kind = _OF[factor]
    asked = [_asked(interpretation, one, factor) for one in observations if one.kind == kind]
    each = np.array([value for value in asked if math.isfinite(value) and value > 0])
    if each.size < 2:
        raise ValueError(
            f"{factor}: {each.size} observations of {kind} lie where the sounding says something; "
            "two are the least"
        )
    value, scatter = float(np.exp(np.log(each).mean())), float(np.log(each).std(ddof=1))
    spread = value * scatter
    return Fitted(
        factor, value, spread, spread / math.sqrt(each.size), each.size, tuple(each.tolist())
    )


def _asked(interpretation: Interpretation, one: Observation, factor: str) -> float:
    """Return the factor with which the relation gives the value observed."""
    series = interpretation.series
    value = float(one.value or math.nan)
    if factor == "OCR_k":
        return value / _mean(interpretation, one, series.get("Qt"), geometric=True)
    numerator = {
        "Nkt": series.get("qn"),
        "Ndu": series.get("u2") - series.get("u0"),
        "Nke": series.get("qt") - series.get("u2"),
    }[factor]
    return _mean(interpretation, one, numerator, geometric=False) / value


def _names(interpretation: Interpretation, key: str) -> tuple[str, ...]:
    return interpretation.relations(key) or (key,)


def _variants(
    interpretation: Interpretation, key: str, choices: Sequence[str], mine: Sequence[Observation]
) -> list[Misfit]:
    profile = interpretation.profile
    found = []
    for choice in choices:
        used = getattr(profile.recipe.methods, choice)
        for name in get_args(Methods.model_fields[choice].annotation):
            if name == used:
                continue
            methods = profile.recipe.methods.model_copy(update={choice: name})
            recipe = profile.recipe.model_copy(update={"methods": methods})
            other = interpret(replace(profile, recipe=recipe))
            found.append(_misfit(other, key, name, mine, chosen=False))
    return found


def _misfit(
    interpretation: Interpretation,
    key: str,
    relation: str,
    mine: Sequence[Observation],
    *,
    chosen: bool = True,
) -> Misfit:
    values = interpretation.series.get(key)
    degrees = key == "phi"
    pairs = tuple(
        Pair(one, _mean(interpretation, one, values, geometric=not degrees)) for one in mine
    )
    seen = np.array([float(p.observation.value or math.nan) for p in pairs])
    said = np.array([p.estimate for p in pairs])
    known = np.isfinite(seen) & np.isfinite(said) & (said > 0)
    bias = scatter = math.nan
    if known.any():
        off = seen[known] - said[known] if degrees else np.log(seen[known] / said[known])
        bias = float(off.mean()) if degrees else float(np.exp(off.mean()))
        scatter = float(off.std(ddof=1)) if known.sum() > 1 else math.nan
    n = int(known.sum())
    return Misfit(key, relation, chosen, n, len(pairs) - n, bias, scatter, degrees, pairs)


def _mean(
    interpretation: Interpretation, one: Observation, values: FloatArray, *, geometric: bool
) -> float:
    """Return the mean of a column over the interval of an observation; NaN without values."""
    depth = interpretation.series["depth"]
    base = one.top if one.base is None else one.base
    low, high = (one.top, base) if base > one.top else (one.top - HALF, base + HALF)
    inside = (depth >= low) & (depth <= high) & np.isfinite(values)
    if geometric:
        inside &= values > 0
    if not inside.any():
        return math.nan
    chosen = values[inside]
    return float(np.exp(np.log(chosen).mean()) if geometric else chosen.mean())

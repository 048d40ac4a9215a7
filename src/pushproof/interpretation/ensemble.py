"""The chain run with errors put in: one evaluator for first-order bands and for Monte Carlo.

Every source of error is one standard normal number. A channel has a systematic error, the same
over the sounding up to the size at each row, and a noise. A relation has its scatter, the same
over the whole sounding. What a channel error does to the stresses is taken as linear, found by
running the stresses again; all else is the chain itself. The ground of each row (sand-like or
clay-like) is held as found: a band says how far a value may be off in the ground as it was judged.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from pushproof.equations import find
from pushproof.equations.arrays import FloatArray
from pushproof.equations.scatter import Scatter, ScatterKind
from pushproof.interpretation.arguments import constants
from pushproof.interpretation.chain import EXPONENT_INPUTS, Ground, Step, grounds
from pushproof.interpretation.normalise import START, stress_exponent
from pushproof.interpretation.steps import chain
from pushproof.interpretation.stresses import stresses
from pushproof.interpretation.uncertainty import ChannelError, channel_errors
from pushproof.model.profile import Interpretation, Profile
from pushproof.processing.channels import correct

Function: TypeAlias = Callable[..., FloatArray]

LABELS = frozenset({"zone", "group"})
"""Derived columns that are names, which have no band."""

SETTLED = 1e-3
"""Last change of the stress exponent in a draw; the steps converge quadratically, so that the
error left is a thousand times less than a band is wide."""

STRESSES = ("gamma", "sigma_v0", "sigma_v0_eff")
"""Columns that follow from the channels before the chain begins."""


@dataclass(frozen=True)
class Draws:
    """Standard normal numbers of some draws.

    Parameters
    ----------
    system
        Channel to numbers, shape (d,).
    noise
        Channel to numbers, shape (rows, d) or (1, d).
    relation
        Place of a step in the chain to what its scatter does, shape (d,); see
        :meth:`Ensemble.move`.
    factor
        Factor that the recipe gives a spread for, to numbers, shape (d,).
    """

    system: dict[str, FloatArray] = field(default_factory=dict)
    noise: dict[str, FloatArray] = field(default_factory=dict)
    relation: dict[int, FloatArray] = field(default_factory=dict)
    factor: dict[str, FloatArray] = field(default_factory=dict)


@dataclass(frozen=True)
class Ensemble:
    """An interpretation, made ready to be run again with errors.

    Parameters
    ----------
    interpretation
        What is run again.
    keys
        Columns wanted.
    steps
        The steps that lead to them, in order.
    errors
        Error of each channel.
    """

    interpretation: Interpretation
    keys: tuple[str, ...]
    steps: tuple[Step, ...]
    errors: tuple[ChannelError, ...]

    @property
    def profile(self) -> Profile:
        """The profile."""
        return self.interpretation.profile

    @cached_property
    def spreads(self) -> dict[str, float]:
        """Factors with a spread in the recipe that a step uses as a constant."""
        made = {step.key for step in self.steps}
        used = {name for step in self.steps for name in step.inputs} - made
        given = self.profile.recipe.factor_spread
        return {name: size for name, size in given.items() if name in used}

    @cached_property
    def scatters(self) -> dict[int, Scatter]:
        """Place of each step with a known scatter that no spread of the recipe replaces."""
        found = {k: find(s.equation).scatter for k, s in enumerate(self.steps) if not s.iterates}
        return {k: one for k, one in found.items() if one.known and one.factor not in self.spreads}

    def ends(self, place: int) -> bool:
        """Tell whether no later step uses what a step gives."""
        key = self.steps[place].key
        return not any(key in step.inputs for step in self.steps[place + 1 :])

    @cached_property
    def _masks(self) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        series = self.interpretation.series
        return grounds(series.get("zone"), series.get("Ic"))

    def holds(self, ground: Ground) -> NDArray[np.bool_]:
        """Tell at which rows the ground is of a kind, as the interpretation found it."""
        if ground is Ground.ANY:
            return np.ones(len(self.interpretation), dtype=bool)
        return self._masks[ground is Ground.CLAY]

    @cached_property
    def _of_stress(self) -> dict[str, dict[str, FloatArray]]:
        """Change of each stress column for one standard deviation of each channel."""
        slopes = {}
        for error in self.errors:
            up, down = (_stressed(self.profile, error, side) for side in (1.0, -1.0))
            slopes[error.channel] = {key: 0.5 * (up[key] - down[key]) for key in STRESSES}
        return slopes

    @cached_property
    def _calls(self) -> tuple[tuple[Step, Function | None, tuple[str, ...]], ...]:
        """Each step with its function and its arguments looked up once."""
        return tuple(
            (step, None if step.iterates else find(step.equation).function, step.inputs)
            for step in self.steps
        )

    @cached_property
    def _constants(self) -> dict[str, FloatArray]:
        return {k: np.asarray(v) for k, v in constants(self.profile.recipe).items()}

    @cached_property
    def _columns(self) -> tuple[str, ...]:
        """Columns that the first steps begin with."""
        wanted = {name for step in self.steps for name in step.inputs}
        made = {step.key for step in self.steps}
        known = wanted | {"qc", "fs", "u2"} | set(STRESSES)
        return tuple(sorted(known - made - set(self._constants)))

    @cached_property
    def _near(self) -> FloatArray:
        """Stress exponent from which the iteration begins, shape (n,)."""
        return np.nan_to_num(self.interpretation.series.get("n"), nan=START)

    def move(self, place: int, z: FloatArray) -> FloatArray:
        """Return what the scatter of a step does for standard normal numbers."""
        scatter = self.scatters[place]
        moved = scatter.size * z
        return np.exp(moved) if scatter.kind is ScatterKind.FACTOR else moved

    def evaluate(self, rows: slice, draws: Draws) -> dict[str, FloatArray]:
        """Run the chain for some rows and draws.

        Returns
        -------
        dict
            Key to values, each shape (rows, d) or (rows, 1) where no error reaches it.
        """
        values = self._start(rows, draws)
        nothing = np.full((rows.stop - rows.start, 1), np.nan)
        with np.errstate(all="ignore"):
            for place, (step, function, names) in enumerate(self._calls):
                holds = None
                if step.ground is not Ground.ANY:
                    holds = self.holds(step.ground)[rows, None]
                    if not holds.any():
                        values.setdefault(step.key, nothing)
                        continue
                if function is None:
                    result = self._exponent(step, values, rows)
                else:
                    result = function(**{name: values[name] for name in names if name in values})
                if place in draws.relation:
                    result = _scattered(result, self.scatters[place], draws.relation[place])
                if holds is not None and not holds.all():
                    result = np.where(holds, result, values.get(step.key, nothing))
                values[step.key] = result
        return {key: values[key] for key in self.keys}

    def _exponent(self, step: Step, values: dict[str, FloatArray], rows: slice) -> FloatArray:
        qn, Fr, stress = np.broadcast_arrays(*(values[name] for name in EXPONENT_INPUTS[:3]))
        pa, near = self.profile.recipe.pa, self._near[rows, None]
        return stress_exponent(step.equation, qn, Fr, stress, pa, near, SETTLED)[0]

    def _start(self, rows: slice, draws: Draws) -> dict[str, FloatArray]:
        """Return constants, channels and stresses with their errors."""
        series = self.interpretation.series
        values = dict(self._constants)
        for name, size in self.spreads.items():
            if name in draws.factor:
                values[name] = _spread(float(values[name]), size, draws.factor[name])
        for name in self._columns:
            values[name] = series.get(name)[rows, None]
        for error in self.errors:
            moved = values[error.channel]
            if error.channel in draws.system:
                z = draws.system[error.channel]
                moved = moved + error.system[rows, None] * z
                for key, slope in self._of_stress[error.channel].items():
                    change = slope[rows, None]
                    if change.any():
                        values[key] = values[key] + change * z
            if error.channel in draws.noise:
                moved = moved + error.noise * draws.noise[error.channel]
            values[error.channel] = moved
        return values | self._corrected(values, rows)

    def _corrected(self, values: dict[str, FloatArray], rows: slice) -> dict[str, FloatArray]:
        """Return qt and Rf of the channels with their errors."""
        qt, ratio = values["qc"], self.profile.area_ratio
        plain = self.profile.qt_is_qc[rows, None]
        if ratio is not None and not plain.all():
            full = qt + (1.0 - ratio) * values["u2"]
            qt = np.where(plain, qt, full) if plain.any() else full
        found = {"qt": qt}
        if "Rf" in self._columns:
            with np.errstate(all="ignore"):
                found["Rf"] = np.where(qt > 0, 100.0 * values["fs"] / qt, np.nan)
        return found


def ensemble(interpretation: Interpretation, keys: Iterable[str] | None = None) -> Ensemble:
    """Make an interpretation ready to be run again with errors.

    Raises
    ------
    ValueError
        If a key is not a derived column of the interpretation, or is a label.
    """
    steps = chain(interpretation.profile.recipe)
    possible = banded(interpretation)
    wanted = possible if keys is None else tuple(dict.fromkeys(keys))
    wrong = [key for key in wanted if key not in possible]
    if wrong:
        raise ValueError(
            f"no band for {', '.join(wrong)}: known for this sounding are {' '.join(possible)}"
        )
    kept = _leading_to(steps, wanted)
    errors = channel_errors(interpretation.profile)
    return Ensemble(interpretation, wanted, kept, errors)


def banded(interpretation: Interpretation) -> tuple[str, ...]:
    """Return the derived columns that have a band, in the order of the chain."""
    series = interpretation.series
    keys = dict.fromkeys(step.key for step in chain(interpretation.profile.recipe))
    return tuple(key for key in keys if key not in LABELS and series.measured(key))


def _leading_to(steps: tuple[Step, ...], keys: Iterable[str]) -> tuple[Step, ...]:
    wanted, kept = set(keys), []
    for step in reversed(steps):
        if step.key in wanted and step.key not in LABELS:
            wanted.update(step.inputs)
            kept.append(step)
    return tuple(reversed(kept))


def _stressed(profile: Profile, error: ChannelError, side: float) -> dict[str, FloatArray]:
    """Return the stress columns with a channel off by one standard deviation."""
    moved = profile.series[error.channel] + side * error.system
    reason = profile.series.reason(error.channel)
    series = profile.series.with_column(error.channel, moved, reason)
    fixed = correct(series, profile.sounding.cone, profile.area_ratio).series
    found = stresses(replace(profile, series=fixed)).series
    return {key: found[key] for key in STRESSES}


def _scattered(values: FloatArray, scatter: Scatter, move: FloatArray) -> FloatArray:
    if scatter.kind is ScatterKind.FACTOR:
        return values * move
    moved = values + move
    if np.isfinite((scatter.low, scatter.high)).any():
        np.clip(moved, scatter.low, scatter.high, out=moved)
    return moved


def _spread(value: float, size: float, z: FloatArray) -> FloatArray:
    """Return a factor with its spread: lognormal about a value above zero, else normal."""
    if value <= 0:
        return value + size * z
    return value * np.exp(factor_sigma(value, size) * z)


def factor_sigma(value: float, size: float) -> float:
    """Return the standard deviation of the logarithm of a factor with a spread."""
    return float(np.sqrt(np.log1p((size / value) ** 2)))

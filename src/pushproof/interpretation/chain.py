"""The chain: which equation gives which column, run through a profile in blocks of rows.

A step names an equation of the registry; its arguments are found by name among the columns and
the constants. Blocks are small enough to stay in the cache of the processor, which is most of the
speed. Each missing value gets its reason: that of the first input that is missing, else that the
row is outside the validity of the relation.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pushproof.equations import find
from pushproof.equations.arrays import FloatArray
from pushproof.interpretation.normalise import TOLERANCE, stress_exponent
from pushproof.model.series import Reason, ReasonArray, Series

BLOCK = 8192
"""Rows in a block."""

COARSE_TO_FINE = 2.60
"""Ic that parts sand-like from clay-like ground (GEC-5 Sec. 4.16)."""

EXPONENT_INPUTS = ("qn", "Fr", "sigma_v0_eff", "pa")
"""What the stress exponent is found from; with Ic it is the one step that iterates."""

Mask: TypeAlias = NDArray[np.bool_]

_PRESENT, _OUTSIDE = np.uint8(Reason.PRESENT), np.uint8(Reason.OUTSIDE_VALIDITY)
_STUCK, _ABSENT = np.uint8(Reason.NOT_CONVERGED), np.uint8(Reason.NOT_MEASURED)


class Ground(StrEnum):
    """Where a relation holds."""

    ANY = "any ground"
    SAND = "sand-like ground"
    CLAY = "clay-like ground"


@dataclass(frozen=True, slots=True)
class Step:
    """One link of the chain.

    Parameters
    ----------
    key
        What it gives: a key of the vocabulary, or another name for an intermediate value. Two
        steps may give the same key, one for each ground.
    equation
        Name of the equation in the registry.
    ground
        Where the relation holds; elsewhere it gives no value.
    """

    key: str
    equation: str
    ground: Ground = Ground.ANY

    @property
    def iterates(self) -> bool:
        """Tell whether the step is the stress exponent."""
        return self.key == "n"

    @property
    def inputs(self) -> tuple[str, ...]:
        """Names of the arguments: columns, intermediate values and constants."""
        if self.iterates:
            return EXPONENT_INPUTS
        return tuple(find(self.equation).parameters)

    @property
    def needed(self) -> tuple[str, ...]:
        """Names of the arguments that have no default."""
        if self.iterates:
            return EXPONENT_INPUTS
        return tuple(
            name for name, default in find(self.equation).parameters.items() if not default
        )


@dataclass(frozen=True)
class Derived:
    """Derived columns and the reasons of their gaps, all of shape (n,)."""

    columns: dict[str, FloatArray]
    reasons: dict[str, ReasonArray]


def run(
    steps: Sequence[Step],
    series: Series,
    constants: Mapping[str, float],
    *,
    keep: Container[str] | None = None,
    block: int = BLOCK,
) -> Derived:
    """Run the steps over all rows.

    Parameters
    ----------
    steps
        In an order in which each finds its inputs.
    series
        Measured and corrected columns and the stresses.
    constants
        Name to value of the arguments that are not columns.
    keep
        Keys to return; all, intermediate values included, where None.
    block
        Rows handled at once.

    Returns
    -------
    Derived
        One column for each key among the steps that is kept.
    """
    links = [_link(step) for step in steps]
    keys = list(dict.fromkeys(step.key for step in steps))
    wanted = {name for link in links for name in link.names}
    given = {key: series[key] for key in series if key in wanted}
    gaps = {key: series.reason(key) for key, array in given.items() if _has_gaps(array)}
    needed = {name for step in steps for name in step.needed}
    absent = needed.difference(given, constants, keys)
    rows = len(series)
    kept = [key for key in keys if keep is None or key in keep]
    columns = {key: np.empty(rows) for key in kept}
    reasons: dict[str, ReasonArray] = {}
    for top, base in _blocks(rows, block):
        part = _Part({**constants, **{key: array[top:base] for key, array in given.items()}})
        part.reasons |= {key: codes[top:base] for key, codes in gaps.items()}
        for key in absent:
            part.values[key] = np.full(base - top, np.nan)
            part.reasons[key] = np.full(base - top, _ABSENT)
        with np.errstate(all="ignore"):  # what is not finite becomes missing, with its reason
            for link in links:
                part.take(link)
        for key in kept:
            columns[key][top:base] = part.values[key]
            if key in part.reasons:
                codes = reasons.setdefault(key, np.zeros(rows, dtype=np.uint8))
                codes[top:base] = part.reasons[key]
    return Derived(columns, reasons)


def _has_gaps(array: FloatArray) -> bool:
    return not np.isfinite(array).all()


def _blocks(rows: int, block: int) -> Iterator[tuple[int, int]]:
    for top in range(0, rows, block):
        yield top, min(top + block, rows)


@dataclass(frozen=True, slots=True)
class _Link:
    """A step with its function looked up once."""

    step: Step
    function: Callable[..., FloatArray] | None
    names: tuple[str, ...]


def _link(step: Step) -> _Link:
    function = None if step.iterates else find(step.equation).function
    return _Link(step, function, step.inputs)


@dataclass
class _Part:
    """Values and reasons of some rows; a reason array only where something is missing."""

    values: dict[str, Any]
    reasons: dict[str, ReasonArray] = field(default_factory=dict)
    masks: tuple[Mask, ...] = ()

    def take(self, link: _Link) -> None:
        """Evaluate one step."""
        values, step = self.values, link.step
        if link.function is None:
            self._settle(step)
            return
        result = link.function(**{name: values[name] for name in link.names if name in values})
        if step.ground is Ground.ANY:
            values[step.key] = result
            self._explain(step.key, link.names, None)
            return
        holds = self._holds(step.ground)
        values[step.key] = np.where(holds, result, values.get(step.key, np.nan))
        self._explain(step.key, link.names, holds)

    def _settle(self, step: Step) -> None:
        values = self.values
        qn, Fr, stress, pa = (values[name] for name in EXPONENT_INPUTS)
        exponent, change = stress_exponent(step.equation, qn, Fr, stress, pa)
        values[step.key] = exponent
        self._explain(step.key, EXPONENT_INPUTS, None)
        stuck = change > TOLERANCE
        if stuck.any():
            self.reasons[step.key][stuck] = _STUCK

    def _explain(self, key: str, inputs: Sequence[str], holds: Mask | None) -> None:
        """Name the reason of every missing value of a column, and make it NaN."""
        values = self.values[key]
        missing = ~np.isfinite(values)
        if not missing.any():
            self.reasons.pop(key, None)
            return
        earlier = None if holds is None else self.reasons.get(key)
        found = [self.reasons[name] for name in reversed(inputs) if name in self.reasons]
        codes = missing * _OUTSIDE
        for one in found:
            np.copyto(codes, one, where=missing & (one != _PRESENT))
        if holds is not None and (found or earlier is not None):
            other = missing * _OUTSIDE if earlier is None else earlier
            np.copyto(codes, other, where=missing & ~holds)
        unknown = self.reasons.get("zone") if holds is not None else None
        if unknown is not None:
            np.copyto(codes, unknown, where=missing & (unknown != _PRESENT))
        self.reasons[key] = codes
        self.values[key] = np.where(missing, np.nan, values)

    def _holds(self, ground: Ground) -> Mask:
        if not self.masks:
            self.masks = grounds(self.values["zone"], self.values["Ic"])
        return self.masks[ground is Ground.CLAY]


def grounds(zone: FloatArray, Ic: FloatArray) -> tuple[Mask, Mask]:
    """Tell where the ground is sand-like and where it is clay-like.

    Ic parts it, except in the zones for which Ic is not defined: 1 (sensitive) and 9 (very
    stiff) are fine-grained, 8 is sand.
    """
    fine = (Ic > COARSE_TO_FINE) & (zone != 8.0)
    fine |= (zone == 1.0) | (zone == 9.0)
    return np.isfinite(zone) & ~fine, fine

"""A seismic cone test: arrivals picked or traces recorded, and the velocities found from them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from pushproof.model.equipment import Frozen
from pushproof.model.findings import Finding
from pushproof.model.picks import MeasuredVelocity
from pushproof.model.sounding import SourceFile

FloatArray = NDArray[np.float64]


PLAUSIBLE = (30.0, 1500.0)
"""Velocities of soil and weak rock [m/s]; outside them a pick is wrong. Our own choice."""


class Arrival(Frozen):
    """One arrival of the shear wave, picked by somebody."""

    depth: float = Field(ge=0, description="depth of the receiver below the source [m]")
    time: float = Field(description="arrival after the trigger [s]")
    offset: float = Field(ge=0, description="source from the rods, horizontally [m]")
    receiver: str = Field("", description="which receiver, where the cone has several")
    strike: str = Field("", description="side or direction of the strike")
    shot: str = Field("", description="name of the strike; receivers of one shot share it")


@dataclass(frozen=True)
class Trace:
    """One recorded trace.

    Parameters
    ----------
    depth, offset
        Depth of the receiver below the source, and of the source from the rods [m].
    start, interval
        Time of the first sample after the trigger, and between samples [s].
    values
        Shape (n,), in any unit.
    receiver, strike, shot
        As for :class:`Arrival`.
    """

    depth: float
    offset: float
    start: float
    interval: float
    values: FloatArray
    receiver: str = ""
    strike: str = ""
    shot: str = ""


@dataclass(frozen=True)
class SeismicTest:
    """Arrivals, or traces, of one push."""

    name: str
    arrivals: tuple[Arrival, ...] = ()
    traces: tuple[Trace, ...] = ()
    findings: tuple[Finding, ...] = ()
    source: SourceFile | None = None

    def raised(self, distance: float) -> SeismicTest:
        """Return the test with receivers a distance [m] above the depths, which are of the tip."""
        arrivals = [one.model_copy(update={"depth": one.depth - distance}) for one in self.arrivals]
        traces = [replace(one, depth=one.depth - distance) for one in self.traces]
        return replace(self, arrivals=tuple(arrivals), traces=tuple(traces))


class IntervalKind(StrEnum):
    """How two arrivals belong together."""

    TRUE = "true interval"
    PSEUDO = "pseudo interval"


@dataclass(frozen=True, slots=True)
class VelocityInterval:
    """Shear wave velocity between two depths.

    Parameters
    ----------
    top, base
        Depths of the receivers [m].
    Vs
        By the straight path [m/s]; NaN where it cannot be had.
    refracted
        By rays that bend at the receiver depths, from picked arrivals only [m/s].
    kind
        True interval (two receivers, one strike) or pseudo interval (one receiver, two strikes).
    path, time
        Difference of the paths [m] and of the arrivals [s].
    correlation
        Correlation coefficient at the best shift; NaN for picked arrivals.
    strikes
        Pairs that were averaged.
    spread
        Half the range of Vs over the pairs, as a share of Vs; NaN for one pair.
    """

    top: float
    base: float
    Vs: float
    kind: IntervalKind
    path: float
    time: float
    refracted: float = math.nan
    correlation: float = math.nan
    strikes: int = 1
    spread: float = math.nan


@dataclass(frozen=True)
class SeismicResult:
    """Velocities of one seismic test.

    Parameters
    ----------
    test
        What they are from.
    intervals
        From the top down.
    method
        How arrivals were compared, in words, with window and filter.
    findings, notes
        What was noticed, and what is to be known.
    """

    test: SeismicTest
    intervals: tuple[VelocityInterval, ...]
    method: str
    findings: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = field(default_factory=tuple)

    def decisions(self) -> tuple[MeasuredVelocity, ...]:
        """Return the velocities as decisions of a recipe, implausible ones left out.

        Where true and pseudo intervals overlap, the true ones are kept.
        """
        low, high = PLAUSIBLE
        known = [one for one in self.intervals if low <= one.Vs <= high]
        true = [one for one in known if one.kind is IntervalKind.TRUE]
        kept = true + [
            one
            for one in known
            if one.kind is IntervalKind.PSEUDO
            and not any(other.top < one.base and one.top < other.base for other in true)
        ]
        return tuple(
            MeasuredVelocity(
                top=one.top,
                base=one.base,
                Vs=round(one.Vs, 2),
                reason=f"seismic cone, {one.kind.value}, {self.method}",
            )
            for one in sorted(kept, key=lambda one: (one.top, one.base))
        )

    def document(self) -> dict[str, Any]:
        """Return the result as a plain document for JSON; a missing number is null."""

        def number(value: float) -> float | None:
            return value if math.isfinite(value) else None

        return {
            "name": self.test.name,
            "method": self.method,
            "intervals": [
                {
                    "top": one.top,
                    "base": one.base,
                    "Vs": number(one.Vs),
                    "refracted": number(one.refracted),
                    "kind": one.kind.value,
                    "path": one.path,
                    "time": number(one.time),
                    "correlation": number(one.correlation),
                    "strikes": one.strikes,
                    "spread": number(one.spread),
                }
                for one in self.intervals
            ],
            "findings": [
                {
                    "id": one.id,
                    "severity": one.severity.word,
                    "found": one.found,
                    "expected": one.expected,
                    "top": one.top,
                    "base": one.base,
                }
                for one in self.findings
            ],
            "notes": list(self.notes),
        }

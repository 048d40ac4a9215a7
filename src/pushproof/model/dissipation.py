"""The result of a dissipation test: computed from a record and picks, never stored as truth.

The code that fills it is in ``interpretation.dissipation``; the picks are in ``model.picks``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel

from pushproof.model.findings import Finding
from pushproof.model.picks import DissipationChoice, DissipationMethod, EquilibriumMethod
from pushproof.model.profile import Assumption

FloatArray = NDArray[np.float64]


class DissipationKind(StrEnum):
    """What a record looks like."""

    FALLING = "falls from the start"
    RISING_FIRST = "rises, then falls"
    RISING = "rises and does not fall"
    FLAT = "does not change"
    EMPTY = "has too few readings"


@dataclass(frozen=True, slots=True)
class DissipationEstimate:
    """One way to the time of half dissipation, and what follows from it.

    Parameters
    ----------
    method
        The way.
    how
        The way in words: what was read or fitted, where.
    u_i, u50
        Initial pore pressure and that at half dissipation [kPa].
    t50
        Time of half dissipation [s]; NaN where it cannot be had.
    reached
        Degree of dissipation at the end of the record [%].
    T_star, ch, ch_low, ch_high
        Time factor used [-]; coefficient of consolidation, and its ends for the rigidity index
        of 50 and 500 where that is assumed [m2/s].
    kh_modulus, kh_direct
        Hydraulic conductivity from ch and the modulus, and from t50 alone [m/s].
    window
        Part of the record it rests on [s]; None where that is single readings.
    residual
        Root mean square of the fit [kPa]; None where nothing is fitted.
    extrapolated
        True if the record ends before t50.
    """

    method: DissipationMethod
    how: str
    u_i: float
    u50: float
    t50: float
    reached: float
    T_star: float = math.nan
    ch: float = math.nan
    ch_low: float = math.nan
    ch_high: float = math.nan
    kh_modulus: float = math.nan
    kh_direct: float = math.nan
    window: tuple[float, float] | None = None
    residual: float | None = None
    extrapolated: bool = False


@dataclass(frozen=True, slots=True)
class DissipationFit:
    """A fitted line or curve, for drawing: shape (k,) each.

    ``residual`` is measured less fitted [kPa] at ``residual_time``; ``parameters`` name what was
    fitted and what follows from it, in inside units.
    """

    method: DissipationMethod
    time: FloatArray
    u: FloatArray
    residual_time: FloatArray
    residual: FloatArray
    parameters: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class DegreeRow:
    """One degree of dissipation [%]: its time factor, the time read, predicted, and ch of it.

    ``time`` is read off the record [s], NaN where it ends before; ``predicted`` is the time that
    the chosen ch gives [s]; ``ch`` is what the time read at this degree gives [m2/s].
    """

    degree: float
    T_star: float
    time: float
    predicted: float
    ch: float


@dataclass(frozen=True)
class DissipationResult:
    """What one dissipation test says.

    Parameters
    ----------
    sounding, number, depth
        Name of the sounding, number of the test in it from 1, depth of the tip [m].
    channel, filter
        Pore pressure used, and the row of the time factor table.
    kind
        What the record looks like.
    time, u, percent
        Shape (n,): time since the stop [s], pore pressure [kPa], degree of dissipation by the
        chosen method [%], negative while it rises.
    t0
        Time of the record at which the push stopped [s].
    u0, u0_by, u0_how
        In-situ pore pressure [kPa], the way to it, and in words.
    water_level
        Depth of the water table that u0 stands for if pressure grows hydrostatically [m].
    peak_time, u_peak
        Where a record that rises first is highest [s, kPa].
    radius, Ir, Ir_given, Ir_how, M, M_how
        Radius of the cone [m], rigidity index, whether it was given and where it is from, modulus
        [kPa] and where it is from.
    method
        The chosen one of ``estimates``; None where there is none.
    estimates
        The ways side by side.
    fits
        Lines and curves fitted.
    degrees
        Each tabulated degree by the chosen method.
    choice
        The picks it rests on.
    assumptions, findings, notes
        What had to be assumed, what was noticed, what is to be known of the methods used.
    equations
        Names of the registered equations used.
    """

    sounding: str
    number: int
    depth: float
    channel: str
    filter: str
    kind: DissipationKind
    time: FloatArray
    u: FloatArray
    percent: FloatArray
    t0: float
    u0: float
    u0_by: EquilibriumMethod | None
    u0_how: str
    water_level: float
    peak_time: float
    u_peak: float
    radius: float
    Ir: float
    Ir_given: bool
    Ir_how: str
    M: float
    M_how: str
    method: DissipationMethod | None
    estimates: tuple[DissipationEstimate, ...] = ()
    fits: tuple[DissipationFit, ...] = ()
    degrees: tuple[DegreeRow, ...] = ()
    choice: DissipationChoice = field(default_factory=DissipationChoice)
    assumptions: tuple[Assumption, ...] = ()
    findings: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = ()
    equations: tuple[str, ...] = ()

    @property
    def chosen(self) -> DissipationEstimate | None:
        """The chosen estimate, or None."""
        return next((one for one in self.estimates if one.method == self.method), None)

    @property
    def t50(self) -> float:
        """Time of half dissipation by the chosen method [s]."""
        return self.chosen.t50 if self.chosen else math.nan

    @property
    def u_i(self) -> float:
        """Initial pore pressure by the chosen method [kPa]."""
        return self.chosen.u_i if self.chosen else math.nan

    @property
    def ch(self) -> float:
        """Coefficient of consolidation by the chosen method [m2/s]."""
        return self.chosen.ch if self.chosen else math.nan

    def fit(self, method: DissipationMethod) -> DissipationFit | None:
        """Return the fit of a method, or None."""
        return next((one for one in self.fits if one.method == method), None)

    def document(self, *, arrays: bool = True) -> dict[str, Any]:
        """Return the result as a plain document for JSON; a missing number is null.

        Parameters
        ----------
        arrays
            Whether the record and the fitted curves are in it.
        """
        left_out = () if arrays else ("time", "u", "percent", "fits")
        found = {
            one.name: _plain(getattr(self, one.name))
            for one in fields(self)
            if one.name not in left_out
        }
        chosen = self.chosen
        return found | {"chosen": None if chosen is None else _plain(chosen)}


def _plain(value: Any) -> Any:
    """Return a value as JSON knows it."""
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json", exclude_none=True)
    if isinstance(value, Finding):
        return {
            "id": value.id,
            "severity": value.severity.word,
            "found": value.found,
            "expected": value.expected,
            "source": value.source,
        }
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: _plain(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, np.ndarray):
        return [_plain(float(item)) for item in value]
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(item) for item in value]
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return value

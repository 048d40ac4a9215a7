"""Time factors by filter, and what follows from a time: ch, its swing, kh, times of degrees."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pushproof.equations import find
from pushproof.equations.arrays import FloatArray
from pushproof.equations.consolidation import DEGREES, ch_teh_houlsby_1991
from pushproof.equations.flow import kh_consolidation, kh_parez_fauriel_1988
from pushproof.interpretation.dissipation.crossing import time_at
from pushproof.interpretation.dissipation.record import Record
from pushproof.interpretation.dissipation.setting import Setting
from pushproof.model.dissipation import DegreeRow, DissipationResult

IR_ASSUMED = 100.0
"""Rigidity index where none is given: common, from memory."""
IR_LOW, IR_HIGH = 50.0, 500.0
"""Ends of the usual range of the rigidity index, from memory."""
SLEEVE_FILTER = 7.5
"""Radii above the shoulder of a filter behind the sleeve: 134 mm of sleeve on a 10 cm2 cone."""
T_PRIME_HALF = 0.02
"""T' at which the octahedral part of the dilatory solution has halved: 50 T' = 1."""

_TABLES = {"u1": "time_factor_u1_teh_houlsby_1991", "u2": "time_factor_u2_teh_houlsby_1991"}


@dataclass(frozen=True)
class TimeFactors:
    """The row of the table for a filter."""

    filter: str
    equations: tuple[str, ...]

    def at(self, degree: float | FloatArray) -> FloatArray:
        """Return T* at a degree of dissipation [%]; NaN outside 20 to 80 %.

        Between the degrees of the table the logarithm of T* is linear. A filter behind the sleeve
        stands between the rows of five and ten radii: the logarithm is linear in the distance.
        """
        values = [np.asarray(find(name).function(degree)) for name in self.equations]
        if len(values) == 1:
            return np.asarray(values[0])
        share = (SLEEVE_FILTER - 5.0) / 5.0
        return np.asarray(np.exp((1 - share) * np.log(values[0]) + share * np.log(values[1])))


def time_factors(channel: str) -> TimeFactors:
    """Return the time factors for the filter of a channel.

    Examples
    --------
    >>> round(float(time_factors("u2").at(50.0)), 3)
    0.245
    """
    if channel in _TABLES:
        return TimeFactors(channel, (_TABLES[channel],))
    return TimeFactors(
        f"{SLEEVE_FILTER:g} radii above the shoulder",
        ("time_factor_5r_teh_houlsby_1991", "time_factor_10r_teh_houlsby_1991"),
    )


@dataclass(frozen=True)
class Rigidity:
    """The rigidity index, and where it is from."""

    value: float
    how: str

    @property
    def given(self) -> bool:
        """Tell whether it was given by the engineer."""
        return self.how == "given"


@dataclass(frozen=True)
class Case:
    """One test with all that its numbers rest on."""

    record: Record
    u0: float
    place: Setting
    factors: TimeFactors
    Ir: Rigidity

    def degree(self, u: float, u_i: float) -> float:
        """Return the degree of dissipation at a pressure [%]; NaN without an excess."""
        return 100.0 * (u_i - u) / (u_i - self.u0) if u_i != self.u0 else math.nan


@dataclass(frozen=True)
class Flow:
    """What follows from a time of half dissipation."""

    T_star: float
    ch: float
    ch_low: float
    ch_high: float
    kh_modulus: float
    kh_direct: float


def flow_of(t50: float, case: Case) -> Flow:
    """Return ch with its swing and kh by two routes from t50 [s] and the table."""
    T_star = float(case.factors.at(50.0))
    ch, low, high = (
        float(ch_teh_houlsby_1991(T_star, t50, case.place.radius, value))
        for value in (case.Ir.value, IR_LOW, IR_HIGH)
    )
    return _flow(T_star, ch, low, high, t50, case)


def flow_of_dilatory(t50: float, case: Case) -> Flow:
    """Return the same from the dilatory solution, where T' = ch t / (r^2 Ir^0.75)."""
    ch, low, high = (
        T_PRIME_HALF * case.place.radius**2 * value**0.75 / t50
        for value in (case.Ir.value, IR_LOW, IR_HIGH)
    )
    return _flow(T_PRIME_HALF, ch, low, high, t50, case)


def _flow(T_star: float, ch: float, low: float, high: float, t50: float, case: Case) -> Flow:
    modulus = float(kh_consolidation(ch, case.place.M, case.place.gamma_water))
    if case.Ir.given:
        low = high = math.nan
    return Flow(T_star, ch, low, high, modulus, float(kh_parez_fauriel_1988(t50)))


def degree_rows(case: Case, u_i: float, from_time: float, ch: float) -> tuple[DegreeRow, ...]:
    """Return each tabulated degree: time read, time predicted, and the ch of the time read."""
    fall, radius, Ir = case.record.falling, case.place.radius, case.Ir.value
    time, u = case.record.time[fall], case.record.smooth[fall]
    rows = []
    for degree in DEGREES:
        read, _, _ = time_at(time, u, u_i - degree / 100.0 * (u_i - case.u0))
        read = read - from_time if read > from_time else math.nan
        T_star = float(case.factors.at(degree))
        predicted = T_star * radius**2 * math.sqrt(Ir) / ch
        own = float(ch_teh_houlsby_1991(T_star, read, radius, Ir))
        rows.append(DegreeRow(degree, T_star, read, predicted, own))
    return tuple(rows)


def time_of_degree(result: DissipationResult, degree: float) -> float:
    """Return the time at which a degree of dissipation is reached, by the ch of a result [s].

    Parameters
    ----------
    result
        Its chosen ch, radius, rigidity index and filter are used.
    degree
        Degree of dissipation [%], of the tabulated curve; by the dilatory solution, of its
        octahedral part.

    Returns
    -------
    float
        Time [s]; NaN outside 20 to 80 % or where there is no ch.
    """
    if result.method == "dilatory-fit":
        inside = DEGREES[0] <= degree <= DEGREES[-1]
        left = 1.0 - degree / 100.0
        T_prime = (1.0 / left - 1.0) / 50.0 if inside else math.nan
        return float(T_prime * result.radius**2 * result.Ir**0.75 / result.ch)
    T_star = float(time_factors(result.channel).at(degree))
    return T_star * result.radius**2 * math.sqrt(result.Ir) / result.ch

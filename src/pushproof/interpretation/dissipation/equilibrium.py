"""The in-situ pore pressure of a test: given, levelled, hydrostatic or extrapolated.

The order, where nothing is picked: a level that the record itself reached; still water below a
water level that is known; the end of the record extrapolated, where 1/t and 1/sqrt(t) come to
nearly the same; still water below a water level that had to be assumed. Late readings come before
a water column because in-situ pressure is often not hydrostatic.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pushproof.interpretation.dissipation.lines import Line, fit_line
from pushproof.interpretation.dissipation.record import Record
from pushproof.interpretation.dissipation.setting import Setting
from pushproof.model.dissipation import DissipationKind
from pushproof.model.findings import Finding, Severity, worst
from pushproof.model.picks import DissipationChoice, EquilibriumMethod
from pushproof.model.profile import Assumption

LEVEL_SHARE = 0.01
"""Change over the second half of the time, as a share of the whole fall, up to which a record
counts as levelled [-]; our own choice."""
TAIL = 0.25
"""The end of the record is what lies after this share of its length [-]."""
AGREE = 0.08
"""Difference between the extrapolations over 1/t and over 1/sqrt(t), as a share of the excess, up
to which one is taken unasked [-]. On records made from the tabulated curve the truth lies about
between the two, and a record that ends at 50 % is off by a third of its excess."""
DIFFERENCE = 0.1
"""Difference between measured and hydrostatic pressure, as a share of the excess, that is told."""


@dataclass(frozen=True)
class Equilibrium:
    """An in-situ pore pressure [kPa] and how it is known."""

    u0: float
    by: EquilibriumMethod | None
    how: str
    assumptions: tuple[Assumption, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def measured(self) -> bool:
        """Tell whether it rests on the record itself."""
        return self.by in ("levelled", "inverse-time", "inverse-root-time")


def equilibrium(
    record: Record, place: Setting, choice: DissipationChoice, depth: float
) -> Equilibrium:
    """Return the in-situ pore pressure of a test."""
    found = _chosen(record, place, choice, depth)
    return _compared(found, record, place, depth)


def extrapolated(record: Record, by: EquilibriumMethod) -> Line | None:
    """Fit the end of a record over 1/t or 1/sqrt(t); its start is the pressure at endless time."""
    window = (max(TAIL * record.length, float(record.time[record.peak])), record.length)
    inside = (record.time >= window[0]) & (record.time > 0)
    time, u = record.time[inside], record.u[inside]
    if len(time) < 5:
        return None
    return fit_line(1.0 / time if by == "inverse-time" else 1.0 / np.sqrt(time), u, window)


def level(record: Record) -> float:
    """Return the pressure a record has levelled at [kPa]; NaN if it has not."""
    late = record.time >= 0.5 * record.length
    if late.sum() < 4 or record.kind is DissipationKind.RISING:
        return math.nan
    u = record.u[late]
    third = max(len(u) // 3, 1)
    change = abs(float(np.median(u[:third]) - np.median(u[-third:])))
    whole = float(np.ptp(record.smooth[record.falling]))
    if record.kind is not DissipationKind.FLAT and change > LEVEL_SHARE * whole:
        return math.nan
    return float(np.mean(record.u[record.time >= 0.9 * record.length]))


def _chosen(record: Record, place: Setting, choice: DissipationChoice, depth: float) -> Equilibrium:
    if choice.u0 is not None:
        return Equilibrium(choice.u0, "given", "given")
    wanted = choice.u0_by
    if wanted == "hydrostatic":
        return _hydrostatic(place, depth)
    if wanted == "levelled":
        last = float(np.mean(record.u[record.time >= 0.9 * record.length]))
        return Equilibrium(last, "levelled", "mean of the last tenth of the record, as picked")
    if wanted is not None:
        return _extrapolation(record, wanted, depth) or _hydrostatic(place, depth)
    reached = level(record)
    if not math.isnan(reached):
        return Equilibrium(reached, "levelled", "the record has levelled: mean of its last tenth")
    if place.water_known:
        return _hydrostatic(place, depth)
    tail = _extrapolation(record, "inverse-time", depth)
    if tail is not None and worst(tail.findings) is Severity.INFO:
        return tail
    return _hydrostatic(place, depth)


def _hydrostatic(place: Setting, depth: float) -> Equilibrium:
    u0 = place.hydrostatic(depth)
    if place.water is None:
        text = "no water level is known, so the degree of dissipation is not known"
        finding = Finding(
            "dissipation-u0-unknown",
            Severity.CAUTION,
            text,
            "give u0 or a water level",
            depth,
        )
        return Equilibrium(math.nan, None, "not known", (), (finding,))
    words = f"still water below a water table at {place.water.level:.2f} m"
    if place.water_known:
        return Equilibrium(u0, "hydrostatic", f"{words} ({place.water.origin.value})")
    reason = "nobody gave u0 or a water level, and the record ends too early to show it"
    return Equilibrium(
        u0,
        "assumed",
        f"{words} (assumed)",
        (Assumption("u0", f"u0 = {u0:.1f} kPa, {words}", u0, reason),),
        (
            Finding(
                "dissipation-u0-assumed",
                Severity.CAUTION,
                f"u0 of {u0:.1f} kPa rests on an assumed water level; half dissipation moves with "
                "it",
                "give u0 or a water level, or run the test until it levels",
                depth,
            ),
        ),
    )


def _extrapolation(record: Record, by: EquilibriumMethod, depth: float) -> Equilibrium | None:
    line = extrapolated(record, by)
    if line is None:
        return None
    other = extrapolated(record, "inverse-root-time" if by == "inverse-time" else "inverse-time")
    axes = ("1/t", "1/sqrt(t)") if by == "inverse-time" else ("1/sqrt(t)", "1/t")
    how = (
        f"extrapolated over {axes[0]} from {line.window[0]:.0f} to {line.window[1]:.0f} s, "
        f"standard error {line.error:.1f} kPa"
    )
    second = other.start if other is not None else math.nan
    top = float(record.smooth[record.peak])
    apart = abs(second - line.start) / max(top - max(line.start, second), 1e-9)
    early = not apart <= AGREE
    finding = Finding(
        "dissipation-u0-extrapolated",
        Severity.CAUTION if early else Severity.INFO,
        f"u0 of {line.start:.1f} kPa is an estimate, {how}; over {axes[1]} it is {second:.1f} kPa"
        + (": the record ends too early to show it" if early else ""),
        "u0 known from a piezometer or a record that levels",
        depth,
        source="straight over inverse time at the end: common practice, from memory",
    )
    return Equilibrium(line.start, by, how, (), (finding,))


def _compared(found: Equilibrium, record: Record, place: Setting, depth: float) -> Equilibrium:
    """Say where the measured pressure is not that of still water."""
    still = place.hydrostatic(depth)
    if not (found.measured or found.by == "given") or not place.water_known:
        return found
    top = float(record.smooth[record.peak]) if len(record.smooth) else found.u0
    least = max(5.0, DIFFERENCE * abs(top - found.u0))
    if abs(found.u0 - still) <= least:
        return found
    finding = Finding(
        "dissipation-u0-not-hydrostatic",
        Severity.INFO,
        f"u0 of {found.u0:.1f} kPa is not the {still:.1f} kPa of still water below the water table",
        "seepage, a perched table or ground that still consolidates; check the water level",
        depth,
        source="u0 is often not hydrostatic: SEFE 9, 2019 (abstract read)",
    )
    return Equilibrium(found.u0, found.by, found.how, found.assumptions, (*found.findings, finding))

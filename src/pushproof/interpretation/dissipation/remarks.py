"""What is to be said about a dissipation result: findings, assumed values, notes."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from pushproof.equations.consolidation import DEGREES
from pushproof.interpretation.dissipation.factors import IR_HIGH, IR_LOW, Case, Rigidity
from pushproof.interpretation.dissipation.ways import Way
from pushproof.model.dissipation import (
    DegreeRow,
    DissipationEstimate,
    DissipationFit,
    DissipationKind,
)
from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Assumption

HALF = 50.0
LEAST_EXCESS = 5.0
"""Excess pore pressure below which percent and t50 mean nothing [kPa]; our own choice, the same
while the test runs."""
NOISY = 1.15
"""Last over first crossing of u50 from which a record counts as noisy there [-]."""
APART = 2.0
"""Longest over shortest t50 of the ways from which their difference is told [-]."""
BAD_SHAPE = 0.05
"""Misfit of a curve, as a share of the excess, from which it is told [-]."""
FAST = 30.0
"""t50 below which the push itself may be partly drained [s]: common, from memory."""


def remarks(
    case: Case,
    estimates: tuple[DissipationEstimate, ...],
    chosen: DissipationEstimate | None,
    readings: tuple[Way, ...],
    fits: tuple[DissipationFit, ...],
    degrees: tuple[DegreeRow, ...],
) -> tuple[Finding, ...]:
    """Return what was noticed when a record was interpreted."""
    found = [*_of_kind(case)]
    if chosen is not None:
        found += [*_of_excess(case, chosen), *_of_time(case, chosen), *_of_noise(chosen, readings)]
        found += [*_of_table(chosen), *_of_shape(degrees), *_of_fits(case, estimates, fits)]
        found += _of_ways(estimates)
    elif estimates:
        found.append(
            _caution(
                "dissipation-method",
                "the method picked gives nothing for this record",
                f"one of {', '.join(one.method for one in estimates)}",
            )
        )
    if math.isnan(case.place.M) and chosen is not None:
        found.append(
            Finding(
                "dissipation-modulus",
                Severity.INFO,
                "no constrained modulus is known here, so kh is given by one route only",
                "give M, or a sounding with values at this depth",
            )
        )
    return tuple(found)


def assumed_rigidity(Ir: Rigidity, chosen: DissipationEstimate | None) -> tuple[Assumption, ...]:
    """Return the assumption on the rigidity index where it was used and not given."""
    if Ir.given or chosen is None or math.isnan(chosen.ch):
        return ()
    ratio = (chosen.ch_high / chosen.ch_low) if chosen.ch_low > 0 else math.nan
    text = (
        f"Ir = {Ir.value:g}, rigidity index; from {IR_LOW:g} to {IR_HIGH:g} it moves ch by a "
        f"factor of {ratio:.1f}"
    )
    reason = "nobody gave it" if Ir.how == "assumed" else f"nobody gave it, and it is {Ir.how}"
    return (Assumption("Ir", text, Ir.value, f"{reason}; usual range from memory"),)


def notes(case: Case, chosen: DissipationEstimate | None) -> tuple[str, ...]:
    """Return what is to be known of the numbers, with how sure that is."""
    if chosen is None or not math.isfinite(chosen.ch):
        return ()
    said = [
        "ch is for radial flow on reloading, so nearer to the overconsolidated value (from "
        "memory); mixed where kh and kv differ (doi 10.3389/fbuil.2024.1386803).",
        "cv is ch over kh/kv: 1 to 1.5 in uniform clay, 2 to 5 with some layering, more in varved "
        "clay (from memory).",
        "Field values are 2 to 10 times those of the oedometer (GEC-5, Ch. 11).",
        "kh is an order of magnitude by either route (from memory).",
    ]
    if case.place.radius > 0.0199:
        said.append(
            "The direct route to kh was made for a cone of 10 cm²; a larger cone dissipates "
            "later, and kh comes out too low."
        )
    if chosen.method != "dilatory-fit":
        said.append(
            "Between the degrees of the table the logarithm of T* is taken as linear; the table "
            "is from memory."
        )
    return tuple(said)


def _of_kind(case: Case) -> Iterator[Finding]:
    record = case.record
    if record.kind is DissipationKind.FLAT:
        yield Finding(
            "dissipation-flat",
            Severity.INFO,
            f"the pressure stays at {np.median(record.u):.1f} kPa for {record.length:.0f} s: no "
            "excess to dissipate, as in sand; there is no ch",
            "its level is the in-situ pressure if the filter was saturated",
            channel=record.channel,
        )
    elif record.kind is DissipationKind.RISING:
        yield _caution(
            "dissipation-rising",
            f"the pressure rises for all of {record.length:.0f} s and does not fall; no t50",
            "run the test until the pressure has fallen; a filter that lost saturation rises too, "
            "and so does suction on its way back to u0",
        )
    elif record.kind is DissipationKind.RISING_FIRST:
        at, top = record.time[record.peak], record.smooth[record.peak]
        yield Finding(
            "dissipation-rises-first",
            Severity.INFO,
            f"the pressure rises from {record.smooth[: record.peak + 1].min():.1f} to {top:.1f} "
            f"kPa in {at:.0f} s before it falls; no single reading is the initial pressure",
            "root time or the dilatory solution; check the saturation of the filter too",
            source="typical of overconsolidated clay: Burns & Mayne 1998 (abstract read)",
            channel=record.channel,
        )


def _of_excess(case: Case, chosen: DissipationEstimate) -> Iterator[Finding]:
    excess = chosen.u_i - case.u0
    if math.isnan(excess):
        return
    if excess < LEAST_EXCESS:
        yield _caution(
            "dissipation-excess",
            f"the excess pore pressure is {excess:.1f} kPa at the start; percent and t50 mean "
            "nothing",
            f"at least {LEAST_EXCESS:g} kPa above u0; check u0",
        )
    elif float(case.record.smooth[case.record.peak :].min()) < case.u0 - 0.05 * excess:
        lowest = float(case.record.smooth[case.record.peak :].min())
        yield _caution(
            "dissipation-below-u0",
            f"the record falls to {lowest:.1f} kPa, below u0 of {case.u0:.1f} kPa",
            "u0 at or below the end of the record; check the water level",
        )


def _of_time(case: Case, chosen: DissipationEstimate) -> Iterator[Finding]:
    if math.isfinite(chosen.reached) and chosen.reached < HALF:
        how = ""
        if chosen.extrapolated:
            how = "; t50 runs on along the straight part, which is the shortest it can be"
            if chosen.method != "root-time":
                how = "; t50 is that of the fitted curve"
        yield _caution(
            "dissipation-short",
            f"ended at {chosen.reached:.0f} % after {case.record.length:.0f} s{how}",
            "50 % or more for t50 without extrapolation",
            "t50 is the routine measure (common practice)",
        )
    if chosen.t50 < FAST:
        yield _caution(
            "dissipation-fast",
            f"t50 of {chosen.t50:.1f} s: at the usual rate the push itself may be partly drained, "
            "and then ch is too low",
            f"t50 of {FAST:g} s or more for undrained penetration",
            "from memory",
        )


def _of_noise(chosen: DissipationEstimate, readings: tuple[Way, ...]) -> Iterator[Finding]:
    way = next((one for one in readings if one.method == chosen.method), None)
    if way is not None and way.first > 0 and way.last / way.first > NOISY:
        yield _caution(
            "dissipation-noisy",
            f"the record crosses u50 several times between {way.first:.1f} and {way.last:.1f} s",
            "one crossing; t50 is the geometric mean of the first and the last",
        )


def _of_table(chosen: DissipationEstimate) -> Iterator[Finding]:
    if math.isfinite(chosen.reached) and chosen.reached < DEGREES[0]:
        yield _caution(
            "dissipation-table",
            f"the record ends at {chosen.reached:.0f} %, below the table of time factors",
            "the table holds from 20 to 80 %; nothing is extrapolated from it",
            "Teh & Houlsby 1991 (from memory)",
        )


def _of_shape(degrees: tuple[DegreeRow, ...]) -> Iterator[Finding]:
    """Say where the ch read at one degree is far from that read at another."""
    read = [one for one in degrees if math.isfinite(one.ch)]
    if len(read) < 3:
        return
    low, high = min(read, key=lambda one: one.ch), max(read, key=lambda one: one.ch)
    if high.ch > APART * low.ch:
        yield Finding(
            "dissipation-degrees-differ",
            Severity.INFO,
            f"ch is {low.ch:.1e} m2/s by the time of {low.degree:.0f} % and {high.ch:.1e} by that "
            f"of {high.degree:.0f} %",
            "one ch at every degree; the record is not of the shape of the tabulated curve, or "
            "the initial or the in-situ pressure is off",
            source="Teh & Houlsby 1991 (from memory)",
        )


def _of_fits(
    case: Case, estimates: tuple[DissipationEstimate, ...], fits: tuple[DissipationFit, ...]
) -> Iterator[Finding]:
    words = {"curve-fit": "tabulated curve", "dilatory-fit": "dilatory solution"}
    for one in estimates:
        excess = one.u_i - case.u0
        if one.method in words and one.residual is not None and one.residual > BAD_SHAPE * excess:
            yield Finding(
                "dissipation-shape",
                Severity.INFO,
                f"the {words[one.method]} misses the record by {one.residual:.1f} kPa, "
                f"{100 * one.residual / excess:.0f} % of the excess",
                "below 5 %; the record is not of the shape that the solution has",
            )
    for fit in fits:
        rigidity = fit.parameters.get("implied_Ir")
        if rigidity is not None and not IR_LOW <= rigidity <= IR_HIGH:
            yield Finding(
                "dissipation-implied-rigidity",
                Severity.INFO,
                f"the pressures of the dilatory solution stand for Ir of {rigidity:.3g} and OCR of "
                f"{fit.parameters['implied_OCR']:.3g}; ch was made with Ir {case.Ir.value:g}",
                f"Ir from {IR_LOW:g} to {IR_HIGH:g}; do not lean on this fit",
            )


def _of_ways(estimates: tuple[DissipationEstimate, ...]) -> Iterator[Finding]:
    timed = {one.method: one.t50 for one in estimates if one.t50 > 0}
    if len(timed) < 2:
        return
    low, high = min(timed, key=timed.__getitem__), max(timed, key=timed.__getitem__)
    if timed[high] > APART * timed[low]:
        yield Finding(
            "dissipation-ways-differ",
            Severity.INFO,
            f"t50 is {timed[low]:.0f} s by {low} and {timed[high]:.0f} s by {high}",
            "ways within a factor of 2; ch is no better than they agree",
        )


def _caution(name: str, found: str, expected: str, source: str = "") -> Finding:
    return Finding(name, Severity.CAUTION, found, expected, source=source)

"""From a dissipation test to its result: the parts put together, the method chosen."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from pushproof.equations.arrays import FloatArray
from pushproof.interpretation.dissipation.equilibrium import Equilibrium, equilibrium
from pushproof.interpretation.dissipation.estimates import (
    curve_fit,
    dilatory_fit,
    estimate,
    line_fit,
)
from pushproof.interpretation.dissipation.factors import (
    IR_ASSUMED,
    Case,
    Rigidity,
    degree_rows,
    time_factors,
)
from pushproof.interpretation.dissipation.record import Record, prepare
from pushproof.interpretation.dissipation.remarks import assumed_rigidity, notes, remarks
from pushproof.interpretation.dissipation.reported import Reported, held_against, reported
from pushproof.interpretation.dissipation.setting import Within, recipe_of, setting, sounding_of
from pushproof.interpretation.dissipation.ways import Way, ways
from pushproof.model.dissipation import (
    DegreeRow,
    DissipationEstimate,
    DissipationFit,
    DissipationKind,
    DissipationResult,
)
from pushproof.model.picks import DissipationChoice, DissipationMethod
from pushproof.model.recipe import Recipe
from pushproof.model.sounding import Dissipation


def dissipations(within: Within, recipe: Recipe | None = None) -> tuple[DissipationResult, ...]:
    """Return the results of all dissipation tests of a sounding.

    Parameters
    ----------
    within
        Interpretation, profile or sounding. Only an interpretation tells the modulus for kh and
        the effective stress for the dilatory solution.
    recipe
        Decisions; those behind the profile where None.
    """
    tests = sounding_of(within).dissipations
    return tuple(dissipation(test, within, recipe=recipe) for test in tests)


def dissipation(
    test: Dissipation,
    within: Within,
    *,
    recipe: Recipe | None = None,
    choice: DissipationChoice | None = None,
) -> DissipationResult:
    """Return the result of one dissipation test.

    Parameters
    ----------
    test
        The record.
    within
        Interpretation, profile or sounding it belongs to.
    recipe
        Decisions; those behind the profile where None.
    choice
        The picks; those of the recipe for this depth where None.

    Returns
    -------
    DissipationResult
        Every way side by side; NaN with a finding where something cannot be had.
    """
    number = _number(test, within)
    picks = choice or choice_for(recipe_of(within, recipe), test.depth, number)
    place = setting(within, test.depth, picks, recipe)
    record = prepare(test, picks)
    if record.kind is DissipationKind.EMPTY:
        found = Equilibrium(math.nan, None, "not looked for")
    else:
        found = equilibrium(record, place, picks, test.depth)
    told = reported(test)
    Ir = _rigidity(picks, told)
    case = Case(record, found.u0, place, time_factors(record.channel), Ir)
    readings = _readings(case, picks)
    estimates, fits = _side_by_side(case, picks, readings)
    chosen = _chosen(picks, record, estimates)
    degrees = _degrees(case, chosen, readings)
    said = (
        *remarks(case, estimates, chosen, readings, fits, degrees),
        *held_against(told, case, chosen),
    )
    here = (replace(one, top=test.depth) for one in said)
    return DissipationResult(
        sounding=place.name,
        number=number,
        depth=test.depth,
        channel=record.channel,
        filter=case.factors.filter,
        kind=record.kind,
        time=record.time,
        u=record.u,
        percent=_percent(case, chosen),
        t0=record.t0,
        u0=found.u0,
        u0_by=found.by,
        u0_how=found.how,
        water_level=test.depth - found.u0 / place.gamma_water,
        peak_time=float(record.time[record.peak]) if len(record.time) else math.nan,
        u_peak=float(record.smooth[record.peak]) if len(record.time) else math.nan,
        radius=place.radius,
        Ir=Ir.value,
        Ir_given=Ir.given,
        Ir_how=Ir.how,
        M=place.M,
        M_how=place.M_how,
        method=None if chosen is None else chosen.method,
        estimates=estimates,
        fits=fits,
        degrees=degrees,
        choice=picks,
        assumptions=(*place.assumptions, *found.assumptions, *assumed_rigidity(Ir, chosen)),
        findings=(*record.findings, *found.findings, *here),
        notes=notes(case, chosen),
        equations=_equations(case, estimates),
    )


def choice_for(recipe: Recipe, depth: float, number: int) -> DissipationChoice:
    """Return the picks of a recipe for a test: the last that concerns it, or none."""
    found = [one for one in recipe.dissipations if one.concerns(depth, number)]
    return found[-1] if found else DissipationChoice()


def with_choice(recipe: Recipe, choice: DissipationChoice) -> Recipe:
    """Return the recipe with the picks of one test put in the place of earlier ones."""
    same = (choice.depth, choice.number)
    kept = [one for one in recipe.dissipations if (one.depth, one.number) != same]
    return recipe.model_copy(update={"dissipations": (*kept, choice)})


def _number(test: Dissipation, within: Within) -> int:
    tests = sounding_of(within).dissipations
    return next((k for k, one in enumerate(tests, 1) if one is test), 1)


def _rigidity(picks: DissipationChoice, told: Reported) -> Rigidity:
    """Return the rigidity index: picked, else as the file states it, else assumed."""
    if picks.Ir is not None:
        return Rigidity(picks.Ir, "given")
    if told.Ir > 1.0:
        return Rigidity(told.Ir, "estimated in the file")
    return Rigidity(IR_ASSUMED, "assumed")


def _readings(case: Case, picks: DissipationChoice) -> tuple[Way, ...]:
    """Return the readings of a record that falls; none of one that does not."""
    if case.record.kind not in (DissipationKind.FALLING, DissipationKind.RISING_FIRST):
        return ()
    return ways(case.record, case.u0, picks)


def _side_by_side(
    case: Case, picks: DissipationChoice, readings: tuple[Way, ...]
) -> tuple[tuple[DissipationEstimate, ...], tuple[DissipationFit, ...]]:
    """Return the estimates side by side and what was fitted for them.

    The tabulated curve is fitted to a record that falls from the start, the dilatory solution to
    one that rises first, or where it is picked.
    """
    estimates = [estimate(way, case) for way in readings]
    fits = [line_fit(way, case) for way in readings if way.line is not None]
    if not readings or math.isnan(case.u0):
        return tuple(estimates), tuple(fits)
    rising = case.record.kind is DissipationKind.RISING_FIRST
    made = [None if rising else curve_fit(case)]
    if rising or picks.method == "dilatory-fit":
        made.append(dilatory_fit(case))
    for one in made:
        if one is not None:
            estimates.append(one[0])
            fits.append(one[1])
    return tuple(estimates), tuple(fits)


def _chosen(
    picks: DissipationChoice, record: Record, estimates: tuple[DissipationEstimate, ...]
) -> DissipationEstimate | None:
    """Return the estimate picked; else the direct reading, or root time where that cannot be.

    Root time comes first where the record rises before it falls, or begins later than 1 s after
    the stop: then no reading is the initial pressure.
    """
    by_method = {one.method: one for one in estimates}
    if picks.method is not None:
        return by_method.get(picks.method)
    late = len(record.time) > 0 and float(record.time[0]) > 1.0
    order: tuple[DissipationMethod, ...] = ("direct", "root-time", "curve-fit", "log-time")
    if record.kind is DissipationKind.RISING_FIRST:
        order = ("root-time", "dilatory-fit", "log-time")
    elif late and picks.u_i is None:
        order = ("root-time", "curve-fit", "log-time", "direct")
    found = [by_method[name] for name in order if name in by_method]
    timed = [one for one in found if math.isfinite(one.t50)]
    return next(iter([one for one in timed if not one.extrapolated] or timed or found), None)


def _degrees(
    case: Case, chosen: DissipationEstimate | None, readings: tuple[Way, ...]
) -> tuple[DegreeRow, ...]:
    """Return the tabulated degrees; none by the dilatory solution, which has no table."""
    if chosen is None or not math.isfinite(chosen.ch) or chosen.method == "dilatory-fit":
        return ()
    shift = next((way.from_time for way in readings if way.method == chosen.method), 0.0)
    return degree_rows(case, chosen.u_i, shift, chosen.ch)


def _percent(case: Case, chosen: DissipationEstimate | None) -> FloatArray:
    u = case.record.u
    if chosen is None or math.isnan(case.u0) or chosen.u_i == case.u0:
        return np.full(len(u), np.nan)
    return np.asarray(100.0 * (chosen.u_i - u) / (chosen.u_i - case.u0))


def _equations(case: Case, estimates: tuple[DissipationEstimate, ...]) -> tuple[str, ...]:
    """Return the names of the registered equations behind the numbers."""
    timed = [one for one in estimates if math.isfinite(one.t50)]
    names: list[str] = []
    if any(one.method != "dilatory-fit" for one in timed):
        names += [*case.factors.equations, "ch_teh_houlsby_1991"]
    if any(one.method == "dilatory-fit" for one in timed):
        names.append("du_burns_mayne_1998")
    if any(math.isfinite(one.kh_modulus) for one in timed):
        names.append("kh_consolidation")
    return (*names, "kh_parez_fauriel_1988") if timed else ()

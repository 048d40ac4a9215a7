"""From a profile to its interpretation: the chain that the recipe chooses, and its findings."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pushproof.interpretation.chain import Step, run
from pushproof.interpretation.stresses import extended, stresses
from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Interpretation, Profile
from pushproof.model.quantities import QUANTITIES
from pushproof.model.recipe import Recipe
from pushproof.model.series import Reason, Series

NEAR_ZERO = 1.0
"""Effective stress [kPa] below which nothing is normalised by it. Common sense, no source: it is
reached within the top 0.1 m, where some centimetres of depth double the result."""


def interpret(profile: Profile) -> Interpretation:
    """Return the derived parameters along a profile.

    Parameters
    ----------
    profile
        Corrected profile; its recipe names the relations.

    Returns
    -------
    Interpretation
        The columns of the profile, then stresses, normalised parameters, soil behaviour and
        equivalent blow counts. A value that cannot be had is missing with its reason.

    Examples
    --------
    >>> import numpy as np
    >>> from pushproof.model.sounding import Sounding
    >>> from pushproof.processing import process
    >>> columns = {"length": np.array([4.0]), "qc": np.array([900.0]), "fs": np.array([20.0])}
    >>> derived = interpret(process(Sounding("A", Series(columns))))
    >>> round(float(derived.series["Ic"][0]), 2)
    2.66
    """
    recipe = profile.recipe
    grounds = stresses(profile)
    steps = chain(recipe)
    found = run(steps, _loaded(grounds.series), constants(recipe))
    shown = {key: values for key, values in found.columns.items() if key in QUANTITIES}
    reasons = {key: codes for key, codes in found.reasons.items() if key in shown}
    series = extended(grounds.series, shown, reasons)
    return Interpretation(
        profile=profile,
        series=series,
        methods=grounds.methods | _methods(steps),
        assumptions=(*profile.assumptions, *grounds.assumptions),
        findings=(*profile.findings, *grounds.findings, *_findings(series)),
    )


def constants(recipe: Recipe) -> dict[str, float]:
    """Return the arguments of equations that are the same at every depth, by name."""
    return {"pa": recipe.pa, "gamma_w": recipe.gamma_water}


def chain(recipe: Recipe) -> tuple[Step, ...]:
    """Return the steps that a recipe chooses, in the order in which they are run.

    Examples
    --------
    >>> [step.key for step in chain(Recipe())][:4]
    ['qn', 'Qt', 'Fr', 'Bq']
    """
    methods = recipe.methods
    return (
        Step("qn", "qn_net"),
        Step("Qt", "Qt_linear"),
        Step("Fr", "Fr_normalised"),
        Step("Bq", "Bq_ratio"),
        Step("n", methods.n),
        Step("Qtn", "Qtn_stress"),
        Step("Ic", "Ic_robertson_wride_1998"),
        Step("curve", methods.overconsolidated_zones),
        Step("zone", "zone_robertson_2009"),
        Step("n60_ratio", methods.n60),
        Step("N60", "N60_from_ratio"),
        Step("N1_60", "N1_60_liao_whitman_1986"),
    )


def _methods(steps: tuple[Step, ...]) -> dict[str, str]:
    """Return the equation of each column; the ratio of blow counts stands for N60."""
    return {step.key: step.equation for step in steps if step.key in QUANTITIES}


def _loaded(series: Series) -> Series:
    """Leave out the effective stress where it is too near to zero to normalise by."""
    effective = series["sigma_v0_eff"]
    bare = effective < NEAR_ZERO
    return series.blank("sigma_v0_eff", bare, Reason.OUTSIDE_VALIDITY) if bare.any() else series


def _findings(series: Series) -> list[Finding]:
    findings = []
    low = series["qn"] <= 0
    if low.any():
        findings.append(
            _rows_finding(
                "qt-below-overburden",
                series,
                low,
                "qt is not above the overburden in {} rows; nothing is derived there",
                "qt above sigma_v0; check the zero of qc, the unit weight and the water level",
                "qt",
            )
        )
    if not series.measured("fs"):
        findings.append(
            Finding(
                "fs-missing",
                Severity.CAUTION,
                "there is no sleeve friction, so no soil behaviour and what follows from it",
                "fs at every depth",
                channel="fs",
            )
        )
    elif (flat := series["fs"] <= 0).any():
        findings.append(
            _rows_finding(
                "fs-not-positive",
                series,
                flat,
                "fs is zero or less in {} rows; no soil behaviour is derived there",
                "fs above zero; check its zero reading",
                "fs",
            )
        )
    stuck = series.reason("n") == Reason.NOT_CONVERGED
    if stuck.any():
        text = "the stress exponent did not settle in {} rows"
        findings.append(_rows_finding("n-not-converged", series, stuck, text, "", "n"))
    return findings


def _rows_finding(
    name: str, series: Series, rows: NDArray[np.bool_], text: str, expected: str, channel: str
) -> Finding:
    where = np.flatnonzero(rows)
    return Finding(
        name,
        Severity.CAUTION,
        text.format(where.size),
        expected,
        top=float(series["depth"][where[0]]),
        base=float(series["depth"][where[-1]]),
        channel=channel,
    )

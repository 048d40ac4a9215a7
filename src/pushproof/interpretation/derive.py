"""From a profile to its interpretation: the chain that the recipe chooses, and its findings."""

from __future__ import annotations

from pushproof.interpretation.arguments import assumed_factors, constants
from pushproof.interpretation.chain import Derived, Step, run
from pushproof.interpretation.remarks import remarks
from pushproof.interpretation.seismic.measured import with_measured_velocity
from pushproof.interpretation.steps import chain
from pushproof.interpretation.stresses import extended, stresses
from pushproof.model.profile import Interpretation, Profile
from pushproof.model.quantities import QUANTITIES
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
        what follows from it. A value that cannot be had is missing with its reason; a relation
        for sand gives none in clay, and the other way round.

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
    found = run(steps, _loaded(grounds.series), constants(recipe), keep=QUANTITIES)
    series = extended(grounds.series, found.columns, found.reasons)
    series, measured = with_measured_velocity(series, recipe)
    return Interpretation(
        profile=profile,
        series=series,
        methods=grounds.methods | _methods(steps),
        assumptions=(
            *profile.assumptions,
            *grounds.assumptions,
            *assumed_factors(recipe, _used(steps, found), steps),
        ),
        findings=(*profile.findings, *grounds.findings, *remarks(series), *measured),
    )


def _methods(steps: tuple[Step, ...]) -> dict[str, str]:
    """Return the equations of each column; for N60 that of the ratio, which is the relation."""
    names: dict[str, dict[str, None]] = {}
    for step in steps:
        key = "N60" if step.key == "n60_ratio" else step.key
        if key in QUANTITIES and step.equation != "N60_from_ratio":
            names.setdefault(key, {})[step.equation] = None
    return {key: " | ".join(found) for key, found in names.items()}


def _used(steps: tuple[Step, ...], found: Derived) -> list[str]:
    """Return the arguments of the steps that gave at least one value."""
    made = {step.key for step in steps}
    empty = {key for key, codes in found.reasons.items() if (codes != Reason.PRESENT).all()}
    useful = [step for step in steps if step.key not in empty]
    return [name for step in useful for name in step.inputs if name not in made]


def _loaded(series: Series) -> Series:
    """Leave out the effective stress where it is too near to zero to normalise by."""
    effective = series["sigma_v0_eff"]
    bare = effective < NEAR_ZERO
    return series.blank("sigma_v0_eff", bare, Reason.OUTSIDE_VALIDITY) if bare.any() else series

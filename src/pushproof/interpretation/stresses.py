"""Unit weight and stresses along a profile."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.stress import sigma_v0_layers, u0_hydrostatic
from pushproof.equations.unit_weight import gamma_mayne_2014, gamma_robertson_2010
from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Assumption, Profile
from pushproof.model.series import Series

FloatArray = NDArray[np.float64]


SHALLOW = 0.25
"""Depth [m] down to which the first estimate also stands for what is above it."""


@dataclass(frozen=True)
class Stresses:
    """A series with gamma, sigma_v0, u0 and sigma_v0_eff, and what had to be assumed."""

    series: Series
    method: str
    assumptions: tuple[Assumption, ...]
    findings: tuple[Finding, ...]


def stresses(profile: Profile) -> Stresses:
    """Add unit weight and vertical stresses to the series of a profile.

    The unit weight comes from the relation that the recipe names. Where it has no value (no
    friction, a gap, the pre-excavated part) the nearest value below holds, and above the first
    value the recipe's assumed one. Open water above the bottom loads the ground.
    """
    recipe, series = profile.recipe, profile.series
    depth = series["depth"]
    assumptions: list[Assumption] = []
    findings: list[Finding] = []
    if recipe.gamma_constant is not None:
        method = "one value for all depths"
        gamma = np.full(len(depth), recipe.gamma_constant)
    else:
        method = recipe.methods.gamma
        estimate = _estimate(profile)
        gamma = np.clip(estimate, recipe.gamma_low, recipe.gamma_high)
        findings += _bound_findings(depth, estimate, gamma)
        gamma, assumed = _filled(depth, gamma, recipe.gamma_predrilled)
        assumptions += assumed
    water = profile.water.level if profile.water is not None else None
    surcharge = 0.0 if water is None else recipe.gamma_water * max(0.0, -water)
    sigma_v0 = sigma_v0_layers(depth, gamma, surcharge)
    u0 = np.zeros(len(depth)) if water is None else u0_hydrostatic(depth, water, recipe.gamma_water)
    effective = sigma_v0 - u0
    series = series.with_column("gamma", gamma).with_column("sigma_v0", sigma_v0)
    series = series.with_column("u0", u0).with_column("sigma_v0_eff", effective)
    return Stresses(series, method, tuple(assumptions), tuple(findings))


def _estimate(profile: Profile) -> FloatArray:
    series, recipe = profile.series, profile.recipe
    if recipe.methods.gamma == "gamma_mayne_2014":
        return gamma_mayne_2014(series.get("fs"))
    return gamma_robertson_2010(
        series["qt"], series.get("Rf"), pa=recipe.pa, gamma_w=recipe.gamma_water
    )


def _filled(
    depth: FloatArray, gamma: FloatArray, above: float
) -> tuple[FloatArray, list[Assumption]]:
    known = np.flatnonzero(np.isfinite(gamma))
    if not known.size:
        text = f"unit weight {above:g} kN/m3 at all depths"
        reason = "the relation for unit weight needs both qt and fs"
        return np.full(len(gamma), above), [Assumption("gamma", text, above, reason)]
    nearest = np.searchsorted(known, np.arange(len(gamma)), side="left")
    filled = gamma[known[np.minimum(nearest, known.size - 1)]]
    first = known[0]
    if depth[first] <= SHALLOW:
        return filled, []
    filled[: first + 1] = above
    text = f"unit weight {above:g} kN/m3 down to {depth[first]:.2f} m"
    reason = "there is no reading above that depth to estimate it from"
    return filled, [Assumption("gamma_predrilled", text, above, reason)]


def _bound_findings(depth: FloatArray, estimate: FloatArray, bounded: FloatArray) -> list[Finding]:
    moved = np.isfinite(estimate) & (estimate != bounded)
    share = float(np.mean(moved)) if moved.size else 0.0
    if share < 0.01:
        return []
    where = depth[moved]
    low, high = float(np.nanmin(bounded[moved])), float(np.nanmax(bounded[moved]))
    bounds = f"{low:g} kN/m3" if low == high else f"{low:g} or {high:g} kN/m3"
    return [
        Finding(
            "gamma-at-bound",
            Severity.INFO,
            f"the estimated unit weight was held at {bounds} in {share:.0%} of the rows",
            "a measured unit weight, given with the recipe (gamma_constant)",
            top=float(where.min()),
            base=float(where.max()),
            channel="gamma",
        )
    ]

"""Unit weight and stresses along a profile."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pushproof.equations import find
from pushproof.equations.arrays import FloatArray
from pushproof.equations.stress import (
    sigma_v0_eff_terzaghi,
    sigma_v0_layers,
    u0_hydrostatic,
)
from pushproof.interpretation.arguments import assumed_factors, constants
from pushproof.interpretation.remarks import rows_in_words
from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Assumption, Profile
from pushproof.model.series import Reason, ReasonArray, Series
from pushproof.model.sounding import WaterOrigin

SHALLOW = 0.25
"""Depth [m] down to which the first estimate also stands for what is above it."""
TOLERANCE = 0.01
"""Largest change of unit weight [kN/m3] at which a relation that needs the stress is done."""
MAXIMUM = 20
"""Passes after which it counts as not converged."""


@dataclass(frozen=True)
class Stresses:
    """A series with gamma, sigma_v0, u0 and sigma_v0_eff, and what had to be assumed."""

    series: Series
    methods: dict[str, str]
    assumptions: tuple[Assumption, ...]
    findings: tuple[Finding, ...]


def stresses(profile: Profile) -> Stresses:
    """Add unit weight and vertical stresses to the series of a profile.

    The unit weight comes from the relation that the recipe names, held within the recipe's
    bounds. Where it has no value it is bridged between its neighbours, and above the first
    reading the recipe's assumed value holds. Open water above the ground loads it. Total stress is
    summed from depth 0 down, the unit weight linear between rows.
    """
    recipe, series = profile.recipe, profile.series
    placed = np.isfinite(series["depth"])
    rows = series if placed.all() else series.take(placed)
    depth = np.maximum(rows["depth"], 0.0)
    load, u0, findings = _water(profile, depth)
    assumptions: tuple[Assumption, ...] = ()
    if recipe.gamma_constant is not None:
        method = "constant"
        gamma = np.full(len(depth), recipe.gamma_constant)
        sigma_v0 = sigma_v0_layers(depth, gamma, load)
    else:
        method = recipe.methods.gamma
        found = _estimated(profile, rows, depth, load, u0)
        gamma, sigma_v0 = found.gamma, found.sigma_v0
        assumptions = found.assumptions
        findings += found.findings
    effective = sigma_v0_eff_terzaghi(sigma_v0, u0)
    columns = {"gamma": gamma, "sigma_v0": sigma_v0, "u0": u0, "sigma_v0_eff": effective}
    methods = {
        "gamma": method,
        "sigma_v0": "sigma_v0_layers",
        "u0": "u0_hydrostatic",
        "sigma_v0_eff": "sigma_v0_eff_terzaghi",
    }
    reasons: dict[str, ReasonArray] = {}
    if profile.water is None:
        reasons = {k: np.full(len(depth), Reason.NOT_MEASURED) for k in ("u0", "sigma_v0_eff")}
    if rows is not series:
        columns = {key: _spread(values, placed) for key, values in columns.items()}
        reasons = {key: series.reason("depth") for key in columns} | {
            key: np.where(placed, np.uint8(Reason.NOT_MEASURED), series.reason("depth"))
            for key in reasons
        }
    series = extended(series, columns, reasons)
    return Stresses(series, methods, assumptions, tuple(findings))


def extended(
    series: Series, columns: Mapping[str, FloatArray], reasons: Mapping[str, ReasonArray]
) -> Series:
    """Return a series with columns added at once, without copying any."""
    kept = {key: codes for key, codes in series.reasons.items() if key not in columns}
    return replace(series, columns={**series.columns, **columns}, reasons={**kept, **dict(reasons)})


def _spread(values: FloatArray, placed: NDArray[np.bool_]) -> FloatArray:
    full = np.full(placed.shape, np.nan)
    full[placed] = values
    return full


def _water(profile: Profile, depth: FloatArray) -> tuple[float, FloatArray, list[Finding]]:
    """Return the load of open water [kPa], u0 [kPa] and what is to be said about them."""
    weight = profile.recipe.gamma_water
    over_water = profile.sounding.location.water_depth or 0.0
    if profile.water is None:
        text = "no water level is known, so there is no effective stress and nothing normalised"
        finding = Finding("water-level-missing", Severity.STOP, text, "a water level", channel="u0")
        return load_above(profile), np.full(len(depth), np.nan), [finding]
    level = profile.water.level
    findings = []
    if over_water and abs(level + over_water) > 0.01:
        findings.append(_open_water(level, over_water))
    elif level < 0 and not over_water and profile.water.origin is not WaterOrigin.ASSUMED:
        findings.append(
            Finding(
                "water-above-ground",
                Severity.INFO,
                f"the water level is {-level:.2f} m above ground; taken as open water that loads "
                "the ground",
                f"if it is an artesian head, effective stress is {-level * weight:.0f} kPa lower: "
                "give the depth of open water with the sounding",
                channel="u0",
            )
        )
    used = water_used(profile)
    return (
        load_above(profile),
        u0_hydrostatic(depth, level if used is None else used, weight),
        findings,
    )


def water_used(profile: Profile) -> float | None:
    """Return the water level [m] that u0 is reckoned from: not below that of open water."""
    if profile.water is None:
        return None
    level = profile.water.level
    over_water = profile.sounding.location.water_depth or 0.0
    if over_water and abs(level + over_water) > 0.01:
        return min(level, -over_water)
    return level


def load_above(profile: Profile) -> float:
    """Return the load of open water on the ground [kPa]."""
    over_water = profile.sounding.location.water_depth or 0.0
    level = water_used(profile)
    return profile.recipe.gamma_water * (over_water or max(0.0, -(level or 0.0)))


def _open_water(level: float, over_water: float) -> Finding:
    if level < -over_water:
        text = f"the water level stands {-level - over_water:.2f} m above the open water"
        return Finding("water-head", Severity.INFO, text + "; taken as a head in the ground")
    return Finding(
        "water-level-under-open-water",
        Severity.CAUTION,
        f"open water is {over_water:.2f} m deep but the water level is given as {level:.2f} m",
        "the level of the open water is used",
        channel="u0",
    )


@dataclass(frozen=True)
class _Estimated:
    gamma: FloatArray
    sigma_v0: FloatArray
    assumptions: tuple[Assumption, ...]
    findings: list[Finding]


def _estimated(
    profile: Profile, rows: Series, depth: FloatArray, load: float, u0: FloatArray
) -> _Estimated:
    """Estimate the unit weight; a relation that needs the stress is repeated until both agree."""
    recipe = profile.recipe
    equation = find(recipe.methods.gamma)
    names = equation.parameters
    known = constants(recipe)
    inputs: dict[str, FloatArray | float] = {
        name: known[name] if name in known else rows.get(name) for name in names
    }
    repeats = "sigma_v0_eff" in names
    gamma = np.full(len(depth), recipe.gamma_predrilled)
    for _ in range(MAXIMUM if repeats else 1):
        before = gamma
        if repeats:
            stress = _total(depth, gamma, load) - np.nan_to_num(u0)
            inputs["sigma_v0_eff"] = np.maximum(stress, 1.0)
        estimate = equation.function(**inputs)
        bounded = np.clip(estimate, recipe.gamma_low, recipe.gamma_high)
        gamma, assumptions, findings = _filled(depth, bounded, recipe.gamma_predrilled)
        if np.abs(gamma - before).max(initial=0.0) <= TOLERANCE:
            break
    else:
        if repeats:
            text = "the unit weight and the stress that it depends on did not settle"
            findings.append(Finding("gamma-not-converged", Severity.CAUTION, text, channel="gamma"))
    findings += _bound_findings(depth, estimate, bounded)
    assumptions += assumed_factors(recipe, names)
    return _Estimated(gamma, _total(depth, gamma, load), assumptions, findings)


def _total(depth: FloatArray, gamma: FloatArray, load: float) -> FloatArray:
    """Sum the unit weight, linear between rows and constant above the first."""
    between = gamma.copy()
    between[1:] += gamma[:-1]
    between[1:] *= 0.5
    return sigma_v0_layers(depth, between, load)


def _filled(
    depth: FloatArray, gamma: FloatArray, above: float
) -> tuple[FloatArray, tuple[Assumption, ...], list[Finding]]:
    missing = ~np.isfinite(gamma)
    if missing.all():
        text = f"unit weight {above:g} kN/m3 at all depths"
        reason = "the relation for unit weight needs readings that there are not"
        assumed = Assumption("gamma", text, above, reason)
        return np.full(len(gamma), above), (assumed,), []
    if not missing.any() and depth[0] <= SHALLOW:
        return gamma, (), []
    known = np.flatnonzero(~missing)
    first = known[0]
    filled = gamma.copy()
    filled[missing] = np.interp(depth[missing], depth[known], gamma[known])
    findings = []
    bridged = np.flatnonzero(missing[first:]) + first
    if bridged.size:
        findings.append(
            Finding(
                "gamma-bridged",
                Severity.INFO,
                f"no unit weight in {rows_in_words(bridged.size)}; bridged between neighbours",
                top=float(depth[bridged[0]]),
                base=float(depth[bridged[-1]]),
                channel="gamma",
            )
        )
    if depth[first] <= SHALLOW:
        return filled, (), findings
    filled[: first + 1] = above
    text = f"unit weight {above:g} kN/m3 down to {depth[first]:.2f} m"
    reason = "there is no reading above that depth to estimate it from"
    return filled, (Assumption("gamma_predrilled", text, above, reason),), findings


def _bound_findings(depth: FloatArray, estimate: FloatArray, bounded: FloatArray) -> list[Finding]:
    moved = np.flatnonzero(np.abs(estimate - bounded) > 0)
    if not moved.size:
        return []
    low, high = float(bounded[moved].min()), float(bounded[moved].max())
    bounds = f"{low:g} kN/m3" if low == high else f"{low:g} or {high:g} kN/m3"
    return [
        Finding(
            "gamma-at-bound",
            Severity.INFO,
            f"the estimated unit weight was held at {bounds} in {rows_in_words(moved.size)}, "
            f"{moved.size / len(depth):.1%} of all",
            "a measured unit weight, given with the recipe (gamma_constant)",
            top=float(depth[moved[0]]),
            base=float(depth[moved[-1]]),
            channel="gamma",
        )
    ]

"""A measured velocity in the place of the estimate: Vs and G0 of the rows it was measured in."""

from __future__ import annotations

import numpy as np

from pushproof.equations.arrays import FloatArray
from pushproof.equations.stiffness import G0_wave_velocity
from pushproof.interpretation.chain import Mask
from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.model.recipe import Recipe
from pushproof.model.series import Series


def measured_keys(recipe: Recipe) -> tuple[str, ...]:
    """Return the columns that a measured velocity replaces: Vs, and G0 where it follows from it."""
    return ("Vs", "G0") if recipe.methods.g0 == "G0_wave_velocity" else ("Vs",)


def measured_velocity(depth: FloatArray, recipe: Recipe) -> FloatArray:
    """Return the measured velocity at each depth, NaN where there is none, shape (n,) [m/s].

    An interval holds from its top down to above its base; of two that overlap the later in the
    recipe counts.
    """
    found = np.full(len(depth), np.nan)
    for one in recipe.wave_velocity:
        found[(depth >= one.top) & (depth < one.base)] = one.Vs
    return found


def measured_rows(series: Series, recipe: Recipe) -> Mask:
    """Tell the rows with a measured velocity, shape (n,)."""
    return np.isfinite(measured_velocity(series["depth"], recipe))


def measured_reason(depth: float, profile: Profile) -> str:
    """Say how the velocity at a depth was measured; empty where it was not."""
    inside = [one for one in profile.recipe.wave_velocity if one.top <= depth < one.base]
    return f"measured, in the place of the estimate: {inside[-1].reason}" if inside else ""


def with_measured_velocity(series: Series, recipe: Recipe) -> tuple[Series, tuple[Finding, ...]]:
    """Return the series with measured velocities in place, and what is to be said of it.

    G0 follows where the recipe takes it from the velocity.
    """
    if not recipe.wave_velocity:
        return series, ()
    measured = measured_velocity(series["depth"], recipe)
    rows = np.isfinite(measured)
    if not rows.any():
        text = "no row lies in the intervals of the measured velocities"
        return series, (
            Finding("seismic-unused", Severity.CAUTION, text, "depths as in the log", channel="Vs"),
        )
    estimate = series["Vs"]
    series = _replaced(series, "Vs", measured, rows)
    if "G0" in measured_keys(recipe):
        modulus = G0_wave_velocity(series["gamma"], measured)
        series = _replaced(series, "G0", modulus, rows & np.isfinite(modulus))
    return series, (_compared(series, estimate, measured),)


def _replaced(series: Series, key: str, values: FloatArray, rows: Mask) -> Series:
    reasons = np.where(rows, 0, series.reason(key)).astype(np.uint8)
    return series.with_column(key, np.where(rows, values, series[key]), reasons)


def _compared(series: Series, estimate: FloatArray, measured: FloatArray) -> Finding:
    """Say where Vs is measured, and how the estimate compares there."""
    rows = np.isfinite(measured)
    depth = series["depth"][rows]
    ratio = measured[rows] / estimate[rows]
    ratio = ratio[np.isfinite(ratio)]
    words = "there is no estimate to compare"
    if ratio.size:
        words = f"it is {float(np.median(ratio)):.2f} times the estimate in the middle"
    return Finding(
        "seismic-measured",
        Severity.INFO,
        f"Vs is measured, not estimated, in {int(rows.sum())} rows; {words}",
        top=float(depth.min()),
        base=float(depth.max()),
        channel="Vs",
    )

"""Pore pressure: is the filter saturated, and does it agree with the water level?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.stress import u0_hydrostatic
from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.quality.checks.registry import check

CAVITATION = -85.0
"""Pressure near absolute zero, which no water holds [kPa gauge]; absolute zero is -101 kPa."""


@dataclass(frozen=True)
class Saturation:
    """How well the filter responded: a grade in words and what it rests on."""

    grade: str
    reasons: tuple[str, ...]


def sand_rows(profile: Profile) -> NDArray[np.bool_]:
    """Tell which rows are clean sand by plain resistance and friction ratio."""
    qt, ratio = profile.series["qt"], profile.series.get("Rf")
    return np.asarray((qt > 5000) & (ratio < 1.0) & np.isfinite(profile.series.get("u2")))


def saturation(profile: Profile) -> Saturation | None:
    """Grade the response of the filter; None without u2 or without anything to judge by.

    Two signs from the record itself: in clean sand u2 follows the hydrostatic line, and in soft
    clay it rises well above it. Common practice; no published grade is followed.
    """
    series = profile.series
    if not series.measured("u2") or profile.water is None:
        return None
    u0 = u0_hydrostatic(series["depth"], profile.water.level)
    u2, qt, ratio = series["u2"], series["qt"], series.get("Rf")
    good: list[str] = []
    bad: list[str] = []
    below = series["depth"] > profile.water.level + 0.5
    sand = sand_rows(profile) & below
    if np.count_nonzero(sand) > 30:
        off = float(np.median(np.abs(u2 - u0)[sand]))
        allowed = max(20.0, 0.15 * float(np.median(u0[sand])))
        text = f"in sand u2 is {off:.0f} kPa off hydrostatic (median)"
        (good if off < allowed else bad).append(text)
    clay = (qt < 1500) & (ratio > 1.2) & np.isfinite(u2) & below
    clay &= series["depth"] > profile.water.level + 1.5
    if np.count_nonzero(clay) > 40:
        excess = float(np.median(((u2 - u0) / np.maximum(qt, 1.0))[clay]))
        text = f"in soft clay the excess is {excess:.0%} of qt (median)"
        (good if excess > 0.20 else bad).append(text)
    if not good and not bad:
        return None
    grade = "good" if not bad else ("doubtful" if good else "poor")
    return Saturation(grade, tuple(good + bad))


@check("saturation", "the filter responds as a saturated one does", "common practice")
def check_saturation(profile: Profile) -> Iterator[Finding]:
    """Report a filter that responds late or little."""
    found = saturation(profile)
    if found is None or found.grade == "good":
        return
    yield Finding(
        "filter-not-saturated",
        Severity.CAUTION,
        f"the filter responded {'poorly' if found.grade == 'poor' else 'doubtfully'}: "
        + "; ".join(found.reasons),
        "a saturated filter: hydrostatic in clean sand, a clear rise in soft clay",
        channel="u2",
    )


@check("cavitation", "pore pressure near a vacuum", "absolute zero of pressure (calculated)")
def cavitation(profile: Profile) -> Iterator[Finding]:
    """Report u2 at the limit of cavitation."""
    u2 = profile.series.get("u2")
    low = np.isfinite(u2) & (u2 < CAVITATION)
    if not low.any():
        return
    depth = profile.series["depth"][low]
    yield Finding(
        "u2-cavitation",
        Severity.CAUTION,
        f"u2 is below {CAVITATION:.0f} kPa in {int(low.sum())} readings: the fluid cavitated",
        "saturate again; below such a stretch u2 may stay late for metres",
        top=float(depth.min()),
        base=float(depth.max()),
        channel="u2",
    )


@check("water-level", "the water level against u2 in sand", "hydrostatics (calculated)")
def water_level(profile: Profile) -> Iterator[Finding]:
    """Report a water level that u2 in clean sand contradicts."""
    series = profile.series
    if not series.measured("u2") or profile.water is None:
        return
    sand = sand_rows(profile) & (series["depth"] > profile.water.level + 1.0)
    if np.count_nonzero(sand) < 60:
        return
    head = series["depth"][sand] - series["u2"][sand] / 9.81
    middle, spread = float(np.median(head)), float(np.std(head))
    if abs(middle - profile.water.level) > max(1.0, 2 * spread / 3) and spread < 2.0:
        yield Finding(
            "water-level-doubtful",
            Severity.CAUTION,
            f"u2 in sand points to a water level of {middle:.1f} m, {profile.water.level:.1f} m is "
            f"used ({profile.water.origin.value})",
            "a measured water level, or a reason for the difference",
            channel="u2",
        )

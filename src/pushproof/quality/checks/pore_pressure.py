"""Pore pressure: does it agree with the water level, and can a fluid hold it?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.quality.checks.registry import check
from pushproof.quality.checks.saturation import sand_rows

CAVITATION = -85.0
"""Pressure near absolute zero, which no water holds [kPa gauge]; absolute zero is -101 kPa."""


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

"""What the file of a test reports of it, held against what is found here.

A reported value is somebody's result, so it is compared and never used in the place of ours; only
a rigidity index that the file states is taken, since the record cannot tell it.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from pushproof.interpretation.dissipation.factors import Case
from pushproof.model.dissipation import DissipationEstimate
from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import Dissipation

TOLERANCE = {"u0": 0.02, "t50": 0.05, "ch": 0.05}
"""Difference that is told: of u0 as a share of the excess, of t50 and ch of the value [-]."""
SECONDS_PER_YEAR = 365.25 * 86400.0

_KEY = re.compile(r"^(?P<name>.+?)\s*\[(?P<unit>[^\]]*)\]$")
_NAMES = {
    "reported pore_pressure_equil": "u0",
    "reported t50": "t50",
    "reported coef_consolidation_horiz": "ch",
    "SCDG_PWPE": "u0",
    "SCDG_T": "t50",
    "SCDG_CH": "ch",
}
_FACTORS = {
    "kPa": 1.0,
    "kN/m2": 1.0,
    "MPa": 1e3,
    "s": 1.0,
    "min": 60.0,
    "m2/s": 1.0,
    "cm2/s": 1e-4,
    "cm2/min": 1e-4 / 60.0,
    "m2/yr": 1.0 / SECONDS_PER_YEAR,
}


@dataclass(frozen=True)
class Reported:
    """Values that a file reports, in inside units; NaN where it does not."""

    u0: float = math.nan
    t50: float = math.nan
    ch: float = math.nan
    Ir: float = math.nan


def reported(test: Dissipation) -> Reported:
    """Return what the file of a test reports."""
    found: dict[str, float] = {}
    degree = 50.0
    for item in test.header:
        if item.key.endswith("estimatedIr"):
            found["Ir"] = _number(item.value.split()[0] if item.value.split() else "")
            continue
        match = _KEY.match(item.key)
        if match is None:
            continue
        if match["name"] == "SCDG_DDIS":
            degree = _number(item.value)
        name = _NAMES.get(match["name"])
        factor = _FACTORS.get(match["unit"])
        if name is not None and factor is not None:
            found[name] = _number(item.value) * factor
    if degree != 50.0:
        found.pop("t50", None)
    return Reported(**found)


def held_against(
    told: Reported, case: Case, chosen: DissipationEstimate | None
) -> tuple[Finding, ...]:
    """Return a finding for each reported value that is not found here."""
    if chosen is None:
        return ()
    excess = abs(chosen.u_i - case.u0)
    pairs = (
        ("u0", told.u0, case.u0, excess, "kPa"),
        ("t50", told.t50, chosen.t50, told.t50, "s"),
        ("ch", told.ch, chosen.ch, told.ch, "m2/s"),
    )
    return tuple(
        Finding(
            "dissipation-reported-differs",
            Severity.INFO,
            f"the file reports {name} of {reported:.3g} {unit}; {ours:.3g} is found here by "
            f"{chosen.method}",
            "the same, or picks that explain it: initial and in-situ pressure, way, Ir, radius",
        )
        for name, reported, ours, scale, unit in pairs
        if scale > 0 and abs(ours - reported) > TOLERANCE[name] * scale
    )


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan

"""What a sounding tells of the place of a dissipation test: water, cone, modulus, stress."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from pushproof.model.equipment import Cone
from pushproof.model.picks import DissipationChoice
from pushproof.model.profile import Assumption, Interpretation, Profile
from pushproof.model.recipe import Recipe
from pushproof.model.sounding import Sounding, Water, WaterOrigin

Within: TypeAlias = Interpretation | Profile | Sounding

STANDARD_AREA = 1e-3
"""Area of the cone where none is stated [m2]."""
NEAR = 0.25
"""Rows this near to the test stand for its ground [m]."""


@dataclass(frozen=True)
class Setting:
    """The place of one test; NaN for what is not known."""

    name: str
    water: Water | None
    gamma_water: float
    radius: float
    M: float
    M_how: str
    sigma_v0_eff: float
    Mc: float
    assumptions: tuple[Assumption, ...] = ()

    def hydrostatic(self, depth: float) -> float:
        """Return the pressure of still water [kPa]; NaN without a water level."""
        if self.water is None:
            return math.nan
        return max(self.gamma_water * (depth - self.water.level), 0.0)

    @property
    def water_known(self) -> bool:
        """Tell whether the water level was measured, stated or given."""
        return self.water is not None and self.water.origin is not WaterOrigin.ASSUMED


def setting(
    within: Within, depth: float, choice: DissipationChoice, recipe: Recipe | None
) -> Setting:
    """Return the place of a test at a depth [m]."""
    sounding = sounding_of(within)
    decisions = recipe_of(within, recipe)
    assumptions: list[Assumption] = []
    radius = choice.radius or _radius(sounding.cone, assumptions)
    M, how = _modulus(within, depth, choice)
    return Setting(
        name=sounding.name,
        water=_water(within, decisions),
        gamma_water=decisions.gamma_water,
        radius=radius,
        M=M,
        M_how=how,
        sigma_v0_eff=_near(within, depth, "sigma_v0_eff"),
        Mc=decisions.factors.value("Mc"),
        assumptions=tuple(assumptions),
    )


def sounding_of(within: Within) -> Sounding:
    """Return the sounding behind any of the three."""
    if isinstance(within, Sounding):
        return within
    return within.sounding if isinstance(within, Profile) else within.profile.sounding


def recipe_of(within: Within, recipe: Recipe | None) -> Recipe:
    """Return the recipe: the one given, else the one behind a profile, else the defaults."""
    if recipe is not None:
        return recipe
    if isinstance(within, Sounding):
        return Recipe()
    return within.recipe if isinstance(within, Profile) else within.profile.recipe


def _water(within: Within, recipe: Recipe) -> Water | None:
    if recipe.water_level is not None:
        return Water(level=recipe.water_level, origin=WaterOrigin.GIVEN)
    if isinstance(within, Sounding):
        assumed = Water(level=recipe.assumed_water_level, origin=WaterOrigin.ASSUMED)
        return within.water or assumed
    return within.water if isinstance(within, Profile) else within.profile.water


def _radius(cone: Cone, assumptions: list[Assumption]) -> float:
    if cone.tip_area is not None:
        return math.sqrt(cone.tip_area / math.pi)
    if cone.tip_diameter is not None:
        return cone.tip_diameter / 2.0
    radius = math.sqrt(STANDARD_AREA / math.pi)
    assumptions.append(
        Assumption(
            "radius",
            "cone of 10 cm², radius 17.8 mm",
            radius,
            "the area of the tip is not stated",
        )
    )
    return radius


def _modulus(within: Within, depth: float, choice: DissipationChoice) -> tuple[float, str]:
    if choice.M is not None:
        return choice.M, "given"
    value = _near(within, depth, "M")
    if math.isnan(value):
        return value, "not known"
    assert isinstance(within, Interpretation)
    relation = " | ".join(within.relations("M"))
    return value, f"estimated from the cone within {NEAR:g} m of the test ({relation})"


def _near(within: Within, depth: float, key: str) -> float:
    """Return the median of a derived column near a depth."""
    if not isinstance(within, Interpretation) or key not in within.series:
        return math.nan
    rows = np.abs(within.series["depth"] - depth) <= NEAR
    values = within.series[key][rows]
    values = values[np.isfinite(values)]
    return float(np.median(values)) if values.size else math.nan

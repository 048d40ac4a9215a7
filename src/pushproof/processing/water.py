"""The water level: who says it, and what is assumed when nobody does."""

from __future__ import annotations

from pushproof.model.profile import Assumption
from pushproof.model.recipe import Recipe
from pushproof.model.sounding import Sounding, Water, WaterOrigin


def water_level(sounding: Sounding, recipe: Recipe) -> tuple[Water, tuple[Assumption, ...]]:
    """Return the water level to use, from the recipe, the sounding, or an assumption.

    Over water the level is the stated water depth above the bottom.
    """
    if recipe.water_level is not None:
        return Water(level=recipe.water_level, origin=WaterOrigin.GIVEN), ()
    if sounding.water is not None:
        return sounding.water, ()
    if sounding.location.water_depth:
        level = -sounding.location.water_depth
        return Water(level=level, origin=WaterOrigin.STATED, remark="depth of open water"), ()
    level = recipe.assumed_water_level
    where = "at ground level" if level == 0 else f"{level:.2f} m below ground level"
    return Water(level=level, origin=WaterOrigin.ASSUMED), (
        Assumption(
            "water_level",
            f"water level {where}",
            level,
            "neither the sounding nor the recipe gives a water level",
        ),
    )

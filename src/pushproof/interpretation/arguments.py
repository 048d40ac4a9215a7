"""Arguments of equations that a cone does not measure: constants and factors of the recipe."""

from __future__ import annotations

from collections.abc import Iterable

from pushproof.interpretation.chain import Step
from pushproof.model.profile import Assumption
from pushproof.model.quantities import QUANTITIES
from pushproof.model.recipe import Factors, Recipe


def constants(recipe: Recipe) -> dict[str, float]:
    """Return the arguments that are the same at every depth, by the name equations use.

    Examples
    --------
    >>> constants(Recipe())["Nkt"]
    14.0
    """
    factors = {name: recipe.factors.value(name) for name in Factors.model_fields}
    return factors | {"pa": recipe.pa, "gamma_w": recipe.gamma_water}


def assumed_factors(
    recipe: Recipe, used: Iterable[str], steps: Iterable[Step] = ()
) -> tuple[Assumption, ...]:
    """Return an assumption for each factor that was used and that nobody gave.

    Parameters
    ----------
    recipe
        Where a factor is given.
    used
        Names of arguments.
    steps
        The chain they were used in, for what rests on them; without it, everything does.
    """
    chain = tuple(steps)
    names = [name for name in dict.fromkeys(used) if name in Factors.model_fields]
    return tuple(
        Assumption(
            name,
            f"{name} = {recipe.factors.value(name):g}, {recipe.factors.text(name)}",
            recipe.factors.value(name),
            "the recipe gives no value for it",
            _resting_on(name, chain),
        )
        for name in names
        if not recipe.factors.given(name)
    )


def _resting_on(name: str, steps: tuple[Step, ...]) -> tuple[str, ...]:
    """Return the columns that a factor reaches along the chain."""
    reached = {name}
    for step in steps:
        if not reached.isdisjoint(step.inputs):
            reached.add(step.key)
    return tuple(step.key for step in steps if step.key in reached and step.key in QUANTITIES)

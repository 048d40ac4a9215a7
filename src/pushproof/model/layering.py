"""Layer boundaries as a decision: where a person set them, and what they called a unit.

None of it is needed: without a choice the boundaries are found from the profile, see
:mod:`pushproof.interpretation.layers`.
"""

from __future__ import annotations

import itertools

from pydantic import BaseModel, ConfigDict, Field, field_validator

MIN_THICKNESS = 0.5
"""Thinnest unit of its own [m]; a thinner one is kept as a seam of the unit it lies in."""
SAME_PLACE = 0.005
"""Two depths nearer than this [m] are one."""


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Boundary(_Part):
    """A boundary between two units, set by a person."""

    depth: float = Field(gt=0, lt=200, description="[m]")
    reason: str = Field(min_length=3)
    author: str = ""


class UnitName(_Part):
    """A name for the unit that holds a depth [m]."""

    depth: float = Field(ge=0, lt=200, description="any depth inside the unit [m]")
    name: str = Field(min_length=1, max_length=80)
    reason: str = ""
    author: str = ""


class LayerChoice(_Part):
    """What was decided about the layers of a sounding.

    Boundaries that are given are all of them: nothing is added to them by the search, except the
    ends of what was drilled out, blanked or not read.
    """

    min_thickness: float = Field(
        MIN_THICKNESS, gt=0.05, le=5.0, description="thinnest unit of the search [m]"
    )
    boundaries: tuple[Boundary, ...] | None = Field(
        None, description="all boundaries, from the top down; None lets the search find them"
    )
    names: tuple[UnitName, ...] = ()

    @field_validator("boundaries")
    @classmethod
    def _in_order(cls, found: tuple[Boundary, ...] | None) -> tuple[Boundary, ...] | None:
        """Put boundaries in order; two at one depth are a fault."""
        if found is None:
            return None
        ordered = tuple(sorted(found, key=lambda one: one.depth))
        twice = [
            f"{b.depth:g} m"
            for a, b in itertools.pairwise(ordered)
            if b.depth - a.depth < SAME_PLACE
        ]
        if twice:
            raise ValueError(f"two boundaries at one depth: {', '.join(twice)}")
        return ordered

    def moved(self, depth: float, to: float, *, reason: str, author: str = "") -> LayerChoice:
        """Return the choice with the boundary nearest to a depth [m] moved to another one.

        Examples
        --------
        >>> choice = LayerChoice(boundaries=(Boundary(depth=4.2, reason="found"),))
        >>> choice.moved(4.2, 4.5, reason="boring B1").boundaries[0].depth
        4.5
        """
        rest = self._without(depth)
        return self._with([*rest, Boundary(depth=to, reason=reason, author=author)])

    def added(self, depth: float, *, reason: str, author: str = "") -> LayerChoice:
        """Return the choice with a boundary more."""
        kept = [*self._all(), Boundary(depth=depth, reason=reason, author=author)]
        return self._with(kept)

    def removed(self, depth: float) -> LayerChoice:
        """Return the choice without the boundary nearest to a depth [m]."""
        return self._with(self._without(depth))

    def named(self, depth: float, name: str, *, reason: str = "", author: str = "") -> LayerChoice:
        """Return the choice with a name for the unit that holds a depth [m]."""
        one = UnitName(depth=depth, name=name, reason=reason, author=author)
        return LayerChoice.model_validate(self.model_dump() | {"names": (*self.names, one)})

    def _all(self) -> tuple[Boundary, ...]:
        if self.boundaries is None:
            raise ValueError(
                "the boundaries are still found by the search: take Layers.choice() and edit that"
            )
        return self.boundaries

    def _without(self, depth: float) -> list[Boundary]:
        found = list(self._all())
        if not found:
            raise ValueError(f"there is no boundary near {depth:g} m: there is none at all")
        found.remove(min(found, key=lambda one: abs(one.depth - depth)))
        return found

    def _with(self, boundaries: list[Boundary]) -> LayerChoice:
        return LayerChoice.model_validate(self.model_dump() | {"boundaries": tuple(boundaries)})

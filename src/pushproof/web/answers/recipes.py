"""Answers about decisions: the recipe, its versions, what can be chosen."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, Field

HOLDS = "x-holds"
"""Mark of a field that is a plain object here and a document of that name in the schema."""
RECIPE = Field(
    description="fields of the recipe that are not the usual", json_schema_extra={HOLDS: "Recipe"}
)


class FieldChange(BaseModel):
    """One field in which two recipes differ."""

    field: str = Field(description="dotted name, as methods.su")
    before: Any = Field(description="null where nothing was decided")
    after: Any = Field(description="null where nothing is decided any more")


class RecipeVersion(BaseModel):
    """One saved version of a recipe."""

    number: int = Field(description="0 is the recipe that nobody changed")
    author: str
    reason: str
    time: str | None = Field(description="moment of saving, ISO 8601; null for version 0")
    changed: list[FieldChange] = Field(description="against the version before")


class RelationOption(BaseModel):
    """One relation that can be chosen."""

    name: str = Field(description="name in the registry of equations, or a plain word")
    title: str
    formula: str = Field(description="empty for a plain word")
    source: str = Field(description="reference, empty for a plain word")
    short: str = Field("", description="authors and year")
    where: str = Field("", description="place in the reference")
    mark: str = Field("", description="how sure the coded form is")
    validity: str = Field("", description="what ground it holds for")
    scatter: str = Field("", description="how far the ground strays from it, where published")


class MethodChoice(BaseModel):
    """What a quantity is computed with, and what it could be."""

    field: str = Field(description="name under methods of a recipe")
    title: str
    column: str = Field(description="key of a column that shows it, or empty")
    symbol: str
    chosen: str
    usual: str
    why: str = Field(description="why that is the usual one")
    options: list[RelationOption]


class FactorChoice(BaseModel):
    """A number that relations need and a cone does not measure."""

    field: str = Field(description="name under factors of a recipe")
    text: str = Field(description="what it is, with its unit")
    given: float | None = Field(description="null where nobody gave it")
    value: float = Field(description="what is used: given, or assumed")
    above: float | None = Field(description="lower bound, not itself allowed")
    below: float | None = Field(description="upper bound, not itself allowed")


class Choices(BaseModel):
    """Relations and factors that a recipe can choose, and what it chooses now."""

    methods: list[MethodChoice]
    factors: list[FactorChoice]


class RecipeDocument(BaseModel):
    """The newest recipe, every version before it, and what can be chosen."""

    version: int = Field(description="number of the newest; give it back in based_on")
    document: dict[str, Any] = RECIPE
    versions: list[RecipeVersion] = Field(description="oldest first")
    choices: Choices


class SavedRecipe(BaseModel):
    """The version that was made."""

    version: int
    document: dict[str, Any] = RECIPE


class RecipePreview(BaseModel):
    """A draft: its fingerprint opens every reading call, and what it would change."""

    recipe: str = Field(description="fingerprint, for the parameter recipe of other calls")
    document: dict[str, Any] = RECIPE
    changed: list[FieldChange] = Field(description="against the newest version")
    choices: Choices

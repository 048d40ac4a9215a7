"""Answers about single values: all at a depth, one explained, and the units of the ground."""

from __future__ import annotations

from pydantic import BaseModel, Field

from pushproof.model.layering import LayerChoice


class ValueAt(BaseModel):
    """One value, as it is kept and as people read it."""

    symbol: str
    name: str
    unit: str = Field(description="display unit, of shown and text")
    kind: str = Field(description="position, measured, corrected, stress, derived or record")
    shown: float | None = Field(description="in the display unit; null where missing")
    value: float | None = Field(description="in the inside unit; null where missing")
    text: str
    origin: str = Field(description="where it comes from, or what it was computed with")
    assumed: bool = Field(description="whether it rests on a value that nobody gave")
    reason: str = Field(description="why it is missing; empty if it is not")


class ValuesAt(BaseModel):
    """Every value of the row nearest to a depth."""

    depth: float = Field(description="of the row; that asked for where no row is near [m]")
    row: int | None = Field(description="place in the profile, from 0; null where none is near")
    origin: str
    values: dict[str, ValueAt] = Field(description="by key of the vocabulary")


class EquationInput(BaseModel):
    """One number that goes into an equation."""

    name: str
    label: str = Field(description="what it is, where the name does not say it")
    value: float | None
    unit: str = Field(description="inside unit")
    origin: str
    step: int | None = Field(description="number of the link that gave it")
    assumed: bool


class EquationLink(BaseModel):
    """One equation on the way, with its numbers."""

    number: int
    gives: str
    equation: str = Field(description="name in the registry, or empty")
    formula: str
    substituted: str = Field(description="the same with the numbers put in")
    inputs: list[EquationInput]
    result: float | None = Field(description="what the equation gives")
    value: float | None = Field(description="what was used; the note says why where it differs")
    unit: str = Field(description="inside unit of both")
    source: str
    where: str = Field(description="place in the source")
    check: str = Field(description="how sure the coded form is")
    validity: str
    scatter: str
    note: str


class ValueBand(BaseModel):
    """The band of a value in its inside unit, whole and part by part."""

    p10: float
    p50: float
    p90: float
    measurement: list[float] = Field(description="p10 and p90 of what the channels may be off")
    relation: list[float] = Field(description="p10 and p90 of what the relation scatters")
    how: str
    measured_by: list[str]
    related_by: list[str]
    unknown: list[str]
    not_in_it: str


class ExplanationDocument(BaseModel):
    """How one number came about: equations with its numbers, sources, what was assumed, band."""

    sounding: str
    key: str
    symbol: str
    name: str
    asked: float = Field(description="depth asked for [m]")
    depth: float = Field(description="depth of the row used [m]")
    row: int
    value: float | None = Field(description="in the inside unit; null where missing")
    unit: str = Field(description="inside unit")
    display: str
    display_unit: str
    reason: str = Field(description="why it is missing; empty if it is not")
    refused: str = Field(description="the test that refused it; empty if none did")
    ground: str = Field(description="what the ground was judged to be here, and by what")
    measured: list[EquationInput]
    links: list[EquationLink]
    assumptions: list[str]
    band: ValueBand | None


class UnitStatistic(BaseModel):
    """A parameter in a unit, in its display unit."""

    count: int = Field(description="values")
    mean: float | None
    deviation: float | None = Field(description="standard deviation")
    p10: float | None
    p50: float | None
    p90: float | None


class GroundUnit(BaseModel):
    """One unit of the ground, from the top down."""

    number: int
    top: float = Field(description="[m]")
    base: float = Field(description="[m]")
    thickness: float = Field(description="[m]")
    level_top: float | None = Field(description="[m, datum]")
    level_base: float | None = Field(description="[m, datum]")
    name: str
    kind: str = Field(description="ground, pre-excavated, blanked, no readings or no values")
    behaviour: str
    zones: list[int] = Field(description="zones that fill most of it, the main one first")
    rows: int
    ic: float | None = Field(description="mean Ic [-]")
    statistics: dict[str, UnitStatistic] = Field(description="by key of the vocabulary")
    notes: list[str]
    named: bool = Field(description="whether a person gave the name")


class UnitBoundary(BaseModel):
    """A boundary between two units."""

    depth: float = Field(description="[m]")
    origin: str = Field(description="found, set or record")
    confidence: float | None = Field(description="0 to 1 [-]; null for an end of the record")
    spread: float | None = Field(description="it lies within plus or minus this at 80 % [m]")
    contrast: float | None = Field(description="step of the features there [-]")
    author: str
    reason: str


class LayersDocument(BaseModel):
    """Units and boundaries, and the same as a decision that can be edited."""

    sounding: str
    automatic: bool = Field(description="whether the search found the boundaries")
    min_thickness: float = Field(description="thinnest unit of the search [m]")
    parameters: dict[str, str] = Field(description="key to symbol [unit]")
    units: list[GroundUnit]
    boundaries: list[UnitBoundary]
    notes: list[str]
    choice: LayerChoice = Field(description="ready to go into layers of a recipe")

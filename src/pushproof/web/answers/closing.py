"""What the calls of closing a hole answer: measures, grout, records.

Lengths and diameters in m, areas in m2, volumes in litres, masses in kg, densities in kg per litre.
"""

from __future__ import annotations

from pydantic import BaseModel, Field

from pushproof.planning.closing import Closing, GroutOrder


class FindingLine(BaseModel):
    """What speaks against a plan or a record, and what to do."""

    id: str
    severity: str
    found: str
    expected: str
    source: str


class HoleDocument(BaseModel):
    """What is known of a hole from the record."""

    about: list[tuple[str, str]] = Field(description="pairs of a heading and its text")
    depth: float | None = Field(description="[m]; none if it must be typed")
    tip_area: float = Field(description="[m2]")
    rods: float = Field(description="diameter [m]")
    water_level: float | None = Field(description="depth of the water table [m]")
    assumed: list[str] = Field(description="fields above that nobody stated")


class MixDocument(BaseModel):
    """A grout by weight, and where it comes from."""

    name: str
    words: str
    ratio: str = Field(description="water : cement : bentonite")
    density: float = Field(description="[kg/L]")
    mark: str
    source: str


class MethodDocument(BaseModel):
    """A way to place grout."""

    name: str
    words: str


class BoreDocument(BaseModel):
    """A length of hole of one diameter."""

    top: float = Field(description="[m]")
    base: float = Field(description="[m]")
    diameter: float = Field(description="[m]")
    per_metre: float = Field(description="[L/m]")
    volume: float = Field(description="[L]")


class GroutDocument(BaseModel):
    """The grout for a hole: volumes, weights of a batch, bags, and what speaks against it."""

    level: str = Field(description="clear, caution or stop")
    head: str
    text: str
    depth: float = Field(description="[m]")
    bores: list[BoreDocument]
    hole_volume: float = Field(description="[L]")
    planned: float = Field(description="to have ready [L]")
    batches: int
    batch: float = Field(description="[L]")
    water: float = Field(description="of one batch [kg]")
    cement: float = Field(description="of one batch [kg]")
    bentonite: float = Field(description="of one batch [kg]")
    cement_bags: int
    bentonite_bags: int
    density: float = Field(description="[kg/L]")
    findings: list[FindingLine]


class ClosedDocument(BaseModel):
    """A record of closing the hole."""

    at: float = Field(description="when it was recorded [s since 1970 UTC]")
    level: str
    head: str
    text: str
    closing: Closing
    findings: list[FindingLine]


class ClosingDocument(BaseModel):
    """The hole of a sounding: known measures, plan, and what was recorded."""

    id: str
    sounding: str
    in_job: bool = Field(description="whether a closing can be recorded: a loose file takes none")
    local: str
    hole: HoleDocument
    order: GroutOrder = Field(description="what the newest record was planned from, or the usual")
    plan: GroutDocument | None = Field(description="none while the depth is not known")
    mixes: list[MixDocument]
    methods: list[MethodDocument]
    closings: list[ClosedDocument] = Field(description="the newest is the last, and counts")

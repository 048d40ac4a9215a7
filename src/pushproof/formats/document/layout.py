"""The layout of the JSON document: one class for each object, the source of the JSON Schema."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from pushproof.model.equipment import Cone, Rig, Rods
from pushproof.model.series import Reason
from pushproof.model.sounding import (
    HeaderItem,
    Location,
    RemovedLayer,
    SourceFile,
    StopReason,
    Water,
    Zero,
)

KIND = "pushproof-sounding"
VERSION = 1
SCHEMA_ID = "urn:pushproof:schema:sounding:1"

Number = Annotated[float, Field(allow_inf_nan=False)]
Run = Annotated[list[Annotated[int, Field(ge=0)]], Field(min_length=2, max_length=2)]
REASONS = {reason.name.lower().replace("_", "-"): reason for reason in Reason if reason}
"""Name of a reason in the document to the reason."""


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Column(_Part):
    """One column: its unit, its values (null where missing) and why they are missing."""

    unit: str = Field(description="unit of the values; - for a pure number")
    name: str = Field(description="what the column is, in words")
    values: list[Number | None]
    missing: dict[str, list[Run]] = Field(
        default={}, description="reason to the runs of rows it holds for: [first, last], from 0"
    )
    known: bool = Field(True, description="false: nobody knows it, it is kept as it was found")


class Test(_Part):
    """One dissipation test."""

    depth: Number = Field(description="depth of the tip [m]")
    start: datetime | None = None
    readings: dict[str, Column]
    header: list[HeaderItem] = []
    source: SourceFile | None = None


class Happening(_Part):
    """Something that happened during the push."""

    kind: str
    depth: Number | None = Field(None, description="[m]")
    seconds: Number | None = Field(None, description="elapsed time of the push [s]")
    duration: Number | None = Field(None, description="[s]")
    text: str = ""


class Notice(_Part):
    """A finding of a reader."""

    id: str
    severity: Literal["info", "caution", "stop"]
    found: str
    expected: str = ""
    top: Number | None = Field(None, description="[m]")
    base: Number | None = Field(None, description="[m]")
    source: str = ""
    channel: str = ""
    line: int | None = None


class Method(_Part):
    """A relation behind a derived column."""

    name: str
    formula: str = ""
    citation: str = ""


class Assumed(_Part):
    """A value that nobody gave and that had to be assumed."""

    key: str
    text: str
    value: Number | None = None
    reason: str = ""


class Results(_Part):
    """What was derived: estimates for the judgement of a qualified engineer, no design values."""

    note: str
    columns: dict[str, Column]
    methods: dict[str, list[Method]]
    assumptions: list[Assumed]
    findings: list[Notice]
    dissipations: list[dict[str, Any]] = Field(
        default=[], description="results of the dissipation tests, in m, s and kPa"
    )
    recipe: dict[str, Any] = Field(description="the decisions")
    recipe_sha256: str
    made_by: str


class Push(_Part):
    """One sounding: lengths in m, areas in m2, pressures in kPa, times in s, angles in degrees."""

    name: str
    location: Location = Location()
    cone: Cone = Cone()
    rods: Rods | None = None
    rig: Rig | None = None
    water: Water | None = None
    predrilled: Number | None = Field(None, description="[m]")
    removed: list[RemovedLayer] = []
    zeros_before: list[Zero] = []
    zeros_after: list[Zero] = []
    events: list[Happening] = []
    standard: str | None = None
    quality_class: str | None = None
    stop_reason: StopReason | None = None
    started: datetime | None = None
    project: str | None = None
    client: str | None = None
    operator: str | None = None
    place: str | None = None
    readings: dict[str, Column]
    dissipations: list[Test] = []
    header: list[HeaderItem] = []
    findings: list[Notice] = []
    source: SourceFile | None = None
    results: Results | None = None


class Document(_Part):
    """A file of soundings."""

    format: Literal["pushproof-sounding"]
    version: Literal[1]
    soundings: list[Push] = Field(min_length=1)


def schema() -> str:
    """Return the JSON Schema of the document as text."""
    found = Document.model_json_schema()
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": SCHEMA_ID}
    return json.dumps({**head, **found}, indent=1, sort_keys=True, ensure_ascii=False) + "\n"

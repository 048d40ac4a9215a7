"""Answers about files that are brought in."""

from __future__ import annotations

from pydantic import BaseModel, Field

from pushproof.web.answers.log import Severity


class ReadColumn(BaseModel):
    """A column as it was read, in its inside unit."""

    key: str
    symbol: str
    name: str
    unit: str
    rows: int = Field(description="values that are there")
    low: float | None
    high: float | None


class ReaderFinding(BaseModel):
    """What the reader noticed."""

    severity: Severity
    found: str
    expected: str


class ReadSounding(BaseModel):
    """A sounding in the file."""

    name: str
    rows: int
    dissipations: int
    columns: list[ReadColumn]
    findings: list[ReaderFinding]


class FilePreview(BaseModel):
    """What is in a file that waits: nothing of it is kept yet."""

    token: str = Field(description="names the file in the other calls; it waits for a while")
    name: str
    fault: str = Field(description="why it cannot be read like this; empty if it can")
    head: list[str] = Field(description="first lines of a text file")
    format: str
    soundings: list[ReadSounding]


class Kept(BaseModel):
    """The soundings that were kept, by name."""

    soundings: list[str]

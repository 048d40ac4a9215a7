"""Answers about what is handed over."""

from __future__ import annotations

from pydantic import BaseModel, Field


class FormatField(BaseModel):
    """Something that a format asks for and a sounding does not hold."""

    name: str
    words: str = Field(description="what it is, with its place in the format")
    default: str = Field(description="what is written if it is not given; empty for nothing")


class FormatDocument(BaseModel):
    """An exchange format that can be written."""

    name: str = Field(description="as the calls of export take it")
    title: str
    suffix: str
    fields: list[FormatField]


class Loss(BaseModel):
    """Something that a format cannot carry."""

    what: str
    why: str


class MissingField(BaseModel):
    """A field that a format still asks for."""

    field: str
    words: str
    required: bool = Field(description="nothing is written without it")


class ExportCheck(BaseModel):
    """What a format cannot carry of a sounding, and what it still asks for."""

    losses: list[Loss]
    missing: list[MissingField]


class TableNote(BaseModel):
    """What a reader of the table must know."""

    label: str
    text: str


class TableColumn(BaseModel):
    """A column of the table in its display unit."""

    heading: str = Field(description="symbol [unit]")
    unit: str
    values: list[float | None]


class TableDocument(BaseModel):
    """The corrected and derived values by key of the vocabulary."""

    about: list[TableNote]
    columns: dict[str, TableColumn]

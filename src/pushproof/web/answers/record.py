"""Answers about the record itself: does a job prove its own content."""

from __future__ import annotations

from pydantic import BaseModel, Field


class BrokenProof(BaseModel):
    """One thing that does not hold."""

    kind: str
    text: str
    link: int | None = Field(description="number of the link; null for the whole file")


class SignedSounding(BaseModel):
    """A sign-off, and what is not as it was signed."""

    sounding: str
    line: str
    changed: list[str] = Field(description="empty while it holds")


class RecordProof(BaseModel):
    """What one job file proves of itself."""

    file: str
    whole: bool = Field(description="every link is there and unaltered, and every sign-off holds")
    links: int = Field(description="links of the chain that were read")
    head: str | None = Field(description="the newest link; note it where nobody can change it")
    closed: bool = Field(description="whether the program that wrote it last closed it")
    anchors: int = Field(description="anchors beside the job that were compared")
    problems: list[BrokenProof] = Field(description="at most 50")
    more: int = Field(description="problems beyond those")
    notes: list[str] = Field(description="worth knowing, and breaks no proof")
    sign_offs: list[SignedSounding]


class RecordProofs(BaseModel):
    """What every job file that is served proves of itself."""

    jobs: list[RecordProof]

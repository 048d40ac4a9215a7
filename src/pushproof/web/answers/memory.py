"""Answers about the memory of the cone."""

from __future__ import annotations

from pydantic import BaseModel, Field


class MemoryDocument(BaseModel):
    """What became of the packets of a push: over the link, by the memory, by neither."""

    text: str = Field(description="the same in one sentence")
    expected: int = Field(description="packets sent while the rods moved, by their counter")
    received: int = Field(description="of these, come over the link")
    restored: int = Field(description="given by the memory instead")
    lost: int = Field(description="held by neither")
    added: int = Field(description="readings that the memory holds beyond the packets")
    duplicates: int = Field(description="packets that came more than once")
    unplaced: int = Field(description="readings without a place, the depth stream was silent")
    longest_gap: float = Field(description="longest stretch without a reading while pushing [m]")
    longest_gap_at: float | None = Field(description="where it begins [m]; None without a gap")
    covered: float = Field(description="share of the pushed length that readings cover [-]")
    readings: int | None = Field(description="readings in the file that was brought in now")

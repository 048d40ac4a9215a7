"""What the calls of the checklist answer, and what is left to do in the field."""

from __future__ import annotations

from pydantic import BaseModel, Field


class ChecklistLine(BaseModel):
    """One item of the list and its newest tick."""

    item: str = Field(description="key of the item")
    words: str
    when: str = Field(description="before or after the push")
    caution: str = Field(description="what can hurt somebody; empty if nothing")
    state: str = Field(description="open, done or in doubt")
    by: str | None = Field(description="initials of who looked last")
    at: float | None = Field(description="when [s since 1970 UTC]")
    note: str | None = Field(description="what was seen")


class ChecklistDocument(BaseModel):
    """The checklist of a sounding, in the order in which it is gone through."""

    id: str | None = Field(description="id of the sounding; none if it is not in the job yet")
    sounding: str
    in_job: bool = Field(description="whether ticks can be kept: a loose file takes none")
    local: str = Field(description="what comes before the list")
    lines: list[ChecklistLine]


class FieldSounding(BaseModel):
    """Where one sounding stands in the field."""

    id: str
    name: str
    pushed: bool = Field(description="whether a push of it is in the record")
    waiting: bool = Field(description="whether it is still to be pushed")
    recording: bool = Field(description="whether this server records it now")
    open_before: int = Field(description="items before the push that nobody looked at yet")
    open_after: int = Field(description="the same after the push")
    in_doubt: list[str] = Field(description="items in doubt, with what was seen")
    hole_open: bool = Field(description="pushed, and no record that the hole was closed")
    closed: str = Field(description="how the hole was closed; empty if it is not recorded")
    closed_at: float | None = Field(description="when that was recorded [s since 1970 UTC]")


class FieldDocument(BaseModel):
    """What is left to do in the field: each sounding of the job files that are served."""

    takes_new: bool = Field(description="whether a sounding can be added: one job file is served")
    soundings: list[FieldSounding]

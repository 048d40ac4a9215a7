"""What the calls of the daily report answer; times in s since 1970 UTC, and as the clock showed."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import BaseModel, Field


class DaysDocument(BaseModel):
    """The days that a job tells of."""

    job: str = Field(description="name of the job file")
    jobs: list[str] = Field(description="all job files that are served")
    days: list[date] = Field(description="days of a push, or of which something was said")
    today: date = Field(description="the day on this machine")


class SaidLine(BaseModel):
    """One thing that was said of the day."""

    at: float = Field(description="seconds since 1970 UTC")
    clock: str
    text: str


class StopLine(BaseModel):
    """A pause of the push; length in m, duration in s."""

    at: float = Field(description="seconds since 1970 UTC")
    clock: str
    length: float | None = Field(description="penetration length [m]")
    duration: float = Field(description="[s]")
    reason: str
    tested: bool = Field(description="whether it stood for a dissipation test")


class TestLine(BaseModel):
    """A dissipation test; percent dissipated."""

    at: float = Field(description="seconds since 1970 UTC")
    clock: str
    length: float | None = Field(description="penetration length [m]")
    duration: float | None = Field(description="[s]")
    percent: float | None = Field(description="dissipated [%]")


class AlarmLine(BaseModel):
    """A rule of the guard, how often it was raised, and the gravest level."""

    rule: str
    count: int
    level: str


class SoundingDayDocument(BaseModel):
    """One sounding on one day; lengths in m, durations in s, rate in m an hour."""

    name: str
    id: str
    first: float = Field(description="seconds since 1970 UTC")
    last: float = Field(description="seconds since 1970 UTC")
    first_clock: str
    last_clock: str
    top: float = Field(description="[m]")
    base: float = Field(description="[m]")
    metres: float = Field(description="pushed [m]")
    pushing: float = Field(description="rods going down [s]")
    rod_changes: int
    rod_time: float = Field(description="for rod changes [s]")
    testing: float = Field(description="standing for dissipation tests [s]")
    standing: float = Field(description="standing for anything else, the downtime [s]")
    rate: float | None = Field(description="metres an hour, stops included")
    stops: list[StopLine]
    tests: list[TestLine]
    alarms: list[AlarmLine]
    closed: str
    grout: float = Field(description="[L]")
    anchors: int | None
    reason: str = Field(description="why it ended; empty if nobody said")


class DiaryLine(BaseModel):
    """One line of the diary."""

    at: float = Field(description="seconds since 1970 UTC")
    clock: str
    sounding: str
    kind: Literal["began", "stop", "test", "note", "ended", "closed", "weather", "crew"]
    length: float | None = Field(description="penetration length [m]")
    duration: float | None = Field(description="[s]")
    text: str


class DayDocument(BaseModel):
    """A day from the record of the job."""

    job: str
    day: date
    head: str
    text: str
    caution: str
    project: str
    place: str
    client: str
    metres: float = Field(description="pushed [m]")
    hours: float = Field(description="from the first to the last push [h]")
    grout: float = Field(description="[L]")
    soundings: list[SoundingDayDocument]
    weather: list[SaidLine]
    crew: list[SaidLine]
    notes: list[SaidLine]
    diary: list[DiaryLine]
    job_soundings: int
    job_metres: float = Field(description="of the job so far [m]")

"""Answers about the proof of a sounding: what the start page tells, the proof sheet, sign-off."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, Field

from pushproof.web.answers.log import LogFinding, LogVerdict, Severity
from pushproof.web.push.models import Recording


class SummaryDocument(BaseModel):
    """What the start page tells of a sounding: where, how deep, how it stands."""

    name: str
    recording: Recording = Field(description="who records it")
    empty: bool = Field(description="there is no reading with a depth yet")
    depth: float | None = Field(description="last depth [m]; null where there is no row")
    tests: int = Field(description="dissipation tests")
    x: float | None = Field(description="coordinate in crs")
    y: float | None = Field(description="coordinate in crs")
    crs: str
    worst: Severity | None = Field(
        description="gravest finding; null where there is none, or a push has no reading yet"
    )
    words: str


class ProofHead(BaseModel):
    """What stands against relying on the log."""

    level: Literal["clear", "caution", "stop"]
    head: str
    text: str


class ProofVerdict(LogVerdict):
    """How one aspect stands under an accuracy scheme, and whether that is proved."""

    proved: bool


class ProofClass(BaseModel):
    """The class achieved under a scheme, against the class ordered."""

    scheme: str = Field(description="norm and edition")
    kind: str = Field(description="what the norm calls its classes")
    mark: str = Field(description="how sure the numbers of the scheme are")
    text: str
    achieved: str | None
    proved: bool
    ordered: str | None
    order: Literal["met", "not met", "not proved"] | None = Field(
        description="null where nothing was ordered"
    )
    verdicts: list[ProofVerdict]


class ChannelBudget(BaseModel):
    """The budget of uncertainty of a channel, in words."""

    symbol: str
    expanded: str = Field(description="expanded uncertainty (k = 2)")
    parts: list[str]
    missing: list[str] = Field(description="parts that are not known")


class FilterGrade(BaseModel):
    """How well the filter responded."""

    grade: str
    reasons: list[str]


class ZeroShift(BaseModel):
    """Zero readings of a channel before and after the push, in its unit."""

    symbol: str
    unit: str
    before: float | None
    after: float | None
    shift: float | None
    percent: float | None = Field(description="of full scale [%]")


class RateShares(BaseModel):
    """Rate of penetration by length pushed."""

    edges: list[float] = Field(description="of the classes [mm/s]")
    shares: list[float] = Field(description="of the length in each class [-]")
    inside: float = Field(description="share of the length within the band [-]")


class TiltCurve(BaseModel):
    """Tilt along depth, and how far aside the tip went."""

    depth: list[float] = Field(description="[m]")
    tilt: list[float | None] = Field(description="[deg]")
    offset_depth: list[float] = Field(description="[m]")
    offset: list[float | None] = Field(description="[m]")
    most_tilt: float = Field(description="[deg]")
    most_offset: float = Field(description="[m]")
    bound: bool = Field(description="the offset is the most that it can be: no direction is known")


class OriginShare(BaseModel):
    """Share of the depth of one origin."""

    trace: str
    share: float = Field(description="[-]")


class SourceFile(BaseModel):
    """The file that the facts came from."""

    file: str
    sha256: str


class SignOffState(BaseModel):
    """The newest sign-off, and what is not as it was signed."""

    line: str
    changed: list[str] = Field(description="empty while it holds")


class ProofDocument(BaseModel):
    """The proof sheet: verdict, classes, zeros, rate, tilt, findings, corrections."""

    id: str
    name: str
    verdict: ProofHead
    counts: dict[Severity, int]
    stated: str = Field(description="class that the record states, with its norm, or empty")
    classes: list[ProofClass]
    budgets: list[ChannelBudget]
    filter: FilterGrade | None = Field(description="null without pore pressure")
    zeros: list[ZeroShift]
    rate: RateShares | None
    tilt: TiltCurve | None
    origin: list[OriginShare]
    findings: list[LogFinding]
    effects: list[str] = Field(description="what the corrections changed")
    decisions: list[list[str]] = Field(description="pairs of words and value")
    declarations: list[list[str]] = Field(description="pairs of words and yes or no")
    assumptions: list[str]
    source: SourceFile | None
    recipe: str = Field(description="fingerprint of the recipe")
    sign_off: SignOffState | None = Field(
        None, description="only in a job; null while nobody signed"
    )


class Signed(BaseModel):
    """The sign-off that was made."""

    line: str
    time: str = Field(description="ISO 8601, UTC")

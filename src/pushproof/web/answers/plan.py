"""Answers about a plan; units stand in the names."""

from __future__ import annotations

from pydantic import BaseModel, Field

from pushproof.web.answers.intake import ReaderFinding


class ReactionDocument(BaseModel):
    """What holds the rig down."""

    weight_kN: float
    usable_weight_kN: float
    anchors_kN: float
    total_kN: float
    tipping_kN: float | None
    mat_pressure_kPa: float | None
    allowed_pressure_kPa: float | None


class AnchorDocument(BaseModel):
    """What one anchor holds."""

    ultimate_kN: dict[str, float] = Field(description="by each way")
    used: str = Field(description="the way that counts")
    safety: float = Field(description="[-]")
    allowable_kN: float
    group: float = Field(description="share left in a group [-]")


class BucklingLength(BaseModel):
    """A length of rod that may bow out."""

    where: str
    length_m: float
    load_kN: float | None
    allowable_kN: float | None


class ConeOutlook(BaseModel):
    """What one cone can do here."""

    name: str
    capacity_MPa: float | None
    probability_beyond: float | None = Field(description="ground harder than it may meet [-]")
    best_class: str | None
    decided_by: str
    meets_order: bool | None


class PushOption(BaseModel):
    """One way to push, and how far it is expected to come."""

    words: str
    available_kN: float
    governed_by: str
    probability_of_target: float = Field(description="[-]")
    even_odds_m: float | None = Field(description="null if the target is likelier")
    closes: bool = Field(description="the target is as good as reached")
    planned: bool = Field(description="this is the plan itself")


class DataQuestion(BaseModel):
    """One question about the data of the push."""

    what: str
    found: str
    verdict: str
    basis: str


class DataOutlook(BaseModel):
    """Whether the data will be good."""

    hours: float = Field(description="time on the place [h]")
    rows: list[DataQuestion]


class AlongRow(BaseModel):
    """The largest values of the step that ends at a depth."""

    depth_m: float
    qc_MPa: float
    tip_kN: float
    sleeve_kN: float
    rods_kN: float
    thrust_kN: float
    low_kN: float
    high_kN: float
    ended: float = Field(description="probability that the push has ended above [-]")


class OutlookDocument(BaseModel):
    """The forecast of a push: thrust along depth, reaction, refusal, options."""

    name: str
    target_m: float
    verdict: str = Field(description="the answer in one sentence")
    ground: str = Field(description="where the expected ground is from")
    probability_of_target: float = Field(description="[-]")
    refusal_m: dict[str, float | None] = Field(
        description="probability to the depth by which the push has ended; null beyond the target"
    )
    causes: dict[str, float] = Field(description="cause of refusal to its probability [-]")
    available_kN: float
    governed_by: str
    forces_kN: dict[str, float]
    reaction: ReactionDocument
    anchor: AnchorDocument | None
    buckling: list[BucklingLength]
    cones: list[ConeOutlook]
    options: list[PushOption]
    findings: list[ReaderFinding]
    assumptions: list[str]
    data: DataOutlook | None
    along: list[AlongRow]
    note: str

"""Answers about dissipation tests: record, ways side by side, fits, picks. Inside units."""

from __future__ import annotations

from pydantic import BaseModel, Field

from pushproof.model.dissipation import DissipationKind
from pushproof.model.picks import DissipationChoice, DissipationMethod, EquilibriumMethod
from pushproof.web.answers.log import Severity


class Estimate(BaseModel):
    """One way to the time of half dissipation, and what follows from it."""

    method: DissipationMethod
    how: str
    u_i: float | None = Field(description="initial pore pressure [kPa]")
    u50: float | None = Field(description="at half dissipation [kPa]")
    t50: float | None = Field(description="time of half dissipation [s]; null where not reached")
    reached: float | None = Field(description="dissipation at the end of the record [%]")
    T_star: float | None = Field(description="time factor used [-]")
    ch: float | None = Field(description="coefficient of consolidation [m2/s]")
    ch_low: float | None = Field(description="its end for a rigidity index of 50 [m2/s]")
    ch_high: float | None = Field(description="and of 500 [m2/s]")
    kh_modulus: float | None = Field(description="hydraulic conductivity by the modulus [m/s]")
    kh_direct: float | None = Field(description="and from t50 alone [m/s]")
    window: list[float] | None = Field(description="part of the record that it rests on [s]")
    residual: float | None = Field(description="root mean square of the fit [kPa]")
    extrapolated: bool = Field(description="the record ends before t50")


class FittedCurve(BaseModel):
    """A fitted line or curve, for drawing."""

    method: DissipationMethod
    time: list[float | None] = Field(description="[s]")
    u: list[float | None] = Field(description="[kPa]")


class DegreeOfDissipation(BaseModel):
    """One degree of dissipation by the chosen way."""

    degree: float = Field(description="[%]")
    T_star: float | None = Field(description="time factor [-]")
    time: float | None = Field(description="read off the record [s]")
    predicted: float | None = Field(description="that the chosen ch gives [s]")
    ch: float | None = Field(description="that the time read gives [m2/s]")


class DissipationAssumption(BaseModel):
    """A value of a test that nobody gave."""

    key: str
    text: str
    value: float | None = Field(description="in the inside unit")
    reason: str
    affects: list[str]


class DissipationFinding(BaseModel):
    """What was noticed about a test."""

    id: str
    severity: Severity
    found: str
    expected: str
    source: str


class DissipationDocument(BaseModel):
    """One test: its record (thinned evenly over log time), ways, fits, findings, picks."""

    sounding: str
    number: int = Field(description="from 1")
    depth: float = Field(description="[m]")
    channel: str
    filter: str = Field(description="row of the table of time factors")
    kind: DissipationKind
    time: list[float | None] = Field(description="since the stop [s]")
    u: list[float | None] = Field(description="pore pressure [kPa]")
    percent: list[float | None] = Field(description="degree of dissipation [%]")
    t0: float | None = Field(description="time of the record at the stop [s]")
    u0: float | None = Field(description="in-situ pore pressure [kPa]")
    u0_by: EquilibriumMethod | None
    u0_how: str
    water_level: float | None = Field(description="that u0 stands for if hydrostatic [m]")
    peak_time: float | None = Field(description="[s]")
    u_peak: float | None = Field(description="[kPa]")
    radius: float | None = Field(description="of the cone [m]")
    Ir: float | None = Field(description="rigidity index [-]")
    Ir_given: bool
    Ir_how: str
    M: float | None = Field(description="constrained modulus [kPa]")
    M_how: str
    method: DissipationMethod | None = Field(description="the chosen way")
    estimates: list[Estimate]
    chosen: Estimate | None
    fits: list[FittedCurve]
    degrees: list[DegreeOfDissipation]
    choice: DissipationChoice = Field(description="the picks it rests on")
    assumptions: list[DissipationAssumption]
    findings: list[DissipationFinding]
    notes: list[str]
    equations: list[str] = Field(description="names in the registry")


class DissipationsDocument(BaseModel):
    """Every test: record, ways side by side, fits, findings, picks."""

    name: str
    version: int = Field(description="of the recipe; give it back in based_on")
    tests: list[DissipationDocument]


class SavedPicks(BaseModel):
    """The version of the recipe that was made."""

    version: int

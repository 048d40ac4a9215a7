"""Picks: the decisions of an engineer on a dissipation test and on a seismic test.

What is None in a pick is found by the program, and the result says how.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

DissipationMethod = Literal["direct", "root-time", "log-time", "curve-fit", "dilatory-fit"]
"""Ways from a record to its time of half dissipation."""

EquilibriumMethod = Literal[
    "given", "levelled", "hydrostatic", "inverse-time", "inverse-root-time", "assumed"
]
"""Ways to the in-situ pore pressure."""


class DissipationChoice(BaseModel):
    """The picks for one dissipation test. What is None is found by the program, and said so."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    depth: float | None = Field(None, description="depth of the test it is for [m], to 5 cm")
    number: int | None = Field(None, ge=1, description="or its number in the sounding, from 1")
    channel: Literal["u1", "u2", "u3"] | None = None
    t0: float | None = Field(None, description="time of the record at which the push stopped [s]")
    u_i: float | None = Field(None, description="initial pore pressure [kPa]")
    window: tuple[float, float] | None = Field(
        None, description="straight part over root time, from and to [s since the stop]"
    )
    u0: float | None = Field(None, description="in-situ pore pressure [kPa]")
    u0_by: Literal["levelled", "hydrostatic", "inverse-time", "inverse-root-time"] | None = None
    method: DissipationMethod | None = None
    Ir: float | None = Field(None, gt=1, le=2000, description="rigidity index [-]")
    M: float | None = Field(None, gt=0, description="constrained modulus [kPa]")
    radius: float | None = Field(None, gt=0.005, lt=0.05, description="radius of the cone [m]")
    reason: str = ""

    @model_validator(mode="after")
    def _whole(self) -> DissipationChoice:
        if self.window is not None and not 0 <= self.window[0] < self.window[1]:
            raise ValueError("window: expected two times [s], the second after the first")
        return self

    def concerns(self, depth: float, number: int) -> bool:
        """Tell whether the picks are for a test; without depth and number they are for all."""
        if self.number is not None and self.number != number:
            return False
        return self.depth is None or abs(self.depth - depth) <= 0.05


class MeasuredVelocity(BaseModel):
    """A shear wave velocity measured over a depth interval; it takes the place of the estimate."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    top: float = Field(description="top of the interval [m]")
    base: float = Field(description="base of the interval [m]")
    Vs: float = Field(gt=10, lt=3000, description="shear wave velocity [m/s]")
    reason: str = Field(min_length=3, description="how it was measured")

    @model_validator(mode="after")
    def _downward(self) -> MeasuredVelocity:
        if self.base <= self.top:
            raise ValueError("base: expected below top")
        return self

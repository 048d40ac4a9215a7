"""Equipment and its calibration: cone, encoder, rods, rig. Facts, never changed by a decision.

Lengths in m, areas in m2, pressures in kPa, forces in kN. A field that nobody gave is None;
nothing is filled in.
"""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, ConfigDict, Field


class Frozen(BaseModel):
    """Base of the small documents of the model: immutable, unknown fields refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Calibration(Frozen):
    """One calibration of one channel of one instrument.

    ``capacity`` is the full-scale output in the inside unit of the channel; ``uncertainty`` the
    expanded uncertainty (k = 2) the laboratory states; ``resolution`` the smallest step that the
    digital output shows; ``temperature`` the change of the zero per degC; all in that same unit.
    """

    channel: str
    date: date
    laboratory: str | None = None
    certificate: str | None = None
    capacity: float | None = None
    uncertainty: float | None = None
    resolution: float | None = None
    temperature: float | None = None


class Cone(Frozen):
    """A cone penetrometer."""

    serial: str | None = None
    model: str | None = None
    cone_class: str | None = Field(None, description="class with its norm and edition")
    tip_area: float | None = Field(None, gt=0, description="cross-section of the tip [m2]")
    tip_diameter: float | None = Field(None, gt=0, description="[m]")
    area_ratio: float | None = Field(None, gt=0, le=1.5, description="net area ratio a [-]")
    sleeve_area: float | None = Field(None, gt=0, description="friction sleeve area [m2]")
    sleeve_diameter: float | None = Field(None, gt=0, description="[m]")
    sleeve_end_ratio: float | None = Field(None, description="end-area ratio b as stated [-]")
    sleeve_end_area_bottom: float | None = Field(None, ge=0, description="Asb [m2]")
    sleeve_end_area_top: float | None = Field(None, ge=0, description="Ast [m2]")
    tip_to_mid_sleeve: float | None = Field(None, ge=0, description="[m]")
    filters: tuple[str, ...] = Field((), description="filter positions fitted: u1, u2, u3")
    filter_fluid: str | None = None
    subtraction: bool | None = Field(None, description="fs is the difference of two load cells")
    friction_reducer: float | None = Field(None, ge=0, description="distance above the tip [m]")
    calibrations: tuple[Calibration, ...] = ()
    metres_since_calibration: float | None = None
    soundings_since_calibration: int | None = None

    def calibration(self, channel: str) -> Calibration | None:
        """Return the newest calibration of a channel, or None."""
        found = [c for c in self.calibrations if c.channel == channel]
        return max(found, key=lambda c: c.date, default=None)


class Rods(Frozen):
    """A rod string: equal rods."""

    length: float = Field(1.0, gt=0, description="length of one rod [m]")
    outer_diameter: float = Field(0.036, gt=0, description="[m]")
    inner_diameter: float = Field(0.016, ge=0, description="[m]")


class Encoder(Frozen):
    """A depth encoder: length per count, from a two-point check or the length of travel."""

    serial: str | None = None
    kind: str | None = None
    metres_per_count: float | None = Field(None, description="[m]")
    calibrated: date | None = None
    uncertainty: float | None = Field(
        None, ge=0, lt=0.5, description="expanded uncertainty (k = 2) as a share of length [-]"
    )


class Rig(Frozen):
    """A push rig and its reaction."""

    name: str | None = None
    mass: float | None = Field(None, gt=0, description="[kg]")
    thrust: float | None = Field(None, gt=0, description="thrust capacity [kN]")
    stroke: float | None = Field(None, gt=0, description="[m]")
    anchors: int | None = Field(None, ge=0)

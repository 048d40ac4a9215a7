"""The plan of a push as typed input: ground expected, cone, rods, rig, anchors, order.

Read from TOML (``plan.toml``). Lengths in m, areas in m2, pressures in kPa, forces in kN, masses
in kg, angles in deg, as in the equipment file. What nobody gave has a default, and the result
says which defaults it rests on.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, model_validator

from pushproof.model.documents import checked, load
from pushproof.model.equipment import Cone, Frozen
from pushproof.planning.buckling import END_FACTORS, STEEL

FRICTION_RATIO = {
    "peat": 0.06,
    "clay": 0.04,
    "silt": 0.025,
    "fill": 0.02,
    "sand": 0.01,
    "gravel": 0.007,
}
"""Friction over cone resistance [-] where a layer gives no friction: own choice."""

Soil = Literal["peat", "clay", "silt", "fill", "sand", "gravel"]


class Layer(Frozen):
    """A layer that is expected."""

    top: float = Field(ge=0, description="[m]")
    base: float = Field(gt=0, description="[m]")
    soil: Soil
    qc: float = Field(gt=0, description="expected cone resistance [kPa]")
    fs: float | None = Field(None, ge=0, description="expected sleeve friction [kPa]")
    scatter: float | None = Field(
        None, gt=0, le=2, description="standard deviation of ln qc [-]; 0.5 if not given"
    )

    @model_validator(mode="after")
    def _order(self) -> Layer:
        if self.base <= self.top:
            raise ValueError(f"base {self.base:g} m is not below top {self.top:g} m")
        return self

    @property
    def friction(self) -> float:
        """Sleeve friction, from the kind of soil where it is not given [kPa]."""
        return self.qc * FRICTION_RATIO[self.soil] if self.fs is None else self.fs


class RodString(Frozen):
    """The rods."""

    outer_diameter: float = Field(0.036, gt=0, description="[m]")
    inner_diameter: float = Field(0.016, ge=0, description="[m]")
    length: float = Field(1.0, gt=0, description="of one rod [m]")
    modulus: float = Field(STEEL, gt=0, description="Young's modulus [kPa]")
    yield_strength: float | None = Field(None, gt=0, description="[kPa]")
    reducer: float | None = Field(None, gt=0, description="diameter of the friction reducer [m]")
    friction_share: float | None = Field(
        None,
        ge=0,
        le=2,
        description="friction on the rods over sleeve friction [-]; own choice if not given: "
        "0.3 behind a reducer, 0.7 without",
    )


class Casing(Frozen):
    """Casing around the rods from the ground or the bottom of water down."""

    depth: float = Field(gt=0, description="how deep it stands [m]")
    outer_diameter: float = Field(0.0445, gt=0, description="[m]")
    inner_diameter: float = Field(0.036, gt=0, description="[m]")


class PushRig(Frozen):
    """The rig, its weight and how it stands."""

    name: str = ""
    mass: float = Field(gt=0, description="[kg]")
    thrust: float | None = Field(None, gt=0, description="capacity of the push cylinder [kN]")
    usable: float = Field(
        0.85,
        gt=0,
        le=1,
        description="usable share of the weight [-]; 0.8 to 0.9 is common practice, from memory",
    )
    slope: float = Field(0.0, ge=0, lt=30, description="of the ground under the rig [deg]")
    support_width: float | None = Field(
        None, gt=0, description="between the supports on either side of the rods [m]"
    )
    rod_offset: float = Field(
        0.0, ge=0, description="of the rods from the centre of weight, towards one support [m]"
    )
    mats: int = Field(4, ge=1, description="pads or mats that carry the rig")
    mat_area: float | None = Field(None, gt=0, description="of one mat [m2]")
    pull: float = Field(0.0, ge=0, description="largest pull on the rods when drawing them [kN]")
    surface_strength: float | None = Field(
        None, gt=0, description="undrained strength under the mats [kPa]"
    )
    allowable_pressure: float | None = Field(None, gt=0, description="allowed under a mat [kPa]")
    free_length: float | None = Field(
        None, ge=0, description="of rod between clamp and the first that holds it [m]"
    )
    ends: Literal["fixed-fixed", "fixed-pinned", "pinned-pinned", "fixed-guided", "fixed-free"] = (
        Field("pinned-pinned", description="how the free length is held")
    )

    @property
    def end_factor(self) -> float:
        """Effective length factor K [-]."""
        return END_FACTORS[self.ends]


class Anchors(Frozen):
    """Screw anchors, all alike."""

    count: int = Field(ge=0, le=24)
    shaft: Literal["square", "round"] = "square"
    shaft_size: float = Field(0.0381, gt=0, description="width or outer diameter [m]")
    helices: tuple[float, ...] = Field((0.2,), min_length=1, description="top plate first [m]")
    depth: float = Field(1.5, gt=0, description="of the top plate below ground [m]")
    plate_spacing: float | None = Field(None, gt=0, description="between plates [m]")
    torque: float | None = Field(
        None, gt=0, description="measured at the end of installation, lowest of all [kN m]"
    )
    torque_limit: float | None = Field(None, gt=0, description="rating of the shaft [kN m]")
    torque_factor: float | None = Field(None, gt=0, description="from load tests [1/m]")
    capacity: float | None = Field(None, gt=0, description="proved by a load test, each [kN]")
    su: float | None = Field(None, gt=0, description="undrained strength at the plates [kPa]")
    phi: float | None = Field(None, gt=20, lt=48, description="friction angle there [deg]")
    gamma: float = Field(9.0, gt=2, lt=25, description="effective unit weight there [kN/m3]")
    spacing: float | None = Field(None, gt=0, description="between anchors [m]")
    edge: float | None = Field(None, gt=0, description="to an edge, trench or slope [m]")
    to_rods: float | None = Field(None, gt=0, description="from the rods [m]")
    safety: float | None = Field(None, ge=1, description="safety factor [-]")


class Order(Frozen):
    """What was ordered."""

    scheme: str = Field("iso-22476-1-2012", description="accuracy scheme by name")
    accuracy_class: str | None = Field(None, description="class of that scheme")
    interval: float | None = Field(None, gt=0, description="reading interval [m]")


class DataPlan(Frozen):
    """What is known of cone, link and work, beside the plan of the push."""

    day: date | None = Field(None, description="day of the push; for the calibration")
    battery: float | None = Field(None, gt=0, description="run time left in the cone [h]")
    battery_capacity: float | None = Field(None, gt=0, description="charge left [W h]")
    battery_draw: float | None = Field(None, gt=0, description="of the cone at work [W]")
    memory: float | None = Field(None, gt=0, description="readings that the memory still holds")
    reading_rate: float = Field(1.0, gt=0, description="readings a second kept in the cone")
    link_rate: float | None = Field(None, gt=0, description="readings a second over the link")
    link_bits: float | None = Field(None, gt=0, description="bits a second over the link")
    reading_bits: float | None = Field(None, gt=0, description="bits that one reading takes")
    link_lost: float = Field(0.0, ge=0, lt=1, description="share of readings lost on the link [-]")
    has_memory: bool = Field(False, description="the cone keeps its readings itself")
    rod_change: float = Field(60.0, gt=0, description="for one rod [s]; own choice")
    set_up: float = Field(1800.0, ge=0, description="zeros, clocks and waiting [s]; own choice")
    dissipations: tuple[float, ...] = Field((), description="depths of dissipation tests [m]")
    dissipation_cap: float = Field(3600.0, gt=0, description="longest test [s]")
    level: float | None = Field(None, description="received level with one rod [dB]")
    loss_per_metre: float | None = Field(None, ge=0, description="[dB/m]")
    loss_per_joint: float | None = Field(None, ge=0, description="[dB]")
    noise: float | None = Field(None, description="level of the noise under load [dB]")
    tip_diameter: float | None = Field(None, gt=0, description="measured on the day [m]")
    sleeve_diameter: float | None = Field(None, gt=0, description="measured on the day [m]")
    fluid: str = Field("", description="water, glycerine or silicone oil")
    water_in_hole: bool = Field(False, description="the predrilled hole is filled with water")


class Plan(Frozen):
    """A plan of one push."""

    name: str = "planned push"
    target: float = Field(gt=0, le=200, description="depth to reach [m]")
    water_level: float | None = Field(None, description="depth of the water table [m]")
    predrilled: float = Field(0.0, ge=0, description="[m]")
    layers: tuple[Layer, ...] = ()
    profile: str | None = Field(None, description="design profile: a text file of depth, qc, fs")
    near: tuple[str, ...] = Field((), description="files of soundings nearby")
    scatter: float | None = Field(
        None, gt=0, le=2, description="standard deviation of ln qc of a design profile [-]"
    )
    cone: Cone = Cone()
    cones: tuple[Cone, ...] = Field((), description="other cones that could be taken")
    rods: RodString = RodString()
    casing: Casing | None = None
    rig: PushRig
    anchors: Anchors | None = None
    order: Order = Order()
    data: DataPlan | None = None

    @model_validator(mode="after")
    def _one_ground(self) -> Plan:
        given = [bool(self.layers), self.profile is not None, bool(self.near)]
        if sum(given) > 1:
            raise ValueError("give one of: layers, profile, near")
        for above, below in zip(self.layers, self.layers[1:], strict=False):
            if below.top < above.base - 1e-9:
                raise ValueError(f"layers overlap at {below.top:g} m")
        return self


def load_plan(path: str | Path) -> Plan:
    """Read a plan from a TOML file.

    Raises
    ------
    ConfigurationError
        If the file is missing, is not TOML, or has a bad field; every fault is named.
    """
    path = Path(path)
    return load(Plan, lambda: path.read_text(encoding="utf-8"), f"plan {path}")


def plan_from(document: dict[str, Any], where: str = "plan") -> Plan:
    """Return the plan that a plain document describes.

    Raises
    ------
    ConfigurationError
        Naming every bad field.
    """
    return checked(Plan, document, where)

"""Answers about the equipment of a sounding. A field that nobody stated is left out."""

from __future__ import annotations

from pydantic import BaseModel, Field

from pushproof.model.equipment import Calibration, Cone, Encoder, Rig, Rods
from pushproof.model.sounding import Zero
from pushproof.web.answers.proof import ZeroShift


class CalibrationLife(Calibration):
    """A calibration and what is left of its life; numbers in ``unit``."""

    unit: str = Field(description="inside unit of the channel")
    age_at_push: int | None = Field(description="[days]; null where the day is not known")
    days_left: int = Field(description="today [days]; below zero when it has run out")


class ZeroReading(Zero):
    """A zero reading before or after the push, in the inside unit of its channel."""

    moment: str = Field(description="before or after")


class EquipmentDocument(BaseModel):
    """Cone, rods, rig and encoder, with calibrations and what is left of their life."""

    id: str
    name: str
    in_job: bool = Field(description="whether calibrations can be added")
    cone: Cone = Field(description="without its calibrations, which are told apart")
    rods: Rods | None
    rig: Rig | None
    encoder: Encoder | None
    calibrations: list[CalibrationLife]
    life: int = Field(description="of a calibration [days]")
    zeros: list[ZeroShift]
    readings: list[ZeroReading]

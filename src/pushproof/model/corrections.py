"""Corrections as decisions: small documents, each with its reason, applied in the order listed.

Nothing here is applied unless a recipe says so. Lengths are in m, values in the inside unit of the
channel.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

Channel = Literal["qc", "fs", "u1", "u2", "u3"]


class Correction(BaseModel):
    """Base of all corrections; the reason is asked for."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    reason: str = Field(min_length=3)


class ZeroShare(Correction):
    """Take the change of the zero out, shared over the push.

    The change is the one between the zero readings of the sounding, unless ``change`` gives it.
    """

    kind: Literal["zero-shift"] = "zero-shift"
    channel: Channel
    over: Literal["time", "length", "all"] = "time"
    change: float | None = None


class Temperature(Correction):
    """Take out the effect of temperature: ``coefficient`` per degC away from ``reference``."""

    kind: Literal["temperature"] = "temperature"
    channel: Channel
    coefficient: float
    reference: float


class SleeveShift(Correction):
    """Move fs up by a distance, to the depth of the tip it belongs to."""

    kind: Literal["sleeve-shift"] = "sleeve-shift"
    distance: float = Field(gt=-0.5, lt=0.5)


class DepthShift(Correction):
    """Add a distance to every length, where the zero of depth was wrong."""

    kind: Literal["depth-shift"] = "depth-shift"
    distance: float = Field(gt=-50, lt=50)


class Despike(Correction):
    """Leave out single readings farther from the running median than ``deviations``."""

    kind: Literal["despike"] = "despike"
    channel: Channel
    deviations: float = Field(8.0, ge=4)


class RodChangeBlank(Correction):
    """Leave out what was read within a length after each pause."""

    kind: Literal["rod-change"] = "rod-change"
    channels: tuple[Channel, ...] = ("qc", "fs", "u2")
    recovery: float = Field(gt=0, le=1.0)


class Offset(Correction):
    """Add a constant to a channel."""

    kind: Literal["offset"] = "offset"
    channel: Channel
    amount: float


class Truncate(Correction):
    """Leave out all that is above ``top`` or below ``base``."""

    kind: Literal["truncate"] = "truncate"
    top: float | None = None
    base: float | None = None

    @model_validator(mode="after")
    def _one_end(self) -> Truncate:
        if self.top is None and self.base is None:
            raise ValueError("give top or base")
        return self


AnyCorrection = Annotated[
    ZeroShare
    | Temperature
    | SleeveShift
    | DepthShift
    | Despike
    | RodChangeBlank
    | Offset
    | Truncate,
    Field(discriminator="kind"),
]
"""Any correction, told apart by its ``kind``."""

OVER_THE_WHOLE_RECORD = ("zero-shift", "temperature", "despike")
"""Kinds that are signal processing over the whole record (Dutch register, third declaration)."""
BY_AN_EXPERT = ("offset", "truncate", "sleeve-shift", "depth-shift")
"""Kinds that are expert corrections (second declaration), as a blanked interval is."""
OF_INTERRUPTIONS = ("rod-change",)
"""Kinds that edit interruptions (first declaration)."""

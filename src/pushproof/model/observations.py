"""Observations from elsewhere: blow counts, laboratory strengths, water levels, logged layers.

They are facts that a sounding is held against; they change nothing of it.
"""

from __future__ import annotations

from typing import Literal, get_args

from pydantic import Field, model_validator

from pushproof.model.equipment import Frozen

Kind = Literal["N60", "su", "phi", "OCR", "Vs", "water", "layer"]
"""What was observed: keys of the vocabulary, a water level [m], or a logged layer."""
KINDS: tuple[str, ...] = get_args(Kind)
UNITS = {"N60": "-", "su": "kPa", "phi": "deg", "OCR": "-", "Vs": "m/s", "water": "m"}
"""Unit of the value of each kind; a layer has words."""


class Observation(Frozen):
    """One observation at a depth, or over an interval [m].

    ``test`` says how it was made (``"SPT, automatic hammer"``, ``"triaxial CIU"``, ``"vane"``),
    ``source`` where it is from (``"BH-2"``).
    """

    kind: Kind
    top: float = Field(ge=-100, le=2000)
    base: float | None = Field(None, le=2000)
    value: float | None = None
    words: str = Field("", max_length=200)
    test: str = Field("", max_length=120)
    source: str = Field("", max_length=120)

    @model_validator(mode="after")
    def _whole(self) -> Observation:
        if self.base is not None and self.base < self.top:
            raise ValueError("base: expected at or below top")
        if self.kind == "layer":
            if self.base is None or not self.words.strip():
                raise ValueError("a layer has a base and words")
        elif self.value is None:
            raise ValueError("value: expected a number")
        elif self.kind != "water" and self.value <= 0:
            raise ValueError("value: expected above zero")
        return self

"""The description of a decoder: what the sentences of a maker's box look like, in TOML.

A description is data. It names the prefix of a sentence, its separator, the checksum, and for each
field the quantity, the unit, scale and offset. Two examples are in ``decoders``.
"""

from __future__ import annotations

import math
from importlib import resources
from pathlib import Path
from typing import Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from pushproof.model.documents import checked, load
from pushproof.model.quantities import QUANTITIES
from pushproof.model.stream import StreamKind
from pushproof.model.units import unit
from pushproof.sources.checksum import KINDS


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class FieldDescription(_Part):
    """One field of a sentence.

    ``key`` is a quantity of the vocabulary, ``sequence`` for the counter of the sender, or
    ``ignore``. The value inside is ``(number * scale + offset)`` in ``unit``, converted. A
    quantity that has a unit must be given one: a tip resistance in MPa that is taken for kPa
    would look plausible.
    """

    key: str
    unit: str = ""
    scale: float = 1.0
    offset: float = 0.0
    name: str = Field("", description="name of the field in JSON lines; the key if empty")
    decimals: int = Field(3, ge=0, le=12, description="decimals when a sentence is written")

    @field_validator("key")
    @classmethod
    def _known_key(cls, key: str) -> str:
        if key not in QUANTITIES and key not in ("sequence", "ignore"):
            raise ValueError(f"no such quantity; known: sequence ignore {' '.join(QUANTITIES)}")
        return key

    @field_validator("unit")
    @classmethod
    def _known_unit(cls, text: str) -> str:
        if text and unit(text) is None:
            raise ValueError(f"unknown unit {text!r}")
        return text

    @model_validator(mode="after")
    def _says_its_unit(self) -> Self:
        if self.key in QUANTITIES and QUANTITIES[self.key].unit != "-" and not self.unit:
            raise ValueError(f"{self.key}: unit is missing, such as {QUANTITIES[self.key].unit}")
        return self

    @field_validator("scale", "offset")
    @classmethod
    def _finite(cls, number: float) -> float:
        if not math.isfinite(number):
            raise ValueError("expected a finite number")
        return number

    @field_validator("scale")
    @classmethod
    def _not_zero(cls, scale: float) -> float:
        if scale == 0:
            raise ValueError("a scale of zero loses the value")
        return scale


class ChecksumDescription(_Part):
    """Checksum at the end of a sentence: its kind, the sign before it, what it covers, its form."""

    kind: Literal["xor8", "sum8", "sum16", "crc8", "crc8-maxim", "crc16-ccitt-false",
                  "crc16-xmodem", "crc16-kermit", "crc16-modbus", "crc32"]  # fmt: skip
    sign: str = Field("*", max_length=4, description="text before the checksum; may be empty")
    skip_start: int = Field(0, ge=0, le=8, description="leading bytes that are not covered")
    covers_sign: bool = Field(False, description="the sign is covered too")
    format: Literal["hex", "decimal"] = "hex"
    low_byte_first: bool = Field(False, description="bytes are written from low to high")

    @model_validator(mode="after")
    def _has_an_end(self) -> Self:
        if self.format == "decimal" and not self.sign:
            raise ValueError("a decimal checksum needs a sign before it")
        return self


class Description(_Part):
    """How the sentences of one box are decoded."""

    name: str
    stream: StreamKind
    form: Literal["fields", "json"] = "fields"
    prefix: str = Field("", description="text a sentence starts with; others are passed over")
    separator: str = Field(
        ",", min_length=1, max_length=4, description="a blank stands for any run of blanks"
    )
    decimal: Literal[".", ","] = "."
    void: tuple[str, ...] = ("", "-", "nan", "NaN")
    checksum: ChecksumDescription | None = None
    fields: tuple[FieldDescription, ...] = Field(min_length=1)

    @field_validator("fields")
    @classmethod
    def _once(cls, fields: tuple[FieldDescription, ...]) -> tuple[FieldDescription, ...]:
        keys = [field.key for field in fields if field.key != "ignore"]
        twice = sorted({key for key in keys if keys.count(key) > 1})
        if twice:
            raise ValueError(f"given twice: {' '.join(twice)}")
        for one in fields:
            if one.key in QUANTITIES and one.unit:
                found = unit(one.unit)
                if found is not None and found.inside != QUANTITIES[one.key].unit:
                    raise ValueError(f"{one.key}: {one.unit} is no unit of it")
        return fields

    @model_validator(mode="after")
    def _can_be_read(self) -> Self:
        if self.decimal == self.separator:
            raise ValueError("separator and decimal sign are the same")
        if self.form == "json" and (self.checksum or self.prefix):
            raise ValueError("JSON lines have no prefix and no checksum")
        check = self.checksum
        if check and not check.sign and not self.prefix:
            raise ValueError("a checksum without a sign before it needs a prefix")
        return self


assert set(ChecksumDescription.model_fields["kind"].annotation.__args__) == set(KINDS)  # type: ignore[union-attr]


def describe(document: dict[str, Any], where: str = "decoder") -> Description:
    """Return the description in a plain document.

    Raises
    ------
    ConfigurationError
        Naming every bad field.
    """
    return checked(Description, document, where)


def load_description(name: str | Path) -> Description:
    """Read a description from a TOML file, or a shipped example by name.

    Raises
    ------
    ConfigurationError
        If there is no such file or example, or it is not valid.
    """
    path = Path(name)
    shipped = resources.files("pushproof.sources") / "decoders" / f"{name}.toml"
    source = path if path.suffix == ".toml" else shipped
    known = f"no such file or example (examples: {', '.join(shipped_names())})"
    return load(Description, lambda: source.read_text("utf-8"), f"decoder {name}", missing=known)


def shipped_names() -> list[str]:
    """Return the names of the shipped examples."""
    folder = resources.files("pushproof.sources") / "decoders"
    return sorted(
        p.name.removesuffix(".toml") for p in folder.iterdir() if p.name.endswith(".toml")
    )

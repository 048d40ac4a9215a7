"""Fields of a sounding that can be given on handing over, by name and as text.

They fill what a sounding lacks, or replace what it states; the sounding that was read stays as it
is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType
from typing import Any

from pydantic import ValidationError

from pushproof.model.sounding import Sounding, StopReason, Water, WaterOrigin
from pushproof.model.units import unit


@dataclass(frozen=True)
class SoundingField:
    """One field: the part of the sounding it belongs to, its name there, unit and meaning.

    ``own`` marks what no two soundings share.
    """

    part: str
    name: str
    words: str
    unit: str = ""
    own: bool = False


FIELDS = MappingProxyType(
    {
        "name": SoundingField("", "name", "name of the sounding", own=True),
        "project": SoundingField("", "project", "name of the project"),
        "client": SoundingField("", "client", "client"),
        "operator": SoundingField("", "operator", "who pushed"),
        "place": SoundingField("", "place", "place"),
        "standard": SoundingField("", "standard", "standard followed"),
        "quality_class": SoundingField("", "quality_class", "class as stated"),
        "stop_reason": SoundingField("", "stop_reason", "why the push ended"),
        "started": SoundingField("", "started", "start, as 2031-04-02T09:30", own=True),
        "predrilled": SoundingField("", "predrilled", "pre-excavated depth", "m"),
        "x": SoundingField("location", "x", "easting or x", own=True),
        "y": SoundingField("location", "y", "northing or y", own=True),
        "crs": SoundingField("location", "crs", "coordinate system, as EPSG:27700"),
        "latitude": SoundingField("location", "latitude", "latitude", "deg", own=True),
        "longitude": SoundingField("location", "longitude", "longitude", "deg", own=True),
        "level": SoundingField("location", "level", "level of the zero of depth", "m", own=True),
        "datum": SoundingField("location", "datum", "vertical datum"),
        "zero": SoundingField("location", "zero", "what depth 0 is"),
        "water_depth": SoundingField("location", "water_depth", "water above the bottom", "m"),
        "cone": SoundingField("cone", "serial", "serial number of the cone"),
        "cone_model": SoundingField("cone", "model", "model of the cone"),
        "tip_area": SoundingField("cone", "tip_area", "cross-section of the tip", "cm2"),
        "area_ratio": SoundingField("cone", "area_ratio", "net area ratio a", "-"),
        "sleeve_area": SoundingField("cone", "sleeve_area", "area of the friction sleeve", "cm2"),
        "sleeve_end_ratio": SoundingField("cone", "sleeve_end_ratio", "end-area ratio b", "-"),
        "tip_to_mid_sleeve": SoundingField("cone", "tip_to_mid_sleeve", "tip to mid sleeve", "mm"),
        "water_level": SoundingField("water", "level", "depth of the water table", "m"),
    }
)
"""Every field of a sounding that can be given, by name."""


def with_fields(sounding: Sounding, given: Mapping[str, str]) -> Sounding:
    """Return the sounding with the given fields in place.

    Raises
    ------
    ValueError
        Naming every field whose value cannot be used.
    """
    parts: dict[str, dict[str, Any]] = {}
    faults = []
    for name, text in given.items():
        one = FIELDS[name]
        try:
            parts.setdefault(one.part, {})[one.name] = _value(one, text)
        except ValueError as error:
            faults.append(f"{name}: {error}")
    if faults:
        raise ValueError("; ".join(faults))
    try:
        return _placed(sounding, parts)
    except ValidationError as error:
        texts = (f"{'.'.join(map(str, f['loc']))}: {f['msg'].lower()}" for f in error.errors())
        raise ValueError("; ".join(texts)) from error


def _placed(sounding: Sounding, parts: dict[str, dict[str, Any]]) -> Sounding:
    changes = dict(parts.get("", {}))
    for part in ("location", "cone"):
        if part in parts:
            old = getattr(sounding, part)
            changes[part] = type(old).model_validate(old.model_dump() | parts[part])
    if "water" in parts:
        changes["water"] = Water(level=parts["water"]["level"], origin=WaterOrigin.GIVEN)
    return replace(sounding, **changes) if changes else sounding


def _value(one: SoundingField, text: str) -> Any:
    if one.name == "started":
        return datetime.fromisoformat(text)
    if one.name == "stop_reason":
        return _stop(text)
    if one.unit or one.name in ("x", "y"):
        return _number(text, one.unit)
    if not text.strip():
        raise ValueError("it is empty")
    return text.strip()


def _number(text: str, standard: str) -> float:
    """Return a number, in the unit that stands behind it or in the standard one, inside unit."""
    number, _, stated = text.strip().partition(" ")
    found = unit(stated) if stated.strip() else unit(standard)
    expected = unit(standard)
    if found is None or expected is None or found.inside != expected.inside:
        raise ValueError(f"{stated.strip()!r} is no unit of it; expected {standard}")
    try:
        value = float(number)
    except ValueError:
        raise ValueError(f"{number!r} is no number") from None
    return value * found.factor + found.offset


def _stop(text: str) -> StopReason:
    try:
        return StopReason(text.strip().lower())
    except ValueError:
        known = ", ".join(one.value for one in StopReason)
        raise ValueError(f"{text!r} is not known; known: {known}") from None

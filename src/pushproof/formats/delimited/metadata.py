"""Header lines of a text table: ``key value`` in any of its spellings, to fields of a sounding."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from pushproof.formats.delimited.names import header_field
from pushproof.formats.numbers import parse_number
from pushproof.model.equipment import Cone
from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import (
    Event,
    HeaderItem,
    Location,
    RemovedLayer,
    StopReason,
    Water,
    WaterOrigin,
    Zero,
)
from pushproof.model.units import unit

_PAIR = re.compile(r'^\s*#?\s*"?([^:=\t;"]{1,80}?)"?\s*(?::\s*\t?|=|\t|;)\s*(.*?)\s*$')
_NUMBERS = {
    "x", "y", "level", "water_level", "area_ratio", "tip_area", "sleeve_area",
    "tip_to_mid_sleeve", "predrilled",
}  # fmt: skip
_USUAL = {"tip_area": "cm2", "sleeve_area": "cm2", "tip_to_mid_sleeve": "mm"}
_DATES = ("%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d", "%d-%m-%Y",
          "%d.%m.%Y", "%Y/%m/%d")  # fmt: skip


def metadata(lines: list[tuple[int, str]], path: Path) -> dict[str, Any]:
    """Return the fields of a sounding that header lines give; every line is kept as found.

    A date such as 12/7/2000 can be read two ways and is only kept, not interpreted.
    """
    items: list[HeaderItem] = []
    found: dict[str, Any] = {}
    findings: list[Finding] = []
    zeros: dict[str, list[Zero]] = {"before": [], "after": []}
    events: list[Event] = []
    removed: list[RemovedLayer] = []
    for number, line in lines:
        if not line.strip():
            continue
        pair = _pair(line)
        if pair is None:
            items.append(HeaderItem(key="", value=line.strip()[:500], line=number))
            continue
        key, value = pair
        items.append(HeaderItem(key=key.strip(), value=value, line=number))
        if _record(key, value, zeros, events, removed):
            continue
        field = header_field(key)
        if field is None or field[0] in found or not value:
            continue
        try:
            found[field[0]] = _value(field[0], field[1], value)
        except ValueError:
            text = f"header line {key.strip()!r} is {value[:40]!r}, no number; kept as found"
            findings.append(Finding("header-not-a-number", Severity.INFO, text, line=number))
    return {
        **_fields(found, path, findings),
        "zeros_before": tuple(zeros["before"]),
        "zeros_after": tuple(zeros["after"]),
        "events": tuple(events),
        "removed": tuple(removed),
        "header": tuple(items),
        "findings": findings,
    }


_ZERO = re.compile(r"^zero (before|after) (\w+) \[([^\]]+)\]$", re.IGNORECASE)
_WORDS = re.compile(r"(\w+) ([-+.\d]+)")


def _record(
    key: str,
    value: str,
    zeros: dict[str, list[Zero]],
    events: list[Event],
    removed: list[RemovedLayer],
) -> bool:
    """Take a line of our own spelling: a zero reading, an event or a removed layer.

    ``zero before qc [kPa]: 1.2``, ``event rod-change: depth 3.98 seconds 210.5 duration 27`` and
    ``removed layer: top 0 base 0.3 topsoil``.
    """
    zero = _ZERO.match(key.strip())
    words = {name: float(number) for name, number in _WORDS.findall(value) if _is_number(number)}
    if zero is not None and _is_number(value) and unit(zero[3]) is not None:
        found = unit(zero[3])
        assert found is not None
        reading = Zero(channel=zero[2], value=float(value) * found.factor)
        zeros[zero[1].lower()].append(reading)
        return True
    if key.strip().lower().startswith("event "):
        events.append(
            Event(
                key.strip()[6:].strip(),
                depth=words.get("depth"),
                seconds=words.get("seconds"),
                duration=words.get("duration"),
            )
        )
        return True
    if key.strip().lower() == "removed layer" and {"top", "base"} <= set(words):
        text = re.sub(r"^top \S+ base \S+\s*", "", value)
        removed.append(RemovedLayer(top=words["top"], base=words["base"], description=text))
        return True
    return False


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False


def _pair(line: str) -> tuple[str, str] | None:
    quoted = re.match(r'^\s*"([^"]{1,80})"\s*[,;:\t=]?\s*(.*?)\s*$', line)
    match = quoted or _PAIR.match(line)
    if match is None:
        comma = re.match(r"^\s*#?\s*([A-Za-z][^,]{0,60}),\s*(.+?)\s*$", line)
        match = comma if comma and header_field(comma[1]) else None
    if match is None:
        return None
    value = match[2].strip()
    if len(value) > 1 and value[0] == value[-1] == '"':
        value = value[1:-1]
    if "\t" not in line and not line.startswith("#"):
        value = value.strip(",;")  # separators that a spreadsheet leaves behind a line
    return match[1], value.strip()


def _value(field: str, stated: str, value: str) -> float | str:
    if field not in _NUMBERS:
        return value
    number, _, tail = value.partition(" ")
    amount = parse_number(number, "," if re.fullmatch(r"-?\d+,\d+", number) else ".")
    if math.isnan(amount):
        raise ValueError("void")
    found = unit(stated or tail.strip("[]() ") or _USUAL.get(field, "-"))
    return amount if found is None or found.symbol == "-" else amount * found.factor


def _fields(found: dict[str, Any], path: Path, findings: list[Finding]) -> dict[str, Any]:
    def positive(key: str, low: float = 0.0, high: float = math.inf) -> float | None:
        value = found.get(key)
        if value is None or low < value <= high:
            return value
        findings.append(
            Finding(
                f"{key.replace('_', '-')}-odd",
                Severity.CAUTION,
                f"the stated {key.replace('_', ' ')} is {value:g}; not used",
            )
        )
        return None

    level = found.get("water_level")
    return {
        "name": found.get("name") or path.stem,
        "location": Location(
            x=found.get("x"),
            y=found.get("y"),
            crs=found.get("crs"),
            level=found.get("level"),
            datum=found.get("datum"),
        ),
        "cone": Cone(
            serial=found.get("serial"),
            area_ratio=positive("area_ratio", high=1.5),
            tip_area=positive("tip_area"),
            sleeve_area=positive("sleeve_area"),
            tip_to_mid_sleeve=positive("tip_to_mid_sleeve"),
        ),
        "water": None if level is None else Water(level=level, origin=WaterOrigin.STATED),
        "predrilled": found.get("predrilled"),
        "standard": found.get("standard"),
        "quality_class": found.get("quality_class"),
        "started": _date(found.get("date")),
        "project": found.get("project"),
        "client": found.get("client"),
        "operator": found.get("operator"),
        "place": found.get("place"),
        "stop_reason": _stop(found.get("stop_reason")),
    }


def _date(text: str | None) -> datetime | None:
    parse: Callable[[str, str], datetime] = datetime.strptime
    for form in _DATES if text else ():
        try:
            return parse(str(text), form)
        except ValueError:
            continue
    return None


def _stop(text: str | None) -> StopReason | None:
    for reason in StopReason:
        if text and text.strip().lower() == reason.value:
            return reason
    return StopReason.UNKNOWN if text else None

"""The table of limits: read, check, override. Evaluated by :mod:`pushproof.recording.guard`.

Limits are written in the unit people read and turned into inside units once, here.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from pushproof.errors import ConfigurationError
from pushproof.model.units import unit as unit_named
from pushproof.recording.snapshot import Level

MARKS = ("verified", "from memory", "calculated", "own choice", "set by the project")

SIGNALS: Mapping[str, str] = MappingProxyType(
    {
        "rate": "m/s",
        "tilt": "deg",
        "tilt_change": "deg",
        "silence": "s",
        "depth_silence": "s",
        "sources_away": "-",
        "loss": "%",
        "link_margin": "dB",
        "qc_share": "%",
        "fs_share": "%",
        "u_share": "%",
        "thrust_share": "%",
        "thrust_ahead": "%",
        "refusal_ahead": "%",
        "stalled": "s",
        "encoder_jump": "m",
        "lifted": "m",
        "tally": "%",
        "spacing": "m",
        "gap": "m",
        "u_range": "kPa",
        "u_least": "kPa",
        "battery": "V",
        "free_disk": "MB",
        "clock_step": "s",
        "undecoded": "%",
        "cone_restarts": "-",
    }
)
"""Every signal that a rule can watch, with its inside unit."""


class _Bound(BaseModel):
    model_config = ConfigDict(extra="forbid")
    limit: float | tuple[float, float]
    mark: Literal["verified", "from memory", "calculated", "own choice", "set by the project"] = (
        "own choice"
    )
    source: str = ""
    note: str = ""

    @model_validator(mode="after")
    def _verified_has_a_source(self) -> _Bound:
        if self.mark == "verified" and not self.source:
            raise ValueError("a verified limit names its source")
        return self


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid")
    name: str
    signal: str
    unit: str
    test: Literal["above", "below", "outside"]
    clear: float = Field(ge=0)
    hold: float = Field(ge=0)
    rest: float = Field(0.0, ge=0)
    settle: float = Field(0.0, ge=0)
    steps: tuple[str, ...] = ()
    advice: str
    text: str = "{name} {value}, {side} {limit}"
    caution: _Bound | None = None
    stop: _Bound | None = None

    @model_validator(mode="after")
    def _consistent(self) -> _Row:
        faults = []
        if self.signal not in SIGNALS:
            faults.append(f"signal {self.signal!r} is not one of: {' '.join(SIGNALS)}")
        bounds = {"caution": self.caution, "stop": self.stop}
        if not any(bounds.values()):
            faults.append("neither caution nor stop")
        for word, bound in bounds.items():
            pair = bound is not None and isinstance(bound.limit, tuple)
            if bound is not None and pair != (self.test == "outside"):
                wanted = "two limits" if self.test == "outside" else "one limit"
                faults.append(f"{word}: test {self.test!r} needs {wanted}")
        if not faults and self.caution and self.stop and not self._stop_is_farther():
            faults.append("stop lies inside caution")
        if faults:
            raise ValueError("; ".join(faults))
        return self

    def _stop_is_farther(self) -> bool:
        assert self.caution is not None
        assert self.stop is not None
        near, far = self.caution.limit, self.stop.limit
        if isinstance(near, tuple) and isinstance(far, tuple):
            return far[0] <= near[0] < near[1] <= far[1]
        assert not isinstance(near, tuple)
        assert not isinstance(far, tuple)
        return far >= near if self.test == "above" else far <= near


@dataclass(frozen=True, slots=True)
class Bound:
    """One level of a rule, in inside units, with where its number comes from.

    ``low`` and ``high`` are infinite where that side is open.
    """

    level: Level
    low: float
    high: float
    mark: str
    source: str = ""
    note: str = ""

    def exceeded(self, value: float) -> bool:
        """Tell whether a value is beyond; NaN is not."""
        return value > self.high or value < self.low

    @property
    def origin(self) -> str:
        """Source and mark in words, for people."""
        text = self.source or self.note
        return f"{text} ({self.mark})" if text else self.mark


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of the guard, in inside units; ``factor`` turns them into ``unit``."""

    id: str
    name: str
    signal: str
    unit: str
    factor: float
    test: str
    clear: float
    hold: float
    rest: float
    settle: float
    steps: tuple[str, ...]
    advice: str
    text: str
    bounds: tuple[Bound, ...]

    def level(self, value: float) -> Level:
        """Return the level of a value, without hysteresis."""
        found = Level.OK
        for bound in self.bounds:
            if bound.exceeded(value):
                found = max(found, bound.level)
        return found

    def held(self, value: float) -> Level:
        """Return the level that a value holds: limits drawn in by ``clear``."""
        found = Level.OK
        for bound in self.bounds:
            if value > bound.high - self.clear or value < bound.low + self.clear:
                found = max(found, bound.level)
        return found

    def shown(self, value: float) -> str:
        """Return a value as people read it, with its unit."""
        number = value * self.factor
        digits = max(0, 2 - math.floor(math.log10(abs(number)))) if number else 0
        text = f"{number:.{min(digits, 2)}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return text if self.unit == "-" else f"{text} {self.unit}"


def load_limits(*overrides: Path | Mapping[str, Any]) -> Mapping[str, Rule]:
    """Return the rules by id: the table of the package, then each override in turn.

    Parameters
    ----------
    overrides
        TOML files or mappings with only what differs; a level of ``false`` switches it off. What
        is overridden is marked as set by the project unless it says otherwise.

    Raises
    ------
    ConfigurationError
        Naming file, rule and every fault.
    """
    table: dict[str, dict[str, Any]] = {key: dict(row) for key, row in _own().items()}
    for override in overrides:
        name = str(override) if isinstance(override, Path) else "override"
        rows = _read(override) if isinstance(override, Path) else override
        for key, row in rows.items():
            if key not in table:
                near = " ".join(table)
                raise ConfigurationError(f"{name}: no rule {key!r}; rules: {near}")
            table[key] = _merged(table[key], row, name)
    faults: list[str] = []
    rules = {}
    for key, row in table.items():
        try:
            rules[key] = _rule(key, _Row.model_validate(row))
        except ValidationError as error:
            faults += [
                f"[{'.'.join([key, *(str(p) for p in e['loc'])])}] {e['msg']}"
                for e in error.errors()
            ]
        except ValueError as error:
            faults.append(f"[{key}] {error}")
    if faults:
        where = ", ".join(str(o) for o in overrides if isinstance(o, Path)) or "limits.toml"
        raise ConfigurationError(f"{where}: " + "; ".join(faults))
    return MappingProxyType(rules)


@cache
def _own() -> Mapping[str, Any]:
    text = resources.files(__package__).joinpath("limits.toml").read_text("utf-8")
    return tomllib.loads(text)


def _read(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except (OSError, tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"{path}: the limits cannot be read: {error}") from error


def _merged(row: dict[str, Any], change: Any, name: str) -> dict[str, Any]:
    if not isinstance(change, Mapping):
        raise ConfigurationError(f"{name}: a rule is a table, found {change!r}")
    merged = dict(row)
    for key, value in change.items():
        if key not in ("caution", "stop"):
            merged[key] = value
        elif value is False:
            merged.pop(key, None)
        elif isinstance(value, Mapping):
            merged[key] = {"mark": "set by the project", "source": name, **value}
        else:
            merged[key] = {"limit": value, "mark": "set by the project", "source": name}
    return merged


def _rule(key: str, row: _Row) -> Rule:
    factor = _factor(row.unit, SIGNALS[row.signal])
    bounds = []
    for level, bound in ((Level.CAUTION, row.caution), (Level.STOP, row.stop)):
        if bound is None:
            continue
        limit = bound.limit
        if isinstance(limit, tuple):
            low, high = limit[0] * factor, limit[1] * factor
        elif row.test == "above":
            low, high = -math.inf, limit * factor
        else:
            low, high = limit * factor, math.inf
        bounds.append(Bound(level, low, high, bound.mark, bound.source, bound.note))
    return Rule(
        key,
        row.name,
        row.signal,
        row.unit,
        1.0 / factor,
        row.test,
        row.clear * factor,
        row.hold,
        row.rest,
        row.settle,
        row.steps,
        row.advice,
        row.text,
        tuple(bounds),
    )


def _factor(shown: str, inside: str) -> float:
    if shown == inside:
        return 1.0
    known = unit_named(shown)
    if known is None or known.inside != inside or known.offset:
        raise ValueError(f"unit {shown!r} does not turn into {inside!r}")
    return known.factor

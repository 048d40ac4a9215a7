"""Faults of the rehearsal, planted by a line of text.

The text is a list with commas: ``name``, ``name=value``, ``name@where`` or ``name@where=value``,
as in ``loose-joint@12, loss=0.2, tilt=0.5/m, slip, clock=40ppm, unplug@300s``. Units may be left
out. Every fault that can be planted stands in :data:`FAULTS`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from types import MappingProxyType

from pushproof.errors import ConfigurationError


@dataclass(frozen=True, slots=True)
class FaultKind:
    """One kind of fault.

    Parameters
    ----------
    name
        As written in the text.
    words
        What happens.
    unit
        Unit of the value; empty for a share or a fault without a value.
    default
        Value where none is given; None if it must be given.
    low, high
        Range of the value.
    where
        What the place means: ``"rod"``, ``"m"`` or ``"s"``; empty if it takes no place.
    needs_where
        The place must be given.
    takes_value
        A value may be given.
    shown
        Value in the example where there is no default.
    """

    name: str
    words: str
    unit: str = ""
    default: float | None = None
    low: float = 0.0
    high: float = 1.0
    where: str = ""
    needs_where: bool = False
    takes_value: bool = True
    shown: float = 0.2

    @property
    def example(self) -> str:
        """How it is written."""
        place = {"rod": "@12", "m": "@6m", "s": "@300s"}.get(self.where, "")
        value = (
            ""
            if not self.takes_value
            else f"={self.shown if self.default is None else self.default:g}"
        )
        return f"{self.name}{place}{value}{self.unit if value else ''}"


def _table(*kinds: FaultKind) -> MappingProxyType[str, FaultKind]:
    return MappingProxyType({kind.name: kind for kind in kinds})


FAULTS = _table(
    FaultKind("loose-joint", "the joint above this rod is loose: the level falls by a step",
              "dB", 9.0, 1, 40, "rod", True),
    FaultKind("weak", "more loss per metre of string", "dB/m", 0.6, 0.05, 5),
    FaultKind("noise", "the engine under load drowns the link", "dB", 16.0, 1, 60),
    FaultKind("loss", "share of the packets that get lost", "", None, 0, 1),
    FaultKind("silence", "no packets for a while, the port stays open",
              "s", 30.0, 1, 3600, "s", True),
    FaultKind("duplicate", "share of the packets that come twice", "", 0.05, 0, 1),
    FaultKind("swap", "share of the packets that come after their follower", "", 0.05, 0, 1),
    FaultKind("garbage", "share of the packets with binary noise before them", "", 0.03, 0, 1),
    FaultKind("half", "share of the packets cut short and glued to the next", "", 0.03, 0, 1),
    FaultKind("unplug", "the port of the sound link goes away", "s", 20.0, 1, 3600, "s", True),
    FaultKind("unplug-depth", "the port of the encoder goes away", "s", 20.0, 1, 3600, "s", True),
    FaultKind("clock", "the clock of the cone runs fast by this much", "ppm", None, -5000, 5000,
              shown=40),
    FaultKind("restart", "the cone starts anew: its clock and counter begin at 0", "", 0.0,
              where="s", needs_where=True, takes_value=False),
    FaultKind("battery", "battery voltage at the start", "V", None, 2, 20, shown=3.5),
    FaultKind("no-memory", "the cone keeps no record of its own", default=0.0, takes_value=False),
    FaultKind("tilt", "tilt grows by this much a metre; with a place, a step there [deg]",
              "/m", 0.5, -10, 15, "m"),
    FaultKind("stone", "a stone at this depth: resistance rises to this", "MPa", 40.0, 1, 120,
              "m", True),
    FaultKind("rate", "push rate", "mm/s", None, 2, 80, "m", shown=30),
    FaultKind("pause", "the push stops for a while", "s", 60.0, 5, 7200, "m", True),
    FaultKind("slip", "the clamp slips: this share of the travel moves no rods, from there on",
              "", 0.05, 0.001, 0.4, "m"),
    FaultKind("reset", "the encoder begins at zero with every stroke", default=0.0,
              takes_value=False),
    FaultKind("stall", "the encoder stands while the push goes on; what it missed is lost",
              "s", 15.0, 1, 600, "m", True),
    FaultKind("jump", "the encoder jumps", "m", 0.3, -5, 5, "m", True),
    FaultKind("desaturated", "air in the filter: pore pressure late and low", default=0.0,
              takes_value=False),
    FaultKind("drift", "the zero of the tip drifts by this much over the push", "kPa", None,
              -5000, 5000, shown=30),
)  # fmt: skip
"""Name to kind of fault."""

_UNITS = {
    "rod": ("",),
    "m": ("m", ""),
    "s": ("s", ""),
    "dB": ("db", ""),
    "dB/m": ("db/m", ""),
    "/m": ("/m", "deg/m", "deg", ""),
    "mm/s": ("mm/s", ""),
    "MPa": ("mpa", ""),
    "kPa": ("kpa", ""),
    "ppm": ("ppm", ""),
    "V": ("v", ""),
    "": ("",),
}
_NUMBER = re.compile(r"([+-]?\d*\.?\d+(?:[eE][+-]?\d+)?)\s*(.*)", re.DOTALL)
MOST = 100
"""Faults taken from one text."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One planted fault: kind, place (rod, m or s; None for all along), value."""

    kind: str
    where: float | None
    value: float


@dataclass(frozen=True, slots=True)
class Faults:
    """The planted faults."""

    items: tuple[Fault, ...] = ()

    def __contains__(self, kind: object) -> bool:
        """Tell whether there is a fault of this kind."""
        return any(fault.kind == kind for fault in self.items)

    def all(self, kind: str) -> tuple[Fault, ...]:
        """Return the faults of one kind."""
        return tuple(fault for fault in self.items if fault.kind == kind)

    def value(self, kind: str, otherwise: float = 0.0) -> float:
        """Return the value of the last fault of a kind that has no place."""
        values = [fault.value for fault in self.all(kind) if fault.where is None]
        return values[-1] if values else otherwise


def parse_faults(text: str) -> Faults:
    """Read faults from text.

    Parameters
    ----------
    text
        As described at the top of the module; empty for none.

    Raises
    ------
    ConfigurationError
        Naming every piece that cannot be used, with what was expected.

    Examples
    --------
    >>> parse_faults("loose-joint@12, loss=0.2").items
    (Fault(kind='loose-joint', where=12.0, value=9.0), Fault(kind='loss', where=None, value=0.2))
    """
    pieces = [piece.strip() for piece in text.split(",") if piece.strip()]
    if len(pieces) > MOST:
        raise ConfigurationError(f"{len(pieces)} faults given, at most {MOST} can be planted")
    found, wrong = [], []
    for piece in pieces:
        try:
            found.append(_fault(piece))
        except ValueError as error:
            wrong.append(str(error))
    if wrong:
        raise ConfigurationError("faults: " + "; ".join(wrong))
    return Faults(tuple(found))


def _fault(piece: str) -> Fault:
    head, equals, value = (part.strip() for part in piece.partition("="))
    name, at, place = (part.strip() for part in head.partition("@"))
    kind = FAULTS.get(name.lower())
    if kind is None:
        raise ValueError(f"{piece[:60]!r}: no fault of that name; known: {', '.join(FAULTS)}")
    if at and not kind.where:
        raise ValueError(f"{piece!r}: takes no place, write {kind.example}")
    if kind.needs_where and not at:
        raise ValueError(f"{piece!r}: needs a place, write {kind.example}")
    if equals and not kind.takes_value:
        raise ValueError(f"{piece!r}: takes no value, write {kind.example}")
    if not equals and kind.default is None:
        raise ValueError(f"{piece!r}: needs a value, write {kind.example}")
    where = _number(piece, place, kind.where, 0.0, 1e6, kind) if at else None
    if kind.where == "rod" and where is not None and (where != int(where) or where < 1):
        raise ValueError(f"{piece!r}: {place} is no rod, they are counted 1, 2, 3 from the cone")
    if not equals:
        return Fault(kind.name, where, kind.default or 0.0)
    return Fault(kind.name, where, _number(piece, value, kind.unit, kind.low, kind.high, kind))


def _number(piece: str, text: str, unit: str, low: float, high: float, kind: FaultKind) -> float:
    match = _NUMBER.fullmatch(text)
    if match is None:
        raise ValueError(f"{piece!r}: {text!r} is not a number, write {kind.example}")
    if match[2].lower() not in _UNITS[unit]:
        expected = unit if unit != "rod" else "a rod number"
        raise ValueError(f"{piece!r}: unit {match[2]!r}, expected {expected or 'none'}")
    number = float(match[1])
    if not low <= number <= high:
        raise ValueError(f"{piece!r}: {number:g} is outside {low:g} to {high:g} {unit}".rstrip())
    return number


def fault_help() -> str:
    """Return one line per fault: how it is written and what happens."""
    width = max(len(kind.example) for kind in FAULTS.values())
    return "\n".join(f"{kind.example:<{width}}  {kind.words}" for kind in FAULTS.values())

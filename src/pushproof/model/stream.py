"""What a source yields: messages of a stream, with the two clocks kept apart.

A source yields messages, a listener is anything callable with one, a pump joins them. The cone's
own clock (``cone_time``) and the surface clock (``arrival``) are never mixed here; bringing them
together is a result.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TypeAlias


class StreamKind(StrEnum):
    """Streams of the record, each stored apart."""

    CONE = "cone"
    DEPTH = "depth"
    MEMORY = "memory"
    POSITION = "position"


class Advance(StrEnum):
    """What the rods are doing, as the depth encoder tells it."""

    WAITING = "waiting"
    PUSHING = "pushing"
    PAUSED = "paused"
    ROD_CHANGE = "rod change"
    LIFTING = "lifting"


@dataclass(frozen=True, slots=True)
class Reading:
    """One decoded message.

    Parameters
    ----------
    stream
        The stream it belongs to.
    arrival
        Surface wall clock when its last byte arrived, seconds since 1970 UTC. May jump.
    monotonic
        Surface monotonic clock at the same moment [s]; never goes back while the program runs.
    values
        Vocabulary key to value in the inside unit: qc, fs, u2, tilt, ``cone_time``,
        ``link_level``, ``link_noise``, ``battery`` for the cone; ``count`` or ``length``,
        ``clamp``, ``thrust``, ``engine`` for the depth stream.
    sequence
        Counter that the sender put in the message, if it has one.
    raw
        The bytes it was decoded from.
    """

    stream: StreamKind
    arrival: float
    monotonic: float
    values: Mapping[str, float]
    sequence: int | None = None
    raw: bytes = b""


@dataclass(frozen=True, slots=True)
class Undecoded:
    """Bytes that could not be decoded, kept with the reason."""

    stream: StreamKind
    arrival: float
    monotonic: float
    raw: bytes
    fault: str


@dataclass(frozen=True, slots=True)
class SourceState:
    """A source came up, went away or reports how it is."""

    stream: StreamKind
    arrival: float
    monotonic: float
    connected: bool
    text: str = ""
    details: Mapping[str, float] = field(default_factory=dict)


Message: TypeAlias = Reading | Undecoded | SourceState
"""Anything a source yields."""

Listener: TypeAlias = Callable[[Message], None]
"""Anything that takes a message."""

"""What a job gives back: stored messages, streams as arrays, events, equipment, decisions.

Each carries the number of its link in the chain, so that a finding or a sheet can name it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, TypeAdapter

from pushproof.model.equipment import Cone, Encoder, Rig, Rods
from pushproof.model.quantities import QUANTITIES
from pushproof.model.series import Reason, Series, extra_quantity
from pushproof.model.sounding import Event, RemovedLayer, StopReason, Water, Zero
from pushproof.model.stream import Reading, StreamKind
from pushproof.store.content import Mark

Plain: TypeAlias = Mapping[str, Any]
"""An object of plain values, as JSON can hold it."""


@dataclass(frozen=True, slots=True)
class Stored:
    """One stored reading.

    Parameters
    ----------
    number
        Its number in the stream, from 1 and without gaps, given when it was stored.
    message
        The reading as it came.
    mark
        What the recorder noticed about it.
    """

    number: int
    message: Reading
    mark: Mark = Mark.NONE


@dataclass(frozen=True)
class Readings:
    """The readings of one stream as arrays, in the order in which they were stored.

    Parameters
    ----------
    stream
        The stream.
    number
        Shape (n,): number in the stream.
    arrival, monotonic
        Shape (n,): the two surface clocks [s].
    sequence
        Shape (n,): counter of the sender, NaN where it sent none.
    mark
        Shape (n,): :class:`Mark` of each.
    values
        Key to array of shape (n,) in the inside unit, NaN where a message did not carry it.
    """

    stream: StreamKind
    number: NDArray[np.int64]
    arrival: NDArray[np.float64]
    monotonic: NDArray[np.float64]
    sequence: NDArray[np.float64]
    mark: NDArray[np.uint8]
    values: Mapping[str, NDArray[np.float64]] = field(default_factory=dict)

    def __len__(self) -> int:
        """Return the number of readings."""
        return len(self.number)

    def series(self) -> Series:
        """Return the values as a series; what a message did not carry is not measured."""
        return Series(
            dict(self.values),
            {
                key: np.where(np.isnan(array), np.uint8(Reason.NOT_MEASURED), np.uint8(0))
                for key, array in self.values.items()
            },
            {key: extra_quantity(key, key, "") for key in self.values if key not in QUANTITIES},
        )

    @classmethod
    def of(cls, stream: StreamKind, stored: Iterator[Stored]) -> Readings:
        """Gather stored readings into arrays."""
        rows = list(stored)
        keys = list(dict.fromkeys(key for row in rows for key in row.message.values))
        nan = float("nan")
        return cls(
            stream,
            np.array([row.number for row in rows], dtype=np.int64),
            np.array([row.message.arrival for row in rows], dtype=np.float64),
            np.array([row.message.monotonic for row in rows], dtype=np.float64),
            np.array(
                [nan if row.message.sequence is None else row.message.sequence for row in rows],
                dtype=np.float64,
            ),
            np.array([int(row.mark) for row in rows], dtype=np.uint8),
            {
                key: np.array([row.message.values.get(key, nan) for row in rows], dtype=np.float64)
                for key in keys
            },
        )


@dataclass(frozen=True, slots=True)
class StoredEvent:
    """One event or note.

    ``at`` is when it happened and ``time`` when it was stored, both in seconds since 1970 UTC;
    ``monotonic`` is the program's monotonic clock when it happened.
    """

    link: int
    time: float
    sounding: str | None
    kind: str
    at: float
    monotonic: float | None = None
    depth: float | None = None
    seconds: float | None = None
    duration: float | None = None
    author: str | None = None
    text: str = ""
    details: Plain = field(default_factory=dict)

    def event(self) -> Event:
        """Return it as the model's event."""
        return Event(self.kind, self.depth, self.seconds, self.duration, self.text)


@dataclass(frozen=True, slots=True)
class StoredEquipment:
    """One piece of equipment. ``item`` is a Cone, Rods, Rig or Encoder, else plain values."""

    link: int
    time: float
    sounding: str | None
    kind: str
    item: Cone | Rods | Rig | Encoder | Plain


@dataclass(frozen=True, slots=True)
class StoredZero:
    """One zero reading; ``moment`` is ``before`` or ``after`` the push."""

    link: int
    time: float
    sounding: str
    moment: str
    zero: Zero


@dataclass(frozen=True, slots=True)
class StoredOriginal:
    """An imported file; its bytes are fetched with ``job.original_bytes(link)``."""

    link: int
    time: float
    name: str
    format: str | None
    columns: str | None
    size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class StoredDecision:
    """One version of a decision; ``document`` is its content as plain values."""

    link: int
    time: float
    sounding: str | None
    kind: str
    version: int
    parent: int | None
    author: str
    reason: str
    document: Plain


@dataclass(frozen=True)
class Project:
    """What a job belongs to."""

    name: str | None = None
    number: str | None = None
    client: str | None = None
    place: str | None = None
    remark: str | None = None


@dataclass(frozen=True)
class Streams:
    """Everything that was recorded live of one sounding, for the code that merges it."""

    cone: Readings
    depth: Readings
    memory: Readings
    position: Readings
    encoder: Encoder | None = None
    events: tuple[StoredEvent, ...] = ()


EQUIPMENT: dict[str, type[Cone] | type[Rods] | type[Rig] | type[Encoder]] = {
    "cone": Cone,
    "rods": Rods,
    "rig": Rig,
    "encoder": Encoder,
}
"""The kinds of equipment that the model knows. Others are kept as plain values."""

STATEMENTS: dict[str, TypeAdapter[Any]] = {
    "client": TypeAdapter(str),
    "operator": TypeAdapter(str),
    "place": TypeAdapter(str),
    "predrilled": TypeAdapter(float),
    "project": TypeAdapter(str),
    "quality_class": TypeAdapter(str),
    "removed": TypeAdapter(tuple[RemovedLayer, ...]),
    "standard": TypeAdapter(str),
    "started": TypeAdapter(datetime),
    "stop_reason": TypeAdapter(StopReason),
    "water": TypeAdapter(Water),
}
"""What can be stated about a sounding, by field of the model's sounding."""


def equipment_item(kind: str, document: str) -> Cone | Rods | Rig | Encoder | Plain:
    """Read a stored piece of equipment."""
    model = EQUIPMENT.get(kind)
    if model is None:
        found: Plain = json.loads(document)
        return found
    return model.model_validate_json(document)


def as_json(document: BaseModel | Plain) -> str:
    """Return a document as JSON with sorted keys.

    Raises
    ------
    ValueError
        If it holds something that JSON cannot.
    """
    plain = document.model_dump(mode="json") if isinstance(document, BaseModel) else dict(document)
    try:
        return json.dumps(plain, sort_keys=True, ensure_ascii=False, allow_nan=False)
    except TypeError as error:
        raise ValueError(f"the document holds a value that JSON cannot: {error}") from error

"""What can be stored of a message, whatever a source made of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from pushproof.model.stream import Message, Reading, SourceState, Undecoded
from pushproof.store.content import pack_readings, pack_undecoded


def finite(details: Mapping[str, float]) -> dict[str, float | None]:
    """Return details with what is not finite as None, as JSON wants it."""
    return {key: value if math.isfinite(value) else None for key, value in details.items()}


def storable(message: Message) -> Message:
    """Return a message, or what it holds in a form that can be stored if it is malformed."""
    if isinstance(message, SourceState):
        text = f"{message.text} {message.details}".encode(errors="replace").decode()
        return replace(message, text=text, details={})
    try:
        if isinstance(message, Reading):
            pack_readings([message], [0])
        else:
            pack_undecoded([message])
    except (TypeError, ValueError, AttributeError) as error:
        held = message.values if isinstance(message, Reading) else message.fault
        return Undecoded(
            message.stream,
            message.arrival,
            message.monotonic,
            message.raw if message.raw and isinstance(message.raw, bytes) else repr(held).encode(),
            f"decoded to something that cannot be stored: {error}",
        )
    return message

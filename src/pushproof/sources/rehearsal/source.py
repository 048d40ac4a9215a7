"""The rehearsal as a source inside the program: ``rehearsal:HM-1?faults=loss=0.2&speed=10``.

Options: ``faults`` (their text), ``seed``, ``speed`` (1 is real time; 0 is without waiting) and
``stream`` (``cone``, ``depth`` or ``both``). Two addresses that differ only in ``stream`` belong to
the same push.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator, Mapping
from dataclasses import replace

from pushproof.errors import ConfigurationError
from pushproof.model.stream import Message, StreamKind
from pushproof.sources.contract import Source
from pushproof.sources.rehearsal.rig import STREAMS, Rehearsal

OPTIONS = ("faults", "seed", "speed", "stream")


class RehearsalSource(Source):
    """Plays a rehearsal.

    Parameters
    ----------
    rehearsal
        What to play.
    streams
        Which of its streams.
    speed
        Times faster than real; 0 for no waiting.

    Notes
    -----
    With waiting, the messages are stamped with the present time at the start and run ahead of it
    by ``speed``, so that rates and pauses stay those of the rig. Without waiting they keep the
    times of the rehearsal and are the same each time.
    """

    def __init__(
        self,
        rehearsal: Rehearsal,
        streams: tuple[StreamKind, ...] = STREAMS,
        speed: float = 1.0,
    ) -> None:
        if not 0 <= speed < float("inf"):
            raise ValueError(f"speed {speed!r}: expected 0 or more")
        self.rehearsal, self.streams, self.speed = rehearsal, streams, speed
        self.stream = streams[0]
        self._stopped = threading.Event()

    def stop(self) -> None:
        """Ask the source to end soon."""
        self._stopped.set()

    def __iter__(self) -> Iterator[Message]:
        """Yield the messages until the rehearsal ends or the source is stopped."""
        wall, began = time.time(), time.monotonic()
        for message in self.rehearsal.messages(self.streams):
            if self._stopped.is_set():
                return
            at = message.monotonic
            if self.speed:
                wait = began + at / self.speed - time.monotonic()
                if wait > 0 and self._stopped.wait(wait):
                    return
                message = replace(message, arrival=wall + at, monotonic=began + at)
            yield message


def from_address(place: str, options: Mapping[str, str]) -> RehearsalSource:
    """Return the source of an address.

    Parameters
    ----------
    place
        Point of the demo site; empty for the first.
    options
        As at the top of the module.

    Raises
    ------
    ConfigurationError
        If the point, an option or a fault is not known.
    """
    unknown = sorted(set(options) - set(OPTIONS))
    if unknown:
        raise ConfigurationError(
            f"rehearsal: unknown option {', '.join(unknown)}; known: {', '.join(OPTIONS)}"
        )
    try:
        seed, speed = int(options.get("seed", "1")), float(options.get("speed", "1"))
        if seed < 0 or not 0 <= speed < float("inf"):
            raise ValueError
    except ValueError:
        raise ConfigurationError(
            "rehearsal: seed must be a whole number and speed a number, both 0 or more"
        ) from None
    wanted = options.get("stream", "both")
    streams = {"both": STREAMS, **{str(s.value): (s,) for s in STREAMS}}.get(wanted)
    if streams is None:
        raise ConfigurationError(f"rehearsal: stream {wanted!r}, expected cone, depth or both")
    rehearsal = Rehearsal(place.strip("/") or "HM-1", options.get("faults", ""), seed)
    return RehearsalSource(rehearsal, streams, speed)

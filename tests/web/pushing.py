"""A push for tests: sources that are fed by hand, a station that records from them, rehearsals."""

from __future__ import annotations

import os
import queue
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pushproof.formats.equipment import Equipment
from pushproof.model.equipment import Encoder
from pushproof.model.stream import Message, Reading, StreamKind
from pushproof.recording.session import rehearsed
from pushproof.sources import Source
from pushproof.sources.rehearsal import Rehearsal, RehearsalSource
from pushproof.store import Job
from pushproof.web.push.station import Station

PER_COUNT = 0.001


class Hand(Source):
    """Gives the messages that a test puts in."""

    stream = StreamKind.CONE

    def __init__(self) -> None:
        self.waiting: queue.Queue[Message | None] = queue.Queue()

    def stop(self) -> None:
        self.waiting.put(None)

    def __iter__(self) -> Iterator[Message]:
        while (message := self.waiting.get()) is not None:
            yield message


class Feeder:
    """Pushes a cone at 20 mm/s by hand: a depth reading each 0.1 s, a cone reading each 0.5 s."""

    def __init__(self, path: Path) -> None:
        self.hand = Hand()
        self.length = 0.0
        self.sequence = 0
        given = Equipment(encoder=Encoder(metres_per_count=PER_COUNT))
        self.station = Station(path, self._open, given, ["by hand"])

    def _open(self) -> list[Source]:
        self.hand = Hand()
        return [self.hand]

    def depth(self, at: float) -> None:
        """Put in what the encoder says at a moment, on both clocks."""
        values = {"count": round(self.length / PER_COUNT)}
        self.hand.waiting.put(Reading(StreamKind.DEPTH, at + self._ahead, at, values))

    def cone(self, at: float, **values: float) -> None:
        self.sequence += 1
        usual = {"qc": 4000.0 + 100.0 * (self.sequence % 7), "fs": 35.0, "u2": 90.0}
        usual |= {"tilt_x": 0.6, "tilt_y": 0.8, "link_level": 48.0, "battery": 4.0} | values
        self.hand.waiting.put(Reading(StreamKind.CONE, at + self._ahead, at, usual, self.sequence))

    @property
    def _ahead(self) -> float:
        return time.time() - time.monotonic()

    def push(self, metres: float, end: float = 0.0, heard: bool = True, **values: float) -> None:
        """Push so far that it ended ``end`` seconds ago."""
        steps = round(metres / 0.002)
        begun = time.monotonic() - end - 0.1 * steps
        for step in range(steps):
            self.length += 0.002
            self.depth(begun + 0.1 * (step + 1))
            if heard and step % 5 == 4:
                self.cone(begun + 0.1 * (step + 1), **values)

    def say(self, **values: float) -> None:
        """Put in one depth and one cone reading of now."""
        now = time.monotonic()
        self.depth(now)
        self.cone(now, **values)


def rehearsal(path: Path, point: str = "HM-2", speed: float = 60.0, faults: str = "") -> Station:
    """Return a station that records a rehearsal."""
    given = rehearsed(Rehearsal(point, faults, 1))

    def sources() -> list[Source]:
        return [RehearsalSource(Rehearsal(point, faults, 1), speed=speed)]

    return Station(path, sources, given, [f"rehearsal:{point}"])


def job_at(path: Path) -> Path:
    Job.create(path).close()
    return path


def until(true: Any, seconds: float = 8.0, what: str = "") -> Any:
    """Wait until something is true and return it."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = true()
        if found:
            return found
        time.sleep(0.03)
    raise AssertionError(f"not within {seconds} s: {what or true}")


PROGRAM = """
import sys
from pathlib import Path
from pushproof.recording.session import Session, equip_from
from pushproof.store import Job
from web.pushing import rehearsal
station = rehearsal(Path(sys.argv[1]), speed=float(sys.argv[3]))
session = station.start(sys.argv[2])
session.push()
print("recording", flush=True)
sys.stdin.read()
station.stop()
"""


class Recording:
    """Another program that records a rehearsal, until it is stopped or killed."""

    def __init__(self, path: Path, sounding: str = "B-1", speed: float = 20.0) -> None:
        words = [sys.executable, "-c", PROGRAM, str(path), sounding, str(speed)]
        there = str(Path(__file__).parents[1])
        self.program = subprocess.Popen(
            words,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONPATH": there},
        )
        assert self.program.stdout is not None
        assert self.program.stdout.readline() == "recording\n"

    def kill(self) -> None:
        """End it as a power cut would: it can store and say nothing more."""
        self.program.send_signal(signal.SIGKILL)
        self.program.communicate()

    def stop(self) -> None:
        """End it as people do."""
        if self.program.poll() is None:
            self.program.communicate("", timeout=30)

    def __enter__(self) -> Recording:
        return self

    def __exit__(self, *_: object) -> None:
        if self.program.poll() is None:
            self.program.kill()
        self.program.communicate()

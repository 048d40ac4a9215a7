"""A small push for the tests of the guard: encoder ten times a second, cone once."""

from __future__ import annotations

import math

import pytest

from pushproof.model.stream import Reading, SourceState, StreamKind, Undecoded

COUNT = 0.0005


class Push:
    """Feeds a listener with the messages of a push; everything it returns is kept."""

    def __init__(self, guard):
        self.guard = guard
        self.time, self.wall = 0.0, 1.7e9
        self.head = self.length = 0.0
        self.cone_number = 0
        self.ticks = 0
        self.events = []

    def send(self, message):
        self.events += self.guard.message(message) or []

    def tick(self):
        self.events += self.guard.tick(self.time, self.wall + self.time) or []

    def depth(self, **values):
        values = {"count": float(round(self.head / COUNT)), "clamp": 1.0, **values}
        values = {k: v for k, v in values.items() if v is not None}
        self.send(Reading(StreamKind.DEPTH, self.wall + self.time, self.time, values))

    def cone(self, **values):
        n = self.cone_number
        normal = {
            "qc": 5000 + 200 * math.sin(3 * n),
            "fs": 40.0,
            "u2": 20 + 9.81 * self.length,
            "tilt_x": 0.5,
            "tilt_y": 0.2,
            "link_level": 30.0,
            "battery": 3.9,
            "cone_time": float(n),
        }
        values = {k: v for k, v in {**normal, **values}.items() if v is not None}
        self.send(Reading(StreamKind.CONE, self.wall + self.time, self.time, values, sequence=n))

    def run(self, seconds, rate=0.02, *, cone=True, depth=True, encoder=None, **values):
        """Push on: ``values`` are of the cone, numbers or functions of the message number."""
        for _ in range(round(seconds * 10)):
            self.time += 0.1
            self.head += rate * 0.1
            self.length += rate * 0.1
            self.ticks += 1
            if depth:
                self.depth(**(encoder or {}))
            if self.ticks % 10 == 0:
                self.cone_number += 1
                n = self.cone_number
                if cone is True or (callable(cone) and cone(n)):
                    self.cone(**{k: v(n) if callable(v) else v for k, v in values.items()})
            self.tick()

    def noise(self, n=1):
        for _ in range(n):
            message = Undecoded(StreamKind.CONE, self.wall + self.time, self.time, b"\xff", "noise")
            self.send(message)

    def source(self, connected, stream=StreamKind.CONE):
        self.send(SourceState(stream, self.wall + self.time, self.time, connected, "unplugged"))

    def changes(self, rule):
        return [(e.change.value, e.level.word) for e in self.events if e.rule == rule]


@pytest.fixture
def make_push():
    return Push


@pytest.fixture(scope="session")
def make_push_class():
    return Push

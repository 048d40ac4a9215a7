"""Arrival to alarm, and messages per second through the guard.

Baseline: the same messages through a listener that only counts them.
Run: python benchmarks/guard.py
"""

from __future__ import annotations

import math
import time
from datetime import date

import numpy as np

from pushproof.model.equipment import Calibration, Cone, Rig, Rods
from pushproof.model.stream import Message, Reading, StreamKind
from pushproof.processing.streams.depth import DepthSettings
from pushproof.recording.guard import Guard
from pushproof.recording.signals import Setup

COUNT = 0.0005


def setup() -> Setup:
    day = date(2024, 1, 1)
    caps = {"qc": 50_000, "fs": 500, "u2": 2000}
    return Setup(
        depth=DepthSettings(metres_per_count=COUNT),
        cone=Cone(
            calibrations=tuple(
                Calibration(channel=k, date=day, capacity=v) for k, v in caps.items()
            )
        ),
        rig=Rig(mass=20_000, thrust=200),
        rods=Rods(),
        interval=0.02,
        water_level=1.0,
    )


def messages(seconds: float, cone_hz: float, depth_hz: float) -> list[Message]:
    """Return a push at 20 mm/s in time order."""
    made: list[Message] = []
    for i in range(int(seconds * depth_hz)):
        t = i / depth_hz
        values = {"count": float(round(0.02 * t / COUNT)), "clamp": 1.0, "thrust": 60.0}
        made.append(Reading(StreamKind.DEPTH, 1.7e9 + t, t, values, i))
    for i in range(int(seconds * cone_hz)):
        t = i / cone_hz + 0.3 / cone_hz
        values = {
            "qc": 5000 + 500 * math.sin(i),
            "fs": 40.0,
            "u2": 20 + 0.2 * t,
            "tilt_x": 0.5,
            "tilt_y": 0.1,
            "link_level": 30.0,
            "battery": 3.9,
            "cone_time": t,
        }
        made.append(Reading(StreamKind.CONE, 1.7e9 + t, t, values, i))
    return sorted(made, key=lambda m: m.monotonic)


def latency(alarms: int = 400) -> np.ndarray:
    """Return seconds from the arrival of a reading beyond a limit to its alarm."""
    guard = Guard(setup())
    taken = []
    for message in messages(alarms * 4.0, 1, 10):
        guard.message(message)
        if message.stream is StreamKind.CONE and (message.sequence or 0) % 4 == 3:
            values = {**message.values, "qc": 48_000.0}
            bad = Reading(StreamKind.CONE, message.arrival, message.monotonic, values, None)
            start = time.perf_counter()
            events = guard.message(bad)
            taken.append(time.perf_counter() - start)
            if not any(e.rule == "qc-capacity" for e in events):
                raise SystemExit("a reading beyond the limit raised no alarm")
            good = Reading(StreamKind.CONE, message.arrival, message.monotonic, message.values)
            guard.message(good)
            guard.acknowledge()
    return np.array(taken)


def main() -> None:
    taken = 1e3 * latency()
    print(f"arrival to alarm over {len(taken)} alarms [ms]: ", end="")
    print(", ".join(f"p{p} {np.percentile(taken, p):.3f}" for p in (50, 99)), end="")
    print(f", worst {taken.max():.3f}  (goal: p99 below 20)\n")
    print("| messages | per second, counted only | per second, guarded | ratio | us each |")
    print("|---|---|---|---|---|")
    for cone, depth in ((1, 10), (10, 50), (200, 800)):
        batch = messages(20_000 / (cone + depth), cone, depth)
        counter: dict[StreamKind, int] = dict.fromkeys(StreamKind, 0)
        start = time.perf_counter()
        for message in batch:
            counter[message.stream] += 1
        bare = time.perf_counter() - start
        guard = Guard(setup())
        start = time.perf_counter()
        for message in batch:
            guard.message(message)
        guarded = time.perf_counter() - start
        n = len(batch)
        print(
            f"| cone {cone} Hz, depth {depth} Hz | {n / bare:,.0f} | {n / guarded:,.0f} "
            f"| {guarded / bare:.0f} | {1e6 * guarded / n:.1f} |"
        )


if __name__ == "__main__":
    main()

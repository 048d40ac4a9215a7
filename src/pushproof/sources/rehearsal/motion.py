"""The rig in time: strokes, rod changes, pauses, dissipations, withdrawal; ten points a second.

One stroke pushes one rod. The head goes down with the clamp closed, waits, opens the clamp, goes
back up, a rod is added, the clamp closes. What the crew does is told beside as actions, so that a
demonstration can play the crew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from pushproof.sources.rehearsal.faults import Faults

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
STEP = 0.1
"""Time between two points [s]."""
ROD = 1.0
"""Length of a rod [m]."""
TOP = 0.08
"""Position of the head at the top of its stroke, on the string of the encoder [m]."""


class Stage(IntEnum):
    """What the rig and crew are doing."""

    ZEROS_BEFORE = 0
    SET_IN = 1
    PUSH = 2
    HOLD = 3
    RETURN = 4
    ADD_ROD = 5
    PAUSE = 6
    DISSIPATION = 7
    WITHDRAWAL = 8
    ZEROS_AFTER = 9


FREE = (Stage.ZEROS_BEFORE, Stage.SET_IN, Stage.WITHDRAWAL, Stage.ZEROS_AFTER)
"""Stages in which the cone is not loaded by the ground."""


@dataclass(frozen=True, slots=True)
class Action:
    """Something the crew does.

    ``kind`` is one of ``zeros-before``, ``push``, ``rod-added``, ``pause``, ``dissipation``,
    ``resume``, ``stop``, ``withdrawal``, ``zeros-after``, ``closed``.
    """

    seconds: float
    kind: str
    length: float
    text: str = ""


@dataclass(frozen=True)
class Motion:
    """The rig in time, arrays of shape (n,).

    Parameters
    ----------
    time
        [s] from the moment the sources are switched on.
    head
        Position of the head, downward [m].
    length
        Penetration length of the tip [m]; the truth. It stays at the deepest while the rods are
        drawn.
    clamp, engine
        Closed, and under load: 1 or 0.
    stage, rods
        :class:`Stage` and rods in the string.
    actions
        What the crew does, in order.
    """

    time: FloatArray
    head: FloatArray
    length: FloatArray
    clamp: IntArray
    engine: IntArray
    stage: IntArray
    rods: IntArray
    actions: tuple[Action, ...]


class _Reel:
    """Collects the points as the rig moves."""

    def __init__(self, length: float) -> None:
        self.seconds = 0
        self.head, self.length, self.rods = TOP, length, int(length // ROD) + 1
        self.parts: list[tuple[FloatArray, FloatArray, int, int, Stage, int]] = []
        self.actions: list[Action] = []

    def act(self, kind: str, text: str = "") -> None:
        self.actions.append(Action(self.seconds * STEP, kind, round(self.length, 4), text))

    def run(
        self, head: FloatArray, length: FloatArray, stage: Stage, *, clamp: int, engine: int
    ) -> None:
        if head.size:
            self.parts.append((head, length, clamp, engine, stage, self.rods))
            self.seconds += head.size
            self.head, self.length = float(head[-1]), float(length[-1])

    def stay(self, seconds: float, stage: Stage, *, clamp: int = 1) -> None:
        n = max(1, round(seconds / STEP))
        here = np.full(n, self.head), np.full(n, self.length)
        self.run(*here, stage, clamp=clamp, engine=0)

    def move_head(self, to: float, rate: float, stage: Stage) -> None:
        """Move the head with the clamp open; the rods stay."""
        n = max(1, round(abs(to - self.head) / rate / STEP))
        head = np.linspace(self.head, to, n + 1)[1:]
        self.run(head, np.full(n, self.length), stage, clamp=0, engine=1)

    def lay_out(self) -> Motion:
        """Return everything in arrays."""
        counts = [part[0].size for part in self.parts]

        def spread(i: int) -> IntArray:
            return np.repeat(np.array([int(part[i]) for part in self.parts]), counts)

        return Motion(
            np.round(np.arange(sum(counts)) * STEP, 3),
            np.concatenate([part[0] for part in self.parts]),
            np.concatenate([part[1] for part in self.parts]),
            spread(2),
            spread(3),
            spread(4),
            spread(5),
            tuple(self.actions),
        )


def move(
    start: float,
    target: float,
    dissipations: Sequence[tuple[float, float]],
    faults: Faults,
    rng: np.random.Generator,
) -> Motion:
    """Run the rig once, from zeros before to zeros after.

    Parameters
    ----------
    start, target
        Length at which the tip begins, and at which the push ends [m].
    dissipations
        Length and duration of each test [m, s].
    faults
        ``rate``, ``pause`` and ``slip`` count here.
    rng
        Its own generator.
    """
    reel = _Reel(start)
    reel.act("zeros-before", "cone hangs free")
    reel.stay(65, Stage.ZEROS_BEFORE, clamp=0)
    reel.stay(12, Stage.SET_IN, clamp=0)
    reel.stay(4, Stage.SET_IN)
    reel.act("push", f"push from {start:.2f} m")
    stops = [(at, seconds, "dissipation") for at, seconds in dissipations]
    stops += [(f.where or 0.0, f.value, "pause") for f in faults.all("pause")]
    stops = sorted(stop for stop in stops if start < stop[0] <= target)
    while reel.length < target - 1e-6:
        end = min((np.floor(reel.length / ROD + 1e-6) + 1) * ROD, target)
        while stops and stops[0][0] <= end + 1e-9:
            at, seconds, kind = stops.pop(0)
            _push(reel, at, faults, rng)
            reel.act(kind, f"{kind} at {at:.2f} m")
            stage = Stage.DISSIPATION if kind == "dissipation" else Stage.PAUSE
            reel.stay(seconds, stage)
            reel.act("resume")
        _push(reel, end, faults, rng)
        if reel.length < target - 1e-6:
            _change_rod(reel, rng)
    reel.act("stop", f"stopped at {reel.length:.2f} m")
    reel.stay(8, Stage.HOLD)
    reel.act("withdrawal", f"{reel.rods} rods")
    reel.stay(18.0 * reel.rods, Stage.WITHDRAWAL, clamp=0)
    reel.rods = 1
    reel.act("zeros-after", "cone hangs free")
    reel.stay(65, Stage.ZEROS_AFTER, clamp=0)
    reel.act("closed")
    return reel.lay_out()


def _push(reel: _Reel, to: float, faults: Faults, rng: np.random.Generator) -> None:
    """Push the rods to a length at a rate that wanders a little."""
    distance = to - reel.length
    if distance < 1e-6:
        return
    asked = _at_length(faults, "rate", reel.length, 20.0) / 1000
    n = int(distance / asked / STEP * 1.5) + 30
    wander = np.convolve(rng.standard_normal(n + 20), np.ones(20) / 20, mode="valid")[:n]
    slow = 1 + 0.03 * np.sin(reel.length + np.arange(n) * STEP / 9)
    rate = asked * np.clip(slow + 0.08 * wander, 0.7, 1.3)
    rate[:6] *= np.linspace(0.15, 1.0, 6)
    gone = np.cumsum(rate * STEP)
    gone = np.append(gone[gone < distance], distance)
    length = reel.length + gone
    slip = [f for f in faults.all("slip") if length[-1] > (f.where or 0.0)]
    share = max((f.value for f in slip), default=0.0)
    reel.run(reel.head + gone / (1 - share), length, Stage.PUSH, clamp=1, engine=1)


def _at_length(faults: Faults, kind: str, length: float, otherwise: float) -> float:
    """Return the value of a fault that holds from its place on, else ``otherwise``."""
    reached = [f for f in faults.all(kind) if length >= (f.where or 0.0) - 1e-6]
    return max(reached, key=lambda f: f.where or 0.0).value if reached else otherwise


def _change_rod(reel: _Reel, rng: np.random.Generator) -> None:
    reel.stay(1.5, Stage.HOLD)
    reel.move_head(TOP, 0.15, Stage.RETURN)
    reel.stay(float(np.clip(rng.normal(16, 4), 9, 40)), Stage.ADD_ROD, clamp=0)
    reel.rods += 1
    reel.act("rod-added", f"rod {reel.rods}")
    reel.stay(1.5, Stage.HOLD)

"""A rehearsal: one push of the simulated rig as a source of messages, as bytes, and as the truth.

``messages()`` gives what a decoder would make of the bytes that :mod:`.serve` sends over real
ports, so that a test without sockets sees the same.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import ConfigurationError
from pushproof.model.equipment import Cone, Encoder, Rig, Rods
from pushproof.model.series import Series
from pushproof.model.stream import Message, Reading, SourceState, StreamKind
from pushproof.sources.rehearsal.faults import Faults, parse_faults
from pushproof.sources.rehearsal.instrument import Path, resistance, sense, way
from pushproof.sources.rehearsal.motion import Action, Motion, move
from pushproof.sources.rehearsal.push import Pushed
from pushproof.sources.rehearsal.scenario import scenario
from pushproof.sources.rehearsal.wire import (
    METRES_PER_COUNT,
    ConeClock,
    Piece,
    cone_clock,
    cone_pieces,
    decoder,
    depth_pieces,
)

FloatArray = NDArray[np.float64]
STREAMS = (StreamKind.CONE, StreamKind.DEPTH)
ROD_PERIMETER = 0.113
ROD_FRICTION = 0.3
"""Share of the sleeve friction that a rod feels behind its friction reducer; our own choice."""
START = 1936600000.0
"""Wall clock of a rehearsal without a date [s since 1970]."""


@dataclass(frozen=True, slots=True)
class Unplugged:
    """A port is away from one time to another [s]."""

    stream: StreamKind
    begin: float
    end: float


class Rehearsal:
    """One push of the simulated rig.

    Parameters
    ----------
    what
        A simulated push, or the name of a point of the demo site: HM-1, HM-2, HM-3.
    faults
        Planted faults, or their text (:func:`.faults.parse_faults`).
    seed
        The same seed gives the same bytes.
    start
        Wall clock at the first message [s since 1970]; by default the date of the plan.

    Attributes
    ----------
    motion, path
        The rig in time, and the way of the tip: the truth.
    actions
        What the crew does and when.
    unplugged
        When which port is away.

    Raises
    ------
    ConfigurationError
        If there is no point of that name, the faults cannot be read, or the seed is negative.

    Examples
    --------
    >>> rig = Rehearsal("HM-2", "loss=0.2", seed=3)
    >>> next(iter(rig.messages())).text
    'rehearsal of HM-2, simulated'
    """

    def __init__(
        self,
        what: Pushed | str = "HM-1",
        faults: Faults | str = "",
        seed: int = 1,
        *,
        start: float | None = None,
    ) -> None:
        self.pushed = _find(what) if isinstance(what, str) else what
        self.faults = parse_faults(faults) if isinstance(faults, str) else faults
        if seed < 0:
            raise ConfigurationError(f"seed {seed}: expected 0 or more")
        self.seed = seed
        plan, ground = self.pushed.plan, self.pushed.ground
        dated = plan.started.replace(tzinfo=UTC).timestamp() if plan.started else START
        self.start = dated if start is None else start
        ways, moves, self._clocks, self._senses, self._link, self._wire, self._encoder = (
            np.random.default_rng(one) for one in np.random.SeedSequence(seed).spawn(7)
        )
        target = min(plan.target, ground.depth - 0.3)
        self.path: Path = way(plan.start, target, plan, self.faults, ways)
        qt = resistance(self.pushed.felt, self.path.depth, self.faults)
        refused = np.flatnonzero(qt > plan.refusal)
        self.refused = bool(refused.size)
        if self.refused:
            target = float(self.path.length[max(refused[0], 2)])
        self.motion: Motion = move(plan.start, target, plan.dissipations, self.faults, moves)
        self.actions: tuple[Action, ...] = self.motion.actions
        ports = ((StreamKind.CONE, "unplug"), (StreamKind.DEPTH, "unplug-depth"))
        self.unplugged = tuple(
            Unplugged(stream, f.where or 0.0, (f.where or 0.0) + f.value)
            for stream, kind in ports
            for f in self.faults.all(kind)
        )

    # -- what a job must know --------------------------------------------------------------------

    @property
    def name(self) -> str:
        """Name of the sounding."""
        return self.pushed.plan.name

    @property
    def cone(self) -> Cone:
        """The cone, with its calibrations."""
        return self.pushed.sounding.cone

    @property
    def rods(self) -> Rods:
        """The rods."""
        return self.pushed.sounding.rods or Rods()

    @property
    def rig(self) -> Rig:
        """The rig."""
        return self.pushed.sounding.rig or Rig()

    @property
    def encoder(self) -> Encoder:
        """The encoder with its calibration."""
        return Encoder(
            serial="RE-044",
            kind="string",
            metres_per_count=METRES_PER_COUNT,
            calibrated=date(2031, 3, 3),
            uncertainty=0.004,
        )

    @property
    def seconds(self) -> float:
        """How long it takes from the first message to the last [s]."""
        return float(self.motion.time[-1])

    # -- the record ------------------------------------------------------------------------------

    @cached_property
    def clock(self) -> ConeClock:
        """When the cone reads, on both clocks."""
        return cone_clock(self.seconds, self.faults, self._clocks)

    @cached_property
    def sensed(self) -> dict[str, FloatArray]:
        """What the cone feels at each of its readings, and the true length and depth."""
        p = self.pushed
        at = self.clock.seconds
        sensed = sense(
            p.ground, p.felt, p.plan, self.faults, self.path, self.motion, at, self._senses
        )
        full = self.faults.value("battery", 4.05)  # one lithium cell
        sensed["battery"] = np.round(full - 0.04 * self.clock.shown / 3600, 2)
        sensed["cone_time"] = self.clock.shown
        return sensed

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Everything that arrives at the surface, in order, ports taken as always plugged in."""
        return tuple(heapq.merge(self._cone_pieces, self._depth_pieces, key=_when))

    @cached_property
    def _cone_pieces(self) -> tuple[Piece, ...]:
        made = cone_pieces(
            self.clock, self.sensed, self.motion, self.faults, self._wire, self._link
        )
        return tuple(made)

    @cached_property
    def _depth_pieces(self) -> tuple[Piece, ...]:
        return tuple(depth_pieces(self.motion, self._force(), self.faults, self._encoder))

    def _force(self) -> FloatArray:
        """Return the push force along the motion [kN]."""
        felt, length = self.pushed.felt, self.path.length
        tip = resistance(felt, self.path.depth, self.faults) * (self.cone.tip_area or 1e-3)
        skin = felt.at("fs", self.path.depth) * ROD_FRICTION * ROD_PERIMETER
        along = np.cumsum(skin * np.gradient(length)) + tip
        return np.interp(self.motion.length, length, along)

    def memory(self) -> Series:
        """Return the record that the cone kept, empty if it kept none.

        Returns
        -------
        Series
            ``cone_time`` and the channels, two readings a second, resolution of the cone.
        """
        if "no-memory" in self.faults:
            return Series()
        steps = {"qc": 1.0, "fs": 0.1, "u2": 0.1, "tilt_x": 0.01, "tilt_y": 0.01}
        steps |= {"temperature": 0.1, "battery": 0.01}
        columns = {"cone_time": self.clock.shown}
        for key, step in steps.items():
            if key in self.sensed:
                columns[key] = np.round(np.round(self.sensed[key] / step) * step, 3)
        return Series(columns)

    def memory_messages(self) -> Iterator[Reading]:
        """Yield the memory of the cone as readings of its own stream, as after a read-out."""
        memory = self.memory()
        at = self.seconds + 60.0
        keys = list(memory)
        table = np.column_stack([memory[key] for key in keys]) if keys else np.empty((0, 0))
        for i, row in enumerate(table.tolist()):
            values = dict(zip(keys, row, strict=True))
            yield Reading(StreamKind.MEMORY, self.start + at, at, values, i)

    # -- as a source -----------------------------------------------------------------------------

    def __iter__(self) -> Iterator[Message]:
        """Iterate over the messages, as fast as they can be taken."""
        return self.messages()

    def messages(self, streams: tuple[StreamKind, ...] = STREAMS) -> Iterator[Message]:
        """Yield the messages of the push, without waiting.

        Parameters
        ----------
        streams
            Which streams; both by default.

        Notes
        -----
        They are decoded from the very bytes that the servers send. ``monotonic`` counts from the
        first message, ``arrival`` from ``start``.
        """
        decoders = {stream: decoder(stream) for stream in streams}
        states: Iterable[_State | Piece] = self._states(streams)
        for item in heapq.merge(states, self.sent(streams), key=_when):
            at, wall = item.seconds, self.start + item.seconds
            if isinstance(item, Piece):
                yield from decoders[item.stream].feed(item.raw, wall, at)
                continue
            yield from decoders[item.stream].flush(wall, at)
            yield SourceState(item.stream, wall, at, item.connected, item.text)

    def sent(self, streams: tuple[StreamKind, ...] = STREAMS) -> Iterator[Piece]:
        """Yield the pieces that go out through a port that is there."""
        made = (
            self._cone_pieces if stream is StreamKind.CONE else self._depth_pieces
            for stream in streams
        )
        for piece in heapq.merge(*made, key=_when):
            if not self.away(piece.stream, piece.seconds):
                yield piece

    def _states(self, streams: tuple[StreamKind, ...]) -> list[_State]:
        states = [
            _State(0.0, stream, True, f"rehearsal of {self.name}, simulated") for stream in streams
        ]
        for gap in self.unplugged:
            if gap.stream in streams:
                states.append(_State(gap.begin, gap.stream, False, "port unplugged"))
                states.append(_State(gap.end, gap.stream, True, "port plugged in again"))
        return sorted(states, key=_when)

    def away(self, stream: StreamKind, at: float) -> bool:
        """Tell whether a port is unplugged at a time [s]."""
        return any(g.stream is stream and g.begin <= at < g.end for g in self.unplugged)

    # -- truth -----------------------------------------------------------------------------------

    def length_at(self, seconds: FloatArray | float) -> FloatArray:
        """Return the true penetration length [m] at times [s]."""
        return np.asarray(np.interp(seconds, self.motion.time, self.motion.length))


@dataclass(frozen=True, slots=True)
class _State:
    seconds: float
    stream: StreamKind
    connected: bool
    text: str


def _when(item: _State | Piece) -> float:
    return item.seconds


def _find(name: str) -> Pushed:
    points = {pushed.plan.name: pushed for pushed in scenario()}
    if name.upper() not in points:
        known = ", ".join(points)
        raise ConfigurationError(f"no point {name!r} on the demo site; known: {known}")
    return points[name.upper()]

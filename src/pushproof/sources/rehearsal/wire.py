"""What the cone and the encoder send: bytes with a time, faults of the link planted in them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.stream import StreamKind
from pushproof.sources.decoder import Decoder
from pushproof.sources.description import load_description
from pushproof.sources.rehearsal.faults import Faults
from pushproof.sources.rehearsal.motion import FREE, Motion, Stage
from pushproof.sources.rehearsal.string import StringLink

FloatArray = NDArray[np.float64]
METRES_PER_COUNT = 0.0002
"""Calibration of the encoder [m]."""
PERIOD = 0.5
"""Time between two readings in the memory of the cone [s]; every second one is sent."""
AIRTIME = 0.35
"""From the reading to the last byte at the surface [s]."""
REBOOT = 8.0
"""Time that a cone needs to start [s]."""
DECODERS = {StreamKind.CONE: "rehearsal-cone", StreamKind.DEPTH: "rehearsal-depth"}
"""Shipped description of what each stream sends."""
OPEN = (Stage.RETURN, Stage.ADD_ROD, Stage.WITHDRAWAL)
"""Stages in which no rod touches the microphone."""


def decoder(stream: StreamKind) -> Decoder:
    """Return a decoder of what a stream sends."""
    return Decoder(load_description(DECODERS[stream]))


@dataclass(frozen=True, slots=True)
class Piece:
    """Bytes that arrive at the surface at a time [s]."""

    seconds: float
    stream: StreamKind
    raw: bytes


@dataclass(frozen=True)
class ConeClock:
    """When the cone reads, on both clocks: arrays of shape (n,).

    Parameters
    ----------
    seconds
        On the clock of the motion [s].
    shown
        On the clock of the cone [s].
    counter
        Of the reading since the cone was switched on; packets carry half of it.
    """

    seconds: FloatArray
    shown: FloatArray
    counter: NDArray[np.int64]


def cone_clock(end: float, faults: Faults, rng: np.random.Generator) -> ConeClock:
    """Return when the cone reads until ``end`` [s]: ``clock`` and ``restart`` count here."""
    pace = 1 + 1e-6 * faults.value("clock", float(rng.normal(0, 4)))
    begins = [-float(rng.uniform(600, 1500))]
    begins += [(f.where or 0.0) + REBOOT for f in faults.all("restart")]
    ends = [*(begin - REBOOT for begin in begins[1:]), end]
    seconds, shown, counter = [], [], []
    for begin, stop in zip(begins, ends, strict=True):
        first = int(np.ceil(max(0.0, -begin) * pace / PERIOD))
        k = np.arange(first, int((stop - begin) * pace / PERIOD) + 1)
        seconds.append(begin + k * PERIOD / pace)
        shown.append(k * PERIOD)
        counter.append(k)
    return ConeClock(np.concatenate(seconds), np.concatenate(shown), np.concatenate(counter))


def cone_pieces(
    clock: ConeClock,
    sensed: dict[str, FloatArray],
    motion: Motion,
    faults: Faults,
    rng: np.random.Generator,
    link_rng: np.random.Generator,
) -> list[Piece]:
    """Return what arrives from the cone, in order of arrival."""
    link, sentence = StringLink(faults, link_rng), decoder(StreamKind.CONE)
    row = np.clip(np.searchsorted(motion.time, clock.seconds, "right") - 1, 0, None)
    silent = [(f.where or 0.0, (f.where or 0.0) + f.value) for f in faults.all("silence")]
    pieces: list[Piece] = []
    held = b""
    for i in np.flatnonzero(clock.counter % 2 == 0):
        at, now = float(clock.seconds[i]), row[i]
        in_ground = 0.0 if motion.stage[now] in FREE else float(sensed["length"][i])
        heard = link.hear(int(motion.rods[now]), in_ground, motion.engine[now] > 0)
        late, draw = rng.exponential(0.02), rng.random(4)
        if not heard.heard or motion.stage[now] in OPEN or _within(at, silent):
            continue
        values = {key: float(column[i]) for key, column in sensed.items()}
        values |= {"link_level": heard.level, "link_noise": heard.noise}
        raw = sentence.encode(values, int(clock.counter[i] // 2))
        raw = _break_bits(raw, heard.wrong_bits, rng)
        if draw[0] < faults.value("garbage"):
            raw = rng.bytes(int(rng.integers(3, 80))) + raw
        raw, held = held + raw, b""
        if draw[1] < faults.value("half"):
            held = raw[: int(rng.integers(1, len(raw) - 2))]
            continue
        arrives = at + AIRTIME + late + (1.3 if draw[2] < faults.value("swap") else 0.0)
        pieces.append(Piece(arrives, StreamKind.CONE, raw))
        if draw[3] < faults.value("duplicate"):
            pieces.append(Piece(arrives + 0.2, StreamKind.CONE, raw))
    return sorted(pieces, key=lambda piece: piece.seconds)


def _within(at: float, spans: list[tuple[float, float]]) -> bool:
    return any(begin <= at < end for begin, end in spans)


def _break_bits(raw: bytes, share: float, rng: np.random.Generator) -> bytes:
    """Return the bytes with a share of their bits wrong."""
    wrong = rng.binomial(8 * len(raw), share)
    if not wrong:
        return raw
    broken = bytearray(raw)
    for bit in rng.choice(8 * len(raw), size=wrong, replace=False):
        broken[bit // 8] ^= 1 << (bit % 8)
    return bytes(broken)


def counts(motion: Motion, faults: Faults) -> NDArray[np.int64]:
    """Return the count of the encoder at each point of the motion."""
    shown = motion.head.copy()
    move = np.diff(shown, prepend=shown[0])
    for stall in faults.all("stall"):
        below = (motion.stage == Stage.PUSH) & (motion.length > (stall.where or 0.0))
        if below.any():
            begin = motion.time[np.argmax(below)]
            move[(motion.time >= begin) & (motion.time < begin + stall.value)] = 0
    shown = shown[0] + np.cumsum(move)
    for jump in faults.all("jump"):
        shown[motion.length >= (jump.where or 0.0)] += jump.value
    if "reset" in faults:
        starts = np.flatnonzero(np.diff((motion.stage == Stage.ADD_ROD).astype(int)) < 0) + 1
        for begin, end in zip(starts, [*starts[1:], len(shown)], strict=True):
            shown[begin:end] -= shown[begin]
    return np.asarray(np.round(shown / METRES_PER_COUNT), dtype=np.int64)


def depth_pieces(
    motion: Motion, force: FloatArray, faults: Faults, rng: np.random.Generator
) -> Iterator[Piece]:
    """Yield what the encoder sends, ten a second.

    Parameters
    ----------
    force
        Push force while the rods go down [kN], shape of the motion.
    """
    share = np.where(motion.stage == Stage.PUSH, 1.0, 0.55 * motion.clamp)
    share[np.isin(motion.stage, (Stage.SET_IN, Stage.ZEROS_BEFORE, Stage.ZEROS_AFTER))] = 0.0
    thrust = force * share + rng.normal(0, 0.15, force.shape)
    late = rng.exponential(0.004, force.shape)
    sentence = decoder(StreamKind.DEPTH)
    for i, count in enumerate(counts(motion, faults).tolist()):
        values = {
            "count": float(count),
            "clamp": float(motion.clamp[i]),
            "thrust": float(thrust[i]),
            "engine": float(motion.engine[i]),
        }
        at = float(motion.time[i] + late[i])
        yield Piece(at, StreamKind.DEPTH, sentence.encode(values, i))

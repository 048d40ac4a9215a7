"""Sound in the rod string: received level, noise, and what becomes of a packet.

The cone sends sound up the rods. Every joint takes some of it, every metre of rod in the ground
takes some more, and a loose joint takes a lot and rattles. At the top the engine adds noise. A
packet gets through by the ratio of the two.

The losses are our own plausible numbers, not measured ones: no open figures for acoustic links
were found. The bit error rate is that of non-coherent frequency-shift keying (textbook, from
memory): ``0.5 exp(-SNR / 2)``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from pushproof.sources.rehearsal.faults import Faults

AT_RECEIVER = 54.0
"""Level with one rod and no ground round it [dB]."""
PER_METRE = 0.30
PER_JOINT = 0.40
QUIET = 18.0
ENGINE = 4.0
"""Noise with the engine idle, and what it adds under load [dB]."""
GAIN_FROM, GAIN_SHARE = 6.0, 0.5
"""The gain of the receiver goes down by this share of noise beyond this much [dB]: the level that
it shows falls with the noise, and the ratio stays."""
HEARD = 7.0
"""Ratio at which every second packet is heard at all [dB]."""
MOST_RODS = 400


@dataclass(frozen=True, slots=True)
class Heard:
    """How a packet arrives: level and noise [dB], heard at all, share of wrong bits."""

    level: float
    noise: float
    heard: bool
    wrong_bits: float


@dataclass
class StringLink:
    """The link up one rod string.

    Parameters
    ----------
    faults
        ``loose-joint``, ``weak``, ``noise`` and ``loss`` count here.
    rng
        Its own generator: planting a fault elsewhere does not change it.
    """

    faults: Faults
    rng: np.random.Generator
    _joints: np.ndarray = field(init=False)
    _seats: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        spread = self.rng.lognormal(0.0, 0.35, MOST_RODS)
        self._joints = np.concatenate(([0.0], np.cumsum(PER_JOINT * spread)))
        self._seats = self.rng.normal(0.0, 0.7, MOST_RODS)

    def mean_level(self, rods: int, length: float) -> float:
        """Return the level to be expected [dB].

        Parameters
        ----------
        rods
            Rods in the string.
        length
            Length in the ground [m].
        """
        rods = min(rods, MOST_RODS - 1)
        loss = self._joints[max(rods - 1, 0)] + (PER_METRE + self.faults.value("weak")) * length
        loss += sum(f.value for f in self.faults.all("loose-joint") if rods > (f.where or 0))
        return float(AT_RECEIVER - loss + self._seats[rods])

    def hear(self, rods: int, length: float, engine: bool) -> Heard:
        """Send one packet."""
        rattle = 0.8
        if any(rods > (f.where or 0) for f in self.faults.all("loose-joint")):
            rattle = 2.0
        level = self.mean_level(rods, length) + rattle * self.rng.standard_normal()
        noise = QUIET + 0.8 * self.rng.standard_normal()
        more = ENGINE + self.faults.value("noise") if engine else 0.0
        ratio = level - noise - more
        gain = GAIN_SHARE * max(more - GAIN_FROM, 0.0)
        chance, drawn = self.rng.random(2)
        missed = 0.5 * math.erfc((ratio - HEARD) / 2.0)
        lost = chance < missed or drawn < self.faults.value("loss")
        wrong = 0.5 * math.exp(-min(10 ** (ratio / 10), 1e3) / 2)
        return Heard(level - gain, noise + more - gain, not lost, wrong)

"""What the link watch heard: levels of the sound link by rod, half of the rod and engine.

Packets are kept in cells as they come; the table of their medians is what the hypotheses of
:mod:`pushproof.recording.linkwatch` are held against.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def _numbers() -> array[float]:
    return array("d")


@dataclass(slots=True)
class Cell:
    """Packets on one half of one rod with the engine in one state.

    Its medians are kept until it hears another packet: a verdict costs what is new in the one
    cell that grows, however long the push is.
    """

    levels: array[float] = field(default_factory=_numbers)
    noise: array[float] = field(default_factory=_numbers)
    lost: int = 0
    _known: tuple[int, int] = (0, 0)
    _level: float = math.nan
    _noise: float = math.nan
    _lowest: float = math.inf
    _rests: Array = field(default_factory=lambda: np.empty(0))

    def _look(self) -> None:
        now = len(self.levels), len(self.noise)
        if now == self._known:
            return
        self._known = now
        if self.levels:
            levels = np.array(self.levels)
            self._level, self._lowest = float(np.median(levels)), float(levels.min())
            self._rests = np.abs(levels - self._level)
        if self.noise:
            self._noise = float(np.median(np.array(self.noise)))

    @property
    def level(self) -> float:
        """Median level [dB]; NaN if nothing was heard."""
        self._look()
        return self._level

    @property
    def noise_level(self) -> float:
        """Median noise [dB]; NaN if the receiver does not tell it."""
        self._look()
        return self._noise

    @property
    def lowest(self) -> float:
        """Lowest level heard [dB]; infinite if nothing was heard."""
        self._look()
        return self._lowest

    @property
    def rests(self) -> Array:
        """What each packet is away from the median [dB]."""
        self._look()
        return self._rests


@dataclass(frozen=True, slots=True)
class Cells:
    """Levels by rod, half of the rod and engine, shape (n,) each.

    ``variance`` is that of the level; ``noise`` is NaN where the receiver does not tell it.
    """

    rod: Array
    half: Array
    engine: Array
    level: Array
    variance: Array
    noise: Array

    @property
    def noise_known(self) -> bool:
        """Whether the receiver tells its noise with the engine under load and idle."""
        known = np.isfinite(self.noise)
        return bool((known & (self.engine > 0)).any() and (known & (self.engine == 0)).any())


NO = Cells(*(np.empty(0) for _ in range(6)))


def table(heard: Mapping[tuple[int, int, int], Cell], least: int) -> Cells:
    """Return the levels of every cell whose rod has packets enough.

    Parameters
    ----------
    heard
        Cells by rod, half of the rod (0 or 1) and engine (0 or 1).
    least
        Packets, heard or lost, below which a rod is left out.
    """
    rows = []
    cells = heard.values()
    spread = _spread([cell.rests for cell in cells if len(cell.levels) >= 4])
    lowest = min((cell.lowest for cell in cells), default=math.inf)
    by_rod: dict[int, int] = {}
    for (rod, _, _), cell in heard.items():
        by_rod[rod] = by_rod.get(rod, 0) + len(cell.levels) + cell.lost
    for (rod, half, engine), cell in sorted(heard.items()):
        if by_rod[rod] < least:
            continue
        n = len(cell.levels)
        if n:
            variance = spread**2 / n
            rows.append((rod, half, engine, cell.level, variance, cell.noise_level))
        elif cell.lost >= least and math.isfinite(lowest):
            # Nothing came through: the level is below the lowest heard, we know no more.
            rows.append((rod, half, engine, lowest - 2.0, 9.0, math.nan))
    return Cells(*(np.array(c, dtype=float) for c in zip(*rows, strict=True))) if rows else NO


def _spread(rests: Sequence[Array]) -> float:
    """Return the scatter of single packets from the spread within the cells [dB]."""
    return max(1.4826 * float(np.median(np.concatenate(rests))), 0.3) if rests else 1.5

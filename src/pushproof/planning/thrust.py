"""Thrust along a push and where it ends: tip, sleeve, rods, and the scatter of the ground.

Refusal is the first depth at which a limit is passed: thrust over what is available, resistance
over what the cone stands. Its probability is counted over many possible grounds, drawn once with
a fixed seed, so that the same plan gives the same answer and a slider moves smoothly.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pushproof.model.equipment import Cone
from pushproof.planning.document import RodString
from pushproof.planning.ground import STEP, Ground

FloatArray = NDArray[np.float64]

SHARE_WITH_REDUCER = 0.3
SHARE_WITHOUT = 0.7
"""Friction on the rods over sleeve friction: own choice. 10 kPa left on 36 mm rods is 34 kN at
30 m, which is in the range of common practice; fit it to the thrust that your rig shows."""
SPREAD_OF_SHARE = 0.4
"""Standard deviation of its logarithm: own choice."""
SITE_SHARE = 0.5
"""Share of the variance of ln qc that holds for the whole sounding; the rest comes and goes with
depth. Own choice."""
CORRELATION = 1.0
"""Scale of fluctuation of the rest along depth [m]: own choice, within published ranges for
vertical fluctuation of cone resistance."""
SAMPLES = 400
TIP_SHARE = 0.9
"""Share of the cone's capacity at which a push ends; 90 to 100 % in practice, from memory."""


@dataclass(frozen=True)
class Loads:
    """Areas that the ground acts on.

    Parameters
    ----------
    tip, sleeve
        Cross-section of the tip and area of the sleeve [m2].
    rod
        Circumference of the rods [m].
    share
        Friction on the rods over sleeve friction [-].
    assumed
        What nobody gave, in words.
    """

    tip: float
    sleeve: float
    rod: float
    share: float
    assumed: tuple[str, ...] = ()


def loads_of(cone: Cone, rods: RodString) -> Loads:
    """Return the areas of a cone and its rods; 10 cm2 and its usual sleeve where not given.

    Examples
    --------
    >>> loads = loads_of(Cone(tip_area=0.0015), RodString())
    >>> loads.tip, loads.sleeve, round(loads.rod, 4)
    (0.0015, 0.0225, 0.1131)
    """
    assumed = []
    tip, sleeve = cone.tip_area, cone.sleeve_area
    if tip is None:
        tip = 0.001
        assumed.append("tip area 10 cm2")
    if sleeve is None:
        sleeve = 15.0 * tip
        assumed.append(f"sleeve area {sleeve * 1e4:.0f} cm2")
    share = rods.friction_share
    if share is None:
        reducer = rods.reducer is not None and rods.reducer > rods.outer_diameter
        share = SHARE_WITH_REDUCER if reducer else SHARE_WITHOUT
        words = "behind a friction reducer" if reducer else "without a friction reducer"
        assumed.append(f"rod friction {share:g} of sleeve friction, {words}")
    return Loads(tip, sleeve, math.pi * rods.outer_diameter, share, tuple(assumed))


@dataclass(frozen=True)
class ThrustParts:
    """Expected thrust along depth, shape (n,) each [kN]."""

    depth: FloatArray
    tip: FloatArray
    sleeve: FloatArray
    rods: FloatArray

    @property
    def total(self) -> FloatArray:
        """Sum of the parts."""
        return self.tip + self.sleeve + self.rods


def thrust_parts(ground: Ground, loads: Loads, predrilled: float = 0.0) -> ThrustParts:
    """Return the expected thrust when the tip is at each depth: qc A + fs As + rod friction.

    Examples
    --------
    30 MPa on 10 cm2 is 30 kN; 10 kPa left on 30 m of 36 mm rods is 34 kN.

    >>> from pushproof.planning.ground import Ground, depth_grid
    >>> grid = depth_grid(30.0)
    >>> flat = np.ones_like(grid)
    >>> ground = Ground(grid, 30_000 * flat, 10 * flat, 0.3 * flat, "flat")
    >>> parts = thrust_parts(ground, Loads(0.001, 0.015, math.pi * 0.036, 1.0))
    >>> round(float(parts.tip[-1]), 3), round(float(parts.rods[-1]), 1)
    (30.0, 33.9)
    """
    met = ground.depth >= predrilled
    friction = np.where(met, ground.fs, 0.0)
    along = np.cumsum(friction) * STEP - friction * STEP / 2
    return ThrustParts(
        ground.depth,
        np.where(met, ground.qc, 0.0) * loads.tip,
        friction * loads.sleeve,
        along * loads.share * loads.rod,
    )


@lru_cache(maxsize=32)
def draws(
    count: int, length: float = CORRELATION, samples: int = SAMPLES, seed: int = 8
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return standard normal draws: for the sounding, along depth, for the rods.

    Parameters
    ----------
    count
        Steps along depth.
    length
        Scale of fluctuation along depth [m].
    samples, seed
        Number of draws, and where they begin.

    Returns
    -------
    tuple
        Shapes (samples,), (count, samples), (samples,). Shared: do not write into them.
    """
    rng = np.random.default_rng(seed)
    site, rods = rng.standard_normal((2, samples))
    steps = rng.standard_normal((count, samples))
    rho = math.exp(-2 * STEP / length)
    gain = math.sqrt(1 - rho**2)
    for i in range(1, count):
        steps[i] = rho * steps[i - 1] + gain * steps[i]
    for array in (site, steps, rods):
        array.flags.writeable = False
    return site, steps, rods


def scatter_factors(
    spread: FloatArray, site_share: float = SITE_SHARE
) -> tuple[FloatArray, FloatArray]:
    """Return factors on resistance, shape (n, samples), and on rod friction, shape (samples,)."""
    site, along, rods = draws(len(spread))
    scaled = math.sqrt(site_share) * site + math.sqrt(1 - site_share) * along
    return np.exp(spread[:, None] * scaled), np.exp(SPREAD_OF_SHARE * rods)


@dataclass(frozen=True)
class Limits:
    """What ends a push.

    Parameters
    ----------
    force
        Words to force at the rod top [kN]: reaction, cylinder, buckling.
    tip, sleeve
        Largest resistance and friction the cone may meet [kPa]; None if its capacity is unknown.
    """

    force: Mapping[str, float]
    tip: float | None = None
    sleeve: float | None = None

    @property
    def least(self) -> tuple[str, float]:
        """The lowest force and what it is."""
        name = min(self.force, key=lambda key: self.force[key])
        return name, self.force[name]


@dataclass(frozen=True)
class Refusal:
    """Where the push is expected to end.

    Parameters
    ----------
    target
        Depth to be reached [m].
    reached
        Probability that the target is reached [-].
    depth
        Shape (n,): depth [m].
    stopped
        Shape (n,): probability that the push ended at or above each depth [-].
    low, high
        Shape (n,): thrust that 10 and 90 % of the possible grounds stay below [kN].
    causes
        What ends it, in words, to its probability [-].
    """

    target: float
    reached: float
    depth: FloatArray
    stopped: FloatArray
    low: FloatArray
    high: FloatArray
    causes: Mapping[str, float] = field(default_factory=dict)

    def depth_at(self, probability: float) -> float | None:
        """Return the depth above which the push ends with a probability, None if deeper."""
        beyond = np.flatnonzero(self.stopped >= probability)
        return float(self.depth[beyond[0]]) if beyond.size else None


class Pushes:
    """Many possible pushes through one expected ground, drawn once and asked often.

    Parameters
    ----------
    ground
        Down to the target at least; see :meth:`Ground.to`.
    loads
        What the ground acts on.
    target
        Depth to be reached [m].
    predrilled
        Nothing acts above this depth [m].
    factors
        Draws of the scatter; from :func:`scatter_factors` if None.
    """

    def __init__(
        self,
        ground: Ground,
        loads: Loads,
        target: float,
        *,
        predrilled: float = 0.0,
        factors: tuple[FloatArray, FloatArray] | None = None,
    ) -> None:
        inside = ground.depth <= target
        self.target, self.depth = target, ground.depth[inside]
        self._factor, self._on_rods = factors or scatter_factors(ground.spread[inside])
        met = self.depth >= predrilled
        self._qc = np.where(met, ground.qc[inside], 0.0)
        self._fs = np.where(met, ground.fs[inside], 0.0)
        # integral of sleeve friction down to each depth, times what the rods take of it
        along = np.cumsum(self._fs[:, None] * self._factor, axis=0)
        along *= STEP * self._on_rods
        self._along = along
        self._worst: dict[str, FloatArray] = {}
        self._load(loads)

    def _load(self, loads: Loads) -> None:
        at_tip = self._qc * loads.tip + self._fs * loads.sleeve
        self.thrust = at_tip[:, None] * self._factor
        self.thrust += self._along * (loads.share * loads.rod)
        self._worst["thrust"] = np.maximum.accumulate(self.thrust)

    def with_loads(self, loads: Loads) -> Pushes:
        """Return the same pushes with another cone or other rods."""
        other = copy(self)
        other._worst = dict(self._worst)
        other._load(loads)
        return other

    def _beyond(self, key: str, limit: float) -> NDArray[np.bool_]:
        if key not in self._worst:
            column = self._qc if key == "tip" else self._fs
            self._worst[key] = np.maximum.accumulate(column[:, None] * self._factor)
        return self._worst[key] > limit

    def band(self, low: float = 0.1, high: float = 0.9) -> tuple[FloatArray, FloatArray]:
        """Return the thrust that two shares of the pushes stay below, shape (n,) each [kN]."""
        samples = self.thrust.shape[1]
        places = [round(low * (samples - 1)), round(high * (samples - 1))]
        ordered = np.partition(self.thrust, places, axis=1)
        return ordered[:, places[0]], ordered[:, places[1]]

    def refusal(self, limits: Limits, *, band: bool = True) -> Refusal:
        """Return where the push is expected to end under some limits."""
        name, force = limits.least
        beyond = {name: self._worst["thrust"] > force}
        if limits.tip is not None:
            beyond["capacity of the tip"] = self._beyond("tip", limits.tip)
        if limits.sleeve is not None:
            beyond["capacity of the sleeve"] = self._beyond("sleeve", limits.sleeve)
        # a running maximum never comes back: the number of steps inside tells the first outside
        count = len(self.depth)
        first = {key: count - np.count_nonzero(b, axis=0) for key, b in beyond.items()}
        ends = np.min(list(first.values()), axis=0)
        ended = ends < count
        stopped = np.cumsum(np.bincount(ends, minlength=count + 1)[:count]) / len(ends)
        causes, told = {}, np.zeros(len(ends), dtype=bool)
        for key, where in first.items():
            mine = ended & (where == ends) & ~told
            told |= mine
            if mine.any():
                causes[key] = float(np.mean(mine))
        nothing = np.full(count, np.nan)
        low, high = self.band() if band else (nothing, nothing)
        reached = float(np.mean(~ended))
        return Refusal(self.target, reached, self.depth, stopped, low, high, causes)

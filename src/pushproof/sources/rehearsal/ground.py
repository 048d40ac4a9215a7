"""Ground of the rehearsal: layers with properties, and what a perfect cone would feel in them.

The relations are the plain textbook ones, turned round: net resistance of clay from its strength
and a cone factor, resistance of sand from relative density and stress. They serve to make lifelike
numbers, not to check the interpretation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
GAMMA_W = 9.81


@dataclass(frozen=True)
class Layer:
    """One layer.

    Parameters
    ----------
    thickness
        [m].
    words
        Name in words.
    gamma
        Unit weight [kN/m3].
    su, su_gradient
        Undrained strength at the top [kPa] and its growth with depth [kPa/m]; for clay.
    density
        Relative density [-]; for sand. Exactly one of ``su`` and ``density`` is given.
    friction
        Friction ratio [%].
    pore
        Pore pressure ratio Bq while pushing [-].
    scatter
        Coefficient of variation of resistance inside the layer [-].
    correlation
        Vertical correlation length of that scatter [m].
    ch
        Coefficient of consolidation [m2/s].
    """

    thickness: float
    words: str
    gamma: float
    su: float | None = None
    su_gradient: float = 0.0
    density: float | None = None
    friction: float = 1.0
    pore: float = 0.0
    scatter: float = 0.05
    correlation: float = 0.25
    ch: float = 1e-6

    def __post_init__(self) -> None:
        if (self.su is None) == (self.density is None):
            raise ValueError(f"layer {self.words!r}: give su or density, one of them")
        if self.thickness <= 0:
            raise ValueError(f"layer {self.words!r}: thickness {self.thickness} m, expected > 0")


@dataclass(frozen=True)
class Ground:
    """Layers from the ground down, and the water level [m below ground, negative above]."""

    layers: tuple[Layer, ...]
    water_level: float
    cone_factor: float = 14.0

    @property
    def depth(self) -> float:
        """Depth to which the layers reach [m]."""
        return sum(layer.thickness for layer in self.layers)

    def tops(self) -> FloatArray:
        """Return the top of each layer [m]."""
        edges = np.cumsum([layer.thickness for layer in self.layers])
        return np.concatenate(([0.0], edges[:-1]))

    def index(self, z: FloatArray) -> NDArray[np.intp]:
        """Return the layer of each depth."""
        found = np.searchsorted(self.tops(), z, side="right") - 1
        return np.clip(found, 0, len(self.layers) - 1)

    def values(self, name: str, z: FloatArray) -> FloatArray:
        """Return a property of the layers at depths."""
        table = np.array([float(getattr(layer, name) or 0.0) for layer in self.layers])
        return table[self.index(z)]

    def pore_pressure(self, z: FloatArray) -> FloatArray:
        """Return hydrostatic pore pressure [kPa]."""
        return np.maximum(0.0, GAMMA_W * (z - self.water_level))

    def total_stress(self, z: FloatArray) -> FloatArray:
        """Return total vertical stress [kPa]; open water loads the ground."""
        tops = self.tops()
        gammas = np.array([layer.gamma for layer in self.layers])
        thick = np.array([layer.thickness for layer in self.layers])
        at_top = np.concatenate(([0.0], np.cumsum(gammas * thick)[:-1]))
        i = self.index(z)
        return GAMMA_W * max(0.0, -self.water_level) + at_top[i] + gammas[i] * (z - tops[i])

    def resistance(self, z: FloatArray) -> FloatArray:
        """Return the corrected resistance qt [kPa] of a thick layer at each depth.

        Clay: ``Nkt su + sigma_v0``. Sand: ``157 sigma'^0.55 exp(2.41 Dr)`` (the form of Baldi et
        al. 1986, from memory).
        """
        total = self.total_stress(z)
        effective = np.maximum(total - self.pore_pressure(z), 1.0)
        i = self.index(z)
        into = z - self.tops()[i]
        su = self.values("su", z) + self.values("su_gradient", z) * into
        clay = self.cone_factor * su + total
        sand = 157.0 * effective**0.55 * np.exp(2.41 * self.values("density", z))
        drained = np.array([layer.density is not None for layer in self.layers])[i]
        return np.where(drained, sand, clay)

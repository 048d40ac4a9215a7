"""The cone of the rehearsal: what it feels of the ground, near layer boundaries and with noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.sources.rehearsal.ground import Ground

FloatArray = NDArray[np.float64]
STEP = 0.01
"""Grid of the simulated ground [m]."""


@dataclass(frozen=True)
class Felt:
    """What the cone feels while moving, on a grid of depths: qt, fs, u2 [kPa]."""

    z: FloatArray
    qt: FloatArray
    fs: FloatArray
    u2: FloatArray

    def at(self, name: str, z: FloatArray) -> FloatArray:
        """Return a channel at depths."""
        return np.asarray(np.interp(z, self.z, getattr(self, name)))


def feel(
    ground: Ground, rng: np.random.Generator, *, diameter: float = 0.0357, sleeve: float = 0.1337
) -> Felt:
    """Return what a cone of a diameter [m] and sleeve length [m] feels in the ground.

    Resistance is sensed over some diameters ahead and behind in the mean of its logarithm, so a
    thin layer never shows its full value; friction is the mean over the sleeve, which lies above
    the tip and is recorded at the depth of the tip, as a cone does. Grain by grain both scatter a
    little besides: that is added last, as no averaging takes it away.
    """
    z = np.arange(0.0, ground.depth, STEP)
    texture = rng.spawn(1)[0]
    local = ground.resistance(z) * np.exp(_scatter(ground, z, rng))
    qt = np.exp(_sense(np.log(local), ahead=4 * diameter, behind=2 * diameter))
    qt *= np.exp(0.3 * ground.values("scatter", z) * _correlated(len(z), 0.04, texture))
    total, u0 = ground.total_stress(z), ground.pore_pressure(z)
    friction = ground.values("friction", z) / 100 * local
    friction *= np.exp(0.12 * _correlated(len(z), 0.2, rng))
    half = max(1, round(sleeve / STEP))
    box = np.ones(half) / half
    mean = np.convolve(np.pad(friction, (half + 1, 0), mode="edge"), box, mode="valid")
    fs = mean[: len(z)]
    fs = fs * np.exp(0.4 * ground.values("scatter", z) * _correlated(len(z), 0.06, texture))
    excess = ground.values("pore", z) * np.maximum(local - total, 0.0)
    excess = _sense(excess, ahead=1.0 * diameter, behind=1.5 * diameter)
    excess *= np.exp(0.03 * _correlated(len(z), 0.3, rng))
    dilation = (
        0.0012 * ground.values("density", z) * qt * (0.4 + 0.3 * _correlated(len(z), 0.4, rng))
    )
    u2 = u0 + excess - np.where(u0 > 0, dilation, 0.0)
    return Felt(z, qt, np.maximum(fs, 0.05), u2)


def desaturated(felt: Felt, length: float = 1.2) -> FloatArray:
    """Return the pore pressure that a filter with air in it shows: late and damped.

    ``length`` is the distance over which it follows [m]; it cannot fall below a vacuum.
    """
    lagged = np.empty_like(felt.u2)
    state = 0.0
    dense = felt.qt > 12_000
    for i, target in enumerate(felt.u2):
        pull = -70.0 if dense[i] else 0.45 * target
        state += (pull - state) * STEP / length
        lagged[i] = state
    return np.maximum(lagged, -90.0)


def _sense(values: FloatArray, ahead: float, behind: float) -> FloatArray:
    """Average along depth with exponential weights of two lengths [m]."""
    reach = max(2, int(5 * max(ahead, behind) / STEP))
    offset = np.arange(-reach, reach + 1) * STEP
    weight = np.exp(-np.abs(offset) / np.where(offset > 0, ahead, behind))
    weight /= weight.sum()
    padded = np.pad(values, reach, mode="edge")
    return np.convolve(padded, weight[::-1], mode="valid")


def _correlated(n: int, length: float, rng: np.random.Generator) -> FloatArray:
    """Return a unit-variance sequence with exponential correlation of a length [m]."""
    from scipy.signal import lfilter

    keep = float(np.exp(-STEP / length))
    white = rng.standard_normal(n)
    white[1:] *= np.sqrt(1 - keep * keep)
    return np.asarray(lfilter([1.0], [1.0, -keep], white), dtype=np.float64)


def _scatter(ground: Ground, z: FloatArray, rng: np.random.Generator) -> FloatArray:
    index = ground.index(z)
    total = np.zeros(len(z))
    for i, layer in enumerate(ground.layers):
        inside = index == i
        count = int(inside.sum())
        slow = _correlated(count, layer.correlation, rng)
        quick = _correlated(count, 0.03, rng)
        total[inside] = layer.scatter * (slow + 0.45 * quick)
    return total

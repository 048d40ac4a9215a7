"""The forecast during a push: what has been met so far tells what lies ahead.

With a plan, the logarithm of the resistance met is compared with that expected. Part of the
difference holds for the whole sounding (harder ground than planned stays harder), the rest fades
with distance. Without a plan only the sounding itself is known: its level now, its mean and its
scatter. Both are the same model, a first-order autoregressive process about a mean, so what lies
ahead can be drawn exactly from what was met.

One step of 0.1 m costs a few operations; the draws ahead are made when somebody asks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.planning.ground import (
    LEAST_FRICTION,
    LEAST_RESISTANCE,
    STEP,
    Ground,
    depth_grid,
)
from pushproof.planning.thrust import SITE_SHARE, SPREAD_OF_SHARE, Limits, Loads, draws

FloatArray = NDArray[np.float64]

ALONE_SCATTER = 0.9
"""Least standard deviation of ln qc ahead of a sounding that nothing else is known of."""
ALONE_LENGTH = 2.0
"""Length over which its level now is forgotten, as scale of fluctuation [m]."""
PLANNED_LENGTH = 1.0
"""The same for the difference from expected ground [m]."""
FRICTION_NOISE = 0.2
"""Standard deviation of ln of the rod friction that one metre of measured thrust shows."""
LEAST_ROD_FORCE = 5.0
"""Rod friction below this says nothing about its share [kN]."""


@dataclass(frozen=True)
class Ahead:
    """What is expected ahead of the tip.

    Parameters
    ----------
    depth
        Shape (n,): middles of the steps ahead [m].
    expected, low, high
        Shape (n,): thrust that 50, 10 and 90 % of the draws stay below [kN].
    stopped
        Shape (n,): probability that the push ends at or above each depth [-].
    reached
        Probability that the target is reached [-].
    """

    depth: FloatArray
    expected: FloatArray
    low: FloatArray
    high: FloatArray
    stopped: FloatArray
    reached: float

    def depth_at(self, probability: float) -> float | None:
        """Return the depth above which the push ends with a probability, None if deeper."""
        beyond = np.flatnonzero(self.stopped >= probability)
        return float(self.depth[beyond[0]]) if beyond.size else None


class Forecast:
    """Follow a push and tell what lies ahead.

    Parameters
    ----------
    loads
        What the ground acts on.
    target
        Depth to be reached [m].
    limits
        What ends the push.
    ground
        Expected ground down to the target; None if nothing is known.
    predrilled
        Nothing acts above this depth [m].

    Examples
    --------
    >>> forecast = Forecast(Loads(0.001, 0.015, 0.113, 0.3), 10.0, Limits({"reaction": 100.0}))
    >>> for depth in (0.5, 1.0, 1.5, 2.0, 2.5):
    ...     forecast.meet(depth, 2000.0, 20.0)
    >>> forecast.ahead().reached > 0.9
    True
    """

    def __init__(
        self,
        loads: Loads,
        target: float,
        limits: Limits,
        ground: Ground | None = None,
        *,
        predrilled: float = 0.0,
    ) -> None:
        self.loads, self.target, self.limits = loads, target, limits
        self.ground = None if ground is None else ground.to(target)
        self.predrilled = predrilled
        self.grid = depth_grid(target)
        self.met = 0.0
        """Depth met so far [m]."""
        self._step = -1
        self._sums = [0.0, 0.0, 0.0]  # readings, qc, fs in the step that is filling
        self._logs: list[float] = []  # ln qc of the steps that are full
        self._places: list[int] = []
        self._friction = 0.0  # integral of sleeve friction over depth [kPa m]
        self._ratios: list[float] = []  # fs over qc of the last steps
        self._site = [0.0, 1.0]  # mean and variance of the part that holds for the sounding
        self._share = [math.log(max(loads.share, 1e-3)), SPREAD_OF_SHARE**2]
        self._weighed = 0.0

    # -- what is met -----------------------------------------------------------------------------

    def meet(self, depth: float, qc: float, fs: float | None, thrust: float | None = None) -> None:
        """Take a reading.

        Parameters
        ----------
        depth
            Of the tip [m]; readings above what was met already are left out.
        qc, fs
            Resistance and friction [kPa].
        thrust
            Measured at the rods while pushing [kN], if the rig tells it.
        """
        if depth <= self.met or not math.isfinite(qc):
            return
        self.met = depth
        place = int(depth / STEP)
        if place != self._step:
            self._close_step()
            self._step = place
        self._sums[0] += 1.0
        self._sums[1] += qc
        self._sums[2] += 0.015 * max(qc, 0.0) if fs is None or not math.isfinite(fs) else fs
        if thrust is not None and depth - self._weighed >= 1.0:
            self._weigh(depth, qc, thrust)

    def _close_step(self) -> None:
        count, qc, fs = self._sums
        if not count:
            return
        self._sums = [0.0, 0.0, 0.0]
        q, f = max(qc / count, LEAST_RESISTANCE), max(fs / count, LEAST_FRICTION)
        skipped = self._step - self._places[-1] if self._places else 1
        self._friction += f * STEP * skipped + (0.0 if self._places else self._above(f))
        self._ratios = [*self._ratios[-19:], f / q]
        self._logs.append(math.log(q))
        self._places.append(self._step)
        if self.ground is not None and self._step < len(self.grid):
            self._learn(skipped)

    def _above(self, friction: float) -> float:
        """Return the friction above the first step met, as expected or as there [kPa m]."""
        first = round(self.predrilled / STEP)
        if self.ground is None:
            return friction * max(self._step - first, 0) * STEP
        return float(np.sum(self.ground.fs[first : self._step])) * STEP

    def _residual(self, index: int) -> float:
        """Return the standardised difference from the expected ground in a step met."""
        assert self.ground is not None
        place = self._places[index]
        expected = math.log(max(self.ground.qc[place], LEAST_RESISTANCE))
        return float((self._logs[index] - expected) / self.ground.spread[place])

    def _learn(self, skipped: int) -> None:
        """Update the part of the difference that holds for the whole sounding (Kalman filter).

        The innovation of the part that fades is what is new in it since the last step.
        """
        rho = math.exp(-2 * STEP * skipped / PLANNED_LENGTH)
        if len(self._logs) == 1 or self._places[-2] >= len(self.grid):
            rho, seen = 0.0, self._residual(-1)
        else:
            seen = self._residual(-1) - rho * self._residual(-2)
        gain_on_site = (1 - rho) * math.sqrt(SITE_SHARE)
        noise = (1 - SITE_SHARE) * (1 - rho**2)
        mean, variance = self._site
        total = gain_on_site**2 * variance + noise
        k = variance * gain_on_site / total
        self._site = [mean + k * (seen - gain_on_site * mean), variance * (1 - k * gain_on_site)]

    def _weigh(self, depth: float, qc: float, thrust: float) -> None:
        """Learn the share of friction on the rods from a measured thrust."""
        self._weighed = depth
        grip = self._friction * self.loads.rod
        sleeve = self._ratios[-1] * qc * self.loads.sleeve if self._ratios else 0.0
        left = thrust - qc * self.loads.tip - sleeve
        if grip * self.loads.share < LEAST_ROD_FORCE or left <= 0:
            return
        mean, variance = self._share
        k = variance / (variance + FRICTION_NOISE**2)
        self._share = [mean + k * (math.log(left / grip) - mean), variance * (1 - k)]

    # -- what lies ahead -------------------------------------------------------------------------

    @property
    def thrust_limit(self) -> float:
        """The force that ends the push [kN]."""
        return self.limits.least[1]

    @property
    def harder(self) -> float:
        """Resistance met over resistance expected, for the sounding as a whole [-]; 1 untold."""
        if self.ground is None or not self._places:
            return 1.0
        spread = float(np.mean(self.ground.spread))
        return math.exp(spread * math.sqrt(SITE_SHARE) * self._site[0])

    @property
    def rod_share(self) -> float:
        """Friction on the rods over sleeve friction, as learned so far [-]."""
        return math.exp(self._share[0])

    def resistance_ahead(self) -> tuple[FloatArray, FloatArray]:
        """Return ln qc ahead: depths, shape (n,), and draws, shape (n, samples)."""
        first = min(self._step + 1, len(self.grid))
        length = ALONE_LENGTH if self.ground is None else PLANNED_LENGTH
        site, along, _ = draws(len(self.grid), length)
        depth = self.grid[first:]
        if not self._logs:
            if self.ground is None:
                return depth, np.full((len(depth), site.size), math.nan)
            middle = np.log(np.maximum(self.ground.qc[first:], LEAST_RESISTANCE))
            drawn = math.sqrt(SITE_SHARE) * site + math.sqrt(1 - SITE_SHARE) * along[first:]
            return depth, middle[:, None] + self.ground.spread[first:, None] * drawn
        last = min(self._places[-1], len(self.grid) - 1)
        steps = np.arange(first, len(self.grid)) - last
        if self.ground is None:
            return depth, self._alone(steps, along[first:], along[last])
        mean, deviation = self._site[0], math.sqrt(max(self._site[1], 0.0))
        whole = mean + deviation * site
        fading = math.sqrt(1 - SITE_SHARE)
        now = (self._residual(-1) - math.sqrt(SITE_SHARE) * whole) / fading
        rho = np.exp(-2 * STEP * steps / PLANNED_LENGTH)[:, None]
        part = along[first:] + rho * (now - along[last])
        drawn = math.sqrt(SITE_SHARE) * whole + fading * part
        expected = np.log(np.maximum(self.ground.qc[first:], LEAST_RESISTANCE))
        return depth, expected[:, None] + self.ground.spread[first:, None] * drawn

    def _alone(self, steps: NDArray[np.int64], ahead: FloatArray, here: FloatArray) -> FloatArray:
        """Return ln qc ahead of a sounding that nothing else is known of."""
        logs = np.array(self._logs)
        mean = float(np.mean(logs))
        spread = math.hypot(float(np.std(logs)), ALONE_SCATTER)
        level = float(np.mean(logs[-5:]))
        rho = np.exp(-2 * STEP * steps / ALONE_LENGTH)[:, None]
        drawn: FloatArray = mean + rho * (level - mean) + spread * (ahead - rho * here)
        return drawn

    def ahead(self) -> Ahead:
        """Return what is expected ahead, by :data:`thrust.SAMPLES` draws."""
        depth, logs = self.resistance_ahead()
        if not depth.size or np.isnan(logs).all():
            nothing = np.zeros(len(depth))
            return Ahead(depth, nothing, nothing, nothing, nothing, 1.0)
        q = np.exp(logs)
        if self.ground is None or not self._ratios:
            f = q * (float(np.median(self._ratios)) if self._ratios else 0.015)
        else:
            expected = self.ground.fs / np.maximum(self.ground.qc, LEAST_RESISTANCE)
            f = q * expected[-len(depth) :, None]
        met = (depth >= self.predrilled)[:, None]
        q, f = np.where(met, q, 0.0), np.where(met, f, 0.0)
        _, _, on_rods = draws(len(self.grid))
        share = np.exp(self._share[0] + math.sqrt(self._share[1]) * on_rods)
        along = (self._friction + np.cumsum(f, axis=0) * STEP) * (share * self.loads.rod)
        thrust = q * self.loads.tip + f * self.loads.sleeve + along
        beyond = np.maximum.accumulate(thrust) > self.limits.least[1]
        if self.limits.tip is not None:
            beyond |= np.maximum.accumulate(q) > self.limits.tip
        if self.limits.sleeve is not None:
            beyond |= np.maximum.accumulate(f) > self.limits.sleeve
        low, middle, high = np.quantile(thrust, [0.1, 0.5, 0.9], axis=1)
        stopped = np.mean(beyond, axis=1)
        return Ahead(depth, middle, low, high, stopped, 1.0 - float(stopped[-1]))

"""The clock of the cone against the clock at the surface: offset, drift, and how sure both are.

Two witnesses. Packets arrive late and never early, so the lower edge of arrival minus cone time is
a straight line: its slope is the drift, its height is the offset and the least delay of the link
together. Pauses are seen by both streams without delay: the encoder stands, and the cone falls
quiet until the rods go on. They part offset and delay.

The lower edge is taken robustly: a low quantile in each of many spans of time, and through these
the line of Theil and Sen. No packet decides alone, early or late.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

DRIFT_PRIOR = 100e-6
"""Drift expected of a crystal before anything is measured, one standard deviation: 100 ppm."""

NO_CRYSTAL = 0.01
"""No crystal drifts by this share: the rig is rehearsed at another speed, and the prior is off."""

UNKNOWN_DELAY = 0.5
"""Standard deviation taken for the least delay of a link while no pause has shown it [s]."""

BACK = 30.0
"""A cone clock that goes back further than this has started anew [s]."""

LOW = 0.15
"""Quantile of the delays that stands for their lower edge in each span of time."""


@dataclass(frozen=True, slots=True)
class ClockFit:
    """``surface = cone + offset + drift (cone - origin)`` for one run of the cone clock.

    Parameters
    ----------
    origin
        Cone time at which the offset holds [s].
    offset, offset_sd
        Surface minus cone time there, and its standard deviation [s].
    drift, drift_sd
        Surface seconds gained per cone second, and its standard deviation.
    delay, delay_sd
        Least delay of the link [s], already taken off the offset; None where no pause showed it.
    readings, pauses
        What the fit rests on.
    first, last
        Cone time that it covers [s].
    by_arrival
        Whether the cone gave no time, so that arrivals stand for it.
    """

    origin: float
    offset: float
    offset_sd: float
    drift: float = 0.0
    drift_sd: float = DRIFT_PRIOR
    delay: float | None = None
    delay_sd: float | None = None
    readings: int = 0
    pauses: int = 0
    first: float = -math.inf
    last: float = math.inf
    by_arrival: bool = False

    def surface(self, cone_time: ArrayLike) -> FloatArray:
        """Return surface time [s] of cone time [s]."""
        t = np.asarray(cone_time, float)
        return np.asarray(t + self.offset + self.drift * (t - self.origin))

    def cone(self, surface: ArrayLike) -> FloatArray:
        """Return cone time [s] of surface time [s]."""
        s = np.asarray(surface, float)
        return np.asarray(self.origin + (s - self.offset - self.origin) / (1.0 + self.drift))

    def sd(self, cone_time: ArrayLike) -> FloatArray:
        """Return the standard deviation of :meth:`surface` [s]."""
        t = np.asarray(cone_time, float)
        return np.asarray(np.hypot(self.offset_sd, self.drift_sd * (t - self.origin)))

    @property
    def cone_ppm(self) -> float:
        """How much the cone clock runs fast against the surface clock [ppm]."""
        return -1e6 * self.drift / (1 + self.drift)


def runs(cone_time: ArrayLike) -> NDArray[np.intp]:
    """Number the runs of a cone clock that may start anew, for readings in order of arrival.

    Parameters
    ----------
    cone_time
        Shape (n,) [s]; packets may be out of order.

    Returns
    -------
    NDArray
        Run of each reading from 0, shape (n,).

    Examples
    --------
    >>> runs([500, 501, 503, 502, 0, 1, 2]).tolist()
    [0, 0, 0, 0, 1, 1, 1]
    """
    t = np.asarray(cone_time, float)
    run = np.zeros(len(t), dtype=np.intp)
    if not len(t):
        return run
    begin, number = 0, 0
    for i in np.flatnonzero(np.diff(t) < -BACK) + 1:
        # A single absurd value, before or after, is no restart: look at five on either side.
        before, after = t[max(i - 5, begin) : i], t[i : i + 5]
        if len(after) >= 3 and np.median(after) < np.median(before) - BACK:
            number, begin = number + 1, int(i)
            run[i:] = number
    return run


def fit_arrivals(cone_time: ArrayLike, surface: ArrayLike) -> ClockFit:
    """Fit the clock to the arrival of packets of one run.

    Parameters
    ----------
    cone_time, surface
        When each packet was made and when it arrived, shape (n,) [s], n >= 1.

    Returns
    -------
    ClockFit
        The offset holds the least delay of the link; its uncertainty says so.

    Raises
    ------
    ValueError
        If there is no packet.

    Notes
    -----
    The uncertainty of the slope is that of the Theil-Sen line; a weak prior of 100 ppm stands in
    for short records.
    """
    t, s = np.asarray(cone_time, float), np.asarray(surface, float)
    keep = np.isfinite(t) & np.isfinite(s)
    t, s = t[keep], s[keep]
    if not len(t):
        raise ValueError("no packet with both a cone time and an arrival")
    order = np.argsort(t, kind="stable")
    t, late = t[order], (s - t)[order]
    origin = float(t.mean())
    drift, drift_sd = _drift(t, late)
    level = late - drift * (t - origin)
    offset, edge_sd = _edge(level)
    return ClockFit(
        origin,
        offset,
        math.hypot(edge_sd, UNKNOWN_DELAY),
        drift,
        drift_sd,
        readings=len(t),
        first=float(t[0]),
        last=float(t[-1]),
    )


def _drift(t: FloatArray, late: FloatArray) -> tuple[float, float]:
    """Return slope of the lower edge and its standard deviation, with the prior in it."""
    from scipy.stats import theilslopes

    spans = min(len(t) // 8, 200)
    if spans < 4 or t[-1] - t[0] < 30.0:
        return 0.0, DRIFT_PRIOR
    pieces = np.array_split(np.arange(len(t)), spans)
    at = np.array([t[p].mean() for p in pieces])
    low = np.array([np.quantile(late[p], LOW) for p in pieces])
    slope, _, lower, upper = theilslopes(low, at, alpha=0.95)
    sd = max((upper - lower) / (2 * 1.96), 1e-9)
    if abs(slope) > NO_CRYSTAL:
        return float(slope), float(sd)
    weight = 1 / (1 + (sd / DRIFT_PRIOR) ** 2)
    return float(slope * weight), float(sd * math.sqrt(weight))


def _edge(level: FloatArray) -> tuple[float, float]:
    """Return the lower edge of the delays and its standard deviation.

    The median of the lowest tenth stands for the edge: one early outlier does not move it.
    """
    n = len(level)
    low = np.sort(level)[: max(n // 10, min(n, 3))]
    middle = float(np.median(low))
    spread = 1.4826 * float(np.median(np.abs(low - middle)))
    return middle, max(spread, 0.005) / math.sqrt(len(low))


@dataclass(frozen=True, slots=True)
class Start:
    """A start of the rods after a pause, as the encoder saw it, on surface time [s].

    Parameters
    ----------
    stop, start
        When the rods stopped and went on.
    until
        When they stopped again.
    """

    stop: float
    start: float
    until: float


REACH = (-1.0, 4.0)
"""Delays that are looked for [s]."""

GRID = 0.02
"""Steps of the search [s]."""

QUIET = 2.0
"""Change of qc below which the cone counts as quiet [kPa]: noise of a good cone, own choice."""

PASSES = 4
"""Passes over the starts; each measures rest and motion beside the delay of the pass before."""


def delay_by_pauses(
    fit: ClockFit,
    cone_time: ArrayLike,
    qc: ArrayLike,
    starts: Sequence[Start],
    depth_time: ArrayLike,
    length: ArrayLike,
) -> tuple[float, float, int] | None:
    """Find the least delay of the link from the starts that both streams see.

    Parameters
    ----------
    fit
        From :func:`fit_arrivals`.
    cone_time, qc
        Readings of the cone, the memory if there is one, ascending, shape (n,) [s, kPa].
    starts
        Starts after pauses, from the encoder.
    depth_time, length
        The encoder itself: surface time [s] and penetration length [m], shape (m,).

    Returns
    -------
    tuple or None
        Delay, its standard deviation [s] and the number of starts used; None if none could be.

    Notes
    -----
    Before a start the tip is quiet, after it qc changes from one reading to the next, the more the
    further the rods went. The change between two readings is taken as Student's t with 3 degrees
    of freedom; its scale has a part at rest and a part per metre, both measured beside that very
    start, and the encoder says how many metres for each trial delay. The likelihood is summed over
    starts. Sleeve and pore pressure are left out: they answer over a length. The standard
    deviation is twice the width of the peak, for what the model leaves out, and at least 0.03 s:
    on the simulated rig the error was 0.03 to 0.21 s where twice the width was 0.13 to 0.29 s.
    """
    t, values = np.asarray(cone_time, float), np.asarray(qc, float)
    trial = np.arange(REACH[0], REACH[1] + GRID / 2, GRID)
    encoder = (np.asarray(depth_time, float), np.asarray(length, float))
    windows = [w for start in starts if (w := _window(t, values, fit, start, encoder)) is not None]
    delay: float | None = None
    sd, used = math.inf, 0
    for _ in range(PASSES):
        gains = [
            g for w in windows if (g := _likelihood(w, fit, trial, encoder, delay)) is not None
        ]
        if not gains:
            return None
        total = np.sum(gains, axis=0)
        weight = np.exp(total - total.max())
        weight /= weight.sum()
        delay, used = float((weight * trial).sum()), len(gains)
        sd = 2.0 * math.sqrt(float((weight * (trial - delay) ** 2).sum()))
    if delay is None or sd > UNKNOWN_DELAY:
        return None  # the pauses do not show: soil too even, or too few
    return delay, max(sd, 0.03), used


@dataclass(frozen=True, slots=True)
class _Window:
    """Intervals between readings round one start."""

    at: float  # cone time of the start if the link had no delay
    begin: FloatArray
    span: FloatArray
    change: FloatArray
    rate: float  # of the push that follows [m/s]


def _window(
    t: FloatArray,
    qc: FloatArray,
    fit: ClockFit,
    start: Start,
    encoder: tuple[FloatArray, FloatArray],
) -> _Window | None:
    if start.start - start.stop < 6.0 or start.until - start.start < 10.0 or not len(t):
        return None
    at, stop = float(fit.cone(start.start)), float(fit.cone(start.stop))
    a, b = np.searchsorted(t, (max(stop + 3.0, at - 20.0), at + 25.0))
    if b - a < 12:
        return None
    begin, span, change = t[a : b - 1], np.diff(t[a:b]), np.abs(np.diff(qc[a:b]))
    good = np.isfinite(change) & (span > 0) & (span < 3.0)
    ahead = min(start.until - start.start, 20.0)
    low, high = np.interp((start.start, start.start + ahead), *encoder)
    rate = max(float(high - low) / ahead, 1e-4)
    return _Window(at, begin[good], span[good], change[good], rate)


def _likelihood(
    w: _Window,
    fit: ClockFit,
    trial: FloatArray,
    encoder: tuple[FloatArray, FloatArray],
    delay: float | None,
) -> FloatArray | None:
    """Return the log likelihood of each trial delay for one start, or None."""
    rest, motion = (REACH[0], REACH[1]) if delay is None else (delay - 0.3, delay + 0.3)
    quiet = w.change[(w.begin + w.span < w.at + rest) & (w.begin > w.at + rest - 12.0)]
    after = (w.begin > w.at + motion) & (w.begin < w.at + motion + (8.0 if delay else 16.0))
    moving = (w.change / w.span)[after]
    if len(quiet) < 3 or len(moving) < 3:
        return None
    still = max(1.4826 * float(np.median(quiet)), QUIET)
    goes = 1.4826 * float(np.median(moving))
    if goes < 2.0 * still:
        return None  # too even here: nothing to see
    near = (w.begin > w.at + REACH[0] - 3.0) & (w.begin < w.at + REACH[1] + 3.0)
    begin, span, change = w.begin[near], w.span[near], w.change[near]
    edges = fit.surface(np.concatenate((begin, begin + span))) - trial[:, None]
    reached = np.interp(edges, *encoder)
    moved = np.maximum(reached[:, len(begin) :] - reached[:, : len(begin)], 0.0)
    scale = np.hypot(still, goes * moved / w.rate)
    return np.asarray(-(np.log(scale) + 2.0 * np.log1p((change / scale) ** 2 / 3)).sum(axis=1))


def fit_clock(
    cone_time: ArrayLike,
    surface: ArrayLike,
    *,
    dense_time: ArrayLike = (),
    qc: ArrayLike = (),
    starts: Sequence[Start] = (),
    depth_time: ArrayLike = (),
    length: ArrayLike = (),
) -> ClockFit:
    """Fit the clock of one run from arrivals, and from pauses where there are any.

    Parameters
    ----------
    cone_time, surface
        Packets: when made and when arrived, shape (n,) [s].
    dense_time, qc
        Readings of the cone on its own clock in which the starts are looked for: the memory, else
        the packets themselves, ascending [s, kPa].
    starts, depth_time, length
        Starts after pauses, and surface time [s] and length [m], from the encoder.
    """
    fit = fit_arrivals(cone_time, surface)
    found = None
    if starts and len(np.asarray(dense_time)):
        found = delay_by_pauses(fit, dense_time, qc, starts, depth_time, length)
    if found is None:
        return fit
    delay, delay_sd, pauses = found
    edge_sd = math.sqrt(max(fit.offset_sd**2 - UNKNOWN_DELAY**2, 0.0))
    return replace(
        fit,
        offset=fit.offset - delay,
        offset_sd=math.hypot(edge_sd, delay_sd),
        delay=delay,
        delay_sd=delay_sd,
        pauses=pauses,
    )

"""A dissipation record made ready: one channel, in order, counted from the stop of the push.

Thresholds here are our own choices, made on open records; each is named and said in the findings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pushproof.equations.arrays import FloatArray
from pushproof.model.dissipation import DissipationKind
from pushproof.model.findings import Finding, Severity
from pushproof.model.picks import DissipationChoice
from pushproof.model.sounding import Dissipation

FEWEST = 6
"""Readings below which a record is not interpreted."""
LEAST_CHANGE = 2.0
"""Change below which a record counts as flat [kPa]: four steps of a coarse transducer."""
LEAST_SHARE = 0.02
"""Share of the range by which a record must rise before it counts as rising first [-]."""
CLOCK = 4
"""Decimals of a second that are kept of times since the stop."""
LATE_START = 30.0
"""A first reading later than this is taken as time zero [s]: the clock ran from elsewhere."""


@dataclass(frozen=True)
class Record:
    """One channel of a test, shape (n,) each, as read and with single outliers taken off.

    ``noise`` is the standard deviation of a reading about its neighbours [kPa], at least a third
    of the smallest step the record shows.
    """

    channel: str
    t0: float
    time: FloatArray
    u: FloatArray
    smooth: FloatArray
    noise: float
    kind: DissipationKind
    peak: int
    findings: tuple[Finding, ...] = ()

    @property
    def falling(self) -> slice:
        """Rows from the start of the fall to the end."""
        return slice(self.peak, None)

    @property
    def first(self) -> float:
        """First reading [kPa]."""
        return float(self.u[0])

    @property
    def length(self) -> float:
        """Time of the last reading since the stop [s]."""
        return float(self.time[-1])


def prepare(test: Dissipation, choice: DissipationChoice) -> Record:
    """Return the record of a test, ready to be read."""
    findings: list[Finding] = []
    channel = _channel(test, choice)
    if channel is None:
        findings.append(
            _finding(
                test,
                "dissipation-no-pressure",
                Severity.CAUTION,
                "the test holds no pore pressure",
                "u2 (or u1, u3) over time",
            )
        )
        return _empty(choice.channel or "u2", findings)
    time, u = test.readings.get("time"), test.readings[channel]
    known = np.isfinite(time) & np.isfinite(u)
    time, u = time[known], u[known]
    backward = int((np.diff(time) < 0).sum())
    if backward:
        order = np.argsort(time, kind="stable")
        time, u = time[order], u[order]
        text = f"time runs backward {backward} times in the record; it was put in order"
        findings.append(_finding(test, "dissipation-order", Severity.INFO, text, "rising time"))
    t0 = _time_zero(test, time, choice, findings)
    kept = time >= t0
    time, u = np.round(time[kept] - t0, CLOCK), u[kept]
    if len(u) < FEWEST or time[-1] <= time[0]:
        over = f" over {time[-1] - time[0]:.1f} s" if len(u) else ""
        text = f"the record has {len(u)} readings{over}"
        findings.append(
            _finding(
                test,
                "dissipation-few-readings",
                Severity.CAUTION,
                text,
                f"at least {FEWEST}; usual is two a second at the start",
            )
        )
        return _empty(channel, findings)
    smooth = running_median(u, 3)
    noise = _noise(u)
    kind, peak = _kind(smooth, noise)
    findings += _remarks(test, time, channel)
    return Record(channel, t0, time, u, smooth, noise, kind, peak, tuple(findings))


def running_median(values: FloatArray, width: int) -> FloatArray:
    """Return the running median; the ends keep their values.

    Examples
    --------
    >>> running_median(np.array([1.0, 9.0, 2.0, 3.0]), 3).tolist()
    [1.0, 2.0, 3.0, 3.0]
    """
    if len(values) < width:
        return values
    inside = np.median(np.lib.stride_tricks.sliding_window_view(values, width), axis=1)
    half = width // 2
    return np.concatenate([values[:half], inside, values[len(values) - half :]])


def _channel(test: Dissipation, choice: DissipationChoice) -> str | None:
    wanted = (choice.channel,) if choice.channel else ("u2", "u1", "u3")
    return next((key for key in wanted if test.readings.measured(key)), None)


def _time_zero(
    test: Dissipation, time: FloatArray, choice: DissipationChoice, findings: list[Finding]
) -> float:
    """Return when the push stopped: given, else zero, else the first reading of a late record."""
    if choice.t0 is not None:
        return choice.t0
    if not time.size or (0.0 <= time[0] <= LATE_START):
        return 0.0
    text = f"the record begins at {time[0]:.1f} s; that reading is taken as the stop of the push"
    findings.append(
        _finding(
            test,
            "dissipation-time-zero",
            Severity.CAUTION,
            text,
            "time from the stop of the push; give t0 if the clock ran from elsewhere",
        )
    )
    return float(time[0])


def _noise(u: FloatArray) -> float:
    """Return the scatter of a reading about its neighbours [kPa]."""
    second = u[:-2] - 2.0 * u[1:-1] + u[2:]
    scatter = 1.4826 * float(np.median(np.abs(second))) / math.sqrt(6.0)
    steps = np.abs(np.diff(u))
    steps = steps[steps > 0]
    return max(scatter, float(steps.min()) / 3.0 if steps.size else 0.0)


def _kind(smooth: FloatArray, noise: float) -> tuple[DissipationKind, int]:
    wide = running_median(smooth, 5)
    span = float(np.ptp(wide))
    if span < max(LEAST_CHANGE, 4.0 * noise):
        return DissipationKind.FLAT, 0
    least = max(LEAST_CHANGE, 3.0 * noise, LEAST_SHARE * span)
    peak = int(np.argmax(wide))
    rise = float(wide[peak] - wide[: peak + 1].min())
    fall = float(wide[peak] - wide[peak:].min())
    if rise < least:
        return DissipationKind.FALLING, 0
    return (DissipationKind.RISING_FIRST if fall >= least else DissipationKind.RISING), peak


def _remarks(test: Dissipation, time: FloatArray, channel: str) -> list[Finding]:
    found = []
    if time[0] > 1.0:
        found.append(
            _finding(
                test,
                "dissipation-first-reading",
                Severity.INFO,
                f"the first reading is {time[0]:.1f} s after the stop; the highest pressure may "
                "have passed",
                "a reading within 1 s of the stop",
                "elapsed time to 1 s or better: Dutch register (verified)",
                channel,
            )
        )
    qc = test.readings.get("qc")
    known = qc[np.isfinite(qc)]
    if known.size > FEWEST and known[0] > 0 and known.min() < 0.5 * known[0]:
        found.append(
            _finding(
                test,
                "dissipation-load-relaxed",
                Severity.INFO,
                f"qc falls from {known[0] / 1e3:.2f} to {known.min() / 1e3:.2f} MPa during the "
                "test: the load on the cone relaxed, which moves the start of the record",
                "state whether the rods were clamped",
                "Sills & Hird 2005 (abstract read)",
                "qc",
            )
        )
    return found


def _finding(
    test: Dissipation,
    name: str,
    severity: Severity,
    found: str,
    expected: str = "",
    source: str = "",
    channel: str = "",
) -> Finding:
    return Finding(name, severity, found, expected, test.depth, source=source, channel=channel)


def _empty(channel: str, findings: list[Finding]) -> Record:
    nothing = np.empty(0)
    return Record(
        channel, 0.0, nothing, nothing, nothing, 0.0, DissipationKind.EMPTY, 0, tuple(findings)
    )

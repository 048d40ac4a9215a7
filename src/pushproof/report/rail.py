"""The proof rail: what is known, depth by depth, about where the values came from.

A narrow strip along the depth axis of every log. This module says what it shows; drawing is done
elsewhere, so that paper and page tell the same story. It judges nothing: findings come from the
checks, and here they only get their number and place.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding
from pushproof.model.profile import Interpretation, Profile
from pushproof.model.series import Origin, Reason, Series
from pushproof.report.curves import gap_length

FloatArray = NDArray[np.float64]

RATE_SLOW, RATE_FAST = 0.015, 0.025
"""Band of the penetration rate [m/s]: 20 +/- 5 mm/s, ENV 1997-3, 3.4.2(3) (verified)."""
_RATE_OVER = 0.10
"""The rate is judged over at least this length [m], so that one late reading is no fault."""
TILT_STEP = 1.0
"""Change of tilt that is shown [deg] within TILT_WITHIN [m]: common practice, from memory."""
TILT_WITHIN = 0.5
PAUSE = 15.0
"""A stop between two readings longer than this [s] is shown as a pause."""


class Trace(StrEnum):
    """What a stretch of the rail is filled with."""

    LIVE = "live"
    MEMORY = "cone memory"
    IMPORTED = "imported"
    SIMULATED = "simulated"
    UNKNOWN = "origin not stated"
    BLANKED = "blanked"
    PREDRILLED = "pre-excavated"
    MISSING = "missing"


_OF_ORIGIN = {
    Origin.UNKNOWN: Trace.UNKNOWN,
    Origin.LIVE: Trace.LIVE,
    Origin.MEMORY: Trace.MEMORY,
    Origin.IMPORTED: Trace.IMPORTED,
    Origin.SIMULATED: Trace.SIMULATED,
}


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch [m] of one kind."""

    trace: Trace
    top: float
    base: float


@dataclass(frozen=True, slots=True)
class RateSpan:
    """A stretch [m] pushed too slowly or too fast."""

    fast: bool
    top: float
    base: float


@dataclass(frozen=True, slots=True)
class Mark:
    """A point on the rail: ``rod-change``, ``pause``, ``dissipation`` or ``tilt-step``."""

    kind: str
    depth: float
    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class Numbered:
    """A finding with the number by which the rail and the notes name it."""

    number: int
    finding: Finding


@dataclass(frozen=True, slots=True)
class Rail:
    """Everything the proof rail of one sounding shows."""

    spans: tuple[Span, ...]
    rate: tuple[RateSpan, ...]
    marks: tuple[Mark, ...]
    findings: tuple[Numbered, ...]

    @property
    def traces(self) -> list[Trace]:
        """The kinds of stretch that occur, in the order of the key."""
        found = {span.trace for span in self.spans}
        return [trace for trace in Trace if trace in found]

    @property
    def kinds(self) -> list[str]:
        """The kinds of mark that occur."""
        return sorted({mark.kind for mark in self.marks})


def rail(interpretation: Interpretation) -> Rail:
    """Collect what the proof rail of a sounding shows.

    Parameters
    ----------
    interpretation
        The sounding with all findings so far.
    """
    profile = interpretation.profile
    return Rail(
        spans=tuple(_spans(profile)),
        rate=tuple(_rate(profile.series)),
        marks=tuple(_marks(profile)),
        findings=tuple(number_findings(interpretation.findings)),
    )


def number_findings(findings: Iterable[Finding]) -> list[Numbered]:
    """Number findings: those of the whole sounding first, then from the top down."""
    order = sorted(
        findings, key=lambda f: (f.top is not None, f.top or 0.0, -f.severity, f.id, f.found)
    )
    return [Numbered(k + 1, finding) for k, finding in enumerate(order)]


def _spans(profile: Profile) -> list[Span]:
    depth = profile.series.get("depth")
    if not len(depth):
        return []
    traces = _traces(profile)
    gap = gap_length(depth)
    middle = (depth[1:] + depth[:-1]) / 2
    broken = np.diff(depth) > gap
    half = np.nanmedian(np.diff(depth)) / 2 if len(depth) > 1 else 0.01
    tops = np.concatenate([[depth[0] - half], np.where(broken, depth[1:] - half, middle)])
    bases = np.concatenate([np.where(broken, depth[:-1] + half, middle), [depth[-1] + half]])
    change = np.ones(len(depth), dtype=bool)
    change[1:] = (traces[1:] != traces[:-1]) | broken
    starts = np.flatnonzero(change)
    ends = np.append(starts[1:], len(depth)) - 1
    found: list[Span] = []
    here = min(0.0, float(tops[0]))
    predrilled = _predrilled(profile)
    for a, b in zip(starts, ends, strict=True):
        top, base = max(float(tops[a]), here), float(bases[b])
        found += _between(here, top, predrilled)
        found.append(Span(list(Trace)[traces[a]], top, base))
        here = base
    return found


def _between(top: float, base: float, predrilled: float) -> list[Span]:
    """Fill a stretch without rows: pre-excavated down to that depth, missing below."""
    found = []
    edge = min(max(top, predrilled), base)
    if edge - top > 1e-6:
        found.append(Span(Trace.PREDRILLED, top, edge))
    if base - edge > 0.03:
        found.append(Span(Trace.MISSING, edge, base))
    return found


def _predrilled(profile: Profile) -> float:
    given = profile.recipe.predrilled
    stated = profile.sounding.predrilled
    return given if given is not None else stated or 0.0


def _traces(profile: Profile) -> NDArray[np.int64]:
    """Return the index into :class:`Trace` of every row."""
    series = profile.series
    index = {trace: k for k, trace in enumerate(Trace)}
    default = Trace.IMPORTED if profile.sounding.source is not None else Trace.UNKNOWN
    codes = np.full(len(series), index[default], dtype=np.int64)
    if "origin" in series:
        for origin, trace in _OF_ORIGIN.items():
            if origin is not Origin.UNKNOWN:
                codes[series["origin"] == int(origin)] = index[trace]
    reason = series.reason("qc" if "qc" in series else "qt")
    lost = (Reason.VOID_IN_FILE, Reason.NOT_MEASURED, Reason.LOST_ON_LINK, Reason.UNREADABLE)
    codes[np.isin(reason, lost)] = index[Trace.MISSING]
    codes[reason == Reason.ROD_CHANGE] = index[Trace.BLANKED]
    codes[reason == Reason.BLANKED] = index[Trace.BLANKED]
    codes[reason == Reason.PREDRILLED] = index[Trace.PREDRILLED]
    return codes


def _rate(series: Series) -> list[RateSpan]:
    depth = series.get("depth")
    rate = push_rate(series)
    known = np.isfinite(rate)
    if known.sum() < 2:
        return []
    state = np.where(rate < RATE_SLOW, -1, np.where(rate > RATE_FAST, 1, 0))
    state[~known] = 0
    found = []
    starts = np.flatnonzero(np.diff(state, prepend=9))
    ends = np.append(starts[1:], len(state)) - 1
    for a, b in zip(starts, ends, strict=True):
        if state[a] and depth[b] - depth[a] >= _RATE_OVER:
            found.append(RateSpan(bool(state[a] > 0), float(depth[a]), float(depth[b])))
    return found


def push_rate(series: Series) -> FloatArray:
    """Return the rate of penetration [m/s] as measured, else from length and time; NaN unknown."""
    return series["rate"] if series.measured("rate") else _rate_from_time(series)


def _rate_from_time(series: Series) -> FloatArray:
    """Return the rate over the last readings, from length and time; NaN over pauses.

    The window is long enough that a clock which counts whole seconds moves the rate by no more
    than a tenth.
    """
    empty = np.full(len(series), np.nan)
    if not series.measured("time"):
        return empty
    time = series["time"]
    along = series["length"] if series.measured("length") else series.get("depth")
    steps = np.diff(time)
    ahead = steps[steps > 0]
    if not ahead.size:
        return empty
    lag = max(5, int(np.ceil(10 * np.min(ahead) / np.median(ahead))))
    if len(series) <= lag:
        return empty
    took = time[lag:] - time[:-lag]
    longest = np.lib.stride_tricks.sliding_window_view(steps, lag).max(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = (along[lag:] - along[:-lag]) / took
    rate[(took <= 0) | (longest > PAUSE) | (along[lag:] - along[:-lag] > 1.0)] = np.nan
    empty[lag:] = rate
    return empty


def _marks(profile: Profile) -> list[Mark]:
    series, sounding = profile.series, profile.sounding
    depth = series.get("depth")
    marks = [
        Mark(e.kind, e.depth, e.duration)
        for e in sounding.events
        if e.depth is not None and e.kind in ("rod-change", "pause", "dissipation")
    ]
    for test in sounding.dissipations:
        seconds = test.readings.get("time")
        last = float(np.nanmax(seconds)) if np.isfinite(seconds).any() else None
        marks.append(Mark("dissipation", test.depth, last))
    marks += _pauses(series, depth, [mark.depth for mark in marks])
    if series.measured("tilt"):
        marks += [Mark("tilt-step", z) for z in _tilt_steps(depth, series["tilt"])]
    return sorted(marks, key=lambda m: (m.depth, m.kind))


def _pauses(series: Series, depth: FloatArray, known: list[float]) -> list[Mark]:
    """Return stops seen in the time column that no event explains."""
    if not series.measured("time"):
        return []
    stops = np.diff(series["time"])
    found = []
    for row in np.flatnonzero(stops > PAUSE):
        step = depth[row + 1] - depth[row]
        here = float(depth[row + 1])
        if step <= 0.5 and not any(abs(here - z) < 0.06 for z in known):
            found.append(Mark("pause", here, float(stops[row])))
    return found


def _tilt_steps(depth: FloatArray, tilt: FloatArray) -> list[float]:
    """Return depths where the tilt changes by TILT_STEP or more within TILT_WITHIN."""
    rows = np.flatnonzero(np.isfinite(tilt) & np.isfinite(depth))
    if rows.size < 2:
        return []
    z, a = depth[rows], tilt[rows]
    before = np.searchsorted(z, z - TILT_WITHIN, side="left")
    jump = np.abs(a - a[before])
    over = np.flatnonzero(jump >= TILT_STEP)
    if not over.size:
        return []
    groups = np.split(over, np.flatnonzero(np.diff(z[over]) > TILT_WITHIN) + 1)
    return [float(z[group[np.argmax(jump[group])]]) for group in groups]

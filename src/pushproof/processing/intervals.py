"""Intervals: the pre-excavated part, void rows and what a decision blanks."""

from __future__ import annotations

import numpy as np

from pushproof.model.findings import Finding, Severity
from pushproof.model.recipe import BlankedInterval
from pushproof.model.series import Reason, Series

MEASURED = ("qc", "fs", "u1", "u2", "u3")
TOLERANCE = 0.02
"""Registers round the pre-excavated depth; rows this close to it are not yet below it [m]."""


def pre_excavated(series: Series, depth: float | None) -> tuple[Series, tuple[Finding, ...]]:
    """Leave out what was read above the pre-excavated depth [m], with the reason."""
    channels = [key for key in MEASURED if key in series]
    length = series["length"]
    first = _first_reading(series, channels)
    if not depth:
        if first is not None and first > 0.5:
            return series, (
                Finding(
                    "predrilled-not-stated",
                    Severity.INFO,
                    f"the first reading is at {first:.2f} m and no pre-excavation is stated",
                    "the depth of the pre-excavation",
                    top=0.0,
                    base=first,
                ),
            )
        return series, ()
    inside = length < depth - TOLERANCE
    values = 0
    for key in channels:
        values += int(np.count_nonzero(inside & np.isfinite(series[key])))
        kept = np.where(inside, np.nan, series[key])
        codes = np.where(inside, np.uint8(Reason.PREDRILLED), series.reason(key))
        series = series.with_column(key, kept, codes.astype(np.uint8))
    if not values:
        return series, ()
    return series, (
        Finding(
            "values-in-predrilled",
            Severity.INFO,
            f"{values} values stand above the pre-excavated depth of {depth:.2f} m; left out",
            top=0.0,
            base=depth,
        ),
    )


def void_rows(series: Series) -> tuple[Finding, ...]:
    """Report rows in which nothing was measured, below the first reading."""
    channels = [key for key in MEASURED if key in series]
    first = _first_reading(series, channels)
    if first is None:
        return (
            Finding(
                "no-readings",
                Severity.STOP,
                "there is no measured value at any depth",
                "at least a cone resistance with depth",
            ),
        )
    empty = np.all([~np.isfinite(series[key]) for key in channels], axis=0)
    empty &= series["length"] > first
    if not empty.any():
        return ()
    where = np.flatnonzero(empty)
    return (
        Finding(
            "rows-void",
            Severity.INFO,
            f"{where.size} rows hold no measured value; they stay gaps",
            top=float(series["length"][where[0]]),
            base=float(series["length"][where[-1]]),
        ),
    )


def blank(
    series: Series, intervals: tuple[BlankedInterval, ...]
) -> tuple[Series, tuple[Finding, ...]]:
    """Leave out the intervals that a decision blanks; each one is reported with its reason."""
    findings = []
    for interval in intervals:
        rows = (series["length"] >= interval.top) & (series["length"] <= interval.base)
        changed = 0
        for key in interval.channels or MEASURED:
            if key in series:
                changed += int(np.count_nonzero(rows & np.isfinite(series[key])))
                series = series.blank(key, rows, Reason.BLANKED)
        findings.append(
            Finding(
                "blanked",
                Severity.INFO,
                f"{changed} values blanked by decision: {interval.reason}",
                top=interval.top,
                base=interval.base,
            )
        )
    return series, tuple(findings)


def _first_reading(series: Series, channels: list[str]) -> float | None:
    firsts = []
    for key in channels:
        where = np.flatnonzero(np.isfinite(series[key]))
        if where.size:
            firsts.append(float(series["length"][where[0]]))
    return min(firsts, default=None)

"""Order: rows sorted by penetration length, with the original order kept and reported."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Series

BACKWARD_STEP = 0.005
"""Smallest backward step that is reported [m]; below it is the noise of an encoder."""


@dataclass(frozen=True)
class Ordered:
    """Rows in the order of penetration length.

    ``row`` has shape (m,) and points into the readings; ``length`` is their penetration length
    [m]. Rows without a length cannot be placed and are left out, with a finding.
    """

    row: NDArray[np.intp]
    length: NDArray[np.float64]
    findings: tuple[Finding, ...]
    length_is_depth: bool


def order(readings: Series) -> Ordered:
    """Sort readings by penetration length.

    Where a sounding gives only a depth, the depth stands for the length, and that is reported.
    """
    findings: list[Finding] = []
    only_depth = not readings.measured("length") and readings.measured("depth")
    length = readings.get("depth" if only_depth else "length")
    if only_depth:
        findings.append(
            Finding(
                "length-not-given",
                Severity.INFO,
                "only a depth is given, no penetration length; it is taken as it is and not "
                "corrected for tilt",
            )
        )
    placed = np.flatnonzero(np.isfinite(length))
    lost = len(length) - placed.size
    if lost:
        findings.append(
            Finding(
                "length-missing",
                Severity.CAUTION,
                f"{lost} of {len(length)} rows have no penetration length and cannot be placed",
                "a length for every reading",
            )
        )
    findings += _steps(readings, length, placed)
    row = placed[np.argsort(length[placed], kind="stable")]
    ordered = length[row]
    findings += _repeats(ordered)
    return Ordered(row, ordered, tuple(findings), only_depth)


def _steps(
    readings: Series, length: NDArray[np.float64], placed: NDArray[np.intp]
) -> list[Finding]:
    """Report a file that is not sorted, and steps that really went backward."""
    given = length[placed]
    unsorted = int(np.count_nonzero(np.diff(given) < 0))
    if not unsorted:
        return []
    time = readings.get("time")[placed]
    by_time = given
    if np.isfinite(time).all() and np.unique(time).size > 1:
        by_time = given[np.argsort(time, kind="stable")]
    step = np.diff(by_time)
    backward = step < -BACKWARD_STEP
    if not backward.any():
        return [
            Finding(
                "rows-unsorted",
                Severity.INFO,
                f"the rows are not in the order of length ({unsorted} steps back in the file); "
                "sorted, the order of the file is kept",
            )
        ]
    worst = int(np.argmin(step))
    return [
        Finding(
            "length-backward",
            Severity.CAUTION,
            f"length goes back {int(backward.sum())} times, at most "
            f"{-step[worst] * 1000:.0f} mm; the rows are sorted by length",
            "length that only grows during a push",
            top=float(by_time[worst + 1]),
            base=float(by_time[worst]),
        )
    ]


def _repeats(ordered: NDArray[np.float64]) -> list[Finding]:
    if ordered.size < 2:
        return []
    same = np.diff(ordered) == 0
    count = int(same.sum())
    if not count:
        return []
    edges = np.flatnonzero(np.diff(np.concatenate(([0], same.view(np.int8), [0]))))
    starts, ends = edges[::2], edges[1::2]
    longest = int(np.argmax(ends - starts))
    return [
        Finding(
            "length-repeated",
            Severity.INFO,
            f"{count} rows repeat the length of the row before; the longest run has "
            f"{int(ends[longest] - starts[longest]) + 1} rows",
            top=float(ordered[starts[longest]]),
        )
    ]

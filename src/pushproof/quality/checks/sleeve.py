"""The sleeve: is friction recorded at the depth of the tip, and how far is it off?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.quality.checks.registry import check

LONGEST = 0.30
"""Largest shift that is looked for [m]."""


def sleeve_offset(profile: Profile) -> tuple[float, float] | None:
    """Return the shift [m] at which fs follows qc best, and the correlation there.

    A positive shift means that fs lags: it stands deeper than the qc it belongs to. The logarithms
    are correlated after taking out their slow trend, on an even grid. None where there is too
    little contrast to tell.
    """
    series = profile.series
    usable = np.isfinite(series.get("qc")) & np.isfinite(series.get("fs"))
    usable &= (series.get("qc") > 100) & (series.get("fs") > 2)
    if np.count_nonzero(usable) < 200:
        return None
    length = series["length"][usable]
    grid = np.arange(length[0], length[-1], 0.01)
    logs = [np.interp(grid, length, np.log(series[key][usable])) for key in ("qc", "fs")]
    window = np.ones(201) / 201
    qc, fs = (one - np.convolve(np.pad(one, 100, mode="edge"), window, "valid") for one in logs)
    if np.std(qc) < 0.1 or np.std(fs) < 0.1:
        return None
    most = round(LONGEST / 0.01)
    shifts = np.arange(-most, most + 1)
    scores = []
    for shift in shifts.tolist():
        a, b = (qc[: len(qc) - shift], fs[shift:]) if shift >= 0 else (qc[-shift:], fs[:shift])
        scores.append(float(np.corrcoef(a, b)[0, 1]))
    best = int(np.argmax(scores))
    if best in (0, len(scores) - 1) or scores[best] < 0.35:
        return None
    return float(shifts[best]) * 0.01, scores[best]


@check(
    "sleeve-offset",
    "friction against resistance along depth",
    "cross-correlation: Geotechnical Testing Journal 25(1) p. 61 (abstract seen)",
)
def check_sleeve_offset(profile: Profile) -> Iterator[Finding]:
    """Report the shift between fs and qc, which depends on how the file was made."""
    found = sleeve_offset(profile)
    if found is None:
        return
    shift, score = found
    stated = profile.sounding.cone.tip_to_mid_sleeve
    if abs(shift) <= 0.03:
        return
    known = "" if stated is None else f"; the middle of the sleeve is {stated * 1000:.0f} mm up"
    yield Finding(
        "sleeve-offset",
        Severity.INFO,
        f"fs follows qc best {shift * 1000:+.0f} mm deeper (correlation {score:.2f}){known}",
        "shift fs by that distance as a decision, where the file has not done it",
        channel="fs",
    )

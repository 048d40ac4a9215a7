"""Interruptions: what rod changes and pauses leave in the record."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.processing.corrections import pauses
from pushproof.quality.checks.registry import check


@check(
    "interruptions",
    "what pauses leave in the record",
    "edits of interruptions must be declared: Dutch register (verified)",
)
def interruptions(profile: Profile) -> Iterator[Finding]:
    """Report how far readings fall back at pauses and how long they need to recover."""
    series = profile.series
    length = series["length"]
    stops = sorted(pauses(series, profile.sounding))
    if not stops or len(series) < 50:
        return
    rows = np.searchsorted(length, np.add(stops, 1e-6))
    for key in ("qc", "fs", "u2"):
        if not series.measured(key):
            continue
        drops, reach = [], []
        for row in rows.tolist():
            if row < 8 or row + 30 > len(series):
                continue
            leading = series[key][row - 6 : row]
            after = series[key][row : row + 30]
            if not np.isfinite(leading).all():
                continue
            before = float(np.median(leading))
            if not np.isfinite(after).all() or before <= 20:
                continue
            drop = (before - float(after[0])) / before
            if drop < 0.05:
                continue
            back = np.flatnonzero(after >= before - 0.2 * (before - after[0]))
            drops.append(drop)
            reach.append(float(length[row + back[0]] - length[row]) if back.size else np.nan)
        if len(drops) < max(3, 0.3 * len(stops)):
            continue
        known = [value for value in reach if np.isfinite(value)]
        far = f", back within {np.median(known):.2f} m" if known else ""
        yield Finding(
            f"interruption-{key}",
            Severity.INFO,
            f"{key} falls by {np.median(drops):.0%} at {len(drops)} of {len(stops)} pauses{far}",
            "mark the recovery length in the derived columns, and declare it",
            channel=key,
        )

"""Applies the corrections of a recipe, and says of each what it changed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pushproof.model.corrections import (
    AnyCorrection,
    DepthShift,
    Despike,
    Offset,
    RodChangeBlank,
    SleeveShift,
    Temperature,
    Truncate,
    ZeroShare,
)
from pushproof.model.profile import Effect
from pushproof.model.series import Reason, Series
from pushproof.model.sounding import Sounding
from pushproof.processing.spikes import spikes

CHANNELS = ("qc", "fs", "u1", "u2", "u3")
PAUSE = 5.0
"""Seconds beyond the time of pushing at 20 mm/s that make a pause; common practice."""


def apply_all(
    series: Series, sounding: Sounding, corrections: tuple[AnyCorrection, ...]
) -> tuple[Series, tuple[Effect, ...]]:
    """Apply corrections in the order listed.

    Parameters
    ----------
    series
        Rows sorted by length.
    sounding
        Facts that a correction needs: zero readings, events.
    corrections
        The decisions.

    Returns
    -------
    Series, tuple of Effect
        The corrected series, and for each correction and channel how many readings it changed and
        by how much at most.
    """
    effects: list[Effect] = []
    for one in corrections:
        changed = _apply(series, sounding, one)
        effects += _effects(series, changed, one)
        series = changed
    return series, tuple(effects)


def _apply(series: Series, sounding: Sounding, one: AnyCorrection) -> Series:
    match one:
        case ZeroShare():
            return _zero_share(series, sounding, one)
        case Temperature():
            return _temperature(series, one)
        case SleeveShift():
            return _sleeve_shift(series, one)
        case DepthShift():
            return series.with_column("length", series["length"] + one.distance)
        case Despike():
            return _despike(series, one)
        case RodChangeBlank():
            return _rod_changes(series, sounding, one)
        case Offset():
            return _add(series, one.channel, np.full(len(series), one.amount))
        case Truncate():
            return _truncate(series, one)


def _add(series: Series, key: str, amount: NDArray[np.float64]) -> Series:
    if key not in series:
        return series
    return series.with_column(key, series[key] + amount, series.reason(key))


def _zero_share(series: Series, sounding: Sounding, one: ZeroShare) -> Series:
    change = one.change
    if change is None:
        before = next((z.value for z in sounding.zeros_before if z.channel == one.channel), None)
        after = next((z.value for z in sounding.zeros_after if z.channel == one.channel), None)
        if before is None or after is None:
            return series
        change = after - before
    share = np.ones(len(series))
    if one.over != "all" and len(series) > 1:
        along = series.get("time") if one.over == "time" else series["length"]
        if not np.isfinite(along).all():
            along = series["length"]
        share = (along - along[0]) / max(float(along[-1] - along[0]), 1e-9)
    return _add(series, one.channel, -change * share)


def _temperature(series: Series, one: Temperature) -> Series:
    warm = series.get("temperature")
    amount = np.where(np.isfinite(warm), -one.coefficient * (warm - one.reference), 0.0)
    return _add(series, one.channel, amount)


def _sleeve_shift(series: Series, one: SleeveShift) -> Series:
    """Take fs from ``distance`` deeper, between its neighbours; a gap is not bridged."""
    if "fs" not in series:
        return series
    length, fs = series["length"], series["fs"]
    known = np.isfinite(fs)
    if np.count_nonzero(known) < 2:
        return series
    at = length + one.distance
    moved = np.interp(at, length[known], fs[known], left=np.nan, right=np.nan)
    place = np.clip(np.searchsorted(length[known], at), 1, int(known.sum()) - 1)
    wide = length[known][place] - length[known][place - 1] > 0.15
    moved = np.where(wide, np.nan, moved)
    reason = np.where(known, np.uint8(Reason.OUTSIDE_VALIDITY), series.reason("fs"))
    return series.with_column("fs", moved, reason.astype(np.uint8))


def _despike(series: Series, one: Despike) -> Series:
    if one.channel not in series:
        return series
    present = np.flatnonzero(np.isfinite(series[one.channel]))
    spike = np.zeros(len(series), dtype=bool)
    found, _ = spikes(series[one.channel][present], one.channel, one.deviations)
    spike[present] = found
    return series.blank(one.channel, spike, Reason.BLANKED)


def _rod_changes(series: Series, sounding: Sounding, one: RodChangeBlank) -> Series:
    length = series["length"]
    rows = np.zeros(len(series), dtype=bool)
    for start in pauses(series, sounding):
        rows |= (length > start + 1e-6) & (length <= start + one.recovery)
    for key in one.channels:
        if key in series:
            series = series.blank(key, rows, Reason.ROD_CHANGE)
    return series


def pauses(series: Series, sounding: Sounding) -> list[float]:
    """Return the lengths [m] at which the push paused: from events, else from the times."""
    stated = [
        event.depth
        for event in sounding.events
        if event.kind in ("rod-change", "pause", "dissipation") and event.depth is not None
    ]
    if stated:
        return stated
    if not series.measured("time") or len(series) < 2:
        return []
    wait = np.diff(series["time"]) - np.diff(series["length"]) / 0.02
    return [float(x) for x in series["length"][:-1][wait > PAUSE]]


def _truncate(series: Series, one: Truncate) -> Series:
    rows = np.zeros(len(series), dtype=bool)
    if one.top is not None:
        rows |= series["length"] < one.top
    if one.base is not None:
        rows |= series["length"] > one.base
    for key in CHANNELS:
        if key in series:
            series = series.blank(key, rows, Reason.BLANKED)
    return series


def _effects(before: Series, after: Series, one: AnyCorrection) -> list[Effect]:
    effects = []
    for key in ("length", *CHANNELS):
        if key not in before:
            continue
        old, new = before[key], after[key]
        both = np.isfinite(old) & np.isfinite(new)
        moved = both & (old != new)
        gone = np.isfinite(old) & ~np.isfinite(new)
        if not moved.any() and not gone.any():
            continue
        largest = float(np.max(np.abs(new - old)[moved])) if moved.any() else None
        effects.append(
            Effect(one.kind, key, int(moved.sum()), int(gone.sum()), largest, one.reason)
        )
    if not effects:
        effects.append(Effect(one.kind, "", 0, 0, None, one.reason))
    return effects

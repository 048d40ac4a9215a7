"""Depth from penetration length and tilt, by ISO 22476-1:2012 Annex B."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.corrections import depth_factor_resultant, depth_factor_two_axes
from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Reason, Series

FloatArray = NDArray[np.float64]
IMPOSSIBLE = 60.0
"""Tilt that no rod string survives [deg]: a fault of the sensor, or a void that nobody declared."""


@dataclass(frozen=True)
class Depth:
    """Depth [m] of shape (n,), the resultant tilt [deg] if any, and where they came from."""

    depth: FloatArray
    tilt: FloatArray | None
    is_length: bool
    findings: tuple[Finding, ...]


def depth_from_tilt(series: Series, length: FloatArray, *, correct: bool = True) -> Depth:
    """Return depth along a push.

    Parameters
    ----------
    series
        Rows sorted by length, with ``tilt`` or ``tilt_x`` and ``tilt_y`` [deg] where measured,
        and the ``depth`` that the source stored, if it did.
    length
        Penetration length [m], shape (n,).
    correct
        False to leave depth equal to length whatever the tilt says.

    Notes
    -----
    The factor is taken as linear between readings (trapezoid). Above the first tilt the rods are
    taken as vertical; a gap in the tilt is bridged linearly and reported. A tilt beyond what rods
    survive counts as no reading, and is reported.
    """
    series, findings = _possible(series, length)
    factor, tilt = depth_factor(series)
    if factor is None and correct and series.measured("depth") and series.measured("length"):
        stored = _stored(series, length)
        return replace(stored, findings=(*findings, *stored.findings))
    if factor is None or not correct:
        return Depth(length, tilt, is_length=True, findings=tuple(findings))
    known = np.isfinite(factor)
    gaps = int(np.count_nonzero(~known))
    if gaps:
        findings.append(_gap_finding(length, known, gaps))
    filled = np.interp(length, length[known], factor[known], left=1.0)
    step = np.diff(length, prepend=length[:1])
    mean = (filled + np.concatenate((filled[:1], filled[:-1]))) / 2
    depth = length[:1] + np.cumsum(step * mean) if length.size else length
    return Depth(depth, tilt, is_length=False, findings=tuple(findings))


def depth_factor(series: Series) -> tuple[FloatArray | None, FloatArray | None]:
    """Return the factor from length to depth and the resultant tilt [deg], or None, None.

    Two perpendicular axes are preferred where both are measured, since a stored resultant is
    often rounded to whole degrees.
    """
    if series.measured("tilt_x") and series.measured("tilt_y"):
        factor = depth_factor_two_axes(series["tilt_x"], series["tilt_y"])
        if np.isfinite(factor).any():  # no row may have both
            single = series.get("tilt")
            return factor, np.where(
                np.isfinite(factor), np.degrees(np.arccos(np.clip(factor, -1, 1))), single
            )
    if series.measured("tilt"):
        tilt = np.abs(series["tilt"])
        return depth_factor_resultant(tilt), tilt
    return None, None


def _stored(series: Series, length: FloatArray) -> Depth:
    stored = series["depth"]
    depth = np.where(np.isfinite(stored), np.minimum(stored, length), np.nan)
    findings = [
        Finding(
            "depth-as-stored",
            Severity.INFO,
            "no tilt is given; the depth that the file states is used",
        )
    ]
    holes = ~np.isfinite(depth)
    if holes.any() and not holes.all():
        depth = np.interp(length, length[~holes], depth[~holes], left=np.nan, right=np.nan)
        depth = np.where(np.isfinite(depth), depth, length)
        findings.append(
            Finding(
                "depth-bridged",
                Severity.CAUTION,
                f"{int(holes.sum())} rows have no stored depth; bridged between their neighbours",
            )
        )
    return Depth(depth, None, is_length=False, findings=tuple(findings))


def _possible(series: Series, length: FloatArray) -> tuple[Series, list[Finding]]:
    """Leave out tilts beyond what rods survive, with a finding for each channel."""
    findings = []
    for key in ("tilt", "tilt_x", "tilt_y"):
        wild = np.abs(series.get(key)) > IMPOSSIBLE
        if not wild.any():
            continue
        where = np.flatnonzero(wild)
        worst = float(np.abs(series[key][where]).max())
        series = series.blank(key, wild, Reason.OUTSIDE_VALIDITY)
        findings.append(
            Finding(
                "tilt-impossible",
                Severity.CAUTION,
                f"{where.size} values of {key} are beyond {IMPOSSIBLE:g} deg, the largest is "
                f"{worst:.4g} deg; not used for depth",
                "a working inclinometer; check its unit and its void value",
                top=float(length[where[0]]),
                base=float(length[where[-1]]),
                channel=key,
            )
        )
    return series, findings


def _gap_finding(length: FloatArray, known: NDArray[np.bool_], gaps: int) -> Finding:
    where = np.flatnonzero(~known)
    return Finding(
        "tilt-gap",
        Severity.INFO,
        f"{gaps} rows have no tilt; bridged between their neighbours to compute depth",
        top=float(length[where[0]]),
        base=float(length[where[-1]]),
        channel="tilt",
    )

"""Channels: which were really measured, and the corrected resistances."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.corrections import ft_end_areas, qt_area_ratio, rf_over_qt
from pushproof.model.equipment import Cone
from pushproof.model.findings import Finding, Severity
from pushproof.model.quantities import Kind
from pushproof.model.series import Reason, Series, extra_quantity

STORED = "stored:"
"""Prefix of a corrected or derived column that a file brought along; kept, not used."""


def set_stored_aside(series: Series) -> Series:
    """Rename corrected and derived columns of a file, since results are always computed."""
    computed = (Kind.CORRECTED, Kind.STRESS, Kind.DERIVED)
    for key in tuple(series):
        if key in series.extras or series.quantity(key).kind not in computed:
            continue
        series = copy_stored(series, key).without(key)
    return series


def copy_stored(series: Series, key: str) -> Series:
    """Keep a column under its stored name too, before it is computed anew."""
    row = series.quantity(key)
    kept = extra_quantity(STORED + key, f"{row.name}, as stored", row.unit)
    return series.with_column(STORED + key, series[key], series.reason(key), extra=kept)


def drop_unfitted(series: Series) -> tuple[Series, tuple[Finding, ...]]:
    """Take out pore pressure channels that are zero all the way: no filter was fitted."""
    findings = []
    for key in ("u1", "u2", "u3"):
        if key not in series:
            continue
        values = series[key][np.isfinite(series[key])]
        if values.size and not values.any():
            series = series.without(key)
            findings.append(
                Finding(
                    f"{key}-not-fitted",
                    Severity.CAUTION,
                    f"{key} is zero at every depth; taken as not fitted",
                    "a measured pore pressure, or no column",
                    channel=key,
                )
            )
        elif not values.size:
            series = series.without(key)
    return series, tuple(findings)


@dataclass(frozen=True)
class Corrected:
    """A series with qt, ft and Rf, and where qt is only qc."""

    series: Series
    qt_is_qc: NDArray[np.bool_]
    findings: tuple[Finding, ...]


def correct(series: Series, cone: Cone, area_ratio: float | None) -> Corrected:
    """Add qt, ft where it can be had, and Rf.

    Without u2 or without the area ratio qt is qc, and every row says so. u1 never stands in for
    u2: on the cone face the pressure is another one.
    """
    findings: list[Finding] = []
    qc, u2 = series.get("qc"), series.get("u2")
    if area_ratio is None or not series.measured("u2"):
        qt, only_qc = qc, np.isfinite(qc)
        findings += _why_not_corrected(series)
    else:
        full = qt_area_ratio(qc, u2, area_ratio)
        only_qc = np.isfinite(qc) & ~np.isfinite(u2)
        qt = np.where(only_qc, qc, full)
        if only_qc.any():
            where = np.flatnonzero(only_qc)
            findings.append(
                Finding(
                    "qt-partly-qc",
                    Severity.CAUTION,
                    f"{where.size} rows have no u2; there qt is qc",
                    top=float(series["length"][where[0]]),
                    base=float(series["length"][where[-1]]),
                    channel="qt",
                )
            )
    series = series.with_column("qt", qt, series.reason("qc"))
    friction = series.get("fs")
    if _has_end_areas(series, cone):
        friction = ft_end_areas(
            friction,
            u2,
            series.get("u3"),
            cone.sleeve_end_area_bottom or 0.0,
            cone.sleeve_end_area_top or 0.0,
            cone.sleeve_area or np.nan,
        )
        series = series.with_column("ft", friction, series.reason("fs"))
    if series.measured("fs"):
        ratio = rf_over_qt(series["fs"], qt)
        series = series.with_column("Rf", ratio, _ratio_reason(series, qt))
    return Corrected(series, only_qc, tuple(findings))


def _ratio_reason(series: Series, qt: NDArray[np.float64]) -> NDArray[np.uint8]:
    reason = np.where(np.isfinite(series["fs"]), series.reason("qc"), series.reason("fs"))
    return np.where(qt <= 0, np.uint8(Reason.OUTSIDE_VALIDITY), reason).astype(np.uint8)


def _has_end_areas(series: Series, cone: Cone) -> bool:
    areas = (cone.sleeve_end_area_bottom, cone.sleeve_end_area_top, cone.sleeve_area)
    return (
        series.measured("fs")
        and series.measured("u2")
        and series.measured("u3")
        and all(area is not None for area in areas)
    )


def _why_not_corrected(series: Series) -> list[Finding]:
    if not series.measured("qc"):
        text = "there is no cone resistance"
        expected = "qc at every depth; check the column mapping"
        return [Finding("qc-missing", Severity.STOP, text, expected, channel="qc")]
    if not series.measured("u2"):
        u1 = "; u1 is not used in its place" if series.measured("u1") else ""
        text = f"no u2 was measured, so qt is qc{u1}"
        return [Finding("qt-is-qc", Severity.CAUTION, text, channel="qt")]
    return [
        Finding(
            "area-ratio-missing",
            Severity.CAUTION,
            "u2 was measured but the net area ratio is not given, so qt is qc",
            "the area ratio a from the calibration: give it with the recipe (area_ratio)",
            source="qt = qc + (1 - a) u2, GEC-5 Eq. 4-23",
            channel="qt",
        )
    ]

"""Plausibility of what a file says: unit faults, swapped columns, values out of range.

Readers call this once after reading. It reports and never repairs. The gates are common practice
for catching faults on import; a sounding may be odd and still right.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding, Severity
from pushproof.model.quantities import Kind
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding
from pushproof.model.units import to_display

QC_MAX = (500.0, 120_000.0)
"""Range in which the largest cone resistance of a real sounding lies [kPa]."""
RATIO_MEDIAN = (0.05, 15.0)
"""Range in which the median of 100 fs / qc of a real sounding lies [%]."""
QT_OFF = (5.0, 20.0)
"""Difference of a stored qt from qc + (1 - a) u2 [kPa]: told where 5 % of the rows are off by more
than the first and one by more than the second, which rounding does not explain.
"""
START_VOID = 0.5
"""Length without readings at the start that is told [m]."""
FLAT = 1.0
"""Range of pore pressure below which a dissipation test shows no decay [kPa]."""
_PRACTICE = "common practice: gates for catching faults on import"


def plausibility(sounding: Sounding) -> tuple[Finding, ...]:
    """Return findings on units, swapped columns and ranges of a sounding."""
    series = sounding.readings
    return (
        *_cone_resistance(series),
        *_friction(series),
        *_pore_pressure(series),
        *_ranges(series),
        *_stored_qt(sounding),
        *_start(sounding),
        *_flat_tests(sounding),
    )


def _finite(series: Series, key: str) -> NDArray[np.float64]:
    values = series.get(key)
    return values[np.isfinite(values)]


def _unit_finding(key: str, found: str, expected: str) -> Finding:
    return Finding(
        f"{key}-unit-doubtful", Severity.STOP, found, expected, source=_PRACTICE, channel=key
    )


def _cone_resistance(series: Series) -> list[Finding]:
    qc = _finite(series, "qc")
    if qc.size < 20:
        return []
    largest = float(qc.max())
    if largest < QC_MAX[0] / 10:
        text = f"the largest qc is {largest:.3g} kPa; the file may mean MPa (factor 1000)"
    elif largest > QC_MAX[1] * 5:
        text = f"the largest qc is {largest / 1000:.4g} MPa; the file may mean kPa (factor 1000)"
    else:
        return []
    low, high = (bound / 1000 for bound in QC_MAX)
    return [_unit_finding("qc", text, f"a largest qc of {low:g} to {high:g} MPa; check the unit")]


def _friction(series: Series) -> list[Finding]:
    qc, fs = series.get("qc"), series.get("fs")
    usable = np.isfinite(qc) & np.isfinite(fs) & (qc > 0) & (fs != 0)
    if np.count_nonzero(usable) < 20:
        return []
    ratio = float(np.median(100 * np.abs(fs[usable]) / qc[usable]))
    low, high = RATIO_MEDIAN
    if low / 5 <= ratio <= high * 5:
        return []
    text = f"the median friction ratio is {ratio:.3g} %; fs or qc may be in another unit"
    expected = f"a median of {low:g} to {high:g} %; check the units of fs and qc"
    return [_unit_finding("fs", text, expected)]


def _pore_pressure(series: Series) -> list[Finding]:
    findings = []
    qc = _finite(series, "qc")
    for key in ("u1", "u2", "u3"):
        values = _finite(series, key)
        if values.size < 20 or qc.size < 20 or not values.any():
            continue
        length = _finite(series, "length" if series.measured("length") else "depth")
        column = 9.81 * float(length.max()) if length.size else 0.0
        largest = float(np.abs(values).max())
        if largest > max(float(qc.max()), 10 * column, 500.0):
            text = f"the largest {key} is {largest:.4g} kPa, above the largest qc"
            findings.append(_unit_finding(key, text, "u below qc; check units, or columns swapped"))
        elif column > 50 and 0 < largest < column / 200:
            text = f"the largest {key} is {largest:.3g} kPa over {column / 9.81:.0f} m of depth"
            findings.append(
                _unit_finding(key, text, "pressures near the water column; the file may mean MPa")
            )
    swapped = _swapped(series)
    if swapped is not None:
        unlike, like = swapped
        findings.append(
            Finding(
                "fs-u2-swapped",
                Severity.STOP,
                f"{unlike:.0%} of fs is no friction (above {_MOST_FRICTION:.0%} of qc or negative) "
                f"and {like:.0%} of u2 would be a usual one; they may be swapped",
                "check the columns of fs and u2",
                source=_PRACTICE,
                channel="fs",
            )
        )
    return findings


_MOST_FRICTION, _USUAL_FRICTION = 0.12, (0.001, 0.10)
"""Share of qc that friction hardly ever exceeds, and the usual one [-]; tuned on half of the
soundings of ``docs/explanation/detection-power.md``."""


def _swapped(series: Series) -> tuple[float, float] | None:
    """Return the share of fs that is no friction and of u2 that looks like one, if both are large.

    Where there is clay, u2 is a third of qc and more; where u2 sinks below zero, friction does not.
    """
    qc, fs, u2 = (series.get(key) for key in ("qc", "fs", "u2"))
    usable = np.isfinite(qc) & np.isfinite(fs) & np.isfinite(u2) & (qc > 50)
    if np.count_nonzero(usable) < 50:
        return None
    ratio_fs, ratio_u2 = fs[usable] / qc[usable], u2[usable] / qc[usable]
    unlike = float(np.mean((ratio_fs > _MOST_FRICTION) | (fs[usable] < -5)))
    low, high = _USUAL_FRICTION
    like = float(np.mean((ratio_u2 > low) & (ratio_u2 < high)))
    return (unlike, like) if unlike > 0.12 and like > 0.9 else None


def _ranges(series: Series) -> list[Finding]:
    findings = []
    for key in series:
        row = series.quantity(key)
        if row.kind not in (Kind.MEASURED, Kind.POSITION) or key in series.extras:
            continue
        values = series[key]
        outside = np.isfinite(values) & ((values < row.low) | (values > row.high))
        if not outside.any():
            continue
        worst = values[outside][np.argmax(np.abs(values[outside]))]
        low, high = to_display(key, (row.low, row.high))
        depth = series.get("length" if series.measured("length") else "depth")[outside]
        findings.append(
            Finding(
                f"{key}-out-of-range",
                Severity.CAUTION,
                f"{int(outside.sum())} values of {row.symbol} are outside the plausible range; "
                f"the worst is {float(to_display(key, worst)):.4g} {row.display_unit}",
                f"{low:g} to {high:g} {row.display_unit}",
                top=float(np.nanmin(depth)) if np.isfinite(depth).any() else None,
                base=float(np.nanmax(depth)) if np.isfinite(depth).any() else None,
                source="ranges the Dutch register accepts, or common practice",
                channel=key,
            )
        )
    return findings


def _stored_qt(sounding: Sounding) -> list[Finding]:
    """Compare a stored qt with what follows from the same row."""
    series, ratio = sounding.readings, sounding.cone.area_ratio
    if ratio is None or "qt" not in series:
        return []
    off = np.abs(series.get("qt") - series.get("qc") - (1 - ratio) * series.get("u2"))
    known = off[np.isfinite(off)]
    bad = known > QT_OFF[0]
    if known.size < 20 or bad.mean() < 0.05 or known.max() < QT_OFF[1]:
        return []
    text = (
        f"the stored qt does not follow from qc and u2 of its row in {int(bad.sum())} of "
        f"{known.size} rows, by up to {float(known.max()):.0f} kPa"
    )
    expected = "qt = qc + (1 - a) u2; qt is computed again on processing"
    return [
        Finding("qt-not-of-row", Severity.CAUTION, text, expected, source=_PRACTICE, channel="qt")
    ]


def _start(sounding: Sounding) -> list[Finding]:
    """Report a start without readings that the pre-excavated depth does not explain."""
    series = sounding.readings
    length = series.get("length" if series.measured("length") else "depth")
    measured = np.isfinite(length) & np.isfinite(series.get("qc"))
    if not measured.any():
        return []
    first, begin = float(length[measured].min()), float(np.nanmin(length))
    stated = sounding.predrilled or 0.0
    if first - max(stated, begin) <= START_VOID:
        return []
    text = f"the first qc is at {first:.2f} m, but the pre-excavated depth is {stated:.2f} m"
    return [
        Finding(
            "start-void",
            Severity.INFO,
            text,
            "readings from the pre-excavated depth on; say it in the recipe if it is deeper",
            top=begin,
            base=first,
            source=_PRACTICE,
        )
    ]


def _flat_tests(sounding: Sounding) -> list[Finding]:
    """Report dissipation tests without a decay to evaluate."""
    found = []
    for test in sounding.dissipations:
        ranges = {
            key: float(np.ptp(values))
            for key in ("u1", "u2", "u3")
            if (values := _finite(test.readings, key)).size > 10
        }
        if ranges and max(ranges.values()) < FLAT:
            text = f"pore pressure stays within {max(ranges.values()):.2g} kPa in the dissipation"
            found.append(
                Finding(
                    "dissipation-flat",
                    Severity.INFO,
                    f"{text} test at {test.depth:.2f} m: there is no decay to evaluate",
                    top=test.depth,
                    source=_PRACTICE,
                )
            )
    return found

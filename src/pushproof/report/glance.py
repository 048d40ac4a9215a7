"""The soundings of a report at a glance: side by side, to one scale, by level where it is known."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pushproof.model.profile import Interpretation
from pushproof.report import looks
from pushproof.report.curves import gap_length, lines
from pushproof.report.plate import Plate
from pushproof.report.scales import Scale, positive_scale, tick_text
from pushproof.report.soil import soil_hex, soil_rows

FloatArray = NDArray[np.float64]

HEIGHT = 96.0
"""Height of the figure [mm]."""
MOST = 10
"""Soundings shown; more would be too narrow to read."""
_TOP, _BOTTOM, _LEFT = 9.0, 88.0, 11.0
_ROW = 0.4
_BAND = 3.6
_WIDEST = 54.0


def glance(interpretations: Sequence[Interpretation], content: float) -> Plate:
    """Draw cone resistance and soil behaviour of the soundings side by side.

    Parameters
    ----------
    interpretations
        The soundings; the first ten are drawn.
    content
        Width between the margins [mm].
    """
    shown = [i for i in interpretations if np.isfinite(i.series.get("depth")).any()][:MOST]
    plate = Plate(left=-2.0, top=0.0, right=content + 2.0, bottom=HEIGHT)
    if not shown:
        return plate
    zeros, datum = _zeros(shown)
    tops = [
        zero - float(np.nanmin(i.series["depth"])) for zero, i in zip(zeros, shown, strict=True)
    ]
    ends = [
        zero - float(np.nanmax(i.series["depth"])) for zero, i in zip(zeros, shown, strict=True)
    ]
    high, low = max(*tops, *zeros), min(ends)
    per_metre = (_BOTTOM - _TOP) / max(high - low, 1.0)
    _axis(plate, high, low, per_metre, datum, content)
    cone = positive_scale([_resistance(i) for i in shown], least=5.0)
    pitch = min((content - _LEFT) / len(shown), _WIDEST + 6.0)
    for k, (one, zero) in enumerate(zip(shown, zeros, strict=True)):
        left = _LEFT + k * pitch + 3.0
        _one(plate, one, zero, (left, left + pitch - 6.0), high, per_metre, cone)
    words = f"qt to {cone.high:g} MPa and soil behaviour by {datum or 'depth, m'}"
    more = len(interpretations) - len(shown)
    plate.text(0, 2.0, "At a glance", looks.TITLE_SIZE + 1, bold=True)
    plate.text(
        22,
        2.0,
        words + (f"; {more} more not shown" if more else ""),
        looks.BODY_SIZE,
        colour=looks.SOFT_INK,
    )
    return plate


def _zeros(shown: Sequence[Interpretation]) -> tuple[list[float], str]:
    """Return the level of depth 0 of each sounding and the words for it; all 0 if not shared."""
    places = [i.profile.sounding.location for i in shown]
    levels = [place.level for place in places]
    if len({place.datum for place in places}) == 1 and all(v is not None for v in levels):
        datum = places[0].datum
        return [float(v) for v in levels if v is not None], f"level, m {datum or ''}".strip()
    return [0.0] * len(shown), ""


def _resistance(interpretation: Interpretation) -> FloatArray:
    series = interpretation.series
    return series.get("qt" if series.measured("qt") else "qc") / 1000


def _axis(
    plate: Plate, high: float, low: float, per_metre: float, datum: str, content: float
) -> None:
    step = next(s for s in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if s * per_metre >= 6.0)
    first, last = np.ceil(low / step), np.floor(high / step)
    for k in np.arange(first, last + 1):
        y = _TOP + (high - k * step) * per_metre
        plate.lines([[(_LEFT, y), (content, y)]], looks.GRID, 0.1, butt=True)
        value = k * step if datum else -k * step
        text = looks.minus(tick_text(float(value), step))
        plate.text(_LEFT - 1.6, y, text, looks.BODY_SIZE, anchor="rm")
    plate.lines([[(_LEFT, _TOP), (_LEFT, _BOTTOM)]], looks.INK, 0.2, butt=True)


def _one(
    plate: Plate,
    interpretation: Interpretation,
    zero: float,
    sides: tuple[float, float],
    high: float,
    per_metre: float,
    cone: Scale,
) -> None:
    left, right = sides
    series = interpretation.series
    depth = series["depth"]
    top = _TOP + (high - zero) * per_metre
    last = float(np.nanmax(depth))
    bottom = top + last * per_metre
    start = left + _BAND + 0.6
    if series.measured("Ic"):
        edges = np.arange(0.0, last + _ROW / per_metre, _ROW / per_metre)
        if len(edges) > 1:
            rows = soil_rows(depth, series["Ic"], series.get("zone"), edges, gap_length(depth))
            boxes: dict[float, list[tuple[float, float, float, float]]] = defaultdict(list)
            for k in np.flatnonzero(np.isfinite(rows.ic)):
                y = top + edges[k] * per_metre
                end = min(y + _ROW + 0.05, bottom)
                boxes[round(float(rows.ic[k]), 1)].append(
                    (left, float(y), left + _BAND, float(end))
                )
            for value in sorted(boxes):
                plate.boxes(boxes[value], soil_hex(value))
    plate.frame(left, top, left + _BAND, bottom, 0.12)
    values = np.clip(_resistance(interpretation), 0, cone.high)
    parts = lines(depth, values, 0.0, last, row=0.25 / per_metre, gap=gap_length(depth))
    placed = [
        np.column_stack([cone.place(p[:, 0], start, right), top + p[:, 1] * per_metre])
        for p in parts
    ]
    ends = [np.array([[start, p[-1, 1]], [start, p[0, 1]]]) for p in placed]
    plate.areas(
        [np.concatenate(pair) for pair in zip(placed, ends, strict=True)], looks.MEASURED_FILL
    )
    plate.lines(placed, looks.MEASURED, 0.22)
    plate.lines([[(start, top), (start, bottom)]], looks.INK, 0.14, butt=True)
    plate.lines([[(left, top), (right, top)]], looks.INK, 0.2, butt=True)
    plate.text(
        left,
        top - 1.8,
        interpretation.profile.sounding.name,
        looks.TITLE_SIZE,
        bold=True,
        width=right - left + 4,
    )
    plate.text(left, bottom + 2.0, f"{last:.1f} m", looks.SMALL_SIZE + 0.3, colour=looks.SOFT_INK)

"""Drawing of the soil track: a silhouette as wide as Ic, coloured, hatched and named."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.behaviour import BOUNDARIES
from pushproof.model.profile import Interpretation
from pushproof.report import looks
from pushproof.report.curves import gap_length
from pushproof.report.layout import PLOT_HEIGHT, Column, DepthPage, DepthPlan
from pushproof.report.plate import Plate
from pushproof.report.soil import (
    IC_HIGH,
    IC_LOW,
    ZONES,
    Zone,
    soil_hex,
    soil_rows,
)
from pushproof.report.tracks import SOIL_SCALE

FloatArray = NDArray[np.float64]
Segments = list[list[tuple[float, float]]]

_ROW = 0.25
"""Height of a coloured row [mm]."""
_HATCH_PITCH = 1.5
_SHARE = 0.38
"""Share of the column that the silhouette takes; the units and their words take the rest."""
_COLOUR_STEP = 0.05
_REMOVED_HEIGHT = 2.8
"""Least height of a removed layer that gets words of its own [mm]."""
_SCALE = SOIL_SCALE


def silhouette(column: Column) -> Column:
    """Return the part of the column that the figure takes."""
    return Column(column.left, column.left + _SHARE * column.width)


def draw_soil(
    plate: Plate, interpretation: Interpretation, column: Column, page: DepthPage
) -> None:
    """Draw the soil figure of one page."""
    series = interpretation.series
    shape = silhouette(column)
    edges = np.linspace(page.top, page.base, round(PLOT_HEIGHT / _ROW) + 1)
    depth = series["depth"]
    rows = soil_rows(depth, series["Ic"], series.get("zone"), edges, gap_length(depth))
    x = _SCALE.place(np.clip(rows.ic, IC_LOW + 0.12, IC_HIGH), shape.left, shape.right)
    _fill(plate, rows.ic, x, shape)
    _guides(plate, shape)
    _hatches(plate, rows.zone, x, shape)
    _outline(plate, x)


def _fill(plate: Plate, ic: FloatArray, x: FloatArray, shape: Column) -> None:
    """Fill rows by colour; each reaches a little into the next so that no seam shows."""
    boxes: dict[float, list[tuple[float, float, float, float]]] = defaultdict(list)
    steps = np.round(np.clip(ic, IC_LOW, IC_HIGH) / _COLOUR_STEP) * _COLOUR_STEP
    for k in np.flatnonzero(np.isfinite(ic)):
        top = k * _ROW
        over = 0.06 if k + 1 < len(ic) and np.isfinite(ic[k + 1]) else 0.0
        boxes[round(float(steps[k]), 3)].append((shape.left, top, float(x[k]), top + _ROW + over))
    for step in sorted(boxes):
        plate.boxes(boxes[step], soil_hex(step))


def _guides(plate: Plate, shape: Column) -> None:
    at = _SCALE.place(np.array(BOUNDARIES), shape.left, shape.right)
    plate.lines(
        [[(float(x), 0), (float(x), PLOT_HEIGHT)] for x in at],
        looks.GRID_MAJOR,
        0.07,
        dash=(0.5, 0.5),
    )


def _outline(plate: Plate, x: FloatArray) -> None:
    parts: Segments = []
    part: list[tuple[float, float]] = []
    for k, edge in enumerate(x):
        if np.isfinite(edge):
            part += [(float(edge), k * _ROW), (float(edge), (k + 1) * _ROW)]
        elif part:
            parts.append(part)
            part = []
    plate.lines([*parts, part] if part else parts, looks.INK, 0.16)


def _hatches(plate: Plate, zone: NDArray[np.int64], x: FloatArray, shape: Column) -> None:
    """Draw the hatch of the zone that rules each hatch line, as wide as the silhouette there."""
    dark: Segments = []
    light: Segments = []
    dark_dots: list[tuple[float, float]] = []
    rings: list[tuple[float, float]] = []
    per = round(_HATCH_PITCH / _ROW)
    for line in range(len(zone) // per):
        part = zone[line * per : (line + 1) * per]
        number = int(np.bincount(part).argmax())
        if not number:
            continue
        widths = x[line * per : (line + 1) * per]
        right = float(np.nanmin(widths)) - 0.35
        left, y = shape.left + 0.45, (line + 0.5) * _HATCH_PITCH
        if right - left < 0.5:
            continue
        pen = light if number in (3, 2, 1) else dark
        _hatch_line(ZONES[number].hatch, line, left, right, y, pen, dark_dots, rings)
    plate.lines(dark, "#3A3320", 0.13, simplify=False)
    plate.lines(light, "#FFFFFF", 0.17, simplify=False)
    plate.dots(dark_dots, "#3A3320", 0.3)
    plate.dots(rings, "#3A3320", 0.72)
    plate.dots(rings, "#F6EBCB", 0.48)


def draw_hatch(plate: Plate, zone: Zone, column: Column, top: float, base: float) -> None:
    """Draw the hatch of one zone in a box."""
    pen: Segments = []
    dots: list[tuple[float, float]] = []
    rings: list[tuple[float, float]] = []
    count = int((base - top) / _HATCH_PITCH)
    start = (top + base - count * _HATCH_PITCH) / 2
    for line in range(count):
        y = start + (line + 0.5) * _HATCH_PITCH
        _hatch_line(zone.hatch, line, column.left + 0.45, column.right - 0.35, y, pen, dots, rings)
    _draw_pen(plate, zone, pen, dots, rings)


def _draw_pen(
    plate: Plate,
    zone: Zone,
    pen: Segments,
    dots: list[tuple[float, float]],
    rings: list[tuple[float, float]],
) -> None:
    """Draw the strokes of a hatch, light on dark zones."""
    light = zone.number in (3, 2, 1)
    plate.lines(pen, "#FFFFFF" if light else "#3A3320", 0.17 if light else 0.13, simplify=False)
    plate.dots(dots, "#3A3320", 0.3)
    plate.dots(rings, "#3A3320", 0.72)
    plate.dots(rings, "#F6EBCB", 0.48)


def _hatch_line(
    hatch: str,
    line: int,
    left: float,
    right: float,
    y: float,
    pen: Segments,
    dots: list[tuple[float, float]],
    rings: list[tuple[float, float]],
) -> None:
    odd = line % 2
    if hatch == "circles":
        rings += _along(left, right, y, 2.0, odd)
    elif hatch == "dots":
        dots += _along(left, right, y, 1.7, odd)
    elif hatch == "dots-dashes":
        if odd:
            pen += _dashes(left, right, y, 1.2, 1.6, line // 2 % 2)
        else:
            dots += _along(left, right, y, 1.7, line // 2 % 2)
    elif hatch == "dashes":
        pen += _dashes(left, right, y, 1.6, 1.1, odd)
    elif hatch == "lines":
        pen.append([(left - 0.45, y), (right + 0.35, y)])
    elif hatch == "broken":
        pen += _dashes(left, right, y, 3.2, 0.8, odd)
        pen += [[(a, y - 0.45), (a, y + 0.45)] for a, _ in _along(left, right, y, 4.0, odd)]
    elif hatch == "waves":
        count = max(2, int((right - left) / 0.55))
        pen.append([(left + k * 0.55, y + (0.28 if k % 2 else -0.28)) for k in range(count)])
    else:
        slashes = _along(left, right - 0.6, y, 1.7, odd)
        pen += [[(a, y + 0.5), (a + 0.6, y - 0.5)] for a, _ in slashes]
        if hatch == "slashes-dots":
            dots += _along(left, right, y, 1.7, 1 - odd)


def _along(
    left: float, right: float, y: float, pitch: float, odd: int
) -> list[tuple[float, float]]:
    start = left + 0.2 + (pitch / 2 if odd else 0.0)
    return (
        [(start + k * pitch, y) for k in range(int((right - start) / pitch) + 1)]
        if (right > start)
        else []
    )


def _dashes(left: float, right: float, y: float, dash: float, gap: float, odd: int) -> Segments:
    found: Segments = []
    start = left - (0.0 if not odd else (dash + gap) / 2)
    while start < right:
        a, b = max(start, left), min(start + dash, right)
        if b - a > 0.25:
            found.append([(a, y), (b, y)])
        start += dash + gap
    return found


def draw_removed_layers(
    plate: Plate, interpretation: Interpretation, column: Column, page: DepthPage, plan: DepthPlan
) -> None:
    """Write the layers taken out before the push; thin ones share their words."""
    layers = [
        (
            max((layer.top - page.top) * plan.mm_per_metre, 0.0),
            min((layer.base - page.top) * plan.mm_per_metre, PLOT_HEIGHT),
            layer.description,
        )
        for layer in interpretation.profile.sounding.removed
        if layer.base > page.top and layer.top < page.base
    ]
    if not layers:
        return
    top, bottom = min(a for a, _, _ in layers), max(b for _, b, _ in layers)
    plate.boxes([(column.left, top, column.right, bottom)], looks.PAPER)
    edges = sorted({base for _, base, _ in layers})
    plate.lines(
        [[(column.left, y), (column.right, y)] for y in edges], looks.SOFT_INK, 0.12, butt=True
    )
    if any(base - a < _REMOVED_HEIGHT for a, base, _ in layers):
        layers = [(top, bottom, "; ".join(words for _, _, words in layers))]
    for a, base, words in layers:
        plate.text(
            column.left + 1.0,
            (a + base) / 2,
            f"removed: {words}",
            looks.BODY_SIZE - 0.4,
            italic=True,
            colour=looks.SOFT_INK,
            width=column.width - 1.6,
            lines=max(1, int((base - a) / 2.2)),
        )


def draw_soil_heading(plate: Plate, column: Column, rows: tuple[float, float, float]) -> None:
    """Draw the heading: title, the ramp along the Ic axis, and the axis itself."""
    plate.lines(
        [[(column.left, rows[0] - 2.0), (column.right, rows[0] - 2.0)]], looks.INK, 0.28, butt=True
    )
    plate.text(column.left, rows[0], "Soil behaviour", looks.TITLE_SIZE, bold=True)
    shape = silhouette(column)
    plate.text(column.left, rows[1], "width: I_{c}", looks.BODY_SIZE)
    plate.text(shape.right + 0.8, rows[1], "units", looks.BODY_SIZE)
    steps = np.arange(IC_LOW, IC_HIGH, 0.1)
    for step in steps:
        a = float(_SCALE.place(step, shape.left, shape.right))
        b = float(_SCALE.place(min(step + 0.13, IC_HIGH), shape.left, shape.right))
        plate.boxes([(a, -5.6, b, -4.3)], soil_hex(float(step) + 0.05))
    for y, edge, side in ((-2.5, 0.0, -1), (PLOT_HEIGHT + 2.4, PLOT_HEIGHT, 1)):
        for value in _SCALE.ticks():
            x = float(_SCALE.place(value, shape.left, shape.right))
            plate.lines([[(x, edge), (x, edge + side * 0.9)]], looks.INK, 0.14, butt=True)
            plate.text(max(x, shape.left + 0.4), y, f"{value:g}", looks.TICK_SIZE, anchor="cm")


def draw_soil_key(plate: Plate, content: float, y: float) -> None:
    """Draw the nine zones with their hatch and words in one row."""
    plate.text(0, y + 1.7, "Soil", looks.SMALL_SIZE + 0.4, bold=True)
    slot = (content - 8.0) / len(ZONES)
    for k, zone in enumerate(ZONES.values()):
        x = 8.0 + slot * k
        swatch = Column(x + 0.2, x + 4.8)
        plate.boxes([(swatch.left, y, swatch.right, y + 3.4)], soil_hex(zone.ic))
        draw_hatch(plate, zone, swatch, y + 0.2, y + 3.2)
        plate.frame(swatch.left, y, swatch.right, y + 3.4, 0.12)
        plate.text(x + 5.5, y + 1.7, zone.words, looks.SMALL_SIZE, width=slot - 5.9, lines=2)

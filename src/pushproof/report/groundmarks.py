"""Marks that cross a depth page: pre-excavation, water level, end of the sounding."""

from __future__ import annotations

import math

import numpy as np

from pushproof.model.sounding import WaterOrigin
from pushproof.report import looks
from pushproof.report.drawing import LogDrawing
from pushproof.report.layout import PLOT_HEIGHT, Column, DepthPage
from pushproof.report.plate import Plate


def draw_removed(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    """Shade the pre-excavated part over all tracks and name the layers taken out."""
    profile = log.interpretation.profile
    given = profile.recipe.predrilled
    base = given if given is not None else profile.sounding.predrilled or 0.0
    if base <= page.top:
        return
    bottom = min(float(log.y(page, base)), PLOT_HEIGHT)
    for column in log.columns.tracks.values():
        plate.boxes([(column.left, 0, column.right, bottom)], looks.VOID)
        _slant(plate, column, 0.0, bottom)
    if base <= page.base and bottom > 3.4:
        cone = log.first
        plate.boxes([(cone.left + 0.9, bottom - 3.2, cone.right - 0.9, bottom - 0.5)], looks.PAPER)
        plate.text(
            cone.middle,
            bottom - 1.85,
            f"pre-excavated to {base:.2f} m",
            looks.SMALL_SIZE + 0.4,
            anchor="cm",
            italic=True,
            colour=looks.SOFT_INK,
            width=cone.width - 2.4,
        )


def _slant(plate: Plate, column: Column, top: float, bottom: float) -> None:
    """Draw thin slanted lines in a box, cut at its edges."""
    found = []
    height, pitch = bottom - top, 2.2
    count = math.ceil((column.width + height) / pitch)
    for k in range(1, count):
        start = column.left + k * pitch
        a = (min(start, column.right), top + max(0.0, start - column.right))
        b = (max(start - height, column.left), min(bottom, top + start - column.left))
        found.append([a, b])
    plate.lines(found, looks.GRID_MAJOR, looks.HAIR)


def draw_water(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    """Draw the water level: the usual triangle on two strokes, and how it is known."""
    water = log.interpretation.profile.water
    if water is None or "pore" not in log.tracks:
        return
    column = log.water
    first = page is log.plan.pages[0]
    above = water.level < page.top
    if (above and not first) or water.level > page.base:
        return
    y = max(float(log.y(page, water.level)), 0.0)
    mark = "◇ " if water.origin is WaterOrigin.ASSUMED else ""
    x = column.left + 4.0
    size = 1.9 if y > 2.0 or above else 1.3
    top = y - size if not above else y + 0.4
    triangle = [(x - 1.1, top), (x + 1.1, top), (x, top + size)]
    plate.areas([triangle], looks.PAPER)
    plate.lines([[*triangle, triangle[0]]], looks.WATER, 0.22)
    if above:
        words = f"{mark}water level {-water.level:.2f} m above zero"
        plate.boxes([(column.left + 0.4, 0.4, column.right - 0.4, 5.6)], looks.PAPER)
        plate.areas([triangle], looks.WATER)
        plate.text(
            x + 1.8,
            top + size / 2 + 1.1,
            words,
            looks.SMALL_SIZE,
            anchor="lm",
            colour=looks.WATER,
            width=column.width - 5,
            lines=2,
        )
        return
    plate.lines([[(column.left, y), (column.right, y)]], looks.WATER, 0.2, butt=True)
    plate.lines(
        [[(x - 1.1, y + 0.5), (x + 1.1, y + 0.5)], [(x - 0.6, y + 0.9), (x + 0.6, y + 0.9)]],
        looks.WATER,
        0.16,
    )
    words = f"{mark}{looks.minus(f'{water.level:.2f}')} m"
    if water.origin is WaterOrigin.ASSUMED:
        words += " assumed"
    low = y + 1.9 if y < 3.0 else y - 1.3
    plate.text(
        column.right - 0.8,
        low,
        words,
        looks.SMALL_SIZE,
        anchor="rm",
        colour=looks.WATER,
        width=column.width - 5.2,
    )


def draw_end(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    """Close the log under the last reading and say why the push ended."""
    depth = log.interpretation.series.get("depth")
    last = float(np.nanmax(depth)) if np.isfinite(depth).any() else page.top
    if not page.top <= last <= page.base:
        return
    y = float(log.y(page, last))
    cone = log.first
    right = list(log.columns.tracks.values())[-1].right
    plate.lines([[(cone.left, y), (right, y)]], looks.INK, 0.22, butt=True)
    reason = log.interpretation.profile.sounding.stop_reason
    words = f"End of sounding {last:.2f} m"
    if reason is not None and reason.value != "unknown":
        words += f": {reason.value}"
    if y + 3.4 > PLOT_HEIGHT:
        return
    two = 1.27 * len(words) > cone.width - 3 and y + 6.0 < PLOT_HEIGHT
    height = 5.6 if two else 3.0
    plate.boxes([(cone.left + 0.4, y + 0.3, cone.right - 0.4, y + height)], looks.PAPER)
    plate.text(
        cone.left + 1.2,
        y + 0.15 + height / 2,
        words,
        looks.BODY_SIZE,
        bold=True,
        width=cone.width - 2.4,
        lines=2 if two else 1,
    )

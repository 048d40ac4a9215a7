"""Observations from elsewhere on a log: points in their tracks, boundaries of logged layers."""

from __future__ import annotations

import numpy as np

from pushproof.model.observations import UNITS, Observation
from pushproof.model.units import factor_to_display
from pushproof.report import looks
from pushproof.report.drawing import LogDrawing
from pushproof.report.layout import Column, DepthPage
from pushproof.report.plate import Plate
from pushproof.report.scales import Scale
from pushproof.report.tracks import Track

DOT = 1.9
"""Diameter of a point [mm]."""
DASH = (1.4, 0.8)


def draw_observed(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    """Draw what was observed on one page: a ring at its value with a bar over its interval.

    A value beyond the axis stands at its end. A logged layer has dashed lines at top and base of
    the soil column; its words stand in the notes.
    """
    for one in log.observed:
        if one.kind == "layer":
            _layer(plate, log, page, one)
            continue
        if one.kind == "water":
            depth = one.value if one.value is not None else one.top
            if page.top <= depth <= page.base:
                _ring(plate, log.water.left + 2.2, float(log.y(page, depth)))
            continue
        for name, track in log.tracks.items():
            if track.scale is not None and _shows(track, one.kind):
                _point(plate, log, page, one, log.columns.tracks[name], track.scale)


def _shows(track: Track, kind: str) -> bool:
    return track.name == kind or any(curve.key == kind for curve in track.curves)


def _point(
    plate: Plate,
    log: LogDrawing,
    page: DepthPage,
    one: Observation,
    column: Column,
    scale: Scale,
) -> None:
    base = one.top if one.base is None else one.base
    middle = (one.top + base) / 2
    if not page.top <= middle <= page.base or one.value is None:
        return
    value = float(np.clip(one.value * factor_to_display(one.kind), scale.low, scale.high))
    x = float(scale.place(value, column.left, column.right))
    if base > one.top:
        ends = np.clip([one.top, base], page.top, page.base)
        y = [float(log.y(page, end)) for end in ends]
        plate.lines([[(x, y[0]), (x, y[1])]], looks.INK, 0.3)
    _ring(plate, x, float(log.y(page, middle)))


def _ring(plate: Plate, x: float, y: float) -> None:
    plate.dots([(x, y)], looks.INK, DOT)
    plate.dots([(x, y)], looks.PAPER, DOT - 0.8)


def _layer(plate: Plate, log: LogDrawing, page: DepthPage, one: Observation) -> None:
    column = log.columns.tracks.get("soil")
    if column is None or one.base is None:
        return
    for depth in (one.top, one.base):
        if page.top <= depth <= page.base:
            y = float(log.y(page, depth))
            plate.lines([[(column.left, y), (column.right, y)]], looks.STOP, 0.26, dash=DASH)


def observed_rows(observed: tuple[Observation, ...]) -> list[list[str]]:
    """Return the observations as rows of the notes: what, where, value, test, source."""
    rows = []
    for one in observed:
        where = f"{one.top:.2f}" + ("" if one.base is None else f" to {one.base:.2f}")
        unit = UNITS.get(one.kind, "")
        value = one.words if one.value is None else f"{one.value:g} {unit}".replace(" -", "")
        rows.append([one.kind, f"{where} m", value, one.test or "–", one.source or "–"])
    return rows

"""One depth page of a log: grid, tracks, rail, soil and the marks that cross them."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pushproof.report import looks
from pushproof.report.curves import excursions, gap_length, lines
from pushproof.report.drawing import LogDrawing
from pushproof.report.groundmarks import draw_end, draw_removed, draw_water
from pushproof.report.headings import draw_headings
from pushproof.report.layout import (
    PLOT_HEIGHT,
    Column,
    DepthPage,
    depth_ticks,
)
from pushproof.report.observedplate import draw_observed
from pushproof.report.plate import Plate
from pushproof.report.railplate import draw_rail, draw_rail_key
from pushproof.report.scales import Scale, tick_text
from pushproof.report.soilplate import (
    draw_removed_layers,
    draw_soil,
    draw_soil_key,
)
from pushproof.report.tracks import Curve, Track
from pushproof.report.unitplate import draw_boundaries, draw_units

FloatArray = NDArray[np.float64]

ROW = 0.10
"""Height of a paper row for thinning [mm]: about 250 dots per inch."""
SIDE = 4.0
"""What the picture covers beyond the content at either side [mm]."""
FOOT_LABELS = 3.6


def draw_page(log: LogDrawing, page: DepthPage) -> Plate:
    """Draw one page.

    Parameters
    ----------
    log
        What all pages share.
    page
        The depth interval.
    """
    paper = log.paper
    plate = Plate(
        left=-SIDE,
        top=-paper.headings,
        right=paper.content + SIDE,
        bottom=PLOT_HEIGHT + FOOT_LABELS + paper.keys,
    )
    draw_removed(plate, log, page)
    for name, column in log.columns.tracks.items():
        if name != "soil":
            _draw_track(plate, log.tracks[name], column)
    _draw_depth_grid(plate, log, page)
    for name, column in log.columns.tracks.items():
        if name != "soil":
            _draw_curves(plate, log, page, log.tracks[name], column)
    if "soil" in log.columns.tracks:
        draw_soil(plate, log.interpretation, log.columns.tracks["soil"], page)
        draw_units(plate, log, page)
    draw_boundaries(plate, log, page)
    draw_observed(plate, log, page)
    words = log.columns.tracks.get("soil", log.first)
    draw_removed_layers(plate, log.interpretation, words, page, log.plan)
    draw_rail(plate, log.rail, log.columns.rail, page, log.plan)
    _draw_depth_labels(plate, log, page)
    _draw_levels(plate, log, page)
    draw_water(plate, log, page)
    draw_end(plate, log, page)
    _draw_frames(plate, log)
    draw_headings(plate, log)
    y = PLOT_HEIGHT + FOOT_LABELS + 1.2
    if "soil" in log.columns.tracks:
        draw_soil_key(plate, paper.content, y)
        y += 5.2
    draw_rail_key(plate, log.rail, paper.content, y)
    return plate


def _draw_track(plate: Plate, track: Track, column: Column) -> None:
    if track.scale is None:
        plate.boxes([(column.left, 0, column.right, PLOT_HEIGHT)], looks.VOID)
        return
    scale = track.scale
    fine = scale.place(np.array(scale.between(track.parts)), column.left, column.right)
    bold = scale.place(np.array(scale.ticks()), column.left, column.right)
    plate.lines([[(x, 0), (x, PLOT_HEIGHT)] for x in fine], looks.GRID, looks.HAIR, butt=True)
    plate.lines([[(x, 0), (x, PLOT_HEIGHT)] for x in bold], looks.GRID_MAJOR, 0.1, butt=True)
    if scale.low < 0 < scale.high:
        zero = float(scale.place(0.0, column.left, column.right))
        plate.lines([[(zero, 0), (zero, PLOT_HEIGHT)]], looks.SOFT_INK, 0.14, butt=True)


def _draw_depth_grid(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    step = log.plan.label_step
    bands = [
        (column.left, column.right)
        for name, column in log.columns.tracks.items()
        if log.tracks[name].scale is not None
    ]
    for depth in depth_ticks(page, step):
        y = float(log.y(page, depth))
        strong = _is_multiple(depth, log.plan.strong_step)
        colour, weight = (looks.GRID_MAJOR, 0.14) if strong else (looks.GRID, 0.1)
        plate.lines([[(a, y), (b, y)] for a, b in bands], colour, weight, butt=True)


def _draw_curves(
    plate: Plate, log: LogDrawing, page: DepthPage, track: Track, column: Column
) -> None:
    if track.scale is None:
        plate.text(
            column.middle,
            PLOT_HEIGHT / 2,
            track.absent,
            looks.BODY_SIZE + 0.6,
            anchor="cm",
            italic=True,
            colour=looks.SOFT_INK,
            turned=True,
        )
        return
    for curve in track.curves:
        if curve.band is not None:
            _draw_band(plate, log, page, track.scale, curve.band, column)
    drawn = [
        (curve, _placed(log, page, track.scale, curve.values, column)) for curve in track.curves
    ]
    for curve, parts in drawn:
        if curve.fill:
            zero = float(track.scale.place(max(track.scale.low, 0.0), column.left, column.right))
            ends = [np.array([[zero, part[-1, 1]], [zero, part[0, 1]]]) for part in parts]
            plate.areas(
                [np.concatenate(pair) for pair in zip(parts, ends, strict=True)], curve.fill
            )
            _redraw_grid(plate, track.scale, column)
    for curve, parts in drawn:
        plate.lines(parts, curve.colour, curve.weight, dash=curve.dash)
    for curve in track.curves:
        if curve.marked:
            _draw_clipped(plate, log, page, track, curve, column)


def _placed(
    log: LogDrawing, page: DepthPage, scale: Scale, values: FloatArray, column: Column
) -> list[FloatArray]:
    """Return the lines of a curve on one page [mm], clipped to the axis."""
    depth = log.interpretation.series.get("depth")
    shown = np.clip(values, _lowest(scale), scale.high)
    parts = lines(
        depth,
        shown,
        page.top,
        page.base,
        row=ROW / log.plan.mm_per_metre,
        gap=gap_length(depth),
    )
    return [
        np.column_stack(
            [scale.place(part[:, 0], column.left, column.right), log.y(page, part[:, 1])]
        )
        for part in parts
    ]


def _draw_band(
    plate: Plate,
    log: LogDrawing,
    page: DepthPage,
    scale: Scale,
    band: tuple[FloatArray, FloatArray],
    column: Column,
) -> None:
    """Draw the area from p10 to p90; both have a value at the same rows."""
    low, high = (_placed(log, page, scale, values, column) for values in band)
    pairs = zip(low, high, strict=True)
    plate.areas([np.concatenate([a, b[::-1]]) for a, b in pairs], looks.BAND_FILL)
    _redraw_grid(plate, scale, column)


def _lowest(scale: Scale) -> float:
    """Return the lowest value drawn: an axis from zero leaves room for a little less."""
    return scale.low - 0.018 * (scale.high - scale.low) if scale.low == 0 else scale.low


def _redraw_grid(plate: Plate, scale: Scale, column: Column) -> None:
    """Draw the labelled grid lines again, over the fill of a curve."""
    bold = scale.place(np.array(scale.ticks()), column.left, column.right)
    plate.lines([[(x, 0), (x, PLOT_HEIGHT)] for x in bold], looks.GRID_MAJOR, 0.07, butt=True)


def _draw_clipped(
    plate: Plate, log: LogDrawing, page: DepthPage, track: Track, curve: Curve, column: Column
) -> None:
    """Mark values beyond the axis: a small solid arrow at the edge and the value beside it."""
    scale = track.scale
    assert scale is not None
    depth = log.interpretation.series.get("depth")
    apart = 3.4 / log.plan.mm_per_metre
    found = excursions(depth, curve.values, _lowest(scale), scale.high, apart=apart)
    for peak in found:
        if not page.top <= peak.depth <= page.base:
            continue
        y = min(float(log.y(page, peak.depth)), float(log.y(page, np.nanmax(depth))) - 1.3)
        edge, side = (column.right, -1.0) if peak.high else (column.left, 1.0)
        arrow = [(edge, y), (edge + side * 1.3, y - 0.75), (edge + side * 1.3, y + 0.75)]
        plate.areas([arrow], curve.colour)
        decimals = track.decimals if abs(peak.value) < 100 else 0
        text = looks.minus(f"{peak.value:.{decimals}f}")
        x = edge + side * 1.7
        wide = 1.3 * len(text) + 0.4
        box = (
            (x - wide, y - 1.15, x + 0.2, y + 1.15)
            if side < 0
            else (x - 0.2, y - 1.15, x + wide, y + 1.15)
        )
        plate.boxes([box], looks.PAPER)
        plate.text(
            x,
            y,
            text,
            looks.SMALL_SIZE,
            anchor="rm" if side < 0 else "lm",
            colour=curve.colour,
            bold=True,
        )


def _draw_depth_labels(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    column, step = log.columns.depth, log.plan.label_step
    for depth in depth_ticks(page, step):
        y = float(log.y(page, depth))
        strong = _is_multiple(depth, log.plan.strong_step)
        plate.lines([[(column.right - 1.1, y), (column.right, y)]], looks.INK, 0.16, butt=True)
        plate.text(
            column.right - 1.7,
            y,
            looks.minus(tick_text(depth, step)),
            looks.BODY_SIZE + (0.7 if strong else 0),
            anchor="rm",
            bold=strong,
        )
    fine = depth_ticks(page, step / (5 if step * log.plan.mm_per_metre > 6 else 2))
    at = [float(log.y(page, z)) for z in fine]
    plate.lines(
        [[(column.right - 0.6, y), (column.right, y)] for y in at], looks.INK, 0.1, butt=True
    )


def _draw_levels(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    column, level = log.columns.level, log.interpretation.profile.sounding.location.level
    if column is None or level is None:
        return
    step = log.plan.label_step
    edge = list(log.columns.tracks.values())[-1].right
    first = math.ceil((level - page.base) / step - 1e-9)
    last = math.floor((level - page.top) / step + 1e-9)
    for k in range(first, last + 1):
        y = float(log.y(page, level - k * step))
        strong = _is_multiple(k * step, log.plan.strong_step)
        plate.lines([[(edge, y), (edge + 1.1, y)]], looks.SOFT_INK, 0.14, butt=True)
        plate.text(
            column.right,
            y,
            looks.minus(tick_text(k * step, step)),
            looks.TICK_SIZE + (0.4 if strong else 0),
            anchor="rm",
            bold=strong,
            colour=looks.SOFT_INK,
        )


def _draw_frames(plate: Plate, log: LogDrawing) -> None:
    for column in (log.columns.rail, *log.columns.tracks.values()):
        plate.frame(column.left, 0, column.right, PLOT_HEIGHT, looks.FRAME_WEIGHT)


def _is_multiple(value: float, step: float) -> bool:
    return abs(value / step - round(value / step)) < 1e-6

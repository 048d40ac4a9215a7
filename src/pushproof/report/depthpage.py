"""One depth page of a log: grid, tracks, rail, soil and the marks that cross them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.profile import Interpretation
from pushproof.model.sounding import WaterOrigin
from pushproof.report import looks
from pushproof.report.curves import excursions, gap_length, lines
from pushproof.report.layout import (
    PLOT_HEIGHT,
    Column,
    Columns,
    DepthPage,
    DepthPlan,
    Paper,
    depth_ticks,
)
from pushproof.report.plate import Plate
from pushproof.report.rail import Rail
from pushproof.report.railplate import draw_rail, draw_rail_key
from pushproof.report.scales import Scale, tick_text
from pushproof.report.soilplate import (
    draw_removed_layers,
    draw_soil,
    draw_soil_heading,
    draw_soil_key,
)
from pushproof.report.tracks import Curve, Track

FloatArray = NDArray[np.float64]

ROW = 0.10
"""Height of a paper row for thinning [mm]: about 250 dots per inch."""
SIDE = 4.0
"""What the picture covers beyond the content at either side [mm]."""
FOOT_LABELS = 3.6


@dataclass(frozen=True)
class LogDrawing:
    """All that the pages of one log share."""

    interpretation: Interpretation
    paper: Paper
    plan: DepthPlan
    columns: Columns
    tracks: dict[str, Track]
    rail: Rail

    def y(self, page: DepthPage, depth: FloatArray | float) -> FloatArray:
        """Return the place of a depth on a page [mm below the top of the plot]."""
        return (np.asarray(depth, dtype=np.float64) - page.top) * self.plan.mm_per_metre


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
    _draw_removed(plate, log, page)
    for name, column in log.columns.tracks.items():
        if name != "soil":
            _draw_track(plate, log.tracks[name], column)
    _draw_depth_grid(plate, log, page)
    for name, column in log.columns.tracks.items():
        if name != "soil":
            _draw_curves(plate, log, page, log.tracks[name], column)
    if "soil" in log.columns.tracks:
        draw_soil(plate, log.interpretation, log.columns.tracks["soil"], page, log.plan)
    words = log.columns.tracks.get("soil", log.columns.tracks["cone"])
    draw_removed_layers(plate, log.interpretation, words, page, log.plan)
    draw_rail(plate, log.rail, log.columns.rail, page, log.plan)
    _draw_depth_labels(plate, log, page)
    _draw_levels(plate, log, page)
    _draw_water(plate, log, page)
    _draw_end(plate, log, page)
    _draw_frames(plate, log)
    _draw_headings(plate, log)
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
    if scale.low < 0:
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
    drawn = [(curve, _placed(log, page, track.scale, curve, column)) for curve in track.curves]
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
    log: LogDrawing, page: DepthPage, scale: Scale, curve: Curve, column: Column
) -> list[FloatArray]:
    """Return the lines of a curve on one page [mm], clipped to the axis."""
    depth = log.interpretation.series.get("depth")
    shown = np.clip(curve.values, _lowest(scale), scale.high)
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
        y = float(log.y(page, peak.depth))
        edge, side = (column.right, -1.0) if peak.high else (column.left, 1.0)
        arrow = [(edge, y), (edge + side * 1.3, y - 0.75), (edge + side * 1.3, y + 0.75)]
        plate.areas([arrow], curve.colour)
        decimals = track.decimals if abs(peak.value) >= 1 or track.decimals == 0 else 2
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


def _draw_removed(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
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
        cone = log.columns.tracks["cone"]
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


def _draw_water(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    """Draw the water level: the usual triangle on two strokes, and how it is known."""
    water = log.interpretation.profile.water
    if water is None:
        return
    column = log.columns.tracks["pore"]
    first = page is log.plan.pages[0]
    above = water.level < page.top
    if (above and not first) or water.level > page.base:
        return
    y = max(float(log.y(page, water.level)), 0.0)
    mark = "◇ " if water.origin is WaterOrigin.ASSUMED else ""
    x = column.left + 2.2
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


def _draw_end(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    """Close the log under the last reading and say why the push ended."""
    depth = log.interpretation.series.get("depth")
    last = float(np.nanmax(depth)) if np.isfinite(depth).any() else page.top
    if not page.top <= last <= page.base:
        return
    y = float(log.y(page, last))
    cone = log.columns.tracks["cone"]
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


def _draw_frames(plate: Plate, log: LogDrawing) -> None:
    for column in (log.columns.rail, *log.columns.tracks.values()):
        plate.frame(column.left, 0, column.right, PLOT_HEIGHT, looks.FRAME_WEIGHT)


def _draw_headings(plate: Plate, log: LogDrawing) -> None:
    height = log.paper.headings
    rows = (-height + 2.2, -height + 5.5, -height + 8.6)
    depth, rail = log.columns.depth, log.columns.rail
    plate.text(depth.right - 1.7, rows[0], "Depth", looks.TITLE_SIZE, anchor="rm", bold=True)
    plate.text(depth.right - 1.7, rows[1], "m", looks.BODY_SIZE, anchor="rm")
    plate.boxes([(rail.left - 0.14, -height + 0.06, rail.right + 0.14, rows[1] + 1.9)], looks.INK)
    for k, word in enumerate(("Proof", "rail")):
        plate.text(
            rail.middle, rows[k], word, looks.TITLE_SIZE, anchor="cm", bold=True, colour=looks.PAPER
        )
    for name, column in log.columns.tracks.items():
        if name != "soil":
            _draw_heading(plate, log.tracks[name], column, rows)
        else:
            draw_soil_heading(plate, column, rows)
    location = log.interpretation.profile.sounding.location
    if log.columns.level is not None:
        right = log.columns.level.right
        plate.text(right, rows[0], "Level", looks.TITLE_SIZE, anchor="rm", bold=True)
        plate.text(right, rows[1], "m", looks.BODY_SIZE, anchor="rm")
        if location.datum:
            plate.text(right, rows[2], location.datum, looks.SMALL_SIZE, anchor="rm", width=10)


def _draw_heading(
    plate: Plate, track: Track, column: Column, rows: tuple[float, float, float]
) -> None:
    plate.lines(
        [[(column.left, rows[0] - 2.0), (column.right, rows[0] - 2.0)]], looks.INK, 0.28, butt=True
    )
    if track.scale is None:
        for y, word in zip(rows, track.title.split(" "), strict=False):
            plate.text(column.left, y, word, looks.TITLE_SIZE, bold=True, width=column.width)
        return
    plate.text(column.left, rows[0], track.title, looks.TITLE_SIZE, bold=True, width=column.width)
    x = column.left
    if track.unit != "-":
        plate.text(column.right, rows[1], track.unit, looks.BODY_SIZE, anchor="rm")
    for curve in reversed(track.curves):
        plain = curve.text.replace("_{", "").replace("}", "")
        wide = 4.0 + 0.6 + 1.18 * len(plain) + 1.6
        plate.lines(
            [[(x, rows[1]), (x + 4.0, rows[1])]],
            curve.colour,
            max(curve.weight, 0.2),
            dash=curve.dash,
        )
        plate.text(x + 4.6, rows[1], curve.text, looks.BODY_SIZE, colour=looks.INK)
        x += wide
    for note in track.notes[:1]:
        plate.text(
            column.left,
            rows[2],
            note,
            looks.SMALL_SIZE + 0.2,
            colour=looks.CAUTION,
            bold=True,
            width=column.width,
        )
    _draw_axis(plate, track, column)


def _draw_axis(plate: Plate, track: Track, column: Column) -> None:
    scale = track.scale
    assert scale is not None
    ticks = scale.ticks()
    texts = [looks.minus(tick_text(value, scale.step)) for value in ticks]
    places = scale.place(np.array(ticks), column.left, column.right)
    pitch = float(places[1] - places[0]) if len(places) > 1 else column.width
    need = 2.13 * max(len(text) for text in texts) + 0.6
    skip = max(1, math.ceil(need / pitch))
    zero = ticks.index(0.0) if 0.0 in ticks else 0
    for y, side in ((-2.5, -1.0), (PLOT_HEIGHT + 2.4, 1.0)):
        edge = 0.0 if side < 0 else PLOT_HEIGHT
        plate.lines(
            [[(x, edge), (x, edge + side * 0.9)] for x in places], looks.INK, 0.14, butt=True
        )
        for k, (x, text) in enumerate(zip(places, texts, strict=True)):
            if (k - zero) % skip:
                continue
            half = 0.71 * len(text)
            at = min(max(float(x), column.left + half - 0.3), column.right - half + 0.3)
            plate.text(at, y, text, looks.TICK_SIZE, anchor="cm")


def _is_multiple(value: float, step: float) -> bool:
    return abs(value / step - round(value / step)) < 1e-6

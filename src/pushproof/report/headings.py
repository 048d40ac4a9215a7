"""Headings of a depth page: titles, legends and the numbers of the axes, above and below."""

from __future__ import annotations

import math

import numpy as np

from pushproof.report import looks
from pushproof.report.drawing import LogDrawing
from pushproof.report.layout import PLOT_HEIGHT, Column
from pushproof.report.plate import Plate
from pushproof.report.scales import tick_text
from pushproof.report.soilplate import draw_soil_heading
from pushproof.report.tracks import Track


def draw_headings(plate: Plate, log: LogDrawing) -> None:
    """Draw the band above the plot and the numbers of the axes."""
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
    curves = track.curves[::-1]
    letters = [1.18 * len(c.text.replace("_{", "").replace("}", "")) for c in curves]
    spare = column.width - sum(letters) - 2.2 * len(curves)
    sample = min(4.0, max(1.6, spare / max(len(curves), 1)))  # shorter where curves are many
    widths = [sample + 2.2 + wide for wide in letters]
    if track.unit != "-":
        crowded = sum(widths) + 1.4 * len(track.unit) > column.width and not track.notes
        row = rows[2] if crowded else rows[1]
        plate.text(column.right, row, track.unit, looks.BODY_SIZE, anchor="rm")
    for curve, wide in zip(curves, widths, strict=True):
        if curve.band is not None:
            plate.boxes([(x, rows[1] - 1.1, x + 4.0, rows[1] + 1.1)], looks.BAND_FILL)
        plate.lines(
            [[(x, rows[1]), (x + sample, rows[1])]],
            curve.colour,
            max(curve.weight, 0.2),
            dash=curve.dash,
        )
        plate.text(x + sample + 0.6, rows[1], curve.text, looks.BODY_SIZE, colour=looks.INK)
        x += wide
    if any(curve.band is not None for curve in curves):
        plate.text(column.left, rows[2], "p10–p90", looks.SMALL_SIZE, colour=looks.SOFT_INK)
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

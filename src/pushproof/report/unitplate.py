"""Units on a log: boundary lines across the tracks, a strip of the units and their names.

The strip stands between the soil figure and the words: colour of the mean Ic, hatch of the main
zone. Words of thin units are moved apart and tied to their unit by a line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pushproof.equations.behaviour import WORDS
from pushproof.interpretation.layers import RECORD, SET, Edge, Unit
from pushproof.report import looks
from pushproof.report.drawing import LogDrawing
from pushproof.report.layout import PLOT_HEIGHT, Column, DepthPage
from pushproof.report.plate import Plate
from pushproof.report.soil import ZONES, soil_hex
from pushproof.report.soilplate import draw_hatch, silhouette

STRIP = 2.4
"""Width of the strip of units [mm]."""
LINE = 2.45
"""Height of a line of words [mm]."""
LETTER = 1.22
"""Usual width of a letter of the words [mm]."""
FIRM = 0.5
"""Boundaries less sure than this are dashed."""
ROOM_FOR_DEPTH = 7.2
"""Least height of a unit whose base is written [mm]."""


@dataclass(frozen=True, slots=True)
class _Words:
    """The words of one unit: where they belong, where they stand, and how many lines."""

    unit: Unit
    top: float
    base: float
    middle: float
    lines: int


def draw_boundaries(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    """Draw a line across the tracks at each boundary between units."""
    bands = [
        (column.left, column.right)
        for name, column in log.columns.tracks.items()
        if log.tracks[name].scale is not None and name != "soil"
    ]
    for edge in log.layers.edges:
        y = float(log.y(page, edge.depth))
        if edge.origin == RECORD or not 0.0 < y < PLOT_HEIGHT:
            continue
        plate.lines(
            [[(a, y), (b, y)] for a, b in bands], looks.INK, 0.14, dash=_dash(edge), butt=True
        )


def draw_units(plate: Plate, log: LogDrawing, page: DepthPage) -> None:
    """Draw the strip of units beside the soil figure, and their names."""
    column = log.columns.tracks["soil"]
    left = silhouette(column).right + 0.7
    strip = Column(left, left + STRIP)
    shown = [u for u in log.layers.units if u.base > page.top and u.top < page.base]
    for unit in shown:
        _draw_part(plate, log, page, unit, strip)
    for edge in log.layers.edges:
        _draw_edge(plate, log, page, edge, strip, column)
    plate.lines(
        [[(x, 0.0), (x, PLOT_HEIGHT)] for x in (strip.left, strip.right)],
        looks.SOFT_INK,
        0.1,
        butt=True,
    )
    _write(plate, log, page, shown, strip, column)


def _dash(edge: Edge) -> tuple[float, ...] | None:
    sure = edge.origin == SET or (edge.confidence or 0.0) >= FIRM
    return None if sure else (0.9, 0.7)


def _ends(log: LogDrawing, page: DepthPage, unit: Unit) -> tuple[float, float]:
    top, base = float(log.y(page, unit.top)), float(log.y(page, unit.base))
    return max(top, 0.0), min(base, PLOT_HEIGHT)


def _draw_part(plate: Plate, log: LogDrawing, page: DepthPage, unit: Unit, strip: Column) -> None:
    top, base = _ends(log, page, unit)
    if unit.ic is None or not unit.zones:
        plate.boxes([(strip.left, top, strip.right, base)], looks.VOID)
        return
    plate.boxes([(strip.left, top, strip.right, base)], soil_hex(unit.ic))
    draw_hatch(plate, ZONES[unit.zones[0]], strip, top, base)


def _draw_edge(
    plate: Plate, log: LogDrawing, page: DepthPage, edge: Edge, strip: Column, column: Column
) -> None:
    y = float(log.y(page, edge.depth))
    if not 0.0 < y < PLOT_HEIGHT:
        return
    plate.lines([[(strip.left, y), (strip.right, y)]], looks.INK, 0.2, butt=True)
    shape = silhouette(column)
    plate.lines([[(shape.left, y), (shape.right, y)]], looks.INK, 0.14, dash=_dash(edge), butt=True)
    if edge.origin == SET:
        tip = strip.left - 0.05
        plate.areas([[(tip - 1.1, y - 0.65), (tip - 1.1, y + 0.65), (tip, y)]], looks.INK)


def _write(
    plate: Plate,
    log: LogDrawing,
    page: DepthPage,
    units: Sequence[Unit],
    strip: Column,
    column: Column,
) -> None:
    x, wide = strip.right + 1.0, column.right - strip.right - 1.4
    removed = log.interpretation.profile.sounding.removed
    told = [u for u in units if not (u.kind == "pre-excavated" and removed)]
    for words in _placed(log, page, told, wide):
        inside = words.top <= words.middle <= words.base
        edge = _edge_below(log, words.unit)
        deep = inside and words.base - words.top >= ROOM_FOR_DEPTH and words.base < PLOT_HEIGHT
        if not inside:
            own = (words.top + words.base) / 2
            plate.lines(
                [[(strip.right, own), (x - 0.25, words.middle)]], looks.SOFT_INK, 0.1, butt=True
            )
        if deep and edge is not None and edge.spread is not None:
            plate.text(
                column.right - 0.4,
                words.base - 1.35,
                f"{words.unit.base:.2f} ± {edge.spread:.2f}",
                looks.SMALL_SIZE - 0.2,
                anchor="rm",
                colour=looks.SOFT_INK,
                width=wide,
            )
        plate.text(
            x,
            words.middle,
            _name(words.unit, wide, words.lines),
            looks.BODY_SIZE - 0.2,
            width=wide,
            lines=words.lines,
            italic=words.unit.kind != "ground",
            colour=looks.INK if words.unit.kind == "ground" else looks.SOFT_INK,
        )


def _edge_below(log: LogDrawing, unit: Unit) -> Edge | None:
    edges = log.layers.edges
    return edges[unit.number - 1] if unit.number <= len(edges) else None


def _name(unit: Unit, wide: float, lines: int) -> str:
    """Return number and name, with the main zone alone where there is no room for two."""
    name = unit.name
    if not unit.named and len(unit.zones) > 1 and _lines(f"{unit.number} {name}", wide) > lines:
        name = WORDS[unit.zones[0]]
    return f"{unit.number}  {name}"


def _lines(text: str, wide: float) -> int:
    """Return how many lines a text takes, broken between words."""
    count, used = 1, 0.0
    for word in text.split():
        size = LETTER * (len(word) + 1)
        if used and used + size > wide + LETTER:
            count, used = count + 1, 0.0
        used += size
    return count


def _placed(log: LogDrawing, page: DepthPage, units: Sequence[Unit], wide: float) -> list[_Words]:
    """Place words in the middle of their unit, then move them apart where they would meet."""
    found = []
    for unit in units:
        top, base = _ends(log, page, unit)
        room = max(1, min(3, int((base - top) / LINE)))
        lines = min(room, _lines(f"{unit.number}  {unit.name}", wide))
        found.append(_Words(unit, top, base, (top + base) / 2, lines))
    heights = [one.lines * LINE for one in found]
    middles = apart([one.middle for one in found], heights, PLOT_HEIGHT)
    return [
        _Words(one.unit, one.top, one.base, middle, one.lines)
        for one, middle in zip(found, middles, strict=True)
    ]


def apart(middles: Sequence[float], heights: Sequence[float], end: float) -> list[float]:
    """Move boxes apart so that none meet, each as little as can be.

    Parameters
    ----------
    middles
        Where they want to be, rising [mm].
    heights
        [mm].
    end
        They stay between 0 and this, if they all fit.

    Notes
    -----
    With the heights taken out the boxes must not pass each other, which is a rising line fitted
    to points: pooling of neighbours out of order gives the least sum of squares.

    Examples
    --------
    >>> apart([1.0, 1.5, 9.0], [2.0, 2.0, 2.0], 10.0)
    [1.0, 3.0, 9.0]
    """
    if not middles:
        return []
    size = np.asarray(heights, dtype=np.float64)
    offset = np.cumsum(size) - size / 2
    pools: list[list[float]] = []
    for value in np.asarray(middles, dtype=np.float64) - offset:
        pools.append([float(value), 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            mean, count = pools.pop()
            pools[-1] = [
                (pools[-1][0] * pools[-1][1] + mean * count) / (pools[-1][1] + count),
                pools[-1][1] + count,
            ]
    level = np.concatenate([np.full(int(count), mean) for mean, count in pools])
    level = np.clip(level, 0.0, max(end - float(size.sum()), 0.0))
    return [round(float(value), 6) for value in level + offset]

"""Drawing of the proof rail and its key: fills that survive grey, shapes before colours."""

from __future__ import annotations

from collections.abc import Callable

from pushproof.model.findings import Severity
from pushproof.report import looks
from pushproof.report.layout import PLOT_HEIGHT, Column, DepthPage, DepthPlan
from pushproof.report.plate import Plate
from pushproof.report.rail import Mark, Numbered, Rail, Trace

_TRACE_LANE = (0.0, 2.5)
_MARK_LANE = (2.5, 5.3)
_FINDING_X = 7.0
_BAR_X = 5.75
_APART = 2.9
"""Least distance between two finding signs [mm]; closer ones share a sign."""

_SEVERITY_COLOUR = {
    Severity.INFO: looks.INFO,
    Severity.CAUTION: looks.CAUTION,
    Severity.STOP: looks.STOP,
}
_MARK_WORDS = {
    "rod-change": "rod change",
    "pause": "pause",
    "dissipation": "dissipation",
    "tilt-step": "tilt step",
}
_SEVERITY_WORDS = {
    Severity.INFO: "finding: info",
    Severity.CAUTION: "finding: caution",
    Severity.STOP: "finding: stop",
}


def draw_rail(plate: Plate, rail: Rail, column: Column, page: DepthPage, plan: DepthPlan) -> None:
    """Draw the rail of one page into its column."""

    def y(depth: float) -> float:
        return min(max((depth - page.top) * plan.mm_per_metre, 0.0), PLOT_HEIGHT)

    left = column.left
    plate.boxes([(left, 0, column.right, PLOT_HEIGHT)], looks.PAPER)
    for span in rail.spans:
        if span.base > page.top and span.top < page.base:
            fill_trace(plate, span.trace, left, y(span.top), left + _TRACE_LANE[1], y(span.base))
    for rate in rail.rate:
        if rate.base > page.top and rate.top < page.base:
            _rate_bar(plate, left, y(rate.top), y(rate.base), fast=rate.fast)
    for mark in rail.marks:
        if page.top <= mark.depth < page.base:
            _mark(plate, mark, left, y(mark.depth))
    edges = [left + _TRACE_LANE[1], left + _MARK_LANE[1]]
    plate.lines([[(x, 0), (x, PLOT_HEIGHT)] for x in edges], looks.GRID_MAJOR, 0.12, butt=True)
    _findings(plate, rail.findings, column, page, y)


def fill_trace(
    plate: Plate, trace: Trace, left: float, top: float, right: float, bottom: float
) -> None:
    """Fill one stretch of the first lane; every kind differs in grey or in pattern."""
    if bottom - top < 0.05:
        bottom = top + 0.05
    box = (left, top, right, bottom)
    if trace is Trace.LIVE:
        plate.boxes([box], looks.MEASURED)
    elif trace is Trace.MEMORY:
        plate.boxes([box], "#CFE0EC")
        _hatch(plate, box, looks.MEASURED, 0.22, 1.0)
    elif trace is Trace.IMPORTED:
        plate.boxes([box], "#9FB0BC")
    elif trace is Trace.SIMULATED:
        plate.boxes([box], "#F0E6F5")
        _hatch(plate, box, looks.BLOWS, 0.14, 1.1)
        _hatch(plate, box, looks.BLOWS, 0.14, 1.1, rising=True)
    elif trace is Trace.UNKNOWN:
        plate.boxes([box], "#DCE2E6")
    elif trace is Trace.BLANKED:
        plate.boxes([box], looks.PAPER)
        _hatch(plate, box, looks.INK, 0.16, 0.8, rising=True)
    elif trace is Trace.PREDRILLED:
        plate.boxes([box], looks.VOID)
        rows = max(1, int((bottom - top) / 0.9))
        centres = [
            (left + 0.6 + (0.6 if k % 2 else 0) + 1.25 * j, top + 0.5 + 0.9 * k)
            for k in range(rows)
            for j in range(2 if not k % 2 else 1)
        ]
        plate.dots(
            [c for c in centres if c[1] < bottom - 0.2 and c[0] < right - 0.3], looks.SOFT_INK, 0.3
        )
    else:
        plate.boxes([box], looks.PAPER)
        plate.lines([[(left + 1.25, top), (left + 1.25, bottom)]], looks.STOP, 0.2, dash=(0.5, 0.5))


def _hatch(
    plate: Plate,
    box: tuple[float, float, float, float],
    colour: str,
    weight: float,
    pitch: float,
    *,
    rising: bool = False,
) -> None:
    left, top, right, bottom = box
    width = right - left
    found = []
    c = top - width + pitch / 2
    while c < bottom:
        # the line y = c + t for t along the width, cut at the box
        t0, t1 = max(0.0, top - c), min(width, bottom - c)
        if t1 > t0:
            a, b = (left + t0, c + t0), (left + t1, c + t1)
            if rising:
                a, b = (right - t0, c + t0), (right - t1, c + t1)
            found.append([a, b])
        c += pitch
    plate.lines(found, colour, weight, butt=True)


def _rate_bar(plate: Plate, left: float, top: float, bottom: float, *, fast: bool) -> None:
    """Show a stretch pushed too slowly (open, at the left) or too fast (solid, at the right)."""
    bottom = max(bottom, top + 0.5)
    if fast:
        plate.boxes([(left + 4.15, top, left + 5.05, bottom)], looks.CAUTION)
        return
    a, b = left + 2.8, left + 3.7
    plate.boxes([(a, top, b, bottom)], looks.CAUTION_FILL)
    plate.lines([[(a, top), (b, top), (b, bottom), (a, bottom), (a, top)]], looks.CAUTION, 0.16)


def _mark(plate: Plate, mark: Mark, left: float, y: float) -> None:
    middle = left + (_MARK_LANE[0] + _MARK_LANE[1]) / 2
    if mark.kind == "rod-change":
        plate.lines([[(left, y), (left + _MARK_LANE[1], y)]], looks.INK, 0.13, butt=True)
    elif mark.kind == "pause":
        plate.boxes([(middle - 1.0, y - 0.95, middle + 1.0, y + 0.95)], looks.PAPER)
        plate.boxes(
            [
                (middle - 0.7, y - 0.75, middle - 0.25, y + 0.75),
                (middle + 0.25, y - 0.75, middle + 0.7, y + 0.75),
            ],
            looks.INK,
        )
    elif mark.kind == "dissipation":
        plate.boxes([(middle - 1.15, y - 1.05, middle + 1.15, y + 1.05)], looks.PORE)
        plate.text(middle, y, "D", looks.SMALL_SIZE, anchor="cm", colour=looks.PAPER, bold=True)
    else:
        plate.lines([[(middle - 0.9, y + 0.9), (middle + 0.9, y - 0.9)]], looks.STOP, 0.36)
        plate.lines([[(middle - 0.9, y + 0.9), (middle - 0.9, y - 0.9)]], looks.STOP, 0.16)


def _findings(
    plate: Plate,
    findings: tuple[Numbered, ...],
    column: Column,
    page: DepthPage,
    y: Callable[[float], float],
) -> None:
    """Draw a bar over each interval and one sign for findings that stand close together."""
    groups: list[list[Numbered]] = []
    last = -10.0
    for item in findings:
        top = item.finding.top
        base = item.finding.base if item.finding.base is not None else top
        if top is None or base is None or base < page.top or top >= page.base:
            continue
        if base > top:
            _bar(plate, column.left + _BAR_X, y(top), y(base), item.finding.severity)
        if top < page.top and page.top > 0:
            top = page.top
        if groups and y(top) - last < _APART:
            groups[-1].append(item)
        else:
            groups.append([item])
            last = y(top)
    for group in groups:
        first = group[0].finding.top
        at = min(max(y(first if first is not None else page.top), 1.2), PLOT_HEIGHT - 1.2)
        worst = max(item.finding.severity for item in group)
        _sign(plate, worst, column.left + _FINDING_X, at)
        more = "+" if len(group) > 1 else ""
        plate.text(
            column.left + _FINDING_X + 1.5,
            at,
            f"{group[0].number}{more}",
            looks.SMALL_SIZE,
            colour=_SEVERITY_COLOUR[worst],
            bold=True,
            width=column.width - _FINDING_X - 1.6,
        )


def _bar(plate: Plate, x: float, top: float, bottom: float, severity: Severity) -> None:
    weight = {Severity.INFO: 0.15, Severity.CAUTION: 0.3, Severity.STOP: 0.5}[severity]
    plate.lines(
        [[(x, top), (x, max(bottom, top + 0.3))]], _SEVERITY_COLOUR[severity], weight, butt=True
    )


def _sign(plate: Plate, severity: Severity, x: float, y: float) -> None:
    """Draw an open ring (info), a triangle (caution) or a solid square on its corner (stop)."""
    colour = _SEVERITY_COLOUR[severity]
    if severity is Severity.STOP:
        plate.areas([[(x, y - 1.25), (x + 1.25, y), (x, y + 1.25), (x - 1.25, y)]], colour)
        plate.lines([[(x, y - 0.6), (x, y + 0.15)]], looks.PAPER, 0.3)
        plate.dots([(x, y + 0.62)], looks.PAPER, 0.32)
    elif severity is Severity.CAUTION:
        corners = [(x, y - 1.15), (x + 1.2, y + 0.95), (x - 1.2, y + 0.95)]
        plate.areas([corners], looks.CAUTION_FILL)
        plate.lines([[*corners, corners[0]]], colour, 0.22)
        plate.lines([[(x, y - 0.3), (x, y + 0.2)]], colour, 0.22)
        plate.dots([(x, y + 0.58)], colour, 0.25)
    else:
        plate.dots([(x, y)], colour, 1.7)
        plate.dots([(x, y)], looks.PAPER, 1.25)
        plate.dots([(x, y)], colour, 0.4)


def draw_rail_key(plate: Plate, rail: Rail, content: float, y: float) -> None:
    """Draw the key to what occurs on this rail, in slots over the content width."""
    items: list[tuple[Callable[[float, float], None], str]] = []
    for trace in rail.traces:
        items.append((_trace_swatch(plate, trace), trace.value))
    for kind in rail.kinds:
        items.append((_mark_swatch(plate, kind), _MARK_WORDS[kind]))
    if any(not r.fast for r in rail.rate):
        items.append((_rate_swatch(plate, fast=False), "rate < 15 mm/s"))
    if any(r.fast for r in rail.rate):
        items.append((_rate_swatch(plate, fast=True), "rate > 25 mm/s"))
    located = {i.finding.severity for i in rail.findings if i.finding.top is not None}
    for severity in sorted(located):
        items.append((_severity_swatch(plate, severity), _SEVERITY_WORDS[severity]))
    plate.text(0, y + 1.2, "Rail", looks.SMALL_SIZE + 0.4, bold=True)
    columns = 7
    slot = (content - 8.0) / columns
    for k, (draw, words) in enumerate(items):
        x, row = 8.0 + slot * (k % columns), y + 1.2 + 3.3 * (k // columns)
        draw(x, row)
        plate.text(x + 4.8, row, words, looks.SMALL_SIZE + 0.2, width=slot - 5.6)


def _trace_swatch(plate: Plate, trace: Trace) -> Callable[[float, float], None]:
    def draw(x: float, y: float) -> None:
        fill_trace(plate, trace, x + 0.6, y - 1.2, x + 3.1, y + 1.2)
        plate.frame(x + 0.6, y - 1.2, x + 3.1, y + 1.2, 0.12)

    return draw


def _mark_swatch(plate: Plate, kind: str) -> Callable[[float, float], None]:
    return lambda x, y: _mark(plate, Mark(kind, 0.0), x - (1.6 if kind != "rod-change" else 0.8), y)


def _rate_swatch(plate: Plate, *, fast: bool) -> Callable[[float, float], None]:
    return lambda x, y: _rate_bar(plate, x - (2.6 if fast else 1.4), y - 1.2, y + 1.2, fast=fast)


def _severity_swatch(plate: Plate, severity: Severity) -> Callable[[float, float], None]:
    return lambda x, y: _sign(plate, severity, x + 2.2, y)

"""The plots of a dissipation test: log time with the residuals under it, and root time.

Drawn: the record, the fitted line or curve, in-situ pressure, half dissipation and its time, the
degree of dissipation at the right. Each line has a weight or a dash of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.dissipation import DissipationFit, DissipationResult
from pushproof.model.sounding import Dissipation
from pushproof.report import looks
from pushproof.report.panels import Panel
from pushproof.report.plate import Plate
from pushproof.report.scales import Scale, axis_end, signed_scale, tick_text
from pushproof.report.tracks import symbol

FloatArray = NDArray[np.float64]

HEIGHT = 136.0
"""Height of the plots of one test [mm]."""
_LOG_TOP, _LOG_BOTTOM = 6.0, 57.0
_REST_TOP, _REST_BOTTOM = 60.0, 71.0
_ROOT_TOP, _ROOT_BOTTOM = 86.0, 128.0
_SIDE = 14.0
"""Room at the right for the degree of dissipation [mm]."""
_SECONDS = {
    0.1: "0.1 s",
    1: "1 s",
    10: "10 s",
    60: "1 min",
    600: "10 min",
    3600: "1 h",
    36000: "10 h",
    360000: "100 h",
}
_ROOTS = 16.0
"""The plot over root time ends at so many t50: its use is the start of the record."""
_BEYOND = 4.0
"""An extrapolated t50 is shown where it lies within so many lengths of the record."""
_WORDS = {
    "root-time": "straight part",
    "curve-fit": "tabulated curve",
    "dilatory-fit": "dilatory solution",
}
_DASH: dict[str, tuple[float, ...] | None] = {
    "root-time": None,
    "curve-fit": (2.2, 0.8),
    "dilatory-fit": (1.2, 0.6),
}
_OTHERS = {"u1": (0.9, 0.45), "u3": (0.4, 0.4), "u2": (2.4, 0.5)}


@dataclass(frozen=True)
class _Axes:
    """What both plots share."""

    y: Scale
    shortest: float
    longest: float


def draw(result: DissipationResult, test: Dissipation, content: float) -> Plate:
    """Return the plots of a test.

    Parameters
    ----------
    result
        What was found.
    test
        The record; other pore pressures in it are drawn thin.
    content
        Width between the margins [mm].
    """
    plate = Plate(left=-2.0, top=0.0, right=content + 2.0, bottom=HEIGHT)
    if not len(result.time):
        words = "Too few readings of pore pressure in this test to draw."
        plate.text(0, 10, words, looks.BODY_SIZE)
        return plate
    axes = _axes(result)
    right = content - _SIDE
    ends = (math.log10(axes.shortest), math.log10(axes.longest))
    log_panel = Panel(13.0, _LOG_TOP, right, _LOG_BOTTOM, Scale(*ends, 1.0), axes.y)
    until, words = axes.longest, "square root of time in s"
    if result.t50 > 0 and _ROOTS * result.t50 < 0.9 * until:
        until, words = _ROOTS * result.t50, f"{words}; the end of the record is above only"
    root_panel = Panel(13.0, _ROOT_TOP, right, _ROOT_BOTTOM, _root_scale(until), axes.y)
    fitted = any(len(fit.residual_time) for fit in result.fits)
    _log_grid(plate, log_panel, axes, _REST_BOTTOM if fitted else _LOG_BOTTOM)
    root_panel.draw_grid(plate, "Pore pressure over root time, kPa", x_words=words)
    for panel, log in ((log_panel, True), (root_panel, False)):
        _draw_record(plate, panel, result, test, log)
        _draw_marks(plate, panel, result, log)
        _draw_degrees(plate, panel, result)
        panel.draw_frame(plate)
    _draw_residuals(plate, result, log_panel)
    _draw_key(plate, result, content)
    return plate


def _axes(result: DissipationResult) -> _Axes:
    chosen = result.chosen
    inside = [value for value in (result.u0, result.u_i) if math.isfinite(value)]
    y = signed_scale([result.u], inside=inside, least=20.0, share=1.0)
    length = float(result.time[-1])
    longest = max(length, 4.0)
    if chosen is not None and length < chosen.t50 <= _BEYOND * length:
        longest = 1.06 * chosen.t50
    later = result.time[result.time > 0]
    first = float(later[0]) if later.size else 1.0
    shortest = 10.0 ** math.floor(math.log10(min(max(first, 0.1), 10.0)))
    return _Axes(y, shortest, max(longest, 10.0 * shortest))


def _along(time: FloatArray, panel: Panel, log: bool) -> FloatArray:
    """Return times in the unit of the axis."""
    if not log:
        return np.asarray(np.sqrt(np.maximum(time, 0.0)))
    return np.asarray(np.log10(np.maximum(time, 10.0**panel.x.low)))


def _draw_record(
    plate: Plate, panel: Panel, result: DissipationResult, test: Dissipation, log: bool
) -> None:
    for key, dash in _OTHERS.items():
        if key == result.channel or not test.readings.measured(key):
            continue
        time, u = test.readings.get("time") - result.t0, test.readings[key]
        known = np.isfinite(time) & np.isfinite(u) & (time >= 0)
        known &= time <= (math.inf if log else panel.x.high**2)
        points = panel.place(_along(time[known], panel, log), u[known])
        plate.lines([points], looks.SECOND, 0.2, dash=dash)
    seen = result.time <= (math.inf if log else panel.x.high**2)
    points = panel.place(_along(result.time[seen], panel, log), result.u[seen])
    plate.lines([points], looks.PORE, looks.CURVE)
    if len(result.time) <= 150:
        plate.dots([(float(x), float(y)) for x, y in points], looks.PORE, 0.9)
    for fit in result.fits:
        if fit.method == "root-time" and log:
            continue
        inside = fit.time <= (10**panel.x.high if log else panel.x.high**2)
        line = panel.place(_along(fit.time[inside], panel, log), fit.u[inside])
        plate.lines([line], looks.RATIO, 0.24, dash=_DASH[fit.method])


def _draw_marks(plate: Plate, panel: Panel, result: DissipationResult, log: bool) -> None:
    ends = np.array([panel.x.low, panel.x.high])
    if math.isfinite(result.u0):
        line = panel.place(ends, np.full(2, result.u0))
        plate.lines([line], looks.WATER, 0.2, dash=(1.6, 0.7))
        sign = "u_{0} assumed" if result.u0_by == "assumed" else "u_{0}"
        y = float(line[0, 1])
        below = y + 2.2 if panel.bottom - y > 4 else y - 2.0
        if result.chosen is None or result.u0_by == "assumed":  # else the degrees say it
            middle = _along(np.array([max(result.t50, 0.0)]), panel, log)[0]
            late = middle > (panel.x.low + panel.x.high) / 2
            at, anchor = (panel.left + 1.0, "lm") if late else (panel.right - 1.0, "rm")
            plate.text(at, below, sign, looks.BODY_SIZE, anchor=anchor, colour=looks.WATER)
    chosen = result.chosen
    if chosen is None:
        return
    if not log:
        _draw_start(plate, panel, result)
    t50 = chosen.t50 + _shift(result)
    latest = 10**panel.x.high if log else panel.x.high**2
    if not (math.isfinite(t50) and 0 < t50 <= latest and math.isfinite(chosen.u50)):
        return
    x = float(_along(np.array([t50]), panel, log)[0])
    ((px, py),) = panel.place(np.array([x]), np.array([chosen.u50]))
    corner = [(panel.left, float(py)), (float(px), float(py)), (float(px), panel.bottom)]
    plate.lines([corner], looks.INK, 0.16, dash=(0.5, 0.5))
    plate.dots([(float(px), float(py))], looks.INK, 1.5)
    words = "t_{50} " + time_words(chosen.t50) + (" extrapolated" if chosen.extrapolated else "")
    near_right = px > panel.right - 30.0
    at, below, anchor = (px - 1.6, 2.4, "rm") if near_right else (px + 1.6, -2.2, "lm")
    plate.text(float(at), float(py) + below, words, looks.BODY_SIZE, anchor=anchor, bold=True)
    if px - panel.left > 12.0:
        plate.text(panel.left + 1.0, float(py) - 1.8, "u_{50}", looks.BODY_SIZE)


def _draw_start(plate: Plate, panel: Panel, result: DissipationResult) -> None:
    """Mark the initial pressure at time zero on the root-time plot."""
    ((x, y),) = panel.place(np.zeros(1), np.array([result.u_i]))
    plate.dots([(float(x), float(y))], looks.RATIO, 1.7)


def _shift(result: DissipationResult) -> float:
    """Return where the time of the chosen method begins, after the stop [s]."""
    rises = result.method == "log-time" and result.u_peak == result.u_i
    return result.peak_time if rises else 0.0


def _draw_degrees(plate: Plate, panel: Panel, result: DissipationResult) -> None:
    """Write the degree of dissipation at the right of a plot."""
    if result.chosen is None or not result.u_i > result.u0:
        return
    for degree in (0, 20, 50, 80, 100):
        u = result.u_i - degree / 100.0 * (result.u_i - result.u0)
        if not panel.y.low <= u <= panel.y.high:
            continue
        ((_, y),) = panel.place(np.array([panel.x.high]), np.array([u]))
        plate.lines(
            [[(panel.right, float(y)), (panel.right + 1.2, float(y))]], looks.INK, 0.16, butt=True
        )
        sign = {0: "  u_{i}", 100: "  u_{0}"}.get(degree, "")
        plate.text(panel.right + 1.8, float(y), f"{degree} %{sign}", looks.TICK_SIZE)


def _draw_residuals(plate: Plate, result: DissipationResult, above: Panel) -> None:
    drawn = _fits_shown(result)
    if not drawn:
        return
    largest = max(float(np.quantile(np.abs(fit.residual), 0.98)) for fit in drawn)
    end = axis_end(max(largest, 0.5))
    panel = Panel(above.left, _REST_TOP, above.right, _REST_BOTTOM, above.x, Scale(-end, end, end))
    for value in (-end, 0.0, end):
        ((_, y),) = panel.place(np.array([panel.x.low]), np.array([value]))
        plate.lines([[(panel.left, float(y)), (panel.right, float(y))]], looks.GRID_MAJOR, 0.1)
        text = looks.minus(tick_text(value, end))
        plate.text(panel.left - 1.2, float(y), text, looks.TICK_SIZE, anchor="rm")
    for fit in drawn:
        points = panel.place(_along(fit.residual_time, panel, True), fit.residual)
        plate.lines([points], looks.RATIO, 0.16, dash=_DASH[fit.method])
    panel.draw_frame(plate)
    words = "record less " + " and ".join(_WORDS[fit.method] for fit in drawn) + ", kPa"
    plate.text(
        panel.right, panel.bottom + 6.2, words, looks.TICK_SIZE, anchor="rm", colour=looks.SOFT_INK
    )


def _fits_shown(result: DissipationResult) -> list[DissipationFit]:
    """Return the fits whose residuals are drawn: the one used, else a whole curve, and dilatory."""
    fits = [fit for fit in result.fits if len(fit.residual_time)]
    used = [fit for fit in fits if fit.method == result.method] or fits[-1:]
    return used + [fit for fit in fits if fit.method == "dilatory-fit" and fit not in used]


def _draw_key(plate: Plate, result: DissipationResult, content: float) -> None:
    """Say what the lines are, right of the title of the root-time plot."""
    items: list[tuple[str, str, float, tuple[float, ...] | None]] = [
        (symbol(result.channel), looks.PORE, looks.CURVE, None)
    ]
    items += [(_WORDS[fit.method], looks.RATIO, 0.24, _DASH[fit.method]) for fit in result.fits]
    x = content - _SIDE
    for words, colour, weight, dash in reversed(items):
        plate.text(x, _ROOT_TOP - 2.6, words, looks.TICK_SIZE, anchor="rm")
        x -= _wide(words) + 1.0
        plate.lines([[(x - 7.0, _ROOT_TOP - 2.6), (x, _ROOT_TOP - 2.6)]], colour, weight, dash=dash)
        x -= 10.0


def _wide(words: str) -> float:
    return 1.25 * len(words.replace("_{", "").replace("}", ""))


def time_words(seconds: float) -> str:
    """Return a time in the unit that people say.

    Examples
    --------
    >>> time_words(40.05), time_words(1234), time_words(20000)
    ('40.0 s', '20.6 min', '5.6 h')
    """
    if not math.isfinite(seconds):
        return "–"
    if seconds < 300:
        return f"{seconds:.1f} s"
    if seconds < 18000:
        return f"{seconds / 60:.1f} min"
    return f"{seconds / 3600:.1f} h"


def _root_scale(longest: float) -> Scale:
    end = math.sqrt(longest)
    for step in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0):
        if end / step <= 12:
            return Scale(0.0, math.ceil(end / step) * step, step)
    return Scale(0.0, math.ceil(end / 200.0) * 200.0, 200.0)


def _log_grid(plate: Plate, panel: Panel, axes: _Axes, below: float) -> None:
    """Draw the grid of the log axis, its times as people say them at ``below`` [mm]."""
    bare = Panel(
        panel.left,
        panel.top,
        panel.right,
        panel.bottom,
        Scale(panel.x.low, panel.x.high, 1e9),
        panel.y,
    )
    bare.draw_grid(plate, "Pore pressure over log time, kPa", x_texts=[""] * len(bare.x.ticks()))
    first = round(math.log10(axes.shortest))
    minor = [
        m * 10.0**p
        for p in range(first, 7)
        for m in range(1, 10)
        if axes.shortest <= m * 10.0**p <= axes.longest
    ]
    at = panel.place(np.log10(np.array(minor)), np.zeros(len(minor)))[:, 0]
    plate.lines([[(x, panel.top), (x, panel.bottom)] for x in at], looks.GRID, 0.08, butt=True)
    for second, words in _SECONDS.items():
        if axes.shortest * 0.999 <= second <= axes.longest * 1.0001:
            x = float(panel.place(np.array([math.log10(second)]), np.zeros(1))[0, 0])
            plate.lines([[(x, panel.top), (x, below)]], looks.GRID_MAJOR, 0.1, butt=True)
            plate.text(x, below + 2.4, words, looks.TICK_SIZE, anchor="cm")

"""Dissipation sheets: the pore pressure of one test over log time and over root time.

The numbers are read off the record: first value, last value, degree of dissipation towards the
hydrostatic pressure of the log. Consolidation is interpreted elsewhere.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pushproof.model.profile import Interpretation
from pushproof.model.sounding import Dissipation
from pushproof.report import looks
from pushproof.report.facts import NOT_STATED
from pushproof.report.panels import Panel
from pushproof.report.plate import Plate
from pushproof.report.scales import Scale, signed_scale
from pushproof.report.tracks import symbol

FloatArray = NDArray[np.float64]

HEIGHT = 176.0
"""Height of the two plots of one test [mm]."""
_SECONDS = {1: "1 s", 10: "10 s", 60: "1 min", 600: "10 min", 3600: "1 h", 36000: "10 h"}


def dissipation_parts(
    interpretation: Interpretation, test: Dissipation, content: float
) -> tuple[dict[str, Any], Plate]:
    """Return the words and the plots of one dissipation test.

    Parameters
    ----------
    interpretation
        The sounding; its u0 is drawn where there is one.
    test
        The test.
    content
        Width between the margins [mm].
    """
    time = test.readings.get("time")
    channels = [key for key in ("u2", "u1", "u3") if test.readings.measured(key)]
    hydrostatic = _hydrostatic(interpretation, test.depth)
    rows = [["Depth", f"{test.depth:.2f} m"]]
    rows.append(["Started", test.start.strftime("%Y-%m-%d %H:%M:%S") if test.start else NOT_STATED])
    known = np.isfinite(time)
    length = float(time[known].max() - time[known].min()) if known.any() else 0.0
    rows.append(["Duration", _duration(length)])
    rows.append(["Values", str(int(known.sum()))])
    words = NOT_STATED if hydrostatic is None else f"{hydrostatic:.1f} kPa"
    rows.append(["Hydrostatic u0", words])
    for key in channels:
        rows += _numbers(key, test.readings[key], hydrostatic)
    data = {"depth": f"{test.depth:.2f}", "rows": rows, "empty": not channels}
    return data, _plots(time, {k: test.readings[k] for k in channels}, hydrostatic, content)


def _numbers(key: str, values: FloatArray, hydrostatic: float | None) -> list[list[str]]:
    known = values[np.isfinite(values)]
    first, last, high = float(known[0]), float(known[-1]), float(known.max())
    rows = [[f"{key} first, last", looks.minus(f"{first:.1f}, {last:.1f} kPa")]]
    if high > first * 1.02 + 1.0:
        rows.append([f"{key} highest", f"{high:.1f} kPa: it rises after the stop"])
    if hydrostatic is not None and high - hydrostatic > 5.0:
        degree = 100 * (high - last) / (high - hydrostatic)
        rows.append([f"{key} dissipated", f"{degree:.0f} % from the highest value towards u0"])
    return rows


def _hydrostatic(interpretation: Interpretation, depth: float) -> float | None:
    series = interpretation.series
    if not series.measured("u0"):
        return None
    known = np.isfinite(series["u0"]) & np.isfinite(series["depth"])
    return float(np.interp(depth, series["depth"][known], series["u0"][known]))


def _duration(seconds: float) -> str:
    whole = round(seconds)
    hours, rest = divmod(whole, 3600)
    minutes, last = divmod(rest, 60)
    parts = [(hours, "h"), (minutes, "min"), (last, "s")]
    return " ".join(f"{n} {unit}" for n, unit in parts if n) or "0 s"


def _plots(
    time: FloatArray, columns: dict[str, FloatArray], hydrostatic: float | None, content: float
) -> Plate:
    plate = Plate(left=-2.0, top=0.0, right=content + 2.0, bottom=HEIGHT)
    if not columns:
        plate.text(0, 10, "No pore pressure in the record of this test.", looks.BODY_SIZE)
        return plate
    inside = [] if hydrostatic is None else [hydrostatic]
    y = signed_scale(list(columns.values()), inside=inside, least=20.0, share=1.0)
    since = time - np.nanmin(time)
    longest = float(np.nanmax(since)) if np.isfinite(since).any() else 1.0
    ends = (0.0, math.log10(max(longest, 10.0)))
    log_panel = Panel(13.0, 6.0, content - 4.0, 78.0, Scale(ends[0], ends[1], 1.0), y)
    root_panel = Panel(
        13.0, 98.0, content - 4.0, 166.0, _root_scale(math.sqrt(max(longest, 4.0))), y
    )
    _log_grid(plate, log_panel, longest)
    root_panel.draw_grid(
        plate, "Pore pressure over root time, kPa", x_words="square root of time in s"
    )
    looks_of = {
        "u2": (looks.PORE, looks.CURVE, None),
        "u1": (looks.BLOWS, 0.22, (0.9, 0.45)),
        "u3": (looks.SECOND, 0.22, (0.4, 0.4)),
    }
    for panel, x in ((log_panel, np.log10(np.maximum(since, 1.0))), (root_panel, np.sqrt(since))):
        if hydrostatic is not None:
            line = panel.place(np.array([panel.x.low, panel.x.high]), np.full(2, hydrostatic))
            plate.lines([line], looks.INK, 0.2, dash=(1.6, 0.7))
            above = float(line[0, 1]) - 1.6
            plate.text(panel.right - 1.0, above, "u_{0}", looks.BODY_SIZE, anchor="rm")
        for k, (key, values) in enumerate(columns.items()):
            colour, weight, dash = looks_of[key]
            known = np.isfinite(values) & np.isfinite(x)
            plate.lines([panel.place(x[known], values[known])], colour, weight, dash=dash)
            at = panel.right - 12.0 * k
            plate.text(
                at,
                panel.top - 2.6,
                symbol(key),
                looks.TITLE_SIZE,
                anchor="rm",
                colour=colour,
                bold=True,
            )
        panel.draw_frame(plate)
    return plate


def _root_scale(longest: float) -> Scale:
    for step in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0):
        if longest / step <= 12:
            return Scale(0.0, math.ceil(longest / step) * step, step)
    return Scale(0.0, math.ceil(longest / 200.0) * 200.0, 200.0)


def _log_grid(plate: Plate, panel: Panel, longest: float) -> None:
    """Draw the grid of the log axis with times that people say."""
    bare = Panel(
        panel.left, panel.top, panel.right, panel.bottom, Scale(0.0, panel.x.high, 1e9), panel.y
    )
    bare.draw_grid(plate, "Pore pressure over log time, kPa", x_texts=[""])
    minor = [m * 10.0**p for p in range(6) for m in range(2, 10) if m * 10.0**p <= longest]
    at = panel.place(np.log10(np.array([1.0, *minor])), np.zeros(len(minor) + 1))[:, 0]
    plate.lines([[(x, panel.top), (x, panel.bottom)] for x in at], looks.GRID, 0.08, butt=True)
    for second, words in _SECONDS.items():
        if second <= longest * 1.0001:
            x = float(panel.place(np.array([math.log10(second)]), np.zeros(1))[0, 0])
            plate.lines([[(x, panel.top), (x, panel.bottom)]], looks.GRID_MAJOR, 0.1, butt=True)
            plate.text(x, panel.bottom + 2.4, words, looks.TICK_SIZE, anchor="cm")

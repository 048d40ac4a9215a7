"""The proof sheet: on one page, may this log be relied on, and for what.

It tells the same story as the proof rail, in numbers. The class table comes from the checks; where
no checks judged a class, the sheet says so and invents nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from pushproof.model.findings import Severity, by_severity
from pushproof.model.profile import Interpretation
from pushproof.report import looks
from pushproof.report.curves import thin
from pushproof.report.facts import lowered
from pushproof.report.panels import Panel
from pushproof.report.plate import Plate
from pushproof.report.pushfacts import (
    RateFacts,
    TiltFacts,
    ZeroRow,
    decisions,
    origin_shares,
    rate_facts,
    tilt_facts,
    zero_rows,
)
from pushproof.report.rail import Rail, Trace, number_findings
from pushproof.report.railplate import fill_trace
from pushproof.report.scales import Scale, positive_scale
from pushproof.report.tracks import symbol

HEIGHT = 62.0
"""Height of the row of plots [mm]."""
_MOST_FINDINGS = 12


@dataclass(frozen=True)
class ClassRow:
    """One channel of a class table.

    Parameters
    ----------
    channel
        Key of the quantity.
    ordered, achieved
        Class as the scheme names it; empty for none.
    deciding
        The reading that decided it, in words with depth, uncertainty and limit.
    """

    channel: str
    ordered: str
    achieved: str
    deciding: str = ""


@dataclass(frozen=True)
class ClassTable:
    """What an accuracy scheme says of a sounding.

    Parameters
    ----------
    scheme
        Norm and edition.
    mark
        How sure the limits are: verified, from memory.
    ordered, achieved
        Class of the whole sounding; empty for none.
    rows
        One for each channel.
    """

    scheme: str
    mark: str
    ordered: str
    achieved: str
    rows: Sequence[ClassRow] = ()


def proof_parts(
    interpretation: Interpretation,
    rail: Rail,
    content: float,
    classes: ClassTable | None,
    *,
    checked: bool,
) -> tuple[dict[str, Any], Plate]:
    """Return the words and the plots of a proof sheet.

    Parameters
    ----------
    interpretation
        The sounding with the findings of all checks.
    rail
        Its proof rail.
    content
        Width between the margins [mm].
    classes
        Class ordered and achieved, or None if nobody judged it.
    checked
        Whether the quality checks were run; if not, the sheet claims nothing from their silence.
    """
    profile = interpretation.profile
    counts = Counter(finding.severity for finding in interpretation.findings)
    words: dict[str, Any] = {
        "verdict": _verdict(counts, checked=checked),
        "counts": [[severity.word, counts[severity]] for severity in reversed(Severity)],
        "classes": _class_words(classes, profile.sounding.quality_class),
        "zeros": [_zero_words(row) for row in zero_rows(profile.sounding)],
        "calibrations": _calibrations(interpretation),
        "decisions": [list(item) for item in decisions(profile.recipe)],
        "worst": _worst(interpretation),
        "more": max(0, len(interpretation.findings) - _MOST_FINDINGS),
    }
    return words, _plots(interpretation, rail, content)


def _verdict(counts: Counter[Severity], *, checked: bool) -> dict[str, str]:
    """Return the verdict: what stands against relying on the log."""
    stops, cautions = counts[Severity.STOP], counts[Severity.CAUTION]
    if stops:
        return {
            "level": "stop",
            "head": "Do not rely on this log yet",
            "text": f"{_number(stops, 'finding')} must be resolved first"
            + (f"; {_number(cautions, 'more')} {_limit(cautions)} its use" if cautions else "")
            + ".",
        }
    if cautions:
        return {
            "level": "caution",
            "head": "Usable within limits",
            "text": f"{_number(cautions, 'finding')} {_limit(cautions)} the use of this log."
            + ("" if checked else " The quality checks were not run."),
        }
    if not checked:
        return {
            "level": "caution",
            "head": "Not checked",
            "text": "The quality checks were not run; reading and processing found nothing to say.",
        }
    return {
        "level": "clear",
        "head": "Nothing found against this log",
        "text": "No check that was run found a reason for caution.",
    }


def _number(count: int, noun: str) -> str:
    return f"{count} {noun}" + ("s" if count != 1 and noun != "more" else "")


def _limit(count: int) -> str:
    return "limits" if count == 1 else "limit"


def _class_words(classes: ClassTable | None, stated: str | None) -> dict[str, Any]:
    if classes is None:
        return {
            "judged": False,
            "text": "No accuracy scheme was applied, so no class is claimed here."
            + (f' The record itself states "{stated}".' if stated else ""),
        }
    return {
        "judged": True,
        "scheme": classes.scheme,
        "mark": classes.mark,
        "ordered": classes.ordered or "none",
        "achieved": classes.achieved or "none",
        "rows": [
            {
                "symbol": lowered(symbol(row.channel)),
                "ordered": row.ordered,
                "achieved": row.achieved,
                "deciding": row.deciding,
            }
            for row in classes.rows
        ],
    }


def _zero_words(row: ZeroRow) -> dict[str, Any]:
    def text(value: float | None, form: str = ".1f") -> str:
        return "–" if value is None else looks.minus(f"{value + 0.0:{form}}")

    return {
        "symbol": lowered(symbol(row.channel)),
        "unit": row.unit,
        "before": text(row.before),
        "after": text(row.after),
        "shift": text(row.shift, "+.1f"),
        "percent": text(row.percent, "+.2f"),
    }


def _calibrations(interpretation: Interpretation) -> list[dict[str, Any]]:
    cone = interpretation.profile.sounding.cone
    return [
        {
            "symbol": lowered(symbol(item.channel)),
            "date": item.date.isoformat(),
            "laboratory": item.laboratory or "–",
            "certificate": item.certificate or "–",
        }
        for item in cone.calibrations
    ]


def _worst(interpretation: Interpretation) -> list[dict[str, Any]]:
    numbers = {id(n.finding): n.number for n in number_findings(interpretation.findings)}
    return [
        {
            "number": numbers[id(finding)],
            "severity": finding.severity.word,
            "where": finding.where or "all",
            "found": finding.found,
            "expected": finding.expected,
        }
        for finding in by_severity(interpretation.findings)[:_MOST_FINDINGS]
    ]


def _plots(interpretation: Interpretation, rail: Rail, content: float) -> Plate:
    series = interpretation.profile.series
    plate = Plate(left=-2.0, top=0.0, right=content + 2.0, bottom=HEIGHT)
    top, bottom = 6.0, HEIGHT - 8.0
    gap = 15.0
    unit = (content - 3 * gap) / 100
    _rate_plot(plate, rate_facts(series), (8.0, top, 40 * unit, bottom))
    left = 40 * unit + gap
    depth = series.get("depth")
    _tilt_plots(plate, tilt_facts(series), depth, (left, top, left + 40 * unit + gap / 2, bottom))
    left += 40 * unit + gap * 1.5
    _origin_plot(plate, rail, (left, top, content, bottom))
    return plate


Box = tuple[float, float, float, float]


def _rate_plot(plate: Plate, facts: RateFacts | None, box: Box) -> None:
    left, top, right, bottom = box
    if facts is None:
        _nothing(plate, "Rate", "rate not measured", box)
        return
    y = positive_scale([facts.shares * 100], least=20.0, most=100.0)
    panel = Panel(left, top, right, bottom, Scale(0, 40, 5), y)
    band = panel.place(np.array([15.0, 25.0]), np.array([0.0, y.high]))
    plate.boxes([(band[0, 0], top, band[1, 0], bottom)], looks.PORE_FILL)
    panel.draw_grid(plate, "Rate, % of length", x_words="mm/s; band 15 to 25")
    for k, share in enumerate(facts.shares):
        if share > 0:
            ends = facts.edges[k : k + 2]
            (a, base), (b, height) = panel.place(ends, np.array([0.0, share * 100]))
            inside = 15.0 <= ends[0] < 25.0
            fill = looks.MEASURED if inside else looks.CAUTION
            plate.boxes([(a + 0.15, height, b - 0.15, base)], fill)
    panel.draw_frame(plate)
    plate.text(
        right,
        top - 2.6,
        f"{facts.inside * 100:.0f} % inside",
        looks.BODY_SIZE,
        anchor="rm",
        bold=True,
    )


def _tilt_plots(
    plate: Plate, facts: TiltFacts | None, depth: np.ndarray[Any, Any], box: Box
) -> None:
    left, top, right, bottom = box
    if facts is None:
        _nothing(plate, "Tilt", "tilt not measured", box)
        return
    last = float(np.nanmax(depth))
    down = positive_scale([np.array([last])], least=1.0)
    half = (right - left - 7.0) / 2
    columns = (
        ("Tilt, deg", facts.tilt, left, left + half, 4.0, looks.MEASURED, "deg"),
        ("Offset, m", facts.offset, left + half + 7.0, right, 0.2, looks.RATIO, "m"),
    )
    for title, values, a, b, least, colour, unit in columns:
        panel = Panel(a, top, b, bottom, positive_scale([values], least=least), down, down=True)
        texts = [
            looks.minus(f"{tick:g}") if k % 2 == 0 else "" for k, tick in enumerate(panel.x.ticks())
        ]
        panel.draw_grid(plate, title, x_texts=texts)
        known = np.isfinite(values) & np.isfinite(facts.depth)
        z, v = thin(facts.depth[known], values[known], row=last / 400)
        plate.lines([panel.place(v, z)], colour, 0.26)
        panel.draw_frame(plate)
        most = f"{'at most ' if facts.bound and unit == 'm' else ''}{np.nanmax(values):.2f} {unit}"
        plate.text((a + b) / 2, bottom + 5.4, most, looks.TICK_SIZE, anchor="cm", bold=True)


def _origin_plot(plate: Plate, rail: Rail, box: Box) -> None:
    left, top, _, bottom = box
    plate.text(left, top - 2.6, "Origin, % of depth", looks.TITLE_SIZE, bold=True)
    shares = origin_shares(rail)
    y = top
    slots: list[tuple[Trace, float, float]] = []
    for trace, share in shares:
        base = y + share * (bottom - top)
        fill_trace(plate, trace, left, y, left + 5.0, base)
        slots.append((trace, share, (y + base) / 2))
        y = base
    plate.frame(left, top, left + 5.0, bottom, looks.FRAME_WEIGHT)
    free = top
    for trace, share, middle in slots:
        at = max(middle, free + 1.6)
        free = at + 1.6
        plate.text(left + 6.4, at, f"{share * 100:.0f} % {trace.value}", looks.BODY_SIZE)
    kinds = Counter(mark.kind for mark in rail.marks)
    words = ", ".join(
        f"{kinds[kind]} {name}" + ("s" if kinds[kind] != 1 else "")
        for kind, name in (("rod-change", "rod change"), ("pause", "pause"))
        if kinds[kind]
    )
    plate.text(left, bottom + 5.4, words or "no stops seen", looks.TICK_SIZE, colour=looks.SOFT_INK)


def _nothing(plate: Plate, title: str, words: str, box: Box) -> None:
    left, top, right, bottom = box
    plate.text(left, top - 2.6, title, looks.TITLE_SIZE, bold=True)
    plate.boxes([(left, top, right, bottom)], looks.VOID)
    plate.frame(left, top, right, bottom, looks.FRAME_WEIGHT)
    plate.text(
        (left + right) / 2,
        (top + bottom) / 2,
        words,
        looks.BODY_SIZE,
        anchor="cm",
        italic=True,
        colour=looks.SOFT_INK,
    )

"""The proof sheet: on one page, may this log be relied on, and for what.

It tells the same story as the proof rail, in numbers. All judgement is that of the checks; this
module only sets it.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np

from pushproof.model.findings import Severity
from pushproof.model.profile import Effect, Interpretation
from pushproof.model.quantities import QUANTITIES
from pushproof.quality import Assessment
from pushproof.quality.budget import Budget, Part
from pushproof.quality.classify import ClassResult, Verdict
from pushproof.report import looks
from pushproof.report.curves import thin
from pushproof.report.formula import lowered
from pushproof.report.panels import Panel
from pushproof.report.plate import Plate
from pushproof.report.pushfacts import (
    RateFacts,
    TiltFacts,
    ZeroRow,
    decisions,
    origin_shares,
    rate_facts,
    stated_class,
    tilt_facts,
    zero_rows,
)
from pushproof.report.rail import Rail, Trace, number_findings
from pushproof.report.railplate import fill_trace
from pushproof.report.scales import Scale, positive_scale
from pushproof.report.tracks import symbol

HEIGHT = 50.0
"""Height of the row of plots [mm]."""
_MOST_FINDINGS = 8


def proof_parts(
    interpretation: Interpretation, rail: Rail, content: float, assessment: Assessment
) -> tuple[dict[str, Any], Plate]:
    """Return the words and the plots of a proof sheet.

    Parameters
    ----------
    interpretation
        The sounding with the findings of all checks, see :func:`checked.with_checks`.
    rail
        Its proof rail.
    content
        Width between the margins [mm].
    assessment
        What the checks say.
    """
    profile = interpretation.profile
    counts = Counter(finding.severity for finding in interpretation.findings)
    words: dict[str, Any] = {
        "verdict": verdict_words(counts),
        "counts": [[severity.word, counts[severity]] for severity in reversed(Severity)],
        "stated": stated_class(profile.sounding),
        "classes": _class_words(assessment),
        "aspects": _aspects(assessment),
        "budgets": _budgets(assessment),
        "saturation": _saturation(assessment),
        "zeros": [_zero_words(row) for row in zero_rows(profile.sounding)],
        "decisions": [list(item) for item in decisions(profile.recipe)],
        "effects": [effect_words(effect) for effect in profile.effects],
        "declarations": declaration_words(interpretation),
        "worst": _worst(interpretation),
        "more": max(0, len(interpretation.findings) - _MOST_FINDINGS),
    }
    return words, _plots(interpretation, rail, content)


def verdict_words(counts: Counter[Severity]) -> dict[str, str]:
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
            "text": f"{_number(cautions, 'finding')} {_limit(cautions)} the use of this log.",
        }
    return {
        "level": "clear",
        "head": "Nothing found against this log",
        "text": "No check that was run gives a reason for caution.",
    }


def _number(count: int, noun: str) -> str:
    return f"{count} {noun}" + ("s" if count != 1 and noun != "more" else "")


def _limit(count: int) -> str:
    return "limits" if count == 1 else "limit"


def _class_words(assessment: Assessment) -> list[dict[str, Any]]:
    """Return one row for each scheme: norm and edition, result, what decided it."""
    return [
        {
            "scheme": f"{one.scheme.norm}:{one.scheme.edition}",
            "mark": one.scheme.mark,
            "usable": one.scheme.usable,
            "result": _result(one),
            "met": one.achieved is not None and one.proved,
            "ordered": "–" if one.ordered is None else f"class {one.ordered}: {one.order}",
            "short": one.order == "not met",
            "deciding": _deciding(one),
        }
        for one in assessment.classes
    ]


def _result(result: ClassResult) -> str:
    if not result.scheme.usable:
        return "cannot be judged: no limits"
    if result.achieved is None:
        return "no class met"
    words = f"{result.scheme.kind} {result.achieved}"
    return words if result.proved else f"not proved, at best {words}"


def _deciding(result: ClassResult) -> str:
    """Return the aspect that holds the class down, an unproved one before a proved one."""
    names = [one.name for one in result.scheme.classes]
    if not result.verdicts:
        return result.scheme.mark

    def rank(verdict: Verdict) -> tuple[int, bool]:
        place = len(names) if verdict.achieved is None else names.index(verdict.achieved)
        return (place, not verdict.proved)

    worst = max(result.verdicts, key=rank)
    where = f" at {worst.depth:.2f} m" if worst.depth is not None else ""
    return f"{worst.aspect}{where}: {worst.text}"


def _aspects(assessment: Assessment) -> dict[str, Any] | None:
    """Return the aspects of the first scheme that holds limits, or None."""
    usable = [one for one in assessment.classes if one.scheme.usable]
    if not usable:
        return None
    first = usable[0]
    return {
        "scheme": f"{first.scheme.kind} of {first.scheme.norm}:{first.scheme.edition}",
        "mark": first.scheme.mark,
        "rows": [
            {
                "aspect": _aspect(verdict.aspect),
                "achieved": (verdict.achieved or "none") + ("" if verdict.proved else " at best"),
                "where": "" if verdict.depth is None else f"{verdict.depth:.2f} m",
                "text": verdict.text,
            }
            for verdict in first.verdicts
        ],
    }


def _aspect(aspect: str) -> list[list[Any]]:
    return lowered(symbol(aspect)) if aspect in QUANTITIES else [[aspect, False]]


def _budgets(assessment: Assessment) -> list[dict[str, Any]]:
    """Return the uncertainty of each channel: expanded, its parts, what is missing."""
    if not assessment.classes:
        return []
    return [
        {
            "symbol": lowered(symbol(one.channel)),
            "expanded": expanded_words(one),
            "parts": ", ".join(map(part_words, one.parts)) or "none",
            "missing": ", ".join(one.missing) or "nothing",
        }
        for one in assessment.classes[0].budgets
    ]


def expanded_words(one: Budget) -> str:
    """Return an expanded uncertainty with its unit, and the share that grows with the value."""
    if one.expanded is None:
        return "–"
    unit = QUANTITIES[one.channel].unit
    fixed = f"{one.expanded:.3g} {unit}" if one.expanded else ""
    growing = f"{one.relative * 100:.2g} %" if one.relative else ""
    return " and ".join(text for text in (fixed, growing) if text) or f"0 {unit}"


def part_words(part: Part) -> str:
    """Return a part of a budget with its standard uncertainty."""
    grows = bool(part.relative) and not part.value
    return f"{part.name} " + (f"{part.relative * 100:.2g} %" if grows else f"{part.value:.2g}")


def _saturation(assessment: Assessment) -> dict[str, Any] | None:
    if assessment.saturation is None:
        return None
    return {"grade": assessment.saturation.grade, "reasons": list(assessment.saturation.reasons)}


def effect_words(effect: Effect) -> list[str]:
    """Return a correction as words: what, on what, how much, why."""
    row = QUANTITIES.get(effect.channel)
    parts = []
    if effect.changed:
        largest = ""
        if effect.largest is not None and row is not None:
            largest = f", by up to {effect.largest:.3g} {row.unit}"
        parts.append(f"{effect.changed} readings changed{largest}")
    if effect.removed:
        parts.append(f"{effect.removed} readings left out")
    what = effect.kind.replace("-", " ") + (f" of {effect.channel}" if effect.channel else "")
    return [what, "; ".join(parts) or "nothing changed", effect.reason]


def declaration_words(interpretation: Interpretation) -> list[list[str]]:
    """Return the three declarations of processing, each with yes or no."""
    declared = interpretation.profile.declarations
    return [
        [words, "yes" if value else "no"]
        for words, value in (
            ("interruptions edited", declared.interruptions_edited),
            ("expert corrections", declared.expert_corrections),
            ("signal processing over the whole record", declared.signal_processing),
        )
    ]


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
        for finding in sorted(
            interpretation.findings, key=lambda one: (-one.severity, numbers[id(one)])
        )[:_MOST_FINDINGS]
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

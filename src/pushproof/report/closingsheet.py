"""The decommissioning record of a hole on one page: what was planned, what went in, who says so."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pushproof.model.findings import Finding, Severity
from pushproof.planning.closing import LOCAL_LAW, METHODS, Bore, Closing, Grouting
from pushproof.planning.grouting import GroutPlan
from pushproof.recording.closings import Closed
from pushproof.report.fieldsheet import (
    Cell,
    columns,
    facts,
    findings,
    lay_field_sheet,
    lines_to_sign,
    table,
    words,
)
from pushproof.report.logsheet import Sheet

NOT_STATED = "not stated"


@dataclass(frozen=True)
class Place:
    """Which hole it is: name, and pairs of a heading and its text."""

    name: str
    rows: tuple[tuple[str, str], ...] = ()
    closed: str = ""


def lay_hole(plan: GroutPlan, kept: Closed | None = None, *, paper: str = "A4") -> Sheet:
    """Lay out the plan of a hole, or the record of closing it if there is one.

    Parameters
    ----------
    plan
        Hole and grout.
    kept
        What was recorded, if anything.
    paper
        ``"A4"`` or ``"Letter"``.
    """
    closed = "" if kept is None else f"{datetime.fromtimestamp(kept.at):%Y-%m-%d %H:%M}"
    place = Place(plan.hole.name, plan.hole.about, closed)
    done = None if kept is None else kept.closing
    found = plan.found if done is None else done.findings()
    return lay_closing(place, plan.grouting, plan.order.method, done, found=found, paper=paper)


def lay_closing(
    place: Place,
    grouting: Grouting,
    method: str,
    closing: Closing | None = None,
    *,
    found: Iterable[Finding] = (),
    paper: str = "A4",
) -> Sheet:
    """Lay the record of a closed hole out, or the plan of one that is still open.

    Parameters
    ----------
    place
        Which hole.
    grouting
        Volumes and mix as planned.
    method
        How grout is placed.
    closing
        What was done; None gives a plan with lines to fill in by hand.
    found
        Findings to show.
    paper
        ``"A4"`` or ``"Letter"``.
    """
    found = list(found)
    parts = [
        columns(
            [facts("Hole", place.rows, width=26.0), _hole(grouting.bores)],
            [_mix(grouting), _done(closing, method, place.closed)],
            widths=(1, 1.15),
        ),
        findings("Findings", found),
        words("Placing grout", _methods(method if closing is None else closing.method, closing)),
        lines_to_sign("name", "signature", "date and time"),
    ]
    what = "Plan to close the hole" if closing is None else "Decommissioning record"
    return lay_field_sheet(
        place.name, what, lead_of(grouting, closing, found), parts, caution=LOCAL_LAW, paper=paper
    )


def lead_of(
    grouting: Grouting, closing: Closing | None, found: Iterable[Finding]
) -> tuple[str, str, str]:
    """Return level, the sentence that matters, and what goes with it."""
    found = list(found)
    worst = max((f.severity for f in found), default=Severity.INFO)
    level = {Severity.STOP: "stop", Severity.CAUTION: "caution"}.get(worst, "clear")
    volume = f"{grouting.hole_volume:.0f} L of hole, {grouting.planned:.0f} L planned"
    if closing is None:
        head = f"Have {grouting.planned:.0f} L of grout ready"
        text = f"{volume}; {_batches(grouting)}."
        stops = [f for f in found if f.severity is Severity.STOP]
        if stops:
            text = f"{head}: {text}"
            head = f"Do not go on like this: {stops[0].found}"
    else:
        head = closing.text[:1].upper() + closing.text[1:]
        volume = f"{closing.hole_volume:.0f} L of hole, {closing.planned:.0f} L planned"
        text = f"{volume}; {closing.take / closing.hole_volume:.2f} times the hole went in."
    return level, head, text


def _batches(grouting: Grouting) -> str:
    """Return batches in words, with the right number of the noun."""
    noun = "batch" if grouting.batches == 1 else "batches"
    return f"{grouting.batches} {noun} of {grouting.batch:g} L"


def _methods(method: str, closing: Closing | None) -> list[str]:
    """Return the method used, or all of them for a plan."""
    shown = METHODS if closing is None else {method: METHODS[method]}
    return [f"{key}: {text}." for key, text in shown.items()]


def _hole(bores: Sequence[Bore]) -> dict[str, Any]:
    rows: list[list[Cell]] = [
        [
            f"{b.top:.2f}",
            f"{b.base:.2f}",
            f"{b.diameter * 1000:.1f}",
            f"{b.per_metre:.2f}",
            f"{b.volume:.1f}",
        ]
        for b in bores
    ]
    total = sum(b.volume for b in bores)
    rows.append([("sum",), f"{bores[-1].base:.2f}", "", "", (f"{total:.1f}",)])
    heads = ("from, m", "to, m", "across, mm", "L per m", "L")
    return table("Volume", heads, rows, right=(0, 1, 2, 3, 4))


def _mix(grouting: Grouting) -> dict[str, Any]:
    mix = grouting.mix
    water, cement, bentonite = grouting.per_batch
    cement_bags, bentonite_bags = grouting.bags
    rows = [
        ("Mix", mix.words),
        ("By weight", f"water : cement : bentonite = {mix.ratio}"),
        ("Density", f"{mix.density:.2f} kg/L from the specific gravities"),
        (
            f"Batch of {grouting.batch:g} L",
            f"water {water:.1f} kg, cement {cement:.1f} kg, bentonite {bentonite:.1f} kg",
        ),
        ("Batches", f"{_batches(grouting)}, planned with {grouting.loss:g} times the hole"),
        (
            "Bags",
            f"{cement_bags} of {grouting.cement_bag:g} kg cement, {bentonite_bags} of "
            f"{grouting.bentonite_bag:g} kg bentonite",
        ),
        ("Basis", f"{mix.mark}{': ' + mix.source if mix.source else ''}"),
    ]
    return facts("Grout", rows, width=24.0)


def _done(closing: Closing | None, method: str, closed: str) -> dict[str, Any]:
    blank = "…" * 16
    if closing is None:
        rows = [("Method", method)]
        names = ("Grout that went in, L", "Placed from, m", "Density measured", "Top-up, L")
        rows += [(name, blank) for name in (*names, "Permit", "By, date and time")]
        return facts("To be filled in", rows, width=34.0)

    def number(value: float | None, unit: str, digits: int = 1) -> str:
        return NOT_STATED if value is None else f"{value:.{digits}f} {unit}"

    rows = [
        ("Method", closing.method),
        ("Grout that went in", number(closing.take, "L")),
        ("Of the hole", f"{100 * closing.take / closing.hole_volume:.0f} %"),
        ("Placed from", number(closing.lowest, "m")),
        ("Batches", NOT_STATED if closing.batches is None else str(closing.batches)),
        ("Density measured", number(closing.density, "kg/L", 2)),
        ("Top-up after settling", number(closing.top_up, "L")),
        ("Permit", closing.permit or NOT_STATED),
        ("By", f"{closing.by}{', ' + closed if closed else ''}"),
    ]
    if closing.remark:
        rows.append(("Remark", closing.remark))
    return facts("Closed", rows, width=34.0)

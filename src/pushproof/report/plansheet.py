"""The plan of a push on one page: thrust against force along depth, and what closes the gap."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding
from pushproof.planning.ground import Ground
from pushproof.planning.outlook import Option, Outlook
from pushproof.planning.plain import NOTE, along, verdict
from pushproof.planning.worktime import told
from pushproof.report import looks
from pushproof.report.fieldsheet import (
    Cell,
    columns,
    facts,
    findings,
    lay_field_sheet,
    picture,
    table,
    words,
)
from pushproof.report.logsheet import Sheet, paper_of
from pushproof.report.panels import Panel
from pushproof.report.plate import Plate
from pushproof.report.scales import Scale, positive_scale

FloatArray = NDArray[np.float64]

HEIGHT = 96.0
"""Height of the plots [mm]."""
ANCHOR_CAUTION = (
    "Anchors are loaded like springs: nobody in the line of pull, release before undoing. Check "
    "services before anchors and rods go in; local rules and the site plan come first."
)


def lay_plan(outlook: Outlook, *, paper: str = "A4") -> Sheet:
    """Lay the sheet of a plan out.

    Parameters
    ----------
    outlook
        The plan worked out.
    paper
        ``"A4"`` or ``"Letter"``.
    """
    height = HEIGHT if outlook.data is None else HEIGHT - 26.0
    plate = _plots(outlook, paper_of(paper).content, height)
    plan, refusal = outlook.plan, outlook.refusal
    level = "clear" if refusal.reached >= 0.9 else "caution" if refusal.reached >= 0.5 else "stop"
    head, _, rest = verdict(outlook).partition("; ")
    text = f"{rest[:1].upper()}{rest[1:]}. " if rest else ""
    text += f"Ground: {outlook.ground.source}."
    parts = [
        picture("thrust", plate, "Expected thrust and resistance along depth"),
        _options(outlook.options),
        columns(
            [_reaction(outlook), _buckling(outlook)],
            [_numbers(outlook), _cones(outlook)],
            widths=(1, 1),
        ),
        *_data(outlook),
        findings("What to look at before the push", _shown(outlook)),
        words("Assumed or own choice", [f"{'; '.join(outlook.assumptions)}."]),
        words("", [ANCHOR_CAUTION]),
    ]
    return lay_field_sheet(
        plan.name,
        "Plan of the push",
        (level, head[:1].upper() + head[1:], text),
        parts,
        plates={"thrust": plate},
        caution=NOTE,
        paper=paper,
    )


def _shown(outlook: Outlook) -> list[Finding]:
    """Return the findings but those that the lead and the table of the data tell already."""
    told_already = ("refusal-expected", "data-at-risk")
    return [f for f in outlook.findings if f.id not in told_already][:6]


def _options(options: tuple[Option, ...]) -> dict[str, object]:
    rows: list[list[Cell]] = []
    for option in options:
        reached = f"{100 * option.reached:.0f} %"
        depth = "target" if option.likely_depth is None else f"{option.likely_depth:.1f}"
        words_of: Cell = (option.words,) if option.closes or option.planned else option.words
        closes: Cell = ("yes",) if option.closes else "no"
        rows.append(
            [words_of, f"{option.available:.0f}", option.governed_by, reached, depth, closes]
        )
    heads = (
        "option",
        "force, kN",
        "limited by",
        "reaches target",
        "even odds, m",
        "closes the gap",
    )
    return table(
        "Options",
        heads,
        rows,
        columns=(2.6, 0.8, 1.8, 1, 1, 1),
        right=(1, 3, 4, 5),
        note="An option closes the gap if the target is reached with 90 % or more.",
    )


def _reaction(outlook: Outlook) -> dict[str, object]:
    reaction = outlook.reaction
    rows = [
        ("Weight", f"{reaction.weight:.0f} kN, of which {reaction.usable:.0f} kN usable"),
    ]
    if reaction.tipping is not None:
        rows.append(("Lifts on one side at", f"{reaction.tipping:.0f} kN without anchors"))
    each, anchors = reaction.each, outlook.plan.anchors
    if each is not None and anchors is not None:
        known = ", ".join(f"{key} {value:.0f}" for key, value in each.ultimate.items()) or "nothing"
        rows.append(("One anchor, ultimate", f"{known} kN"))
        text = f"{anchors.count} of {each.allowable:.0f} kN allowed"
        if each.used:
            text += f" (by {each.used}, safety {each.safety:g})"
        rows.append(("Anchors", text))
    rows.append(("Reaction", f"{reaction.total:.0f} kN"))
    if reaction.mat_pressure is not None:
        allowed = reaction.allowed_pressure
        text = "allowed not known" if allowed is None else f"{allowed:.0f} kPa allowed"
        rows.append(("Under a mat", f"{reaction.mat_pressure:.0f} kPa, {text}"))
    return facts("Reaction", rows)


def _buckling(outlook: Outlook) -> dict[str, object]:
    rows: list[list[Cell]] = [
        [row.where, f"{row.length:.1f}", f"{row.load:.0f}", f"{row.allowable:.0f}"]
        for row in outlook.buckling
    ]
    return table(
        "Rods that may bow out",
        ("where", "length, m", "straight, kN", "allowed, kN"),
        rows,
        columns=(1.8, 0.8, 0.9, 0.9),
        right=(1, 2, 3),
        empty="No free length is known, so none is judged.",
    )


def _numbers(outlook: Outlook) -> dict[str, object]:
    target = outlook.plan.target
    step = next((s for s in (1.0, 2.0, 2.5, 5.0, 10.0) if target / s <= 9), 20.0)
    rows: list[list[Cell]] = [
        [
            f"{row['depth_m']:g}",
            f"{row['tip_kN']:.0f}",
            f"{row['sleeve_kN']:.0f}",
            f"{row['rods_kN']:.0f}",
            (f"{row['thrust_kN']:.0f}",),
            f"{row['low_kN']:.0f} to {row['high_kN']:.0f}",
            f"{100 * row['ended']:.0f} %",
        ]
        for row in along(outlook, step)
    ]
    return table(
        "Thrust, kN: the most in each step",
        ("to, m", "tip", "sleeve", "rods", "sum", "10 to 90 %", "ended"),
        rows,
        right=range(7),
        columns=(0.8, 0.7, 0.8, 0.7, 0.7, 1.4, 0.9),
    )


def _cones(outlook: Outlook) -> dict[str, object]:
    order = outlook.plan.order
    rows: list[list[Cell]] = []
    for row in outlook.cones:
        capacity = "not given" if row.capacity is None else f"{row.capacity / 1000:g}"
        beyond = "-" if not np.isfinite(row.beyond) else f"{100 * row.beyond:.0f} %"
        meets = {True: "yes", False: "no", None: "not shown"}[row.meets_order]
        if order.accuracy_class is None:
            meets = row.best or "none shown"
        rows.append([row.name, capacity, beyond, meets, row.decided_by or "nothing"])
    told = "best class" if order.accuracy_class is None else f"class {order.accuracy_class}"
    return table(
        "Cones",
        ("cone", "capacity, MPa", "too hard", told, "held down by"),
        rows,
        right=(1, 2),
        columns=(1, 1, 0.8, 0.8, 1.8),
    )


def _data(outlook: Outlook) -> list[dict[str, object]]:
    """Return what stands in the way of good data; what is good is only counted."""
    data = outlook.data
    if data is None:
        return []
    rows: list[list[Cell]] = [
        [row.what, (row.verdict,), row.found, row.basis]
        for row in data.rows
        if row.verdict != "good"
    ]
    good = len(data.rows) - len(rows)
    note = f"{good} of {len(data.rows)} questions are good; the cone works {told(data.seconds)}."
    return [
        table("Will the data be good", ("question", "", "found", "basis"), rows,
              columns=(1.1, 0.6, 3, 3), empty="Nothing stands against it.", note=note)
    ]  # fmt: skip


def _plots(outlook: Outlook, content: float, height: float) -> Plate:
    """Draw resistance, thrust with its band and the force, and the chance to have ended."""
    plate = Plate(left=-2.0, top=0.0, right=content + 2.0, bottom=height)
    target = outlook.plan.target
    step = next((s for s in (0.5, 1.0, 2.0, 5.0, 10.0) if target / s <= 12), 20.0)
    y = Scale(0.0, target, step)
    depth, refusal = outlook.ground.depth, outlook.refusal
    top, bottom = 8.0, height - 8.0
    cone = positive_scale([outlook.ground.qc * np.exp(outlook.ground.spread) / 1000], least=5.0)
    first = Panel(11.0, top, 51.0, bottom, cone, y, down=True)
    force = outlook.limits.least[1]
    shown = positive_scale([np.append(refusal.high, 1.15 * force)], least=20.0)
    second = Panel(62.0, top, content - 45.0, bottom, shown, y, down=True)
    third = Panel(content - 34.0, top, content - 2.0, bottom, Scale(0.0, 100.0, 25.0), y, down=True)
    plate.text(first.left - 1.2, top - 2.6, "m", looks.TICK_SIZE, anchor="rm")
    first.draw_grid(plate, "Expected q_{c}, MPa", x_words="wash: one standard deviation")
    _band(plate, first, depth, outlook.ground)
    second.draw_grid(plate, "Thrust, kN", x_words="line: expected; wash: 8 of 10 possible grounds")
    _thrust(plate, second, outlook)
    third.draw_grid(plate, "Chance to have ended, %", x_words="at or above the depth")
    ended = third.place(100 * refusal.stopped, refusal.depth)
    plate.lines([ended], looks.STOP, looks.CURVE)
    for panel in (first, second, third):
        panel.draw_frame(plate)
    return plate


def _band(plate: Plate, panel: Panel, depth: FloatArray, ground: Ground) -> None:
    low = panel.place(ground.qc * np.exp(-ground.spread) / 1000, depth)
    high = panel.place(ground.qc * np.exp(ground.spread) / 1000, depth)
    plate.areas([np.concatenate([low, high[::-1]])], looks.MEASURED_FILL)
    plate.lines([panel.place(ground.qc / 1000, depth)], looks.MEASURED, looks.CURVE)


def _thrust(plate: Plate, panel: Panel, outlook: Outlook) -> None:
    refusal, parts = outlook.refusal, outlook.parts
    low, high = (panel.place(values, refusal.depth) for values in (refusal.low, refusal.high))
    plate.areas([np.concatenate([low, high[::-1]])], looks.MEASURED_FILL)
    rods = panel.place(parts.rods, parts.depth)
    plate.lines([rods], looks.SECOND, 0.22, dash=(0.9, 0.5))
    plate.lines([panel.place(parts.total, parts.depth)], looks.MEASURED, looks.CURVE)
    name, force = outlook.limits.least
    line = panel.place(np.full(2, force), np.array([0.0, outlook.plan.target]))
    plate.lines([line], looks.STOP, 0.4, dash=(2.0, 0.8))
    near_end = panel.x.place(np.array([force]), 0.0, 1.0)[0] > 0.9
    x = float(line[0, 0]) + (-4.4 if near_end else 2.2)
    label = f"{force:.0f} kN: {name}"
    style = {"colour": looks.STOP, "turned": True, "anchor": "lt"}
    plate.text(x, panel.top + 4.0, label, looks.BODY_SIZE, **style)
    at = rods[int(0.8 * len(rods))]
    plate.text(float(at[0]) - 1.2, float(at[1]), "rods", looks.BODY_SIZE, anchor="rm",
               colour=looks.SOFT_INK)  # fmt: skip

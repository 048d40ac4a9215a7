"""The plan worked out: everything a crew asks before it drives to the place, in one object.

Pure: a plan and the ground in, an outlook out. Fast enough to follow a slider.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from pushproof.errors import ConfigurationError
from pushproof.model.findings import Finding, Severity, by_severity
from pushproof.planning.buckling import SAFETY, bedded_load, column_load, subgrade_of, tube
from pushproof.planning.cones import ConeRow, cone_row
from pushproof.planning.dataplan import DataOutlook, data_findings, work_out_data
from pushproof.planning.document import Casing, Plan
from pushproof.planning.ground import STEP, Ground, from_layers, from_profile
from pushproof.planning.reaction import Reaction, reaction_of
from pushproof.planning.thrust import (
    SHARE_WITH_REDUCER,
    SHARE_WITHOUT,
    TIP_SHARE,
    Limits,
    Loads,
    Pushes,
    Refusal,
    ThrustParts,
    loads_of,
    scatter_factors,
    thrust_parts,
)
from pushproof.quality.schemes import load_scheme

SOFT = 1000.0
"""Ground below this cone resistance counts as soft for buckling [kPa]: own choice."""
FOOT_CLAMP = 0.5
"""Free length that a foot clamp or guide near the ground leaves [m]: own choice."""
SURE = 0.9
"""An option closes the gap if it reaches the target with this probability: own choice."""
CONE_FACTOR = 15.0
"""Net resistance over undrained strength of soft clay [-], middle of 10 to 20: from memory."""


@dataclass(frozen=True)
class BucklingRow:
    """One length that may bow out: where, how long, its straight-rod load and what is allowed."""

    where: str
    length: float
    load: float
    allowable: float


@dataclass(frozen=True)
class Option:
    """One way to push, and how far it is expected to come.

    Parameters
    ----------
    words
        What is done.
    available, governed_by
        Force that it has [kN], and what limits that.
    reached
        Probability that the target is reached [-].
    likely_depth
        Depth above which the push ends with even odds [m]; None if the target is likelier.
    closes
        Whether the target is reached with probability :data:`SURE`.
    planned
        Whether this is the plan itself.
    """

    words: str
    available: float
    governed_by: str
    reached: float
    likely_depth: float | None
    closes: bool
    planned: bool = False


@dataclass(frozen=True)
class Outlook:
    """What is to be expected of a planned push; all in inside units."""

    plan: Plan
    ground: Ground
    loads: Loads
    parts: ThrustParts
    reaction: Reaction
    buckling: tuple[BucklingRow, ...]
    limits: Limits
    refusal: Refusal
    cones: tuple[ConeRow, ...]
    options: tuple[Option, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]
    data: DataOutlook | None = None


def ground_of(plan: Plan, folder: str = ".") -> Ground:
    """Return the ground that a plan describes itself (layers or a design profile).

    Raises
    ------
    ConfigurationError
        If it describes none; soundings nearby are read by the caller.
    """
    from pathlib import Path

    if plan.layers:
        return from_layers(plan.layers)
    if plan.profile is not None:
        return from_profile(Path(folder) / plan.profile, plan.scatter)
    raise ConfigurationError("the plan names no ground: give layers, a profile or soundings nearby")


def work_out(plan: Plan, ground: Ground) -> Outlook:
    """Work a plan out.

    Parameters
    ----------
    plan
        The plan.
    ground
        The ground expected: of the plan itself (:func:`ground_of`) or of soundings nearby.

    Raises
    ------
    ValueError
        If the torque factor of the anchors is refused.
    """
    known_to = ground.known_to
    ground = ground.to(plan.target)
    loads = loads_of(plan.cone, plan.rods)
    reaction = reaction_of(plan.rig, plan.anchors)
    rows = buckling_rows(plan, ground)
    limits = limits_of(plan, reaction, rows)
    factors = scatter_factors(ground.spread)
    pushes = Pushes(ground, loads, plan.target, predrilled=plan.predrilled, factors=factors)
    refusal = pushes.refusal(limits)
    scheme = load_scheme(plan.order.scheme)
    cones = tuple(
        cone_row(cone, ground, scheme, plan.order.accuracy_class, plan.predrilled)
        for cone in (plan.cone, *plan.cones)
    )
    options = _options(plan, ground, loads, rows, pushes)
    data = work_out_data(plan, ground)
    findings = [*reaction.findings, *_findings(plan, refusal, rows, cones, known_to)]
    findings += data_findings(data)
    return Outlook(
        plan,
        ground,
        loads,
        thrust_parts(ground, loads, plan.predrilled),
        reaction,
        rows,
        limits,
        refusal,
        cones,
        options,
        tuple(by_severity(findings)),
        _assumptions(plan, ground, loads),
        data,
    )


def limits_of(plan: Plan, reaction: Reaction, rows: tuple[BucklingRow, ...]) -> Limits:
    """Return what ends a push: the forces, and the capacity of the cone."""
    force = {"reaction": reaction.total}
    if plan.rig.thrust is not None:
        force["push cylinder"] = plan.rig.thrust
    if rows:
        worst = min(rows, key=lambda row: row.allowable)
        force[f"buckling: {worst.where}"] = worst.allowable
    capacity = {
        key: None if (c := plan.cone.calibration(key)) is None else c.capacity
        for key in ("qc", "fs")
    }
    tip, sleeve = (None if v is None else TIP_SHARE * v for v in capacity.values())
    return Limits(force, tip, sleeve)


def buckling_rows(plan: Plan, ground: Ground) -> tuple[BucklingRow, ...]:
    """Return the lengths of rod that may bow out, with their loads."""
    area, second = tube(plan.rods.outer_diameter, plan.rods.inner_diameter)
    rod = plan.rods.modulus * second
    squash = math.inf if plan.rods.yield_strength is None else area * plan.rods.yield_strength
    casing, cased = 0.0, 0.0
    if plan.casing is not None:
        cased = plan.casing.depth
        tube_second = tube(plan.casing.outer_diameter, plan.casing.inner_diameter)[1]
        casing = plan.rods.modulus * tube_second
    rows = []

    def add(where: str, length: float, load: float) -> None:
        rows.append(BucklingRow(where, length, load, load / SAFETY))

    def free(length: float, stiffness: float) -> float:
        if math.isinf(squash):
            return math.pi**2 * stiffness / (plan.rig.end_factor * length) ** 2
        return column_load(stiffness, squash, length, plan.rig.end_factor)

    hole = max(plan.predrilled - cased, 0.0)
    length = (plan.rig.free_length or 0.0) + hole
    if length > 0:
        where = "free length and open hole" if hole else "free length"
        add(where, length, free(length, rod))
    if plan.predrilled and cased:
        inside = min(cased, plan.predrilled)
        add("casing in the open hole", inside, free(inside, rod + casing))
    soft = _soft_run(ground, plan.predrilled)
    if soft is not None:
        base, strength = soft
        stiffness = rod + (casing if cased >= base - STEP else 0.0)
        length = base - plan.predrilled
        load = bedded_load(stiffness, subgrade_of(strength), length)
        add("soft ground", length, load)
    return tuple(rows)


def _soft_run(ground: Ground, top: float) -> tuple[float, float] | None:
    """Return base [m] and lowest strength [kPa] of soft ground from the top down, None if firm."""
    met = ground.depth >= top
    qc, depth = ground.qc[met], ground.depth[met]
    soft = qc < SOFT
    if not soft.size or not soft[: max(round(0.5 / STEP), 1)].all():
        return None
    count = int(np.argmin(soft)) if not soft.all() else len(soft)
    strength = float(np.min(qc[:count])) / CONE_FACTOR
    return float(depth[count - 1] + STEP / 2), strength


def _options(
    plan: Plan,
    ground: Ground,
    loads: Loads,
    rows: tuple[BucklingRow, ...],
    pushes: Pushes,
) -> tuple[Option, ...]:
    """Return the plan and what could be done instead."""
    found: list[Option] = []

    def add(words: str, other: Plan, by: Pushes, *, held: bool = False) -> None:
        lengths = buckling_rows(other, ground) if held else rows
        limits = limits_of(other, reaction_of(other.rig, other.anchors), lengths)
        result = by.refusal(limits, band=False)
        if "anchors" in words and found and limits.least[1] == found[-1].available:
            return  # more of what does not govern
        words = words[:1].upper() + words[1:]
        found.append(
            Option(
                words,
                limits.least[1],
                limits.least[0],
                result.reached,
                result.depth_at(0.5),
                result.reached >= SURE,
                planned=other is plan and by is pushes,
            )
        )

    add("as planned", plan, pushes)
    held, prefix = _held(plan, rows)
    if held is not plan:
        add(prefix, held, pushes, held=True)
        prefix += ": "
    for words, changed in _anchor_choices(held):
        add(prefix + words, changed, pushes, held=held is not plan)
    if plan.rods.friction_share is None:
        reduced = loads.share == SHARE_WITH_REDUCER
        other = replace(loads, share=SHARE_WITHOUT if reduced else SHARE_WITH_REDUCER)
        words = "without friction reducer" if reduced else "with friction reducer"
        add(prefix + words, held, pushes.with_loads(other), held=held is not plan)
    if loads.tip > 0.0012:
        smaller = replace(loads, tip=0.001, sleeve=loads.sleeve / loads.tip * 0.001)
        add(prefix + "10 cm2 cone", held, pushes.with_loads(smaller), held=held is not plan)
    return tuple(found)


def _held(plan: Plan, rows: tuple[BucklingRow, ...]) -> tuple[Plan, str]:
    """Return the plan with the rods held where they bow out first, and how, in words."""
    force = reaction_of(plan.rig, plan.anchors).total
    weak = [row for row in rows if row.allowable < force]
    if not weak:
        return plan, ""
    changes: dict[str, object] = {}
    words = []
    if any("free" in row.where for row in weak) and (plan.rig.free_length or 0) > FOOT_CLAMP:
        changes["rig"] = plan.rig.model_copy(update={"free_length": FOOT_CLAMP})
        words.append("foot clamp")
    soft = [row for row in weak if "soft" in row.where]
    hole = plan.predrilled if any("hole" in row.where for row in weak) else 0.0
    if soft or hole:
        depth = max([hole, *(plan.predrilled + row.length for row in soft)])
        changes["casing"] = Casing(depth=depth)
        words.append(f"casing to {depth:.1f} m")
    return (plan.model_copy(update=changes), " and ".join(words)) if changes else (plan, "")


def _anchor_choices(plan: Plan) -> list[tuple[str, Plan]]:
    """Return other numbers and depths of anchors, in words and as plans."""
    anchors = plan.anchors
    if anchors is None or not anchors.count:
        return []

    def other(**changes: object) -> Plan:
        return plan.model_copy(update={"anchors": anchors.model_copy(update=changes)})

    counts = sorted({0, 2, 4, 6} - {anchors.count})
    found = [(f"{n} anchors" if n else "no anchors", other(count=n)) for n in counts]
    if anchors.torque is None and anchors.capacity is None and (anchors.su or anchors.phi):
        for more in (1.0, 2.0):
            words = f"{anchors.count} anchors with {more:g} m of extension"
            found.append((words, other(depth=anchors.depth + more)))
    return found


def _findings(
    plan: Plan,
    refusal: Refusal,
    rows: tuple[BucklingRow, ...],
    cones: tuple[ConeRow, ...],
    known_to: float,
) -> list[Finding]:
    found = []
    if refusal.reached < SURE:
        depth = refusal.depth_at(0.5)
        words = f"even odds at {depth:.1f} m" if depth is not None else "late in the push"
        severity = Severity.STOP if refusal.reached < 0.5 else Severity.CAUTION
        text = f"{100 * refusal.reached:.0f} % chance to reach {plan.target:g} m; refusal {words}"
        found.append(Finding("refusal-expected", severity, text, "see the table of options"))
    if known_to < plan.target - STEP:
        text = f"the ground is known to {known_to:.1f} m, the target is {plan.target:g} m"
        advice = "below, the last metre is carried on and grows uncertain"
        found.append(Finding("ground-unknown", Severity.CAUTION, text, advice))
    if plan.rig.free_length is None:
        text = "nobody gave the free length of rod under the clamp"
        advice = "buckling above ground is not judged; give free_length"
        found.append(Finding("free-length-unknown", Severity.CAUTION, text, advice))
    if plan.rig.thrust is None:
        text = "nobody gave the capacity of the push cylinder"
        found.append(Finding("thrust-unknown", Severity.INFO, text, "only the reaction limits"))
    for row in rows:
        slender = row.length * plan.rig.end_factor / _radius(plan)
        if slender > 120 and "soft" not in row.where:
            text = f"{row.where}: {row.length:g} m of rod is slender ({slender:.0f}, 120 at most)"
            advice = "a foot clamp or casing near the ground"
            source = "GEC-12 section 8.5.3"
            found.append(Finding("slender-rods", Severity.CAUTION, text, advice, source=source))
    own = cones[0]
    if own.beyond > 0.05:
        assert own.capacity is not None
        text = f"{own.name}: the ground may pass {TIP_SHARE:.0%} of {own.capacity / 1000:g} MPa"
        advice = f"{100 * own.beyond:.0f} % at its hardest depth; take a stronger cone"
        found.append(Finding("cone-capacity", Severity.CAUTION, text, advice))
    if own.meets_order is not True and plan.order.accuracy_class is not None:
        text = f"class {plan.order.accuracy_class} of {plan.order.scheme} is not shown to be met"
        severity = Severity.STOP if own.meets_order is False else Severity.CAUTION
        found.append(Finding("class-ordered", severity, text, own.decided_by))
    return found


def _radius(plan: Plan) -> float:
    area, second = tube(plan.rods.outer_diameter, plan.rods.inner_diameter)
    return math.sqrt(second / area)


def _assumptions(plan: Plan, ground: Ground, loads: Loads) -> tuple[str, ...]:
    found = list(loads.assumed)
    if not ground.soundings and plan.scatter is None:
        found.append("scatter of ln qc 0.5 where no layer gives one")
    if any(layer.fs is None for layer in plan.layers):
        found.append("sleeve friction from the kind of soil")
    found.append(f"{plan.rig.usable:g} of the weight is usable")
    found.append(f"straight-rod buckling loads divided by {SAFETY:g}")
    return tuple(found)

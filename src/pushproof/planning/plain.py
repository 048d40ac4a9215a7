"""An outlook as plain values, for JSON, pages and sheets: display units in the names."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from pushproof.planning.outlook import Outlook

NOTE = (
    "A forecast from expected ground, not a promise. The rig, the crew and the engineer in charge "
    "decide; local rules for rigs, anchors and services come first."
)


def outlook_data(outlook: Outlook, step: float = 0.5) -> dict[str, Any]:
    """Return an outlook as plain values, ready for ``json.dumps``.

    Parameters
    ----------
    outlook
        The outlook.
    step
        Distance of the rows along depth [m].
    """
    plan, reaction, refusal = outlook.plan, outlook.reaction, outlook.refusal
    each = reaction.each
    return {
        "name": plan.name,
        "target_m": plan.target,
        "verdict": verdict(outlook),
        "ground": outlook.ground.source,
        "probability_of_target": refusal.reached,
        "refusal_m": {f"{p:g}": refusal.depth_at(p) for p in (0.1, 0.25, 0.5, 0.75, 0.9)},
        "causes": dict(refusal.causes),
        "available_kN": outlook.limits.least[1],
        "governed_by": outlook.limits.least[0],
        "forces_kN": dict(outlook.limits.force),
        "reaction": {
            "weight_kN": reaction.weight,
            "usable_weight_kN": reaction.usable,
            "anchors_kN": reaction.anchors,
            "total_kN": reaction.total,
            "tipping_kN": reaction.tipping,
            "mat_pressure_kPa": reaction.mat_pressure,
            "allowed_pressure_kPa": reaction.allowed_pressure,
        },
        "anchor": None
        if each is None
        else {
            "ultimate_kN": each.ultimate,
            "used": each.used,
            "safety": each.safety,
            "allowable_kN": each.allowable,
            "group": each.group,
        },
        "buckling": [
            {
                "where": row.where,
                "length_m": row.length,
                "load_kN": _number(row.load),
                "allowable_kN": _number(row.allowable),
            }
            for row in outlook.buckling
        ],
        "cones": [
            {
                "name": row.name,
                "capacity_MPa": None if row.capacity is None else row.capacity / 1000,
                "probability_beyond": _number(row.beyond),
                "best_class": row.best,
                "decided_by": row.decided_by,
                "meets_order": row.meets_order,
            }
            for row in outlook.cones
        ],
        "options": [
            {
                "words": option.words,
                "available_kN": option.available,
                "governed_by": option.governed_by,
                "probability_of_target": option.reached,
                "even_odds_m": option.likely_depth,
                "closes": option.closes,
                "planned": option.planned,
            }
            for option in outlook.options
        ],
        "findings": [
            {"severity": f.severity.word, "found": f.found, "expected": f.expected}
            for f in outlook.findings
        ],
        "assumptions": list(outlook.assumptions),
        "data": None
        if outlook.data is None
        else {
            "hours": outlook.data.seconds / 3600,
            "rows": [
                {"what": r.what, "found": r.found, "verdict": r.verdict, "basis": r.basis}
                for r in outlook.data.rows
            ],
        },
        "along": along(outlook, step),
        "note": NOTE,
    }


def verdict(outlook: Outlook) -> str:
    """Return the answer in one sentence."""
    refusal, target = outlook.refusal, outlook.plan.target
    words = f"{100 * refusal.reached:.0f} % chance to reach {target:g} m"
    depth = refusal.depth_at(0.5)
    if depth is not None:
        early, late = refusal.depth_at(0.1), refusal.depth_at(0.9)
        far = f"{late:.1f} m" if late is not None else "the target"
        words += f"; refusal with even odds at {depth:.1f} m (80 %: {early:.1f} m to {far})"
    if refusal.causes and refusal.reached < 0.995:
        cause = max(refusal.causes, key=lambda key: refusal.causes[key])
        words += f", mostly by {cause}"
    return words


def along(outlook: Outlook, step: float) -> list[dict[str, float]]:
    """Return rows along depth: expected resistance, thrust and its parts, chance to have ended.

    Each row holds the largest values of the step that ends at its depth.
    """
    refusal, parts = outlook.refusal, outlook.parts
    found = []
    edges = np.arange(step, outlook.plan.target + step / 2, step)
    for edge in edges:
        rows = np.flatnonzero((refusal.depth > edge - step) & (refusal.depth <= edge + 1e-9))
        if not rows.size:
            continue
        worst = rows[int(np.argmax(parts.total[rows]))]
        found.append(
            {
                "depth_m": round(float(edge), 3),
                "qc_MPa": float(outlook.ground.qc[worst]) / 1000,
                "tip_kN": float(parts.tip[worst]),
                "sleeve_kN": float(parts.sleeve[worst]),
                "rods_kN": float(parts.rods[worst]),
                "thrust_kN": float(parts.total[worst]),
                "low_kN": float(refusal.low[worst]),
                "high_kN": float(refusal.high[worst]),
                "ended": float(refusal.stopped[rows[-1]]),
            }
        )
    return found


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None

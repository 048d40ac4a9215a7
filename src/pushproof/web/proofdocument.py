"""What the proof page is given: the proof sheet of the report as plain values.

All judgement is that of the checks, and the words are those of the sheet, so that screen and paper
tell the same story.
"""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import Any

import numpy as np

from pushproof.model.equipment import Calibration
from pushproof.model.findings import Severity
from pushproof.model.quantities import QUANTITIES
from pushproof.model.sounding import Sounding
from pushproof.quality.checks.zeros import DAYS
from pushproof.quality.classify import ClassResult
from pushproof.report.curves import thin
from pushproof.report.proofsheet import (
    declaration_words,
    effect_words,
    expanded_words,
    part_words,
    verdict_words,
)
from pushproof.report.pushfacts import (
    ZeroRow,
    decisions,
    origin_shares,
    rate_facts,
    stated_class,
    tilt_facts,
    zero_rows,
)
from pushproof.web.logdocument import Log
from pushproof.web.push.models import Recording

MOST_POINTS = 400
"""Points of a curve on the page."""


def proof_document(log: Log) -> dict[str, Any]:
    """Return the proof sheet of a sounding as plain values."""
    interpretation, assessment = log.interpretation, log.assessment
    profile = interpretation.profile
    counts = Counter(finding.severity for finding in interpretation.findings)
    saturation = assessment.saturation
    return {
        "name": profile.sounding.name,
        "verdict": verdict_words(counts),
        "counts": {severity.word: counts[severity] for severity in Severity},
        "stated": stated_class(profile.sounding),
        "classes": [_class(one) for one in assessment.classes],
        "budgets": [
            {
                "symbol": QUANTITIES[one.channel].symbol,
                "expanded": expanded_words(one),
                "parts": [f"{part_words(part)}: {part.how}" for part in one.parts],
                "missing": list(one.missing),
            }
            for one in (assessment.classes[0].budgets if assessment.classes else ())
        ],
        "filter": None
        if saturation is None
        else {"grade": saturation.grade, "reasons": list(saturation.reasons)},
        "zeros": [_zero(row) for row in zero_rows(profile.sounding)],
        "rate": _rate(log),
        "tilt": _tilt(log),
        "origin": [
            {"trace": trace.value, "share": share} for trace, share in origin_shares(log.rail)
        ],
        "findings": log.document()["findings"],
        "effects": [effect_words(effect) for effect in profile.effects],
        "decisions": [list(item) for item in decisions(profile.recipe)],
        "declarations": declaration_words(interpretation),
        "assumptions": [a.text for a in interpretation.assumptions],
        "source": None
        if profile.sounding.source is None
        else {"file": profile.sounding.source.name, "sha256": profile.sounding.source.sha256},
        "recipe": profile.recipe.fingerprint(),
    }


def summary_document(log: Log, recording: Recording) -> dict[str, Any]:
    """Return what the start page tells of a sounding, and who records it."""
    sounding = log.interpretation.profile.sounding
    findings = log.interpretation.findings
    worst = max((finding.severity for finding in findings), default=None)
    graver = sum(finding.severity > Severity.INFO for finding in findings)
    begun = recording is not Recording.NONE
    return {
        "name": sounding.name,
        "recording": recording.value,
        "empty": not len(log.series),
        "depth": log.ends[1] if len(log.series) else None,
        "tests": len(sounding.dissipations),
        "x": sounding.location.x,
        "y": sounding.location.y,
        "crs": sounding.location.crs or "",
        # what a push that has not begun lacks is no fault of it
        "worst": None if worst is None or (begun and not len(log.series)) else worst.word,
        "words": f"{graver} to look at" if graver else "nothing stands against it",
    }


def _class(result: ClassResult) -> dict[str, Any]:
    return {
        "scheme": f"{result.scheme.norm}:{result.scheme.edition}",
        "kind": result.scheme.kind,
        "mark": result.scheme.mark,
        "text": result.text,
        "achieved": result.achieved,
        "proved": result.proved,
        "ordered": result.ordered,
        "order": result.order,
        "verdicts": [
            {
                "aspect": v.aspect,
                "achieved": v.achieved,
                "proved": v.proved,
                "depth": v.depth,
                "text": v.text,
            }
            for v in result.verdicts
        ],
    }


def _zero(row: ZeroRow) -> dict[str, Any]:
    return {
        "symbol": QUANTITIES[row.channel].symbol,
        "unit": row.unit,
        "before": row.before,
        "after": row.after,
        "shift": row.shift,
        "percent": row.percent,
    }


def _rate(log: Log) -> dict[str, Any] | None:
    facts = rate_facts(log.series)
    if facts is None:
        return None
    return {"edges": facts.edges, "shares": facts.shares, "inside": facts.inside}


def _tilt(log: Log) -> dict[str, Any] | None:
    facts = tilt_facts(log.series)
    if facts is None:
        return None
    known = np.isfinite(facts.tilt) & np.isfinite(facts.offset) & np.isfinite(facts.depth)
    if not known.any():
        return None
    depth = facts.depth[known]
    row = max(float(depth.max()) / MOST_POINTS, 1e-3)
    at, tilt = thin(depth, facts.tilt[known], row=row)
    below, offset = thin(depth, facts.offset[known], row=row)
    return {
        "depth": at,
        "tilt": tilt,
        "offset_depth": below,
        "offset": offset,
        "most_tilt": float(facts.tilt[known].max()),
        "most_offset": float(facts.offset[known].max()),
        "bound": facts.bound,
    }


def equipment_document(sounding: Sounding, today: date) -> dict[str, Any]:
    """Return the equipment of a sounding with the life of its calibrations.

    Parameters
    ----------
    today
        The day on which the life left is told; the age at the push counts for the push.
    """
    cone = sounding.cone
    pushed = sounding.started.date() if sounding.started is not None else None
    return {
        "name": sounding.name,
        "cone": _stated(cone.model_dump(mode="json", exclude={"calibrations"})),
        "rods": None if sounding.rods is None else _stated(sounding.rods.model_dump(mode="json")),
        "rig": None if sounding.rig is None else _stated(sounding.rig.model_dump(mode="json")),
        "encoder": None
        if sounding.encoder is None
        else _stated(sounding.encoder.model_dump(mode="json")),
        "calibrations": [
            _calibration(one, today, pushed)
            for one in sorted(cone.calibrations, key=lambda c: (c.channel, c.date))
        ],
        "life": DAYS,
        "zeros": [_zero(row) for row in zero_rows(sounding)],
        "readings": [
            {"moment": moment, **_stated(zero.model_dump(mode="json"))}
            for moment, zeros in (
                ("before", sounding.zeros_before),
                ("after", sounding.zeros_after),
            )
            for zero in zeros
        ],
    }


def _stated(document: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in document.items() if value not in (None, [], ())}


def _calibration(one: Calibration, today: date, pushed: date | None) -> dict[str, Any]:
    unit = QUANTITIES[one.channel].unit if one.channel in QUANTITIES else ""
    return {
        **_stated(one.model_dump(mode="json")),
        "unit": unit,
        "age_at_push": None if pushed is None else (pushed - one.date).days,
        "days_left": DAYS - (today - one.date).days,
    }

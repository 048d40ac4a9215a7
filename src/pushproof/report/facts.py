"""The words of a log: title block, footer and notes, as plain data for the page template.

What is known is written as it is; what nobody stated says so; what had to be assumed carries a
sign and the word, so that it is seen in grey as well.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

import numpy as np

from pushproof import __version__
from pushproof.equations.registry import find
from pushproof.interpretation import Bands
from pushproof.model.profile import Assumption, Interpretation
from pushproof.model.series import Reason
from pushproof.model.sounding import Sounding, WaterOrigin
from pushproof.report.bandnotes import band_facts
from pushproof.report.formula import formula_runs, lowered
from pushproof.report.looks import minus
from pushproof.report.pushfacts import stated_class
from pushproof.report.rail import Numbered, number_findings
from pushproof.report.tracks import symbol

CAUTION = (
    "Derived values are estimates from published correlations, for the judgement of a qualified "
    "engineer; they do not replace it."
)
NOT_STATED = "not stated"

DRAWN = ("gamma", "sigma_v0", "u0", "sigma_v0_eff", "qn", "Fr", "n", "Qtn", "Ic", "zone", "N60")
"""Derived columns that the log draws or that these rest on."""

Row = dict[str, Any]


def log_facts(
    interpretation: Interpretation,
    *,
    signed: str | None = None,
    shown: Sequence[str] = DRAWN,
    found: Bands | None = None,
) -> dict[str, Any]:
    """Return all words of a log.

    Parameters
    ----------
    interpretation
        The sounding, its results, assumptions and findings.
    signed
        Line that says who signed; None prints "Not signed".
    shown
        Derived columns that are drawn or that these rest on; the notes keep to them.
    found
        Bands that are drawn; the notes say what they rest on.
    """
    sounding = interpretation.profile.sounding
    return {
        "name": sounding.name,
        "kind": _kind(interpretation),
        "subject": [text for text in (sounding.project, sounding.place) if text],
        "groups": _groups(interpretation, shown),
        "status": signed or "Not signed",
        "is_signed": signed is not None,
        "footer": _footer(interpretation),
        "caution": CAUTION,
        "assumptions": [_assumption(a.text, a.reason) for a in _assumptions(interpretation, shown)],
        "findings": [_finding(item) for item in number_findings(interpretation.findings)],
        "methods": _methods(interpretation, shown),
        "channels": _channels(interpretation),
        "bands": band_facts(found) if found else None,
    }


def _assumptions(interpretation: Interpretation, shown: Sequence[str]) -> list[Assumption]:
    return [one for one in interpretation.assumptions if one.concerns(shown)]


def _kind(interpretation: Interpretation) -> str:
    series = interpretation.series
    if any(series.measured(key) for key in ("u1", "u2", "u3")):
        return "Cone penetration test with pore pressure, CPTU"
    return "Cone penetration test, CPT"


def _groups(interpretation: Interpretation, shown: Sequence[str]) -> list[list[Row]]:
    """Return the title block: four columns of five rows."""
    profile = interpretation.profile
    sounding, cone, location = profile.sounding, profile.sounding.cone, profile.sounding.location
    place = [
        _row("Position", _position(sounding)),
        _row("Coordinates", location.crs or _lat_lon(sounding)),
        _row("Level of zero", _level(sounding)),
        _row("Depth zero", _zero(sounding)),
        _row("Client", sounding.client),
    ]
    day = [
        _row("Date", sounding.started.strftime("%Y-%m-%d %H:%M") if sounding.started else None),
        _row("Operator", sounding.operator),
        _row("Rig", _rig(sounding)),
        _row("Standard", sounding.standard),
        _row("Class stated", stated_class(sounding)),
    ]
    equipment = [
        _row("Cone", _join(cone.serial, cone.model)),
        _row("Tip, sleeve", _areas(sounding)),
        _area_ratio(interpretation),
        _row("Filter", _join(", ".join(cone.filters), cone.filter_fluid)),
        _row("Calibrated", _calibrated(sounding)),
    ]
    test = [
        _row("Depth reached", _reached(interpretation)),
        _row("Ended by", _end(sounding)),
        _row("Pre-excavated", _predrilled(interpretation)),
        _water(interpretation),
        _row(
            "Assumed values",
            _count(len(_assumptions(interpretation, shown)), "see notes", "none"),
            assumed=bool(_assumptions(interpretation, shown)),
        ),
    ]
    return [place, day, equipment, test]


def _row(label: str, value: str | None, *, assumed: bool = False) -> Row:
    return {
        "label": label,
        "value": value or NOT_STATED,
        "assumed": assumed,
        "missing": not value,
    }


def _join(*parts: str | None) -> str | None:
    return ", ".join(part for part in parts if part) or None


def _position(sounding: Sounding) -> str | None:
    location = sounding.location
    if location.x is not None and location.y is not None:
        return f"{minus(f'{location.x:.2f}')}, {minus(f'{location.y:.2f}')}"
    return _lat_lon(sounding)


def _lat_lon(sounding: Sounding) -> str | None:
    location = sounding.location
    if location.latitude is None or location.longitude is None:
        return None
    return minus(f"{location.latitude:.6f}°, {location.longitude:.6f}°")


def _level(sounding: Sounding) -> str | None:
    level = sounding.location.level
    if level is None:
        return None
    return f"{minus(f'{level:+.2f}')} m {sounding.location.datum or '(datum not stated)'}"


def _zero(sounding: Sounding) -> str | None:
    location = sounding.location
    water = f"{location.water_depth:.2f} m deep" if location.water_depth else None
    return _join(location.zero, water)


def _rig(sounding: Sounding) -> str | None:
    rig = sounding.rig
    if rig is None:
        return None
    return _join(rig.name, f"{rig.thrust:g} kN" if rig.thrust else None)


def _areas(sounding: Sounding) -> str | None:
    cone = sounding.cone
    if cone.tip_area is None and cone.sleeve_area is None:
        return None
    areas = (cone.tip_area, cone.sleeve_area)
    return ", ".join(f"{area * 1e4:.4g} cm²" if area else NOT_STATED for area in areas)


def _area_ratio(interpretation: Interpretation) -> Row:
    used = interpretation.profile.area_ratio
    keys = {a.key for a in interpretation.assumptions}
    if used is None:
        return _row("Area ratio a", None)
    given = interpretation.profile.recipe.area_ratio is not None
    text = f"{used:.2f}" if round(used, 2) == round(used, 4) else f"{used:.3f}"
    return _row("Area ratio a", text + (", given" if given else ""), assumed="area_ratio" in keys)


def _calibrated(sounding: Sounding) -> str | None:
    dates = {c.channel: c.date for c in sounding.cone.calibrations}
    return max(dates.values()).isoformat() if dates else None


def _reached(interpretation: Interpretation) -> str | None:
    depth = interpretation.series.get("depth")
    if not np.isfinite(depth).any():
        return None
    words = f"{np.nanmax(depth):.2f} m"
    return words + (", no tilt correction" if interpretation.profile.depth_is_length else "")


def _end(sounding: Sounding) -> str | None:
    reason = sounding.stop_reason
    return reason.value if reason is not None and reason.value != "unknown" else None


def _predrilled(interpretation: Interpretation) -> str | None:
    given = interpretation.profile.recipe.predrilled
    if given is not None:
        return f"to {given:.2f} m, given"
    stated = interpretation.profile.sounding.predrilled
    if stated is None:
        return None
    return f"to {stated:.2f} m" if stated > 0 else "none"


def _water(interpretation: Interpretation) -> Row:
    water = interpretation.profile.water
    if water is None:
        return _row("Water level", None)
    assumed = water.origin is WaterOrigin.ASSUMED
    if water.level < 0:
        return _row("Water level", f"{-water.level:.2f} m above zero", assumed=assumed)
    words = {
        WaterOrigin.MEASURED: ", measured",
        WaterOrigin.STATED: ", in the file",
        WaterOrigin.GIVEN: ", given",
        WaterOrigin.ASSUMED: "",
    }
    return _row("Water level", f"{water.level:.2f} m{words[water.origin]}", assumed=assumed)


def _count(number: int, some: str, none: str) -> str:
    return f"{number}, {some}" if number else none


def _assumption(text: str, reason: str) -> Row:
    return {"text": text, "reason": reason}


def _footer(interpretation: Interpretation) -> Row:
    source = interpretation.profile.sounding.source
    return {
        "version": f"Pushproof {__version__}",
        "file": source.name if source else "no file",
        "file_hash": source.sha256[:12] if source else "",
        "recipe_hash": interpretation.profile.recipe.fingerprint()[:12],
        "file_hash_full": source.sha256 if source else "",
        "recipe_hash_full": interpretation.profile.recipe.fingerprint(),
    }


def _finding(item: Numbered) -> Row:
    finding = item.finding
    return {
        "number": item.number,
        "severity": finding.severity.word,
        "where": finding.where or "all",
        "found": finding.found,
        "expected": finding.expected,
        "source": finding.source,
    }


def _methods(interpretation: Interpretation, shown: Sequence[str]) -> list[Row]:
    """Return the equations of the columns shown; a column may have one for each kind of soil."""
    found = []
    pairs = [(key, name) for key in shown for name in interpretation.relations(key)]
    for key, name in pairs:
        row: Row = {
            "key": key,
            "symbol": lowered(symbol(key)),
            "name": name,
            "formula": [[name, False]],
            "citation": "",
            "mark": "",
        }
        try:
            equation = find(name)
        except ValueError:
            found.append(row)
            continue
        row |= {
            "formula": formula_runs(equation.formula),
            "citation": equation.citation,
            "mark": str(equation.mark),
        }
        found.append(row)
    return found


def _channels(interpretation: Interpretation) -> list[Row]:
    """Return what was measured: rows present and missing, by reason, and the range."""
    series = interpretation.profile.series
    found = []
    for key in ("qc", "fs", "u1", "u2", "u3", "tilt", "time"):
        if not series.measured(key):
            continue
        counts = Counter(series.missing(key))
        words = [f"{n} {reason.words}" for reason, n in counts.items() if reason != Reason.PRESENT]
        present = len(series) - sum(counts.values())
        found.append(
            {
                "symbol": lowered(symbol(key)),
                "name": series.quantity(key).name,
                "present": str(present),
                "missing": ", ".join(words) or "none",
            }
        )
    return found

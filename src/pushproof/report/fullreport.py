"""The report: cover, and for every sounding its log, proof sheet, equipment and dissipations."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from pushproof import __version__
from pushproof.interpretation.layers import layers
from pushproof.model.observations import Observation
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES
from pushproof.model.sounding import Sounding, Zero
from pushproof.model.units import factor_to_display
from pushproof.planning.checklist import KIND as CHECKED
from pushproof.planning.checklist import LOCAL
from pushproof.quality import Assessment, Scheme, assess
from pushproof.quality.assess import DEFAULT_SCHEMES
from pushproof.quality.classify import ClassResult
from pushproof.report import looks
from pushproof.report.checked import with_checks
from pushproof.report.dissipation import dissipation_parts, dissipations_of, method_rows
from pushproof.report.dissipationplot import HEIGHT as DISSIPATION_HEIGHT
from pushproof.report.facts import CAUTION
from pushproof.report.formula import lowered
from pushproof.report.glance import HEIGHT as GLANCE_HEIGHT
from pushproof.report.glance import glance
from pushproof.report.layout import Paper
from pushproof.report.logsheet import Sheet, log_parts, paper_of
from pushproof.report.plate import Plate
from pushproof.report.proofsheet import HEIGHT, proof_parts
from pushproof.report.pushfacts import worst_word
from pushproof.report.rail import rail
from pushproof.report.tracks import symbol
from pushproof.report.unitstable import units_facts

FloatArray = NDArray[np.float64]

MAIN_SCHEME = DEFAULT_SCHEMES[0]
"""Scheme told first and by aspect, if nobody chose another."""
PLAN_HEIGHT = 62.0
"""Height of the site plan on the cover [mm]."""


def lay_report(
    interpretations: Sequence[Interpretation],
    *,
    paper: str = "A4",
    scale: int | Literal["fit"] = "fit",
    signed: str | Mapping[str, str] | None = None,
    scheme: str | Scheme = MAIN_SCHEME,
    observed: Mapping[str, Sequence[Observation]] | None = None,
) -> Sheet:
    """Lay a report out; see :func:`pushproof.report.report`.

    Raises
    ------
    ValueError
        If there is no sounding, or the paper or the scale is not known.
    ConfigurationError
        If the scheme is not known or not valid.
    """
    if not interpretations:
        raise ValueError("a report needs at least one sounding")
    names = [one.profile.sounding.name for one in interpretations]
    lines = dict.fromkeys(names, signed) if isinstance(signed, str) else dict(signed or {})
    seen = observed or {}
    schemes = (scheme, *(one for one in DEFAULT_SCHEMES if one != scheme))
    checks = [assess(one.profile, schemes) for one in interpretations]
    interpretations = [
        with_checks(one, check) for one, check in zip(interpretations, checks, strict=True)
    ]
    sheet_paper = paper_of(paper)
    soundings: list[dict[str, Any]] = []
    pictures: dict[str, str] = {}
    for k, one in enumerate(interpretations):
        words, plates = _sounding_parts(
            one, sheet_paper, scale, k, lines.get(names[k]), checks[k], seen.get(names[k], ())
        )
        soundings.append(words)
        pictures |= plates
    data: dict[str, Any] = {
        "version": f"Pushproof {__version__}",
        "paper": sheet_paper.as_data(),
        "soundings": soundings,
        "cover": _cover(interpretations, checks, lines),
        "methods": _all_methods(soundings),
        "caution": CAUTION,
    }
    overview = glance(interpretations, sheet_paper.content)
    pictures["glance"] = overview.svg()
    data["cover"]["glance"] = overview.picture() | {"height": GLANCE_HEIGHT}
    plan = _site_plan(interpretations, sheet_paper.content)
    if plan is not None:
        pictures["plan"] = plan.svg()
        data["cover"]["plan"] = plan.picture() | {"height": PLAN_HEIGHT}
    return Sheet("report.typ", data, pictures)


def _sounding_parts(
    interpretation: Interpretation,
    paper: Paper,
    scale: int | Literal["fit"],
    number: int,
    signed: str | None,
    assessment: Assessment,
    observed: Sequence[Observation],
) -> tuple[dict[str, Any], dict[str, str]]:
    log, pictures = log_parts(
        interpretation,
        paper,
        scale,
        signed=signed,
        parameters=True,
        prefix=f"log{number}",
        observed=observed,
    )
    proof, plate = proof_parts(interpretation, rail(interpretation), paper.content, assessment)
    name = f"proof{number}"
    pictures[name] = plate.svg()
    proof |= {"plate": name, "picture": plate.picture() | {"height": HEIGHT}}
    tests = []
    found = dissipations_of(interpretation)
    for k, (result, test) in enumerate(found):
        words, drawn = dissipation_parts(result, test, paper.content)
        name = f"dissipation{number}-{k}"
        pictures[name] = drawn.svg()
        picture = drawn.picture() | {"height": DISSIPATION_HEIGHT}
        tests.append(words | {"plate": name, "picture": picture})
    equipment = _equipment(interpretation.profile.sounding)
    log["methods"] = [*log["methods"], *method_rows([result for result, _ in found])]
    # the report says the caution once, on its cover
    log |= {"units": units_facts(interpretation, layers(interpretation))}
    log |= {"caution": None, "proof": proof, "dissipations": tests, "equipment": equipment}
    return log, pictures


def _cover(
    interpretations: Sequence[Interpretation],
    checks: Sequence[Assessment],
    signed: Mapping[str, str],
) -> dict[str, Any]:
    def shared(name: str) -> str:
        values = {getattr(i.profile.sounding, name) for i in interpretations} - {None}
        return ", ".join(sorted(values))

    rows = []
    for one, check in zip(interpretations, checks, strict=True):
        sounding = one.profile.sounding
        depth = one.series.get("depth")
        rows.append(
            {
                "name": sounding.name,
                "date": sounding.started.strftime("%Y-%m-%d") if sounding.started else "–",
                "depth": f"{np.nanmax(depth):.2f}" if np.isfinite(depth).any() else "–",
                "class": _class_reached(check.classes[0]),
                "assumed": str(len(one.assumptions)),
                "findings": str(len(one.findings)),
                "worst": worst_word(one),
            }
        )
    return {
        "project": shared("project") or "Project not stated",
        "client": shared("client"),
        "place": shared("place"),
        "operator": shared("operator"),
        "rows": rows,
        "status": _status([one.profile.sounding.name for one in interpretations], signed),
        "is_signed": all(one.profile.sounding.name in signed for one in interpretations),
        "plan": None,
        "scheme": _scheme_note(checks[0].classes[0]),
    }


def _class_reached(result: ClassResult) -> str:
    """Return the class under the first scheme, short; the note below the table names the scheme."""
    if not result.scheme.usable:
        return "not judged"
    reached = result.achieved or "none"
    if result.achieved is not None and not result.proved:
        reached += " at best"
    return reached + (f", {result.ordered} ordered" if result.ordered is not None else "")


def _scheme_note(result: ClassResult) -> str:
    scheme = result.scheme
    return (
        f"Class reached: {scheme.kind} of {scheme.norm}:{scheme.edition}, limits {scheme.mark}. "
        "“At best” means that parts of the uncertainty are not known; see the proof sheet."
    )


def _status(names: Sequence[str], signed: Mapping[str, str]) -> str:
    """Return who signed what, and what nobody signed."""
    open_ones = [name for name in names if name not in signed]
    if not signed or len(open_ones) == len(names):
        return "Not signed"
    lines = {
        signed[name]: [n for n in names if signed.get(n) == signed[name]]
        for name in names
        if name in signed
    }
    if len(lines) == 1 and not open_ones:
        return next(iter(lines))
    words = [f"{', '.join(of)}: {line}" for line, of in lines.items()]
    return "; ".join(words) + (f"; not signed: {', '.join(open_ones)}" if open_ones else "")


def _all_methods(soundings: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the methods of all soundings, each once."""
    found: dict[str, dict[str, Any]] = {}
    for sounding in soundings:
        for row in sounding["methods"]:
            found.setdefault(f"{row['symbol']}{row['name']}", row)
    return list(found.values())


def _equipment(sounding: Sounding) -> dict[str, Any]:
    """Return the cone, the zeros and the calibrations in full."""
    cone = sounding.cone
    millimetres = 1e3
    values: list[tuple[str, str | None]] = [
        ("Serial number", cone.serial),
        ("Model", cone.model),
        ("Cone class", cone.cone_class),
        ("Tip area", f"{cone.tip_area * 1e4:.4g} cm²" if cone.tip_area else None),
        ("Net area ratio a", f"{cone.area_ratio:g}" if cone.area_ratio else None),
        ("Sleeve area", f"{cone.sleeve_area * 1e4:.4g} cm²" if cone.sleeve_area else None),
        ("Sleeve end-area ratio", f"{cone.sleeve_end_ratio:g}" if cone.sleeve_end_ratio else None),
        (
            "Tip to middle of sleeve",
            f"{cone.tip_to_mid_sleeve * millimetres:.0f} mm" if cone.tip_to_mid_sleeve else None,
        ),
        ("Filters", ", ".join(cone.filters) or None),
        ("Filter fluid", cone.filter_fluid),
        ("Rig", sounding.rig.name if sounding.rig else None),
        (
            "Thrust",
            f"{sounding.rig.thrust:g} kN" if sounding.rig and sounding.rig.thrust else None,
        ),
        ("Rod length", f"{sounding.rods.length:g} m" if sounding.rods else None),
    ]
    zeros = [
        *(_zero_row("before", zero) for zero in sounding.zeros_before),
        *(_zero_row("after", zero) for zero in sounding.zeros_after),
    ]
    calibrations = [
        {
            "symbol": _channel(item.channel),
            "date": item.date.isoformat(),
            "laboratory": item.laboratory or "–",
            "certificate": item.certificate or "–",
            "capacity": _in_unit(item.channel, item.capacity),
            "uncertainty": _in_unit(item.channel, item.uncertainty),
            "resolution": _in_unit(item.channel, item.resolution),
        }
        for item in cone.calibrations
    ]
    return {
        "cone": [[label, value or "not stated"] for label, value in values],
        "zeros": zeros,
        "calibrations": calibrations,
        "checks": [event.text for event in sounding.events if event.kind == CHECKED],
        "local": LOCAL,
    }


def _channel(key: str) -> list[list[Any]]:
    """Return the symbol of a channel; its plain name where the vocabulary does not know it."""
    return lowered(symbol(key)) if key in QUANTITIES else [[key, False]]


def _in_unit(key: str, value: float | None) -> str:
    if value is None:
        return "–"
    if key not in QUANTITIES:
        return looks.minus(f"{value:g}")
    row = QUANTITIES[key]
    return looks.minus(f"{value * factor_to_display(key):g} {row.display_unit}")


def _zero_row(when: str, zero: Zero) -> dict[str, Any]:
    return {
        "symbol": _channel(zero.channel),
        "when": when,
        "value": _in_unit(zero.channel, zero.value),
        "spread": _in_unit(zero.channel, zero.spread),
        "count": "–" if zero.count is None else str(zero.count),
        "seconds": "–" if zero.seconds is None else f"{zero.seconds:g} s",
        "temperature": "–" if zero.temperature is None else f"{zero.temperature:.1f} °C",
        "time": zero.time.strftime("%Y-%m-%d %H:%M") if zero.time else "–",
    }


def _site_plan(interpretations: Sequence[Interpretation], content: float) -> Plate | None:
    """Draw where the soundings stand, to scale, if all share one coordinate system."""
    places = [(i.profile.sounding.name, i.profile.sounding.location) for i in interpretations]
    known = [(name, p.x, p.y) for name, p in places if p.x is not None and p.y is not None]
    systems = {p.crs for _, p in places}
    if len(known) < 2 or len(known) != len(places) or len(systems) != 1:
        return None
    x = np.array([row[1] for row in known], dtype=np.float64)
    y = np.array([row[2] for row in known], dtype=np.float64)
    if max(np.ptp(x), np.ptp(y)) <= 0:
        return None
    plate = Plate(left=-2.0, top=0.0, right=content + 2.0, bottom=PLAN_HEIGHT)
    room_x, room_y = content - 50.0, PLAN_HEIGHT - 26.0
    scale = min(room_x / max(np.ptp(x), 1e-9), room_y / max(np.ptp(y), 1e-9))
    px = content / 2 + (x - (x.min() + x.max()) / 2) * scale
    py = PLAN_HEIGHT / 2 - 3 - (y - (y.min() + y.max()) / 2) * scale
    plate.frame(0, 0, content, PLAN_HEIGHT, 0.16)
    plate.dots(zip(px.tolist(), py.tolist(), strict=True), looks.INK, 2.2)
    plate.dots(zip(px.tolist(), py.tolist(), strict=True), looks.PAPER, 1.2)
    untold = _plan_names(plate, [row[0] for row in known], px, py)
    if untold:
        plate.text(
            3,
            PLAN_HEIGHT - 4,
            f"{untold} names left out: too close",
            looks.BODY_SIZE,
            colour=looks.SOFT_INK,
        )
    _scale_bar(plate, scale, content)
    plate.text(
        3,
        4,
        f"Plan, {systems.pop() or 'coordinate system not stated'}",
        looks.BODY_SIZE,
        colour=looks.SOFT_INK,
    )
    north = content - 6.0
    plate.areas([[(north, 3.0), (north + 1.4, 9.0), (north, 7.6), (north - 1.4, 9.0)]], looks.INK)
    plate.text(north, 11.4, "N", looks.BODY_SIZE, anchor="cm", bold=True)
    return plate


def _plan_names(plate: Plate, names: Sequence[str], x: FloatArray, y: FloatArray) -> int:
    """Write names beside their dots where there is room; return how many found none."""
    taken: list[tuple[float, float, float, float]] = [
        (a - 1.2, b - 1.2, a + 1.2, b + 1.2) for a, b in zip(x, y, strict=True)
    ]
    untold = 0
    for name, a, b in zip(names, x, y, strict=True):
        wide = 1.5 * len(name)
        for dx, dy, anchor in (
            (2.2, -1.8, "lm"),
            (2.2, 1.8, "lm"),
            (-2.2, -1.8, "rm"),
            (-2.2, 1.8, "rm"),
        ):
            left = a + dx - (wide if anchor == "rm" else 0.0)
            box = (left, b + dy - 1.2, left + wide, b + dy + 1.2)
            if not any(_meet(box, other) for other in taken):
                taken.append(box)
                plate.text(a + dx, b + dy, name, looks.TITLE_SIZE, anchor=anchor, bold=True)
                break
        else:
            untold += 1
    return untold


def _meet(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _scale_bar(plate: Plate, scale: float, content: float) -> None:
    lengths = [k * 10.0**p for p in range(-1, 5) for k in (1, 2, 5)]
    metres = max((m for m in lengths if m * scale <= 50.0), default=lengths[0])
    right, y = content - 6.0, PLAN_HEIGHT - 6.0
    left = right - metres * scale
    plate.boxes([(left, y, (left + right) / 2, y + 1.1)], looks.INK)
    plate.frame(left, y, right, y + 1.1, 0.16)
    plate.text(left, y - 2.0, "0", looks.TICK_SIZE, anchor="cm")
    plate.text(right, y - 2.0, f"{metres:g} m", looks.TICK_SIZE, anchor="cm")

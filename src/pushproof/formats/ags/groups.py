"""The AGS groups of a cone test, each from the pushes that are written."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

import numpy as np

from pushproof import __version__
from pushproof.equations.behaviour import zone_words
from pushproof.formats.ags.content import OWN, PARAMETERS, Push
from pushproof.formats.ags.dictionary import headings
from pushproof.formats.ags.document import Column, Table, ascii_text, numeric, records
from pushproof.formats.ags.values import degrees_text
from pushproof.formats.contract import Given
from pushproof.formats.outgoing import converted, in_unit
from pushproof.formats.outgoing import places as places_of
from pushproof.formats.precision import fixed, plain
from pushproof.model.quantities import QUANTITIES
from pushproof.model.sounding import Dissipation, Water, Zero
from pushproof.model.units import factor_to_display

_CONE = {
    "SCPG_SLVA": ("1DP", "cm2", "Sleeve area"),
    "SCPG_CDIA": ("1DP", "mm", "Cone diameter"),
}
"""Headings of our own for the cone, with type, unit and description."""
_MOST_REMARK = 4000
_YEAR = 365.25 * 86400
"""A year [s], as coefficients of consolidation count it."""
Row = dict[str, str | float | None]


def definitions(found: Sequence[Push], edition: str, own: bool) -> list[Table]:
    """Return the group DICT, if headings of our own are used."""
    if not own:
        return []
    rows: list[Row] = []

    def declare(heading: str, kind: str, stated: str, words: str) -> None:
        rows.append(
            {
                "DICT_TYPE": "HEADING",
                "DICT_GRP": heading[:4],
                "DICT_HDNG": heading,
                "DICT_STAT": "OTHER",
                "DICT_DTYP": kind,
                "DICT_DESC": words,
                "DICT_UNIT": stated,
            }
        )

    for heading, column in _cone_columns(found).items():
        declare(heading, column.type, column.unit, _CONE[heading][2])
    if not found:
        return []
    (table,) = readings(found, edition, own)
    words = {one[0]: one[3] for one in OWN.values()}
    for column in table.columns:
        if column.heading not in headings("SCPT", edition):
            declare(
                column.heading, column.type, column.unit, words.get(column.heading, column.heading)
            )
    return [records("DICT", rows, edition)] if rows else []


def places(found: Sequence[Push], given: Given, edition: str) -> list[Table]:
    """Return the groups LOCA and HDPH."""
    rows: dict[str, Row] = {}
    holes: list[Row] = []
    for push in found:
        rows.setdefault(push.location, _place(push))
        holes += _holes(push, given)
    keyed = {
        (row["LOCA_ID"], row["HDPH_TOP"], row["HDPH_BASE"], row["HDPH_TYPE"]): row for row in holes
    }
    tables = [records("LOCA", list(rows.values()), edition)]
    if keyed:
        tables.append(records("HDPH", list(keyed.values()), edition))
        _with_seconds(tables[-1], found)
    return tables


def _place(push: Push) -> Row:
    sounding, place = push.sounding, push.sounding.location
    remarks = [f"depth 0 is {place.zero}" if place.zero else ""]
    if place.water_depth is not None:
        remarks.append(f"{plain(place.water_depth)} m of water above the bottom")
    row: Row = {
        "LOCA_ID": push.location,
        "LOCA_TYPE": "SCP",
        "LOCA_NATE": place.x,
        "LOCA_NATN": place.y,
        "LOCA_GREF": ascii_text(push.grid) if place.x is not None else None,
        "LOCA_GL": place.level,
        "LOCA_REM": "; ".join(filter(None, remarks)) or None,
        "LOCA_FDEP": float(push.depth.max()) if len(push.depth) else None,
        "LOCA_STAR": sounding.started.date().isoformat() if sounding.started else None,
        "LOCA_TERM": sounding.stop_reason.value if sounding.stop_reason else None,
        "LOCA_LAT": degrees_text(place.latitude),
        "LOCA_LON": degrees_text(place.longitude),
        "LOCA_NATD": place.datum,
    }
    return {key: value for key, value in row.items() if value is not None}


def _holes(push: Push, given: Given) -> list[Row]:
    """Return the sections of the hole: what was pre-excavated, and the push itself."""
    sounding = push.sounding
    rows: list[Row] = []
    if sounding.predrilled:
        layers = [
            f"{plain(one.top)} to {plain(one.base)} m: {one.description}"
            for one in sounding.removed
        ]
        rows.append(
            {
                "LOCA_ID": push.location,
                "HDPH_TOP": 0.0,
                "HDPH_BASE": sounding.predrilled,
                "HDPH_TYPE": given.get("predrill_type", ""),
                "HDPH_REM": "; ".join(["pre-excavated", *layers]),
            }
        )
    start = sounding.started
    timed = start is not None and (start.hour, start.minute, start.second) != (0, 0, 0)
    rig = sounding.rig.name if sounding.rig else None
    if (timed or sounding.operator or rig) and len(push.depth):
        rows.append(
            {
                "LOCA_ID": push.location,
                "HDPH_TOP": sounding.predrilled or 0.0,
                "HDPH_BASE": float(push.depth.max()),
                "HDPH_TYPE": "SCP",
                "HDPH_STAR": _minute(start) if timed else None,
                "HDPH_CREW": sounding.operator,
                "HDPH_EXC": rig,
            }
        )
    return rows


def _minute(start: datetime | None) -> str | None:
    return None if start is None else start.replace(tzinfo=None, microsecond=0).isoformat()


def _with_seconds(table: Table, found: Sequence[Push]) -> None:
    """Give the column of times the pattern of its texts: with seconds only where one has some."""
    starts = [push.sounding.started for push in found if push.sounding.started]
    for one in table.columns:
        if one.heading != "HDPH_STAR":
            continue
        if any(start.second for start in starts):
            one.unit = "yyyy-mm-ddThh:mm:ss"
        else:
            one.texts = [text[:16] for text in one.texts]


def general(found: Sequence[Push], given: Given, edition: str, own: bool) -> list[Table]:
    """Return the group SCPG."""
    rows = []
    for push in found:
        cone, water = push.sounding.cone, _water(push)
        piezo = any(push.sounding.readings.measured(key) for key in ("u1", "u2", "u3"))
        row: Row = {
            "LOCA_ID": push.location,
            "SCPG_TESN": push.test,
            "SCPG_TYPE": given.get("cone_type") or ("PC" if piezo else None),
            "SCPG_REF": cone.serial or cone.model,
            "SCPG_CSA": None if cone.tip_area is None else cone.tip_area * 1e4,
            "SCPG_FRIC": None if cone.friction_reducer is None else "Y",
            "SCPG_WAT": water.level if water else None,
            "SCPG_WATA": (water.remark or water.origin.value) if water else None,
            "SCPG_REM": _remarks(push) or None,
            "SCPG_METH": push.sounding.standard,
            "SCPG_CAR": _area_ratio(push),
            "SCPG_SLAR": cone.sleeve_end_ratio,
            "SCPG_OPER": push.sounding.operator,
        }
        rows.append({key: value for key, value in row.items() if value is not None})
    table = records("SCPG", rows, edition)
    if own:
        table.columns += _cone_columns(found).values()
    return [table]


def _water(push: Push) -> Water | None:
    return push.results.profile.water if push.results else push.sounding.water


def _area_ratio(push: Push) -> float | None:
    return push.results.profile.area_ratio if push.results else push.sounding.cone.area_ratio


def _cone_columns(found: Sequence[Push]) -> dict[str, Column]:
    sizes = {
        "SCPG_SLVA": [push.sounding.cone.sleeve_area for push in found],
        "SCPG_CDIA": [push.sounding.cone.tip_diameter for push in found],
    }
    factors = {"SCPG_SLVA": 1e4, "SCPG_CDIA": 1e3}
    return {
        heading: numeric(
            heading,
            np.array([np.nan if v is None else v * factors[heading] for v in values]),
            _CONE[heading][:2],
        )
        for heading, values in sizes.items()
        if any(value is not None for value in values)
    }


def _remarks(push: Push) -> str:
    """Return what SCPG_REM is for: remarks, and the basis of every derived parameter."""
    sounding = push.sounding
    parts = []
    if push.depth_words:
        parts.append(f"SCPT_DPTH is {push.depth_words}")
    if sounding.predrilled == 0:
        parts.append("Nothing was pre-excavated")
    if sounding.quality_class:
        parts.append(f"Stated class: {sounding.quality_class}")
    for words, zeros in (("before", sounding.zeros_before), ("after", sounding.zeros_after)):
        if zeros:
            texts = ", ".join(_zero(one) for one in zeros)
            parts.append(f"Zero readings {words} the push: {texts}")
    if push.results:
        parts += _basis(push)
    return ". ".join(parts)[:_MOST_REMARK]


def _zero(one: Zero) -> str:
    if one.channel not in QUANTITIES:
        return f"{one.channel} {plain(one.value)}"
    factor = factor_to_display(one.channel)
    return f"{one.channel} {plain(one.value * factor)} {QUANTITIES[one.channel].display_unit}"


def _basis(push: Push) -> list[str]:
    results = push.results
    assert results is not None
    written = {*push.columns(own=False), *(PARAMETERS if _parameters(push) else ())}
    parts = [
        f"Corrected and derived values: computed by Pushproof {__version__}, recipe "
        f"{results.profile.recipe.fingerprint()[:12]}; derived values are estimates for the "
        "judgement of a qualified engineer"
    ]
    named = [
        f"{key} by {results.methods[key]}" for key in sorted(results.methods) if key in written
    ]
    parts += ["; ".join(named)] if named else []
    assumed = [one.text for one in results.assumptions if one.concerns(written)]
    if assumed:
        parts.append(f"Assumed: {'; '.join(assumed)}")
    edits = [f"{one.kind} ({one.reason})" for one in results.profile.recipe.corrections]
    edits += [
        f"blanked {b.top:g} to {b.base:g} m ({b.reason})" for b in results.profile.recipe.blanked
    ]
    if edits:
        parts.append(f"Edited: {'; '.join(edits)}")
    return parts


def _parameters(push: Push) -> list[str]:
    return [key for key in PARAMETERS if push.results and push.results.series.measured(key)]


def _same(text: str, push: Push) -> list[str]:
    return [ascii_text(text)] * len(push.rows)


def readings(found: Sequence[Push], edition: str, own: bool) -> list[Table]:
    """Return the group SCPT: the readings, in the order in which they were read."""
    standard = headings("SCPT", edition)
    kinds = standard | {one[0]: (one[1], one[2]) for one in OWN.values()}
    keys: dict[str, str] = {}
    for push in found:
        keys |= {heading: key for key, heading in push.columns(own).items()}
    order = [*(h for h in standard if h in keys), *(h for h in keys if h not in standard)]
    columns = [
        Column("LOCA_ID", "ID", "", [t for p in found for t in _same(p.location, p)]),
        Column("SCPG_TESN", "X", "", [t for p in found for t in _same(p.test, p)]),
        _depths("SCPT_DPTH", found),
    ]
    for heading in order:
        key = keys[heading]
        stated = next(
            (p.series.extras[key].unit for p in found if key in p.series.extras),
            kinds.get(heading, ("", ""))[1],
        )
        kind = (kinds.get(heading, ("0DP", ""))[0], "" if stated == "-" else ascii_text(stated))
        values = np.concatenate([in_unit(push.series, key, kind[1])[push.rows] for push in found])
        columns.append(numeric(heading, values, kind, count=_places(found, key, kind[1])))
    return [Table("SCPT", columns)]


def _depths(heading: str, found: Sequence[Push]) -> Column:
    places = max(push.places for push in found)
    texts = [text for push in found for text in fixed(push.depth, places)]
    return Column(heading, f"{places}DP", "m", texts)


def _places(found: Sequence[Push], key: str, stated: str) -> int:
    return max(places_of(p.content, key, stated) for p in found if p.series.measured(key))


def derived(found: Sequence[Push], edition: str) -> list[Table]:
    """Return the group SCPP: one row for each reading with a derived parameter, top is base."""
    kinds = headings("SCPP", edition)
    parts = [(push, _parameters(push)) for push in found if _parameters(push)]
    if not parts:
        return []
    texts: dict[str, list[str]] = {name: [] for name in kinds}
    used = [key for key in PARAMETERS if any(key in keys for _, keys in parts)]
    places = max(push.places for push, _ in parts)
    counts = {key: max(QUANTITIES[key].decimals, int(kinds[PARAMETERS[key]][0][0])) for key in used}
    for push, keys in parts:
        assert push.results is not None
        series = push.results.series.take(push.rows)
        some = np.any([np.isfinite(series[key]) for key in keys], axis=0)
        rows = np.flatnonzero(some)
        depth = fixed(push.depth[rows], places)
        texts["LOCA_ID"] += _same(push.location, push)[: len(rows)]
        texts["SCPG_TESN"] += _same(push.test, push)[: len(rows)]
        texts["SCPP_TOP"] += depth
        texts["SCPP_BASE"] += depth
        recipe = push.results.profile.recipe.fingerprint()[:12]
        texts["SCPP_REF"] += [f"Pushproof {recipe}"] * len(rows)
        texts["SCPP_REM"] += ["derived; see SCPG_REM"] * len(rows)
        if "Ic" in used:
            texts["SCPP_CSBT"] += [zone_words(v) for v in series.get("Ic")[rows].tolist()]
        for key in used:
            values = series.get(key)[rows] * factor_to_display(key)
            texts[PARAMETERS[key]] += fixed(values, counts[key])
    columns = []
    for heading, (kind, stated) in kinds.items():
        if not texts[heading]:
            continue
        key = next((k for k, h in PARAMETERS.items() if h == heading), "")
        if heading in ("SCPP_TOP", "SCPP_BASE"):
            kind = f"{places}DP"
        elif key:
            kind = f"{counts[key]}DP"
        columns.append(Column(heading, kind, stated, texts[heading]))
    return [Table("SCPP", columns)]


def _test_row(push: Push, test: Dissipation) -> Row:
    """Return the row of a dissipation test, with what was derived from it."""
    row: Row = {"LOCA_ID": push.location, "SCPG_TESN": push.test, "SCDG_DPTH": test.depth}
    result = push.test_results.get(id(test))
    chosen = result.chosen if result else None
    if result is None or chosen is None or not math.isfinite(chosen.t50):
        return row
    ends = f"; the record ends at {chosen.reached:.0f} %" if chosen.extrapolated else ""
    words = f"{chosen.how}; rigidity index {result.Ir:g}, {result.Ir_how}; year of 365.25 days"
    values: Row = {
        "SCDG_PWPI": round(chosen.u_i / 1000, 4),
        "SCDG_PWPE": round(result.u0 / 1000, 4),
        "SCDG_DDIS": 50.0,
        "SCDG_T": round(chosen.t50, 1),
        "SCDG_CH": float(f"{chosen.ch * _YEAR:.3g}"),
        "SCDG_CHMT": f"{chosen.method}: {words}",
        "SCDG_REM": f"Derived by Pushproof {__version__}, an estimate. Equilibrium pressure "
        f"{result.u0_how}{ends}",
    }
    known = {key: v for key, v in values.items() if not isinstance(v, float) or math.isfinite(v)}
    return row | known


def dissipations(found: Sequence[Push], edition: str) -> list[Table]:
    """Return the groups SCDG and SCDT."""
    tests = [(push, test, push.test_rows(test)) for push in found for test in push.tests]
    if not tests:
        return []
    rows = [_test_row(push, test) for push, test, _ in tests]
    heads = records("SCDG", rows, edition)
    kinds = headings("SCDT", edition)
    count = [len(rows) for _, _, rows in tests]
    columns = [
        Column(
            one.heading,
            one.type,
            one.unit,
            [t for t, n in zip(one.texts, count, strict=True) for _ in range(n)],
        )
        for one in heads.columns[:3]
    ]
    meaning = {"time": "SCDT_SECS", "qc": "SCDT_RES"}
    meaning |= {f"u{n}": f"SCDT_PWP{n}" for n in (1, 2, 3)}
    for key, heading in meaning.items():
        if not any(test.readings.measured(key) for _, test, _ in tests):
            continue
        values = np.concatenate([test.readings.get(key)[rows] for _, test, rows in tests])
        columns.append(numeric(heading, converted(values, kinds[heading][1]), kinds[heading]))
    return [heads, Table("SCDT", columns)]

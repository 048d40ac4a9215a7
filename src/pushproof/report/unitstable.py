"""The units page of a report: one row for each unit, with the spread of its parameters."""

from __future__ import annotations

from typing import Any

from pushproof.interpretation.layers import RECORD, SET, Layers
from pushproof.interpretation.units import Statistic, Unit
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import quantity
from pushproof.report import looks
from pushproof.report.formula import lowered
from pushproof.report.soil import soil_hex
from pushproof.report.tracks import symbol

SHOWN = ("qt", "Ic", "gamma", "su", "phi", "Dr", "N60", "M")
"""Parameters of the table, as far as the sounding has them."""

Row = dict[str, Any]


def units_facts(interpretation: Interpretation, found: Layers) -> Row:
    """Return the words and numbers of the units page.

    Parameters
    ----------
    interpretation
        The sounding.
    found
        Its units.
    """
    keys = [key for key in SHOWN if any(key in unit.statistics for unit in found.units)]
    return {
        "columns": [{"symbol": lowered(symbol(key)), "unit": _unit(key)} for key in keys],
        "rows": [_row(found, k, keys) for k in range(len(found))],
        "level": interpretation.profile.sounding.location.level is not None,
        "datum": interpretation.profile.sounding.location.datum or "",
        "how": _how(found),
        "notes": [*found.notes, *(_note(one, note) for one in found.units for note in one.notes)],
        "decided": [
            {
                "depth": f"{edge.depth:.2f} m",
                "reason": edge.reason,
                "author": edge.author or "not stated",
            }
            for edge in found.edges
            if edge.origin == SET
        ],
    }


def _unit(key: str) -> str:
    unit = quantity(key).display_unit
    return "" if unit == "-" else unit


def _how(found: Layers) -> str:
    if not found.automatic:
        return "The boundaries were set by a person; the search added none."
    return (
        "The boundaries were found by a search for steps in the profile; no unit is thinner than "
        f"{found.min_thickness:g} m."
    )


def _note(unit: Unit, note: str) -> str:
    return f"Unit {unit.number}: {note}"


def _row(found: Layers, k: int, keys: list[str]) -> Row:
    unit = found.units[k]
    edge = found.edges[k] if k < len(found.edges) else None
    level = unit.level_top
    row: Row = {
        "number": str(unit.number),
        "top": f"{unit.top:.2f}",
        "base": f"{unit.base:.2f}",
        "level": "" if level is None else looks.minus(f"{level:.2f}"),
        "name": unit.name,
        "is_ground": unit.kind == "ground",
        "colour": soil_hex(unit.ic) if unit.ic is not None else looks.VOID,
        "spread": "",
        "confidence": "",
        "values": [_cell(key, unit.statistics.get(key)) for key in keys],
    }
    if edge is None:
        row["confidence"] = "end"
    elif edge.origin == RECORD:
        row["confidence"] = "record"
    elif edge.spread is not None and edge.confidence is not None:
        row["spread"] = f"± {edge.spread:.2f}"
        row["confidence"] = f"{edge.confidence:.2f}" + (", set" if edge.origin == SET else "")
    return row


def _cell(key: str, found: Statistic | None) -> list[str]:
    """Return mean, standard deviation and the range from p10 to p90."""
    if found is None:
        return []
    decimals = _decimals(key, found)
    mean, deviation, low, high = (
        looks.minus(f"{value:.{decimals}f}")
        for value in (found.mean, found.deviation, found.p10, found.p90)
    )
    return [mean, f"± {deviation}", f"{low}–{high}"]


def _decimals(key: str, found: Statistic) -> int:
    """Return as many decimals as the quantity has, fewer for large values."""
    usual = min(quantity(key).decimals, 2)
    large = max(abs(found.mean), abs(found.p90))
    return min(usual, 0 if large >= 100 else 1 if large >= 10 else 2)

"""Observations from elsewhere as the log page draws and tells them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pushproof.model.observations import Observation
from pushproof.model.units import factor_to_display
from pushproof.report.observedplate import observed_rows


def observed_json(observed: Sequence[Observation]) -> list[dict[str, Any]]:
    """Return observations as plain values: where and what to draw, and the words of the notes.

    ``at`` is the depth of the mark [m], ``shown`` the value in the display unit.
    """
    found = []
    for one, row in zip(observed, observed_rows(tuple(observed)), strict=True):
        base = one.top if one.base is None else one.base
        water = one.kind == "water" and one.value is not None
        values = one.kind not in ("water", "layer") and one.value is not None
        found.append(
            {
                "kind": one.kind,
                "top": one.top,
                "base": base,
                "at": one.value if water else (one.top + base) / 2,
                "shown": one.value * factor_to_display(one.kind)
                if values and one.value is not None
                else None,
                "where": row[1],
                "value": row[2],
                "test": one.test,
                "source": one.source,
            }
        )
    return found

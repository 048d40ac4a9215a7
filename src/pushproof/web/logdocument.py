"""What the log page is given of one sounding: words, rail, findings, classes, values at a depth.

Everything is plain values ready for JSON. The values themselves come in windows (see
:mod:`pushproof.web.reduce`); the rest is small and comes at once.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.registry import find
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES, Kind, Quantity
from pushproof.model.recipe import Recipe
from pushproof.model.series import Reason, Series
from pushproof.model.sounding import WaterOrigin
from pushproof.model.units import factor_to_display
from pushproof.quality.assess import Assessment
from pushproof.report.curves import gap_length, usual_step
from pushproof.report.looks import minus
from pushproof.report.rail import Rail, Trace, rail
from pushproof.report.soil import ZONES, soil_rows, stretches

FloatArray = NDArray[np.float64]

_WORDS_HEIGHT = 17.0
"""Least height of a stretch that is named [px]."""
ENDS = ("p10", "p90")


@dataclass(frozen=True)
class Log:
    """One sounding under one recipe: what the page shows and reads.

    Parameters
    ----------
    interpretation
        The results, with the findings of the checks among theirs.
    assessment
        What the checks say.
    """

    interpretation: Interpretation
    assessment: Assessment
    _banded: dict[str, FloatArray] = field(default_factory=dict, repr=False)

    @property
    def series(self) -> Series:
        """All columns."""
        return self.interpretation.series

    @cached_property
    def depth(self) -> FloatArray:
        """Depth of every row [m]."""
        return self.series.get("depth")

    @cached_property
    def gap(self) -> float:
        """Steps longer than this [m] are gaps."""
        return gap_length(self.depth)

    @cached_property
    def rail(self) -> Rail:
        """What the proof rail shows."""
        return rail(self.interpretation)

    @cached_property
    def ends(self) -> tuple[float, float]:
        """First and last depth of the axis [m]; 0 to 1 where there is no row."""
        known = self.depth[np.isfinite(self.depth)]
        if not known.size:
            return 0.0, 1.0
        return min(0.0, float(known.min())), float(known.max())

    def document(self) -> dict[str, Any]:
        """Return everything but the values."""
        profile = self.interpretation.profile
        sounding = profile.sounding
        step = usual_step(self.depth)
        return {
            "name": sounding.name,
            "project": sounding.project or "",
            "place": sounding.place or "",
            "rows": len(self.series),
            "low": self.ends[0],
            "high": self.ends[1],
            "step": step if math.isfinite(step) else 0.02,
            "gap": self.gap,
            "recipe": profile.recipe.fingerprint(),
            "rail": rail_json(self.rail),
            "marks": self._marks(),
            "findings": self._findings(),
            "classes": self._classes(),
            "assumptions": [
                {"key": a.key, "text": a.text, "reason": a.reason, "affects": list(a.affects)}
                for a in self.interpretation.assumptions
            ],
            "methods": {key: list(self.interpretation.relations(key)) for key in self._methods},
            "zones": {zone.number: zone.words for zone in ZONES.values()},
        }

    @property
    def _methods(self) -> list[str]:
        return list(self.interpretation.methods)

    def _marks(self) -> dict[str, Any]:
        profile = self.interpretation.profile
        given = profile.recipe.predrilled
        predrilled = (given if given is not None else profile.sounding.predrilled) or 0.0
        water = profile.water
        reason = profile.sounding.stop_reason
        known = reason is not None and reason.value != "unknown"
        end = f"End of sounding {self.ends[1]:.2f} m"
        return {
            "predrilled": predrilled,
            "predrilledWords": f"pre-excavated to {predrilled:.2f} m" if predrilled else "",
            "water": None
            if water is None
            else {
                "level": water.level,
                "assumed": water.origin is WaterOrigin.ASSUMED,
                "words": "assumed" if water.origin is WaterOrigin.ASSUMED else "",
                "origin": water.origin.value,
            },
            "waterTrack": "pore",
            "blanked": [
                {"top": b.top, "base": b.base, "channels": list(b.channels), "reason": b.reason}
                for b in profile.recipe.blanked
            ],
            "end": {
                "depth": self.ends[1],
                "words": f"{end}: {reason.value}" if known and reason is not None else end,
            }
            if len(self.series)
            else None,
        }

    def _findings(self) -> list[dict[str, Any]]:
        return [
            {
                "number": item.number,
                "id": item.finding.id,
                "severity": item.finding.severity.word,
                "found": item.finding.found,
                "expected": item.finding.expected,
                "source": item.finding.source,
                "where": item.finding.where,
                "channel": item.finding.channel,
                "top": item.finding.top,
                "base": item.finding.base,
            }
            for item in self.rail.findings
        ]

    def _classes(self) -> list[dict[str, Any]]:
        return [
            {
                "scheme": one.scheme.title,
                "achieved": one.achieved,
                "proved": one.proved,
                "verdicts": [
                    {"aspect": v.aspect, "achieved": v.achieved, "depth": v.depth, "text": v.text}
                    for v in one.verdicts
                ],
            }
            for one in self.assessment.classes
        ]

    def soil(self, top: float, base: float, pixels: int) -> dict[str, Any] | None:
        """Return the soil column between two depths in rows of about a pixel; None without Ic."""
        if not self.series.measured("Ic"):
            return None
        edges = np.linspace(top, base, pixels + 1)
        step = (base - top) / pixels
        rows = soil_rows(self.depth, self.series["Ic"], self.series.get("zone"), edges, self.gap)
        return {
            "top": top,
            "step": step,
            "ic": np.round(rows.ic, 3),
            "zone": rows.zone,
            "stretches": [
                {"top": s.top, "base": s.base, "words": s.words, "main": s.main}
                for s in stretches(rows, _WORDS_HEIGHT * step)
            ],
        }

    def at(self, depth: float) -> dict[str, Any]:
        """Return every value of the row nearest to a depth, with unit, origin and reason."""
        row = self.row_at(depth)
        if row is None:
            return {"depth": depth, "row": None, "origin": "no reading here", "values": {}}
        origin = self._origin(row)
        values = {key: self._value(key, row, origin) for key in self.series if key != "origin"}
        return {
            "depth": float(self.depth[row]),
            "row": row,
            "origin": origin,
            "values": values,
        }

    def bands(self, keys: Iterable[str]) -> dict[str, FloatArray]:
        """Return p10 and p90 of the columns that have a band, display units, by ``KEY.p10``."""
        from pushproof.interpretation import bands
        from pushproof.interpretation.ensemble import banded

        wanted = [key for key in banded(self.interpretation) if key in set(keys)]
        fresh = [key for key in wanted if f"{key}.p10" not in self._banded]
        if fresh:
            for key, band in bands(self.interpretation, keys=fresh).items():
                factor = factor_to_display(key)
                self._banded[f"{key}.p10"] = band.p10 * factor
                self._banded[f"{key}.p90"] = band.p90 * factor
        return {f"{key}.{end}": self._banded[f"{key}.{end}"] for key in wanted for end in ENDS}

    def explain(self, key: str, depth: float) -> dict[str, Any]:
        """Return the explanation of one number as plain values."""
        from pushproof.interpretation import explain

        return explain(self.interpretation, key, depth).to_dict()

    def layers(self) -> dict[str, Any]:
        """Return units and boundaries, with ``choice``, the same as a decision to be edited."""
        return self._layers

    @cached_property
    def _layers(self) -> dict[str, Any]:
        from pushproof.interpretation.layers import layers

        found = layers(self.interpretation)
        return found.as_data() | {"choice": found.choice().model_dump(mode="json")}

    def row_at(self, depth: float) -> int | None:
        """Return the row nearest to a depth; None where none is near."""
        away = np.abs(self.depth - depth)
        if not np.isfinite(away).any():
            return None
        row = int(np.nanargmin(away))
        return row if away[row] <= max(self.gap, 0.05) else None

    def _origin(self, row: int) -> str:
        depth = self.depth[row]
        for span in self.rail.spans:
            if span.top <= depth <= span.base and span.trace is not Trace.PREDRILLED:
                return span.trace.value
        return Trace.UNKNOWN.value

    def _value(self, key: str, row: int, origin: str) -> dict[str, Any]:
        quantity = self.series.quantity(key)
        factor = factor_to_display(key) if key in QUANTITIES else 1.0
        value = float(self.series[key][row])
        there = math.isfinite(value)
        shown = value * factor if there else None
        reason = Reason(int(self.series.reason(key)[row]))
        return {
            "symbol": quantity.symbol,
            "name": quantity.name,
            "unit": quantity.display_unit,
            "kind": quantity.kind.value,
            "shown": shown,
            "value": value if there else None,
            "text": shown_text(quantity, shown),
            "origin": self._whence(key, quantity, origin),
            "assumed": any(a.affects and a.concerns([key]) for a in self._assumed),
            "reason": "" if there else reason.words,
        }

    @property
    def _assumed(self) -> tuple[Any, ...]:
        return self.interpretation.assumptions

    def _whence(self, key: str, quantity: Quantity, origin: str) -> str:
        """Say where a value comes from: the trace of its row, or what it was computed with."""
        relations = self.interpretation.relations(key)
        if relations:
            return "; ".join(find(name).summary.rstrip(".") for name in relations)
        if quantity.kind is Kind.CORRECTED:
            return f"corrected, {origin}"
        return "computed" if quantity.kind in (Kind.DERIVED, Kind.STRESS) else origin


def shown_text(quantity: Quantity, shown: float | None) -> str:
    """Return a value as people read it, with a true minus; a dash where there is none."""
    if shown is None:
        return "–"
    if quantity.key == "zone" and int(shown) in ZONES:
        return f"{int(shown)} {ZONES[int(shown)].words}"
    if 0 < abs(shown) < 0.5 * 10.0**-quantity.decimals or abs(shown) >= 1e6:
        return minus(f"{shown:.2e}")
    return minus(f"{shown:.{quantity.decimals}f}")


def rail_json(found: Rail) -> dict[str, Any]:
    """Return the proof rail as plain values."""
    return {
        "spans": [{"trace": s.trace.value, "top": s.top, "base": s.base} for s in found.spans],
        "rate": [{"fast": r.fast, "top": r.top, "base": r.base} for r in found.rate],
        "marks": [{"kind": m.kind, "depth": m.depth, "seconds": m.seconds} for m in found.marks],
        "findings": [
            {
                "number": item.number,
                "severity": item.finding.severity.word,
                "top": item.finding.top,
                "base": item.finding.base,
            }
            for item in found.findings
        ],
    }


def make_log(sounding: Any, recipe: Recipe) -> Log:
    """Process, interpret and check a sounding under a recipe."""
    from pushproof.interpretation import interpret
    from pushproof.processing import process
    from pushproof.quality import assess
    from pushproof.report.checked import with_checks

    profile = process(sounding, recipe)
    assessment = assess(profile)
    return Log(with_checks(interpret(profile), assessment), assessment)

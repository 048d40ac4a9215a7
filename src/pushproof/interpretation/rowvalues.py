"""One row of an interpretation, opened up: every value of the chain and where each came from."""

from __future__ import annotations

import inspect
from dataclasses import dataclass, field

import numpy as np

from pushproof.equations import find
from pushproof.interpretation.arguments import constants
from pushproof.interpretation.chain import COARSE_TO_FINE, Ground, Step, grounds, run
from pushproof.interpretation.derive import NEAR_ZERO
from pushproof.interpretation.explanation import Input, present
from pushproof.interpretation.seismic.measured import measured_keys, measured_rows
from pushproof.interpretation.steps import chain
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES, Kind
from pushproof.model.recipe import Factors
from pushproof.model.series import Origin, Reason

CHANNELS = ("qc", "fs", "u2", "u3", "depth")
"""What the first equations begin with."""

ORIGINS = {
    Origin.LIVE: "live",
    Origin.MEMORY: "memory of the cone",
    Origin.IMPORTED: "imported",
    Origin.SIMULATED: "simulated",
}
"""Where a reading came from, in words."""


@dataclass
class RowValues:
    """Values, reasons and origins at one row.

    Parameters
    ----------
    interpretation, row
        Which row.
    values, reasons
        Name to value in the inside unit, and to the reason where it is missing; columns,
        intermediate values and constants alike.
    links
        Name to the number of the link that gave it; filled as links are made.
    """

    interpretation: Interpretation
    row: int
    values: dict[str, float]
    reasons: dict[str, Reason]
    links: dict[str, int] = field(default_factory=dict)

    @property
    def steps(self) -> tuple[Step, ...]:
        """The whole chain of the recipe."""
        return chain(self.interpretation.profile.recipe)

    def holds(self, step: Step) -> bool:
        """Tell whether the ground of this row is the one that a step is for."""
        if step.ground is Ground.ANY:
            return True
        zone, index = (np.array([self.values.get(key, np.nan)]) for key in ("zone", "Ic"))
        return bool(grounds(zone, index)[step.ground is Ground.CLAY][0])

    @property
    def ground(self) -> str:
        """What the ground was judged to be, and by what; empty if it was not judged."""
        zone, index = self.values.get("zone", np.nan), self.values.get("Ic", np.nan)
        if not np.isfinite(zone):
            return ""
        sand = bool(grounds(np.array([zone]), np.array([index]))[0][0])
        words = Ground.SAND if sand else Ground.CLAY
        if zone in (1.0, 8.0, 9.0):
            return f"{words.value}: zone {zone:.0f}, for which Ic is not defined"
        side = "up to" if sand else "above"
        return (
            f"{words.value}: Ic {index:.3f} is {side} {COARSE_TO_FINE:.2f} (GEC-5 Sec. 4.16), "
            f"zone {zone:.0f}"
        )

    def argument(self, name: str, equation: str, unit: str) -> Input:
        """Return an argument of an equation with its origin."""
        if name in self.links:
            return Input(name, "", present(self.values[name]), unit, "", self.links[name])
        if name in self.values:
            return self._known(name, unit)
        default = inspect.signature(find(equation).function).parameters[name].default
        if default is inspect.Parameter.empty:
            return Input(name, "", None, unit, Reason.NOT_MEASURED.words)
        return Input(name, "", float(default), unit, "usual value of the equation", assumed=True)

    def _known(self, name: str, unit: str) -> Input:
        value = present(self.values[name])
        recipe = self.interpretation.profile.recipe
        if name in Factors.model_fields:
            given = recipe.factors.given(name)
            origin = "given by the recipe" if given else "the recipe gives no value for it"
            return Input(name, recipe.factors.text(name), value, unit, origin, assumed=not given)
        if name == "pa":
            return Input(name, "reference stress", value, unit, "set by the recipe")
        if name == "gamma_w":
            return Input(name, "unit weight of water", value, unit, "set by the recipe")
        if value is None:
            return Input(name, "", None, unit, self.reasons[name].words)
        return Input(name, "", value, unit, self.origin(name))

    def origin(self, key: str) -> str:
        """Return where a measured value came from, and what was done to it."""
        profile = self.interpretation.profile
        sounding = profile.sounding
        code = profile.series.get("origin")[self.row]
        known = Origin(int(code)) if np.isfinite(code) else Origin.UNKNOWN
        if known is not Origin.UNKNOWN:
            text = ORIGINS[known]
        else:
            text = f"imported from {sounding.source.name}" if sounding.source else "as given"
        if key == "depth":
            way = "equal to penetration length" if profile.depth_is_length else "from length, tilt"
            return f"{text}; {way}"
        readings = sounding.readings.get(key)
        place = int(profile.row[self.row])
        raw = readings[place] if 0 <= place < len(readings) else np.nan
        if np.isfinite(raw) and raw != self.values[key]:
            kinds = [e.kind for e in profile.effects if e.channel == key]
            text += f"; reading {raw:.6g} changed by {', '.join(kinds) or 'processing'}"
        return text


def row_values(interpretation: Interpretation, row: int) -> RowValues:
    """Open up one row: run its chain once more, intermediate values included."""
    series = interpretation.series
    derived = [k for k in series if k in QUANTITIES and series.quantity(k).kind is Kind.DERIVED]
    alone = series.without(*derived).take(np.array([row]))
    if alone.get("sigma_v0_eff")[0] < NEAR_ZERO:
        bare = np.array([True])
        alone = alone.blank("sigma_v0_eff", bare, Reason.OUTSIDE_VALIDITY)
    fixed = constants(interpretation.profile.recipe)
    found = run(chain(interpretation.profile.recipe), alone, fixed)
    values: dict[str, float] = dict(fixed)
    reasons: dict[str, Reason] = {}
    for key in alone:
        values[key] = float(alone[key][0])
        reasons[key] = Reason(int(alone.reason(key)[0]))
    for key, array in found.columns.items():
        values[key] = float(array[0])
        code = found.reasons.get(key)
        reasons[key] = Reason(int(code[0])) if code is not None else Reason.PRESENT
    if measured_rows(series, interpretation.profile.recipe)[row]:
        for key in measured_keys(interpretation.profile.recipe):
            values[key] = float(series[key][row])
            reasons[key] = Reason(int(series.reason(key)[row]))
    return RowValues(interpretation, row, values, reasons)


def upstream(row: RowValues, key: str) -> tuple[list[Step], set[str]]:
    """Return the steps that lead to a value at this row, in order, and all names they need."""
    wanted, kept = {key}, []
    for step in reversed(row.steps):
        if step.key in wanted and row.holds(step):
            wanted.update(step.inputs)
            kept.append(step)
    return kept[::-1], wanted

"""Which cone: does its capacity stand the ground, and is it fine enough for the class ordered.

The class is judged as the checks judge it afterwards: expanded uncertainty of the calibration
against the larger of the absolute and the relative tolerance at each depth. Zero shift and
temperature of the day come on top, so a cone that only just meets a class here may miss it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pushproof.model.equipment import Cone
from pushproof.planning.ground import Ground
from pushproof.planning.thrust import TIP_SHARE
from pushproof.quality.schemes import ClassLimits, Scheme


@dataclass(frozen=True)
class ConeRow:
    """What one cone can do here.

    Parameters
    ----------
    name
        Serial or model.
    capacity
        Of the tip [kPa], None if not given.
    beyond
        Probability that the ground is harder than its usable capacity anywhere [-]; NaN if the
        capacity is not known.
    best
        Best class of the scheme that its calibration allows over the whole depth; None if none,
        or if no calibration is known.
    decided_by
        What holds the class down, or what is not known.
    meets_order
        Whether the class ordered is met; None if that cannot be told or none was ordered.
    """

    name: str
    capacity: float | None
    beyond: float
    best: str | None
    decided_by: str
    meets_order: bool | None


def cone_row(
    cone: Cone, ground: Ground, scheme: Scheme, ordered: str | None, predrilled: float = 0.0
) -> ConeRow:
    """Judge a cone against the ground expected and the class ordered."""
    name = cone.serial or cone.model or "cone"
    calibration = cone.calibration("qc")
    capacity = None if calibration is None else calibration.capacity
    beyond = math.nan
    if capacity is not None:
        beyond = _probability_beyond(ground, TIP_SHARE * capacity, predrilled)
    faults = {limits.name: _fault(cone, ground, limits, predrilled) for limits in scheme.classes}
    best = next((key for key, fault in faults.items() if not fault), None)
    names = list(faults)
    better = names[: names.index(best)] if best in names else names
    told = faults[better[-1]] if better else ""
    meets = None
    if ordered is not None and ordered in faults:
        fault = faults[ordered]
        meets = None if fault.startswith("not known") else not fault
    return ConeRow(name, capacity, beyond, best, told, meets)


def _probability_beyond(ground: Ground, limit: float, predrilled: float) -> float:
    """Return how likely the hardest step is beyond a limit: that of the likeliest step [-]."""
    met = ground.depth >= predrilled
    ratio = np.log(limit / np.maximum(ground.qc[met], 1.0)) / ground.spread[met]
    least = float(np.min(ratio)) if ratio.size else math.inf
    return 0.5 * math.erfc(least / math.sqrt(2))


def _fault(cone: Cone, ground: Ground, limits: ClassLimits, predrilled: float) -> str:
    """Return why a class cannot be met, empty if it can."""
    met = ground.depth >= predrilled
    values = {"qc": ground.qc[met], "fs": ground.fs[met]}
    if "u2" in limits.needs and "u2" not in cone.filters:
        return "no u2 filter"
    unknown = []
    for channel, tolerance in limits.limits.items():
        if channel not in ("qc", "fs", "u2"):
            continue
        if channel == "u2" and "u2" not in cone.filters:
            continue
        calibration = cone.calibration(channel)
        if calibration is None or calibration.uncertainty is None:
            unknown.append(channel)
            continue
        expected = values.get(channel, np.zeros(1))
        allowed = np.maximum(tolerance.absolute, tolerance.relative * expected)
        if np.any(calibration.uncertainty > allowed):
            at = float(np.min(allowed))
            return f"{channel}: {calibration.uncertainty:g} kPa, {at:g} kPa allowed"
    return f"not known: uncertainty of {', '.join(unknown)}" if unknown else ""

"""How long the cone works: the push, its dissipation tests, and what battery and memory allow."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pushproof.equations import find
from pushproof.planning.datarow import DataRow, Verdict
from pushproof.planning.document import DataPlan
from pushproof.planning.ground import Ground

RESERVE = 1.3
"""Battery and memory are planned with this factor: own choice."""
FINE = 2.6
"""Soil behaviour index above which ground counts as fine (Robertson and Wride 1998)."""
RIGIDITY = 100.0
"""Rigidity index for the time of a dissipation [-]: commonly 100, from memory."""
GAMMA = 18.0
"""Unit weight for the stress in expected ground [kN/m3]: assumed."""


@dataclass(frozen=True, slots=True)
class DissipationTime:
    """Expected dissipation at a depth [m]: soil behaviour index, and t50 with its range [s]."""

    depth: float
    index: float
    t50: float
    low: float
    high: float


def dissipation_time(
    ground: Ground, depth: float, water_level: float, tip_area: float
) -> DissipationTime:
    """Return the expected time to half dissipation at a depth (u2).

    Notes
    -----
    Permeability from the soil behaviour index (Robertson 2010), stiffness from the resistance
    (Robertson 2009), ``ch = k M / gamma_w``, ``t50 = T50 r^2 sqrt(Ir) / ch`` (Teh and Houlsby 1991,
    Ir 100). Expect an order of magnitude of uncertainty, from memory: the range spans one.
    """
    near = np.abs(ground.depth - depth) <= 0.25
    near[int(np.argmin(np.abs(ground.depth - depth)))] = True
    qc, fs = float(np.nanmedian(ground.qc[near])), float(np.nanmedian(ground.fs[near]))
    stress = GAMMA * depth
    effective = max(stress - 9.81 * max(depth - water_level, 0.0), 1.0)
    net = max(qc - stress, 1.0)
    resistance, ratio = max(net / effective, 0.1), min(max(100 * fs / net, 0.1), 10.0)
    index = float(find("Ic_robertson_wride_1998").function(resistance, ratio))
    k = float(find("k_robertson_2010").function(index))
    stiffness = float(find("M_robertson_2009").function(net, index, resistance))
    factor = float(find("time_factor_u2_teh_houlsby_1991").function(50.0))
    t50 = factor * tip_area / math.pi * math.sqrt(RIGIDITY) / (k * stiffness / 9.81)
    root = math.sqrt(10.0)
    return DissipationTime(depth, index, t50, t50 / root, t50 * root)


def stretches_of(
    ground: Ground, target: float, water_level: float, tip_area: float
) -> list[tuple[float, float, DissipationTime]]:
    """Return each stretch of fine ground (Ic above 2.6) to the target: top, base [m], its time.

    Looked at every metre; the time is that of the middle of the stretch.
    """
    depths = np.arange(0.5, target, 1.0)
    fine = [dissipation_time(ground, float(z), water_level, tip_area).index > FINE for z in depths]
    padded = np.concatenate(([False], fine, [False])).astype(np.int8)
    edges = np.flatnonzero(np.diff(padded))
    found = []
    for first, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        top, base = float(first), min(float(end), target)
        middle = dissipation_time(ground, (top + base) / 2, water_level, tip_area)
        found.append((top, base, middle))
    return found


def duration(data: DataPlan, target: float, rod: float, tests: list[DissipationTime]) -> float:
    """Return how long the cone works [s]: set up, push at 20 mm/s, rods, dissipations.

    Examples
    --------
    20 m at 20 mm/s is 1000 s, 20 rods of a minute 1200 s, and half an hour around it.

    >>> duration(DataPlan(), 20.0, 1.0, [])
    4000.0
    """
    tested = sum(data.dissipation_cap if math.isnan(t.high) else min(t.high, data.dissipation_cap)
                 for t in tests)  # fmt: skip
    return data.set_up + target / 0.02 + math.ceil(target / rod) * data.rod_change + tested


def battery_hours(data: DataPlan) -> float | None:
    """Return the run time left [h]: as given, else capacity over draw; None if neither is known.

    Examples
    --------
    >>> battery_hours(DataPlan(battery_capacity=12.0, battery_draw=1.5))
    8.0
    """
    if data.battery is not None:
        return data.battery
    if data.battery_capacity is None or data.battery_draw is None:
        return None
    return data.battery_capacity / data.battery_draw


def supply_rows(data: DataPlan, seconds: float) -> list[DataRow]:
    """Judge battery and memory against the time the cone works."""
    needed = RESERVE * seconds / 3600
    readings = RESERVE * seconds * data.reading_rate
    basis = f"{RESERVE:g} times the time planned, own choice"

    def judged(what: str, need: float, have: float | None, unit: str, give: str) -> DataRow:
        asked = f"{need:,.1f} {unit} needed" if need < 100 else f"{need:,.0f} {unit} needed"
        if have is None:
            return DataRow(what, f"{asked}; give {give}", "unknown", basis)
        return DataRow(what, f"{asked}, {have:g} left", "good" if have >= need else "bad", basis)

    asked_for = "battery, or battery_capacity and battery_draw"
    rows = [judged("battery", needed, battery_hours(data), "h", asked_for)]
    if data.has_memory or data.memory is not None:
        rows.append(judged("memory", readings, data.memory, "readings", "memory"))
    return rows


def dissipation_row(
    test: DissipationTime, cap: float, water: float | None, target: float
) -> DataRow:
    """Say how long half dissipation takes, and whether the cap allows it."""
    what = f"dissipation at {test.depth:g} m"
    if test.depth > target:
        return DataRow(what, f"deeper than the target of {target:g} m", "bad", "the plan itself")
    text = f"half gone in {told(test.t50)} ({told(test.low)} to {told(test.high)})"
    text += f", Ic {test.index:.1f}"
    verdict: Verdict = "good" if test.high <= cap else "look" if test.low <= cap else "bad"
    basis = f"k of Ic, Teh and Houlsby (1991), Ir {RIGIDITY:g}; test ends after {told(cap)}"
    basis += "; water at ground level assumed" if water is None else ""
    return DataRow(what, text, verdict, basis)


def stretch_row(top: float, base: float, time: DissipationTime, cap: float) -> DataRow:
    """Say how long a test in a stretch of fine ground would take to its half."""
    text = f"half gone in {told(time.t50)} ({told(time.low)} to {told(time.high)})"
    verdict: Verdict = "good" if time.high <= cap else "look"
    basis = f"as above, for a test in the middle; the cap is {told(cap)}"
    return DataRow(f"fine ground {top:g} to {base:g} m", text, verdict, basis)


def told(seconds: float) -> str:
    """Return a time as people say it.

    Examples
    --------
    >>> told(0.2), told(45), told(1500), told(9000)
    ('under 1 s', '45 s', '25 min', '2.5 h')
    """
    if seconds < 1:
        return "under 1 s"
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"

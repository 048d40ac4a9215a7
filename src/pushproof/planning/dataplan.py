"""Will the data be good: battery, memory, link, interval, calibration, wear, saturation, tests.

Each question gives one row: what is needed, what is there, and the basis with its mark. What nobody
gave is said to be unknown and never filled in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np

from pushproof.equations import find
from pushproof.planning.document import DataPlan, Plan
from pushproof.planning.ground import Ground
from pushproof.quality.schemes import load_scheme

RESERVE = 1.3
"""Battery and memory are planned with this factor: own choice."""
LEAST_MARGIN = 8.0
"""Level over noise that a link needs [dB]: own choice, as in the limits of the guard."""
CALIBRATION_MONTHS, CALIBRATION_METRES = 6, 3000.0
"""ENV 1997-3 3.4.1(2), verified; later practice is often a year, from memory."""
TIP_BANDS = {"10 cm2": (0.0353, 0.0360), "15 cm2": (0.0432, 0.0441)}
"""Diameter of a worn tip [m]: from memory; the second is a remembered ASTM figure."""
SLEEVE_OVER = 0.00035
"""A sleeve is as wide as the tip or up to this wider [m], never smaller: Cabal and Robertson
(2014), citing ASTM and the reference procedure, verified there."""
RIGIDITY = 100.0
"""Rigidity index for the time of a dissipation [-]: commonly 100, from memory."""
GAMMA = 18.0
"""Unit weight for the stress in expected ground [kN/m3]: assumed."""
FLUIDS = {
    "water": False,
    "glycerine": True,
    "silicone oil": True,
}
"""Filter fluid to whether it suits unsaturated ground: J. Brouwer, ch. 3, verified."""

Verdict = Literal["good", "look", "bad", "unknown"]


@dataclass(frozen=True, slots=True)
class DataRow:
    """One question: what is asked, what was found, how good, and on what basis."""

    what: str
    found: str
    verdict: Verdict
    basis: str


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


def supply_rows(data: DataPlan, seconds: float) -> list[DataRow]:
    """Judge battery and memory against the time the cone works."""
    needed = RESERVE * seconds / 3600
    readings = RESERVE * seconds * data.reading_rate
    basis = f"{RESERVE:g} times the time planned, own choice"

    def judged(what: str, need: float, have: float | None, unit: str) -> DataRow:
        asked = f"{need:,.1f} {unit} needed" if need < 100 else f"{need:,.0f} {unit} needed"
        if have is None:
            return DataRow(what, f"{asked}, nobody said what is left", "unknown", basis)
        return DataRow(what, f"{asked}, {have:g} left", "good" if have >= need else "bad", basis)

    rows = [judged("battery", needed, data.battery, "h")]
    if data.has_memory or data.memory is not None:
        rows.append(judged("memory", readings, data.memory, "readings"))
    return rows


def link_reach(data: DataPlan, rod: float) -> float | None:
    """Return the length at which the level over noise falls to :data:`LEAST_MARGIN` [m].

    Examples
    --------
    54 dB with 24 dB to lose: 34 joints of 0.4 dB leave 10.4 dB for 34.7 m of 0.3 dB.

    >>> data = DataPlan(level=54, loss_per_metre=0.3, loss_per_joint=0.4, noise=22)
    >>> round(link_reach(data, 1.0), 1)
    34.7
    """
    given = (data.level, data.loss_per_metre, data.loss_per_joint, data.noise)
    if any(value is None for value in given):
        return None
    level, metre, joint, noise = (float(value) for value in given if value is not None)
    left = level - noise - LEAST_MARGIN
    reach = 0.0
    for rods in range(1, 401):
        here = left - joint * (rods - 1)
        if here <= 0:
            return reach
        reach = min(rods * rod, here / metre if metre else math.inf)
        if reach < rods * rod:
            return reach
    return reach


def link_rows(data: DataPlan, target: float, rod: float, interval: float | None) -> list[DataRow]:
    """Judge the link: how far it reaches, and whether it carries the interval ordered."""
    rows = []
    reach = link_reach(data, rod)
    basis = f"{LEAST_MARGIN:g} dB over noise, own choice; losses as given"
    if reach is None:
        text = "level, noise and losses were not all given"
        rows.append(DataRow("link", text, "unknown", basis))
    else:
        good = reach >= target
        text = f"heard to {reach:.1f} m of {target:g} m" if not good else f"heard to {target:g} m"
        verdict: Verdict = "good" if good else "look" if data.has_memory else "bad"
        rows.append(DataRow("link", text, verdict, basis))
    if data.link_rate is None or interval is None:
        text = "the rate of the link or the interval ordered is not known"
        rows.append(DataRow("interval", text, "unknown", "20 mm/s over readings a second"))
        return rows
    live = 0.02 / data.link_rate
    text = f"{1000 * live:.0f} mm over the link, {1000 * interval:.0f} mm ordered"
    verdict = "good" if live <= interval * 1.001 else "bad"
    if verdict == "bad" and data.has_memory:
        kept = 0.02 / data.reading_rate
        verdict = "look" if kept <= interval * 1.001 else "bad"
        text += f"; {1000 * kept:.0f} mm in the memory of the cone"
    rows.append(DataRow("interval", text, verdict, "20 mm/s over readings a second"))
    return rows


def calibration_row(day: date | None, calibrated: date | None, metres: float | None) -> DataRow:
    """Judge what is left of a calibration."""
    basis = "3000 m or 6 months, ENV 1997-3 3.4.1(2), verified; set your own where it differs"
    if day is None or calibrated is None:
        text = "day of the push or of the calibration not given"
        return DataRow("calibration", text, "unknown", basis)
    months = (day.year - calibrated.year) * 12 + day.month - calibrated.month
    months -= day.day < calibrated.day
    text = f"{months} months" + ("" if metres is None else f", {metres:g} m") + " since"
    old = months >= CALIBRATION_MONTHS or (metres or 0.0) > CALIBRATION_METRES
    return DataRow("calibration", text, "bad" if old else "good", basis)


def wear_rows(data: DataPlan, tip_area: float) -> list[DataRow]:
    """Judge tip and sleeve as measured on the day."""
    size = "10 cm2" if tip_area < 0.00125 else "15 cm2"
    low, high = TIP_BANDS[size]
    rows = []
    tip, sleeve = data.tip_diameter, data.sleeve_diameter
    basis = f"{1000 * low:.1f} to {1000 * high:.1f} mm for {size}, from memory"
    if tip is None:
        rows.append(DataRow("tip", "not measured", "unknown", basis))
    else:
        good = low <= tip <= high
        rows.append(DataRow("tip", f"{1000 * tip:.2f} mm", "good" if good else "bad", basis))
    basis = "as wide as the tip or up to 0.35 mm wider; Cabal and Robertson (2014)"
    if sleeve is None or tip is None:
        rows.append(DataRow("sleeve", "not measured with the tip", "unknown", basis))
    else:
        over = sleeve - tip
        good = -1e-9 <= over <= SLEEVE_OVER + 1e-9
        text = f"{1000 * sleeve:.2f} mm, {1000 * over:+.2f} mm against the tip"
        rows.append(DataRow("sleeve", text, "good" if good else "bad", basis))
    return rows


def saturation_row(data: DataPlan, water_level: float | None, predrilled: float) -> DataRow:
    """Judge the filter fluid for the ground above the water table."""
    basis = "water suits saturated ground; glycerine or oil above it; J. Brouwer, ch. 3, verified"
    if data.fluid and data.fluid not in FLUIDS:
        text = f"fluid {data.fluid!r} is not one of {', '.join(FLUIDS)}"
        return DataRow("saturation", text, "unknown", basis)
    if not data.fluid or water_level is None:
        return DataRow("saturation", "fluid or water table not given", "unknown", basis)
    dry = max(water_level - predrilled, 0.0)
    if FLUIDS[data.fluid] or dry == 0.0:
        text = f"{data.fluid}, {dry:.1f} m of ground above the water table"
        return DataRow("saturation", text, "good", basis)
    text = f"{data.fluid} through {dry:.1f} m of ground above the water table"
    advice = ", hole filled" if data.water_in_hole else ": take oil or glycerine, or predrill to it"
    return DataRow("saturation", text + advice, "look" if data.water_in_hole else "bad", basis)


@dataclass(frozen=True)
class DataOutlook:
    """Whether the data will be good: time planned [s], dissipation tests, one row a question."""

    seconds: float
    tests: tuple[DissipationTime, ...]
    rows: tuple[DataRow, ...]


def work_out_data(plan: Plan, ground: Ground) -> DataOutlook | None:
    """Judge what a plan says of cone, link and work; None if it says nothing.

    Parameters
    ----------
    plan
        The plan; its table ``data``.
    ground
        Down to the target.
    """
    data = plan.data
    if data is None:
        return None
    area = plan.cone.tip_area or 0.001
    level = 0.0 if plan.water_level is None else plan.water_level
    tests = [dissipation_time(ground, depth, level, area) for depth in data.dissipations]
    seconds = duration(data, plan.target, plan.rods.length, tests)
    interval = plan.order.interval
    if interval is None and plan.order.accuracy_class is not None:
        classes = load_scheme(plan.order.scheme).classes
        interval = next((c.interval for c in classes if c.name == plan.order.accuracy_class), None)
    calibration = plan.cone.calibration("qc")
    rows = [
        *supply_rows(data, seconds),
        *(_test_row(test, data.dissipation_cap, plan.water_level is None) for test in tests),
        *link_rows(data, plan.target, plan.rods.length, interval),
        calibration_row(
            data.day,
            None if calibration is None else calibration.date,
            plan.cone.metres_since_calibration,
        ),
        *wear_rows(data, area),
        saturation_row(data, plan.water_level, plan.predrilled),
    ]
    return DataOutlook(seconds, tuple(tests), tuple(rows))


def _test_row(test: DissipationTime, cap: float, assumed: bool) -> DataRow:
    """Say how long half dissipation takes, and whether the cap allows it."""
    text = f"half gone in {told(test.t50)} ({told(test.low)} to {told(test.high)})"
    text += f", Ic {test.index:.1f}"
    verdict: Verdict = "good" if test.high <= cap else "look" if test.low <= cap else "bad"
    basis = f"k of Ic, Teh and Houlsby (1991), Ir {RIGIDITY:g}; test ends after {told(cap)}"
    basis += "; water at ground level assumed" if assumed else ""
    return DataRow(f"dissipation at {test.depth:g} m", text, verdict, basis)


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

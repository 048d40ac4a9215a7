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
from pushproof.model.equipment import Cone
from pushproof.model.findings import Finding, Severity
from pushproof.planning.document import DataPlan, Plan
from pushproof.planning.ground import Ground
from pushproof.quality.checks.zeros import DAYS, METRES, SOUNDINGS
from pushproof.quality.schemes import load_scheme

RESERVE = 1.3
"""Battery and memory are planned with this factor: own choice."""
LEAST_MARGIN = 8.0
"""Level over noise that a link needs [dB]: own choice, as in the limits of the guard."""
TIP_BANDS = {"10 cm2": (0.001, 0.0353, 0.0360), "15 cm2": (0.0015, 0.0432, 0.0441)}
"""Nominal area [m2], and diameter of a worn tip [m]: from memory; the second is a remembered ASTM
figure. Other sizes have no band here."""
SAME_SIZE = 0.1
"""A cone counts as of a size within this share of its area [-]: own choice."""
SLEEVE_OVER = 0.00035
"""A sleeve is as wide as the tip or up to this wider [m], never smaller: Cabal and Robertson
(2014), citing ASTM and the reference procedure, verified there."""
FINE = 2.6
"""Soil behaviour index above which ground counts as fine (Robertson and Wride 1998)."""
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

LINK_NUMBERS = ("level", "loss_per_metre", "loss_per_joint", "noise")
MOST_RODS = 400
"""Longest string that is looked at."""

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


def link_margin(data: DataPlan, length: float, rod: float) -> float | None:
    """Return the level over noise at a length of the string [dB]; None if a number is missing.

    The level given is that with one rod, so the first rod loses nothing more.

    Examples
    --------
    20 m of 1 m rods: 19 joints of 0.4 dB and 19 m of 0.3 dB take 13.3 of 32 dB.

    >>> data = DataPlan(level=54, loss_per_metre=0.3, loss_per_joint=0.4, noise=22)
    >>> round(link_margin(data, 20.0, 1.0), 1)
    18.7
    """
    level, metre, joint, noise = (getattr(data, key) for key in LINK_NUMBERS)
    if level is None or metre is None or joint is None or noise is None:
        return None
    joints = max(math.ceil(length / rod - 1e-9) - 1, 0)
    return float(level - noise - joint * joints - metre * max(length - rod, 0.0))


def link_reach(data: DataPlan, rod: float) -> float | None:
    """Return the length at which the level over noise falls to :data:`LEAST_MARGIN` [m].

    Examples
    --------
    24 dB to lose: 34 joints of 0.4 dB and 34 m of 0.3 dB take 23.8 dB, one joint more too much.

    >>> data = DataPlan(level=54, loss_per_metre=0.3, loss_per_joint=0.4, noise=22)
    >>> round(link_reach(data, 1.0), 1)
    35.0
    """
    reach = 0.0
    for rods in range(1, MOST_RODS + 1):
        margin = link_margin(data, rods * rod, rod)
        if margin is None:
            return None
        if margin < LEAST_MARGIN - 1e-9:
            if rods > 1 and data.loss_per_metre:
                back = rods * rod - (LEAST_MARGIN - margin) / data.loss_per_metre
                return max(reach, back)
            return reach
        reach = rods * rod
    return reach


def readings_a_second(data: DataPlan) -> float | None:
    """Return what the link brings up [1/s]: as given, else from its bits; lost readings taken off.

    Examples
    --------
    40 bits a second, 32 for a reading, a tenth lost.

    >>> round(readings_a_second(DataPlan(link_bits=40, reading_bits=32, link_lost=0.1)), 3)
    1.125
    """
    rate = data.link_rate
    if rate is None and data.link_bits is not None and data.reading_bits is not None:
        rate = data.link_bits / data.reading_bits
    return None if rate is None else rate * (1.0 - data.link_lost)


def link_rows(
    data: DataPlan, target: float, rod: float, interval: float | None, ordered: str = ""
) -> list[DataRow]:
    """Judge the link: how far it reaches, and whether it carries the interval ordered."""
    return [_reach_row(data, target, rod), _interval_row(data, interval, ordered)]


def _reach_row(data: DataPlan, target: float, rod: float) -> DataRow:
    basis = f"{LEAST_MARGIN:g} dB over noise, own choice; losses as given"
    reach, margin = link_reach(data, rod), link_margin(data, target, rod)
    if reach is None or margin is None:
        lacking = [key for key in LINK_NUMBERS if getattr(data, key) is None]
        return DataRow("link", f"give {', '.join(lacking)}", "unknown", basis)
    left = f"{margin:.1f} dB over noise at {target:g} m"
    if margin >= LEAST_MARGIN - 1e-9:
        return DataRow("link", f"heard to {target:g} m, {left}", "good", basis)
    last = math.floor(reach / rod + 1e-9) + 1
    text = f"heard to {reach:.1f} m of {target:g} m, runs out in rod {last}; {left}"
    return DataRow("link", text, "look" if data.has_memory else "bad", basis)


def _interval_row(data: DataPlan, interval: float | None, ordered: str) -> DataRow:
    basis = "20 mm/s over readings a second" + (f"; {ordered}" if ordered else "")
    rate = readings_a_second(data)
    lacking = [] if rate is not None else ["link_rate, or link_bits and reading_bits"]
    lacking += [] if interval is not None else ["order.interval or order.accuracy_class"]
    if rate is None or interval is None:
        return DataRow("interval", f"give {'; '.join(lacking)}", "unknown", basis)
    live, kept = 0.02 / rate, 0.02 / data.reading_rate
    text = f"{1000 * live:.0f} mm over the link, {1000 * interval:.0f} mm ordered"
    verdict: Verdict = "good" if live <= interval * 1.001 else "bad"
    if verdict == "bad" and data.has_memory:
        verdict = "look" if kept <= interval * 1.001 else "bad"
        text += f"; {1000 * kept:.0f} mm in the memory of the cone"
    return DataRow("interval", text, verdict, basis)


def calibration_row(
    day: date | None,
    calibrated: date | None,
    metres: float | None,
    soundings: int | None = None,
    target: float = 0.0,
) -> DataRow:
    """Judge what is left of a calibration when a push of ``target`` metres is done.

    Examples
    --------
    >>> row = calibration_row(date(2026, 5, 13), date(2026, 3, 2), 2990.0, 40, 25.0)
    >>> row.verdict, row.found
    ('bad', 'after the push 111 days, -15 m, 59 soundings left')
    """
    basis = f"{METRES:g} m or 6 months, ENV 1997-3 3.4.1(2), verified; {SOUNDINGS} soundings, "
    basis += "from memory; set your own where it differs"
    if day is None or calibrated is None:
        text = "give data.day and the date of the calibration"
        return DataRow("calibration", text, "unknown", basis)
    if calibrated > day:
        text = f"dated {(calibrated - day).days} days after the push"
        return DataRow("calibration", text, "bad", basis)
    left: list[float] = [DAYS - (day - calibrated).days]
    words, lacking = [f"{left[0]:.0f} days"], []
    for word, name, have in (
        ("m", "metres", None if metres is None else METRES - metres - target),
        ("soundings", "soundings", None if soundings is None else SOUNDINGS - soundings - 1),
    ):
        if have is None:
            lacking.append(f"{name}_since_calibration")
        else:
            left.append(have)
            words.append(f"{have:.0f} {word}")
    text = f"after the push {', '.join(words)} left"
    text += f"; give {', '.join(lacking)}" if lacking else ""
    verdict: Verdict = "bad" if min(left) < 0 else "look" if lacking else "good"
    return DataRow("calibration", text, verdict, basis)


def _oldest(cone: Cone) -> date | None:
    """Return the day of the oldest of the newest calibrations of each channel."""
    newest = [cone.calibration(key) for key in {c.channel for c in cone.calibrations}]
    return min((c.date for c in newest if c is not None), default=None)


def wear_rows(data: DataPlan, tip_area: float) -> list[DataRow]:
    """Judge tip and sleeve as measured on the day."""
    rows = []
    tip, sleeve = data.tip_diameter, data.sleeve_diameter
    size = next(
        (k for k, v in TIP_BANDS.items() if abs(tip_area / v[0] - 1) <= SAME_SIZE + 1e-9), None
    )
    if size is None:
        text = f"no band is known for a cone of {1e4 * tip_area:g} cm2"
        rows.append(DataRow("tip", text, "unknown", "bands for 10 and 15 cm2 only, from memory"))
    else:
        _, low, high = TIP_BANDS[size]
        basis = f"{1000 * low:.1f} to {1000 * high:.1f} mm for {size}, from memory"
        if tip is None:
            rows.append(DataRow("tip", "not measured: give tip_diameter", "unknown", basis))
        else:
            good = low - 1e-9 <= tip <= high + 1e-9
            rows.append(DataRow("tip", f"{1000 * tip:.2f} mm", "good" if good else "bad", basis))
    basis = "as wide as the tip or up to 0.35 mm wider; Cabal and Robertson (2014)"
    if sleeve is None or tip is None:
        rows.append(DataRow("sleeve", "give tip_diameter and sleeve_diameter", "unknown", basis))
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
        lacking = [] if data.fluid else ["fluid"]
        lacking += [] if water_level is not None else ["water_level"]
        return DataRow("saturation", f"give {' and '.join(lacking)}", "unknown", basis)
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
    interval, ordered, name = plan.order.interval, "as ordered", plan.order.accuracy_class
    if interval is None and name is not None:
        scheme = load_scheme(plan.order.scheme)
        interval = next((c.interval for c in scheme.classes if c.name == name), None)
        ordered = scheme.label(name)
    rows = [
        *supply_rows(data, seconds),
        *(_test_row(t, data.dissipation_cap, plan.water_level, plan.target) for t in tests),
        *(
            _stretch_row(*one, data.dissipation_cap)
            for one in stretches_of(ground, plan.target, level, area)
        ),
        *link_rows(
            data, plan.target, plan.rods.length, interval, "" if interval is None else ordered
        ),
        calibration_row(
            data.day,
            _oldest(plan.cone),
            plan.cone.metres_since_calibration,
            plan.cone.soundings_since_calibration,
            plan.target,
        ),
        *wear_rows(data, area),
        saturation_row(data, plan.water_level, plan.predrilled),
    ]
    return DataOutlook(seconds, tuple(tests), tuple(rows))


def data_findings(outlook: DataOutlook | None) -> list[Finding]:
    """Return what is bad as findings; what is unknown stays in the table."""
    return [
        Finding("data-at-risk", Severity.CAUTION, f"{row.what}: {row.found}", row.basis)
        for row in (() if outlook is None else outlook.rows)
        if row.verdict == "bad"
    ]


def _test_row(test: DissipationTime, cap: float, water: float | None, target: float) -> DataRow:
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


def _stretch_row(top: float, base: float, time: DissipationTime, cap: float) -> DataRow:
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

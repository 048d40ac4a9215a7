"""Will the data be good: battery, memory, link, interval, calibration, wear, saturation, tests.

Each question gives one row: what is needed, what is there, and the basis with its mark. What nobody
gave is said to be unknown and never filled in.
"""

from __future__ import annotations

from dataclasses import dataclass

from pushproof.model.findings import Finding, Severity
from pushproof.planning.conestate import (
    calibration_row,
    oldest_calibration,
    saturation_row,
    wear_rows,
)
from pushproof.planning.datarow import DataRow
from pushproof.planning.document import Plan
from pushproof.planning.ground import Ground
from pushproof.planning.linkplan import link_rows
from pushproof.planning.worktime import (
    DissipationTime,
    dissipation_row,
    dissipation_time,
    duration,
    stretch_row,
    stretches_of,
    supply_rows,
)
from pushproof.quality.schemes import load_scheme


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
        *(dissipation_row(t, data.dissipation_cap, plan.water_level, plan.target) for t in tests),
        *(
            stretch_row(*one, data.dissipation_cap)
            for one in stretches_of(ground, plan.target, level, area)
        ),
        *link_rows(
            data, plan.target, plan.rods.length, interval, "" if interval is None else ordered
        ),
        calibration_row(
            data.day,
            oldest_calibration(plan.cone),
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

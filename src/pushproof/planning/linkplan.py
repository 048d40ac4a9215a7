"""The link of a cordless cone: how far it is heard, and how often it brings a reading."""

from __future__ import annotations

import math

from pushproof.planning.datarow import DataRow, Verdict
from pushproof.planning.document import DataPlan

LEAST_MARGIN = 8.0
"""Level over noise that a link needs [dB]: own choice, as in the limits of the guard."""
LINK_NUMBERS = ("level", "loss_per_metre", "loss_per_joint", "noise")
MOST_RODS = 400
"""Longest string that is looked at."""


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

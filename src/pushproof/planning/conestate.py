"""The cone on the day: what is left of its calibration, wear of tip and sleeve, filter fluid."""

from __future__ import annotations

from datetime import date

from pushproof.model.equipment import Cone
from pushproof.planning.datarow import DataRow, Verdict
from pushproof.planning.document import DataPlan
from pushproof.quality.checks.zeros import DAYS, METRES, SOUNDINGS

TIP_BANDS = {"10 cm2": (0.001, 0.0353, 0.0360), "15 cm2": (0.0015, 0.0432, 0.0441)}
"""Nominal area [m2], and diameter of a worn tip [m]: from memory; the second is a remembered ASTM
figure. Other sizes have no band here."""
SAME_SIZE = 0.1
"""A cone counts as of a size within this share of its area [-]: own choice."""
SLEEVE_OVER = 0.00035
"""A sleeve is as wide as the tip or up to this wider [m], never smaller: Cabal and Robertson
(2014), citing ASTM and the reference procedure, verified there."""
FLUIDS = {
    "water": False,
    "glycerine": True,
    "silicone oil": True,
}
"""Filter fluid to whether it suits unsaturated ground: J. Brouwer, ch. 3, verified."""


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


def oldest_calibration(cone: Cone) -> date | None:
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

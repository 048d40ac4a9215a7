"""Writes a simulated sounding as a plain text table, as a data logger would hand it over."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from pushproof.model.sounding import Sounding
from pushproof.model.units import to_display

COLUMNS = ("length", "time", "qc", "fs", "u2", "tilt_x", "tilt_y", "temperature", "origin")
HEADINGS = {
    "length": "penetration length",
    "time": "time",
    "qc": "qc",
    "fs": "fs",
    "u2": "u2",
    "tilt_x": "tilt x",
    "tilt_y": "tilt y",
    "temperature": "temperature",
    "origin": "origin",
}


def export_text(sounding: Sounding, path: Path) -> None:
    """Write header lines of ``key: value`` and a comma-separated table in display units.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    series = sounding.readings
    columns = [key for key in COLUMNS if key in series]
    headings = [f"{HEADINGS[key]} [{series.quantity(key).display_unit}]" for key in columns]
    shown = np.column_stack([to_display(key, series[key]) for key in columns])
    formats = [f"%.{series.quantity(key).decimals}f" for key in columns]
    rows = [",".join(f % v for f, v in zip(formats, row, strict=True)) for row in shown.tolist()]
    lines = [*_header(sounding), "", ",".join(headings), *rows]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")


def _header(sounding: Sounding) -> list[str]:
    place, cone = sounding.location, sounding.cone
    pairs: list[tuple[str, object]] = [
        ("sounding", sounding.name),
        ("project", sounding.project),
        ("date", sounding.started),
        ("x [m]", place.x),
        ("y [m]", place.y),
        ("crs", place.crs),
        ("level [m]", place.level),
        ("level datum", place.datum),
        ("water level [m]", sounding.water.level if sounding.water else None),
        ("cone serial", cone.serial),
        ("tip area [cm2]", f"{cone.tip_area * 1e4:g}" if cone.tip_area else None),
        ("area ratio [-]", cone.area_ratio),
        ("sleeve area [cm2]", f"{cone.sleeve_area * 1e4:g}" if cone.sleeve_area else None),
        ("tip to mid sleeve [mm]", f"{(cone.tip_to_mid_sleeve or 0) * 1e3:g}"),
        ("predrilled [m]", sounding.predrilled),
        ("stop reason", sounding.stop_reason.value if sounding.stop_reason else None),
    ]
    lines = [f"{key}: {value}" for key, value in pairs if value is not None]
    for layer in sounding.removed:
        lines.append(f"removed layer: top {layer.top:g} base {layer.base:g} {layer.description}")
    for when, zeros in (("before", sounding.zeros_before), ("after", sounding.zeros_after)):
        lines += [f"zero {when} {one.channel} [kPa]: {one.value:g}" for one in zeros]
    for event in sounding.events:
        known = {"depth": event.depth, "seconds": event.seconds, "duration": event.duration}
        words = " ".join(f"{key} {value:g}" for key, value in known.items() if value is not None)
        lines.append(f"event {event.kind}: {words}")
    return lines

#!/usr/bin/env python
"""Write the soil ramp, the zones and their hatches for the page, from those of the sheets.

The page has no build step and must show the same colours as the paper. Run this when
``pushproof.report.soil`` changes; a test compares the file with it.
"""

from __future__ import annotations

import json
from pathlib import Path

from pushproof.equations.behaviour import BOUNDARIES
from pushproof.report.soil import IC_HIGH, IC_LOW, ZONES, soil_hex

TARGET = Path(__file__).parents[1] / "src/pushproof/web/static/tracks/soil-ramp.js"
STEP = 0.05


def module() -> str:
    """Return the text of the module."""
    count = round((IC_HIGH - IC_LOW) / STEP) + 1
    ramp = [soil_hex(IC_LOW + STEP * k) for k in range(count)]
    zones = {zone.number: {"ic": zone.ic, "hatch": zone.hatch} for zone in ZONES.values()}
    lines = [
        "/* Made by scripts/make_soil_ramp.py from the ramp of the sheets; do not edit. */",
        "",
        f"export const IC_LOW = {IC_LOW};",
        f"export const IC_HIGH = {IC_HIGH};",
        f"export const IC_STEP = {STEP};",
        f"export const BOUNDARIES = {json.dumps(list(BOUNDARIES))};",
        f"export const RAMP = {json.dumps(ramp)};",
        "/* In the order of the key: coarse to fine, then those that Ic alone does not tell. */",
        f"export const ORDER = {json.dumps(list(ZONES))};",
        f"export const ZONES = {json.dumps(zones, indent=2)};",
    ]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    TARGET.write_text(module(), encoding="utf-8")

"""The look of the sheets: colours, line weights and sizes. Nothing here computes a result.

All lengths are in mm on paper and all type sizes in points. Colours keep at least 4.5:1 contrast
for text; no meaning hangs on colour alone (every line has its own weight or dash, every soil
zone its hatch and words, every severity its shape).
"""

from __future__ import annotations

INK = "#15222C"
SOFT_INK = "#4A5964"
PAPER = "#FFFFFF"
GRID = "#E3E8EB"
GRID_MAJOR = "#C3CCD2"

MEASURED = "#12436B"
MEASURED_FILL = "#E4ECF2"
SECOND = "#7D8A94"
RATIO = "#8A4A0F"
PORE = "#0B6A66"
PORE_FILL = "#E0EFED"
BLOWS = "#5A3F73"
BLOWS_FILL = "#ECE7F1"
BAND_FILL = "#DFD6E8"
"""Band from p10 to p90 behind a derived curve."""

WATER = "#1B6FB3"
CAUTION = "#9A4A00"
CAUTION_FILL = "#FBE9CF"
STOP = "#9B1030"
INFO = "#35536B"
VOID = "#F2F4F5"

CURVE = 0.30
"""Weight of a main curve [mm]; 0.30 mm prints cleanly and survives a photocopy."""
THIN_CURVE = 0.16
HAIR = 0.09
FRAME_WEIGHT = 0.28

TITLE_SIZE = 6.9
BODY_SIZE = 6.4
TICK_SIZE = 6.2
SMALL_SIZE = 5.6
"""Smallest type on a sheet [pt]."""


def minus(text: str) -> str:
    """Return a number with a true minus sign.

    Examples
    --------
    >>> minus("-3.5")
    '−3.5'
    """
    return text.replace("-", "−")

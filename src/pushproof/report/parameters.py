"""Tracks of the parameter page: what the interpretation derives for design, by depth.

Strength and history stand where the soil behaves like clay, angle and density where it behaves
like sand; a track with nothing to draw is left out.
"""

from __future__ import annotations

import numpy as np

from pushproof.model.profile import Interpretation
from pushproof.model.quantities import quantity
from pushproof.model.units import factor_to_display
from pushproof.report import looks
from pushproof.report.scales import Scale, positive_scale
from pushproof.report.tracks import SOIL_SCALE, Curve, Track, symbol

_TRACKS: tuple[tuple[str, str, tuple[str, ...], float, float, int], ...] = (
    # name of the column, title, quantities, least and most end of the axis, decimals
    ("strength", "Strength", ("su",), 50.0, 1000.0, 0),
    ("history", "History", ("OCR",), 4.0, 30.0, 1),
    ("angle", "Angle", ("phi",), 50.0, 60.0, 0),
    ("density", "Density", ("Dr",), 100.0, 100.0, 0),
    ("stiffness", "Stiffness", ("E", "M"), 10.0, 1000.0, 0),
    ("shear", "Shear", ("G0",), 50.0, 2000.0, 0),
)

_ANGLES = Scale(20.0, 50.0, 10.0)


def parameter_tracks(interpretation: Interpretation) -> dict[str, Track]:
    """Return the tracks of the parameter page, left to right; empty if nothing was derived."""
    series = interpretation.series
    made: list[Track] = []
    for name, title, keys, least, most, decimals in _TRACKS:
        have = [key for key in keys if series.measured(key)]
        if not have:
            continue
        arrays = [series[key] * factor_to_display(key) for key in have]
        scale = positive_scale(arrays, least=least, most=most)
        if name == "angle":
            scale = _ANGLES
        curves = tuple(
            Curve(
                symbol(key),
                values,
                looks.BLOWS if key == keys[-1] else looks.SECOND,
                0.26 if key == keys[-1] else 0.18,
                marked=key == keys[-1],
            )
            for key, values in zip(have, arrays, strict=True)
        )
        unit = quantity(have[-1]).display_unit
        made.append(Track(name, title, unit, scale, curves, parts=1, decimals=decimals))
    if series.measured("k"):
        made.append(_flow(interpretation))
    if made and series.measured("Ic"):
        made.append(Track("soil", "Soil behaviour", "-", SOIL_SCALE))
    return {track.name: track for track in made} if len(made) > 1 else {}


def _flow(interpretation: Interpretation) -> Track:
    """Return the track of hydraulic conductivity on a log axis, powers of ten in m/s."""
    k = interpretation.series["k"]
    with np.errstate(divide="ignore", invalid="ignore"):
        power = np.where(k > 0, np.log10(k), np.nan)
    known = power[np.isfinite(power)]
    low = float(np.floor(np.min(known) / 2) * 2) if known.size else -10.0
    high = float(np.ceil(np.max(known) / 2) * 2) if known.size else -2.0
    scale = Scale(low, max(high, low + 2), 2.0)
    curve = Curve("log k", power, looks.BLOWS, 0.26)
    return Track("flow", "Conductivity", "m/s", scale, (curve,), parts=1)

"""Tracks of the parameter page: what the interpretation derives for design, by depth.

Strength and history stand where the soil behaves like clay, angle and density where it behaves
like sand; a track with nothing to draw is left out.
"""

from __future__ import annotations

import numpy as np

from pushproof.interpretation import Bands, bands
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import quantity
from pushproof.model.units import factor_to_display
from pushproof.report import looks
from pushproof.report.scales import Scale, positive_scale
from pushproof.report.tracks import SOIL_SCALE, Curve, FloatArray, Track, symbol

_TRACKS: tuple[tuple[str, str, tuple[str, ...], float, float, int], ...] = (
    # name of the column, title, quantities, least and most end of the axis, decimals
    ("strength", "Strength", ("su",), 50.0, 1000.0, 0),
    ("history", "History", ("OCR",), 4.0, 30.0, 1),
    ("angle", "Angle", ("phi",), 50.0, 60.0, 0),
    ("density", "Density", ("Dr",), 100.0, 100.0, 0),
    ("stiffness", "Stiffness", ("E", "M"), 10.0, 1000.0, 0),
    ("shear", "Shear", ("G0",), 50.0, 2000.0, 0),
)

ROOM = 2.0
"""An axis reaches up to the end of a band, but no further than this many times the curve."""

_ANGLES = Scale(20.0, 50.0, 10.0)


def parameter_bands(interpretation: Interpretation) -> Bands:
    """Return the bands of the curves of the parameter page, by the first-order form."""
    wanted = [keys[-1] for _, _, keys, *_ in _TRACKS] + ["k"]
    have = [key for key in wanted if interpretation.series.measured(key)]
    return bands(interpretation, keys=have)


def parameter_tracks(
    interpretation: Interpretation, found: Bands | None = None
) -> dict[str, Track]:
    """Return the tracks of the parameter page, left to right; empty if nothing was derived.

    Parameters
    ----------
    interpretation
        What is drawn.
    found
        Bands to draw behind the curves; none where None.
    """
    series = interpretation.series
    made: list[Track] = []
    for name, title, keys, least, most, decimals in _TRACKS:
        have = [key for key in keys if series.measured(key)]
        if not have:
            continue
        arrays = [series[key] * factor_to_display(key) for key in have]
        band = _shown_band(found, keys[-1])
        scale = positive_scale(arrays + _upper(arrays[-1], band), least=least, most=most)
        if name == "angle":
            scale = _ANGLES
        curves = tuple(
            Curve(
                symbol(key),
                values,
                looks.BLOWS if key == keys[-1] else looks.SECOND,
                0.26 if key == keys[-1] else 0.18,
                marked=key == keys[-1],
                band=band if key == keys[-1] else None,
                key=key,
            )
            for key, values in zip(have, arrays, strict=True)
        )
        unit = quantity(have[-1]).display_unit
        made.append(Track(name, title, unit, scale, curves, parts=1, decimals=decimals))
    if series.measured("k"):
        made.append(_flow(interpretation, found))
    if made and series.measured("Ic"):
        made.append(Track("soil", "Soil behaviour", "-", SOIL_SCALE))
    return {track.name: track for track in made} if len(made) > 1 else {}


def _shown_band(found: Bands | None, key: str) -> tuple[FloatArray, FloatArray] | None:
    if found is None or key not in found:
        return None
    low, high = found[key].p10, found[key].p90
    whole = np.where(np.isfinite(low) & np.isfinite(high), factor_to_display(key), np.nan)
    return low * whole, high * whole


def _upper(values: FloatArray, band: tuple[FloatArray, FloatArray] | None) -> list[FloatArray]:
    """Return the upper end of a band for the axis, so far as it leaves room for the curve."""
    if band is None or not np.isfinite(values).any():
        return []
    return [np.minimum(band[1], ROOM * float(np.nanquantile(values, 0.985)))]


def _flow(interpretation: Interpretation, found: Bands | None) -> Track:
    """Return the track of hydraulic conductivity on a log axis, powers of ten in m/s."""
    k = interpretation.series["k"]
    with np.errstate(divide="ignore", invalid="ignore"):
        power = np.where(k > 0, np.log10(k), np.nan)
    known = power[np.isfinite(power)]
    low = float(np.floor(np.min(known) / 2) * 2) if known.size else -10.0
    high = float(np.ceil(np.max(known) / 2) * 2) if known.size else -2.0
    scale = Scale(low, max(high, low + 2), 2.0)
    band = _shown_band(found, "k")
    if band is not None:
        with np.errstate(divide="ignore", invalid="ignore"):
            band = np.log10(band[0]), np.log10(band[1])
    curve = Curve("log k", power, looks.BLOWS, 0.26, band=band)
    return Track("flow", "Conductivity", "m/s", scale, (curve,), parts=1)

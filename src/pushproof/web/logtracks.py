"""The tracks of the log page: those of the paper log, and one for any other quantity.

Scales, curves and names are those of :mod:`pushproof.report.tracks`, so that the page tells the
same story as the sheet. Nothing is drawn here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES, Kind, quantity
from pushproof.model.units import factor_to_display
from pushproof.report import looks
from pushproof.report.parameters import parameter_tracks
from pushproof.report.scales import Scale, positive_scale, signed_scale
from pushproof.report.tracks import Curve, Track, symbol, tracks

FloatArray = NDArray[np.float64]

LOOKS = {
    looks.MEASURED: "measured",
    looks.SECOND: "second",
    looks.RATIO: "ratio",
    looks.PORE: "pore",
    looks.BLOWS: "blows",
    looks.INK: "ink",
}
"""Colour of the sheets to its name in the style sheet of the page."""

_PIXELS_PER_MM = 6.0
"""Line weights and dashes of the paper, as a screen at arm's length needs them."""
_NOT_DRAWN = {"depth", "length", "elevation", "time", "origin", "zone", "group", "k", "CD"}
"""Positions, codes, and quantities over many powers of ten: read by the cursor, not drawn."""
_WEIGHTS = {"cone": 1.5, "soil": 1.7, "pore": 1.15}


@dataclass(frozen=True)
class PageTrack:
    """A track with the columns it draws, in display units, by the key of each curve."""

    track: Track
    columns: Mapping[str, FloatArray]
    quantity: str = ""

    @property
    def name(self) -> str:
        """Its name, by which a page asks for it."""
        return self.track.name

    def as_json(self) -> dict[str, Any]:
        """Return the track without its values."""
        track = self.track
        return {
            "name": track.name,
            "kind": "soil" if track.name == "soil" else "curves",
            "title": track.title,
            "unit": track.unit,
            "quantity": self.quantity,
            "weight": _WEIGHTS.get(track.name, 1.0),
            "scale": None if track.scale is None else _scale(track.scale),
            "parts": track.parts,
            "decimals": track.decimals,
            "notes": list(track.notes),
            "absent": track.absent,
            "curves": [_curve(curve) for curve in track.curves],
        }


def page_tracks(
    interpretation: Interpretation, names: Iterable[str] | None = None
) -> list[PageTrack]:
    """Return tracks by name, in the order asked; those of the paper log if none are named.

    A name is that of a track of the sheet or the key of a quantity. A name that this sounding
    has no track for is passed over.
    """
    paper = tracks(interpretation)
    found = []
    for name in paper if names is None else names:
        if name in paper:
            found.append(_of_paper(paper[name]))
        elif drawable(interpretation, name):
            found.append(_of_quantity(interpretation, name))
    return found


def drawable(interpretation: Interpretation, key: str) -> bool:
    """Tell whether a quantity can have a track of its own."""
    return key in QUANTITIES and key not in _NOT_DRAWN and interpretation.series.measured(key)


def choices(interpretation: Interpretation) -> list[dict[str, Any]]:
    """Return every track that a page may offer: those of the sheet first, then quantities."""
    paper = tracks(interpretation)
    shown = {curve.key for track in paper.values() for curve in track.curves} | {"Ic"}
    found: list[dict[str, Any]] = [
        {"name": track.name, "title": track.title, "group": "log"} for track in paper.values()
    ]
    for key, row in QUANTITIES.items():
        if drawable(interpretation, key) and key not in shown:
            group = "derived" if row.kind in (Kind.DERIVED, Kind.STRESS) else "record"
            title = f"{_capital(row.name)}, {row.symbol}"
            found.append({"name": key, "title": title, "group": group})
    return found


def _of_paper(track: Track) -> PageTrack:
    columns = {_key(curve): curve.values for curve in track.curves}
    main = track.curves[-1].key if track.curves else "Ic" if track.name == "soil" else ""
    return PageTrack(track, columns, main)


def _of_quantity(interpretation: Interpretation, key: str) -> PageTrack:
    row = quantity(key)
    values = interpretation.series[key] * factor_to_display(key)
    curve = Curve(symbol(key), values, looks.MEASURED, looks.CURVE, key=key)
    scale = _sheet_scale(interpretation, key) or _scale_for(values)
    decimals = max(0, min(row.decimals, 2))
    assumed = any(one.concerns([key]) for one in interpretation.assumptions if one.affects)
    notes = ("rests on assumed values",) if assumed else ()
    track = Track(
        key, _capital(row.name), row.display_unit, scale, (curve,), notes, decimals=decimals
    )
    return PageTrack(track, {key: values}, key)


def _sheet_scale(interpretation: Interpretation, key: str) -> Scale | None:
    """Return the axis that the parameter page of the report uses, if it draws the quantity."""
    for track in parameter_tracks(interpretation).values():
        if any(curve.text == symbol(key) for curve in track.curves):
            return track.scale
    return None


def _scale_for(values: FloatArray) -> Scale:
    finite = values[np.isfinite(values)]
    least = max(float(np.quantile(np.abs(finite), 0.5)), 1e-6) if finite.size else 1.0
    if finite.size and (finite < 0).mean() > 0.005:
        return signed_scale([values], least=least)
    return positive_scale([values], least=least)


def _key(curve: Curve) -> str:
    return curve.key if curve.times == 1 else f"{curve.key}x{curve.times}"


def _curve(curve: Curve) -> dict[str, Any]:
    return {
        "key": _key(curve),
        "column": curve.key,
        "text": curve.text,
        "look": LOOKS[curve.colour],
        "width": round(max(1.1, curve.weight * _PIXELS_PER_MM), 2),
        "dash": [round(part * _PIXELS_PER_MM, 1) for part in curve.dash] if curve.dash else None,
        "fill": bool(curve.fill),
        "marked": curve.marked,
    }


def _scale(scale: Scale) -> dict[str, float]:
    return {"low": scale.low, "high": scale.high, "step": scale.step}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]

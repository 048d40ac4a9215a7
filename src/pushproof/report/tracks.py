"""What stands in the tracks of a log: curves, scales and the words said where something lacks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.profile import Interpretation
from pushproof.model.quantities import quantity
from pushproof.model.units import factor_to_display
from pushproof.report import looks
from pushproof.report.curves import stretches
from pushproof.report.scales import Scale, positive_scale, signed_scale
from pushproof.report.soil import IC_HIGH, IC_LOW

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Curve:
    """One line of a track, in display units.

    Parameters
    ----------
    text
        Its symbol for the heading, with ``_{...}`` for lowered parts.
    values
        Shape (n,).
    colour, weight, dash
        Look; weight and dash in mm.
    fill
        Colour of the area down to the zero of the axis; empty for none.
    marked
        Whether values beyond the axis get a marker and their number.
    key, times
        The quantity it shows, and how many times larger than life.
    """

    text: str
    values: FloatArray
    colour: str
    weight: float
    dash: tuple[float, ...] | None = None
    fill: str = ""
    marked: bool = True
    band: tuple[FloatArray, FloatArray] | None = None
    key: str = ""
    times: int = 1


@dataclass(frozen=True)
class Track:
    """One track of a log.

    Parameters
    ----------
    name
        Column it stands in.
    title, unit
        Words of the heading.
    scale
        The axis, the same on every page; None if there is nothing to draw.
    parts
        Fine grid lines per labelled step.
    curves
        Drawn in this order, the last on top.
    notes
        Short words of caution for the heading.
    decimals
        Decimals of a clipped value.
    """

    name: str
    title: str
    unit: str
    scale: Scale | None
    curves: tuple[Curve, ...] = ()
    notes: tuple[str, ...] = ()
    parts: int = 2
    decimals: int = 0
    absent: str = ""


WITHOUT_SLEEVE = "f_{s} not measured: no friction ratio, N_{60} or soil behaviour"
SOIL_SCALE = Scale(IC_LOW, IC_HIGH, 1.0)
"""The Ic axis: fixed, so that one width means one behaviour on every log."""


_WHOLE = {"zone", "group", "origin", "clamp"}
"""Symbols that are words."""


def symbol(key: str) -> str:
    """Return the symbol of a quantity with its lowered part marked.

    Examples
    --------
    >>> symbol("qt"), symbol("depth"), symbol("sigma_v0_eff"), symbol("N1_60")
    ('q_{t}', 'z', 'σ′_{v0}', '(N_{1})_{60}')
    """
    plain = quantity(key).symbol
    if key == "N1_60":
        return "(N_{1})_{60}"
    head = plain[: 2 if plain[1:2] == "'" else 1].replace("'", "′")
    tail = plain[len(head) :]
    if not tail or tail.isupper() or plain in _WHOLE:
        return head + tail
    return f"{head}_{{{tail}}}"


def tracks(interpretation: Interpretation) -> dict[str, Track]:
    """Return the tracks of a log, left to right, by column name.

    A measured channel always has its track, which says so where it was not measured; a derived
    track stands only where there is something to draw.
    """
    series = interpretation.series
    made = [_cone(interpretation), _sleeve(interpretation)]
    if series.measured("Rf"):
        made.append(_ratio(interpretation))
    made.append(_pore(interpretation))
    if series.measured("N60"):
        made.append(_blows(interpretation))
    if series.measured("Ic"):
        made.append(Track("soil", "Soil behaviour", "-", SOIL_SCALE))
    return {track.name: track for track in made}


def _shown(interpretation: Interpretation, key: str) -> FloatArray:
    return interpretation.series.get(key) * factor_to_display(key)


def _cone(interpretation: Interpretation) -> Track:
    series, profile = interpretation.series, interpretation.profile
    if not (series.measured("qt") or series.measured("qc")):
        return Track("cone", "Cone resistance", "MPa", None, absent="not measured")
    qc, qt = _shown(interpretation, "qc"), _shown(interpretation, "qt")
    plain = bool(profile.qt_is_qc[np.isfinite(qt)].all())
    main = qc if plain and series.measured("qc") else qt
    scale = positive_scale([main], least=2.0)
    curves = []
    if not plain:
        curves.append(
            Curve(symbol("qc"), qc, looks.SECOND, looks.THIN_CURVE, marked=False, key="qc")
        )
    key = "qc" if plain else "qt"
    name = symbol(key)
    fine = _magnified(series.get("depth"), main, scale)
    if fine is not None:
        dash = (0.5, 0.42)
        curves.append(
            Curve(f"{name} × 10", fine, looks.MEASURED, 0.2, dash, marked=False, key=key, times=10)
        )
    curves.append(Curve(name, main, looks.MEASURED, looks.CURVE, fill=looks.MEASURED_FILL, key=key))
    notes: tuple[str, ...] = ()
    if plain:
        notes = (f"q_{{c}}, not corrected: {_why_plain(interpretation)}",)
    elif (profile.qt_is_qc & np.isfinite(qt)).any():
        notes = ("q_{t} = q_{c} where u_{2} lacks",)
    return Track("cone", "Cone resistance", "MPa", scale, tuple(curves), notes, decimals=1)


def _why_plain(interpretation: Interpretation) -> str:
    if not interpretation.series.measured("u2"):
        return "no u_{2}"
    return "no area ratio a" if interpretation.profile.area_ratio is None else "u_{2} not usable"


_SOFT = 3.0
"""Ground is drawn ten times larger up to this cone resistance [MPa]."""


def _magnified(depth: FloatArray, values: FloatArray, scale: Scale) -> FloatArray | None:
    """Return ten times the values where soft ground would hug the left edge, or None."""
    low = np.isfinite(values) & (values <= min(scale.high / 10, _SOFT))
    if scale.high < 5 or low.sum() < 0.25 * np.isfinite(values).sum():
        return None
    shown = np.where(low, values * 10, np.nan)
    kept = np.full(len(values), np.nan)
    for part in stretches(depth, shown, gap=0.3):
        if depth[part][-1] - depth[part][0] >= 0.8:
            kept[part] = shown[part]
    return kept if np.isfinite(kept).any() else None


def _sleeve(interpretation: Interpretation) -> Track:
    series = interpretation.series
    if not series.measured("fs"):
        return Track("sleeve", "Sleeve friction", "kPa", None, absent=WITHOUT_SLEEVE)
    fs = _shown(interpretation, "fs")
    look = looks.MEASURED
    curves = [Curve(symbol("fs"), fs, look, looks.CURVE, fill=looks.MEASURED_FILL, key="fs")]
    if series.measured("ft"):
        ft = _shown(interpretation, "ft")
        curves.insert(
            0, Curve(symbol("ft"), ft, looks.SECOND, looks.THIN_CURVE, marked=False, key="ft")
        )
    scale = positive_scale([fs], least=40.0)
    return Track("sleeve", "Sleeve friction", "kPa", scale, tuple(curves))


def _ratio(interpretation: Interpretation) -> Track:
    rf = _shown(interpretation, "Rf")
    scale = positive_scale([rf], least=4.0, most=15.0, share=0.975)
    curve = Curve(symbol("Rf"), rf, looks.RATIO, 0.26, key="Rf")
    return Track("ratio", "Friction ratio", "%", scale, (curve,), decimals=1)


def _pore(interpretation: Interpretation) -> Track:
    series = interpretation.series
    have = [key for key in ("u1", "u3", "u2") if series.measured(key)]
    if not have:
        return Track("pore", "Pore pressure", "kPa", None, absent="pore pressure not measured")
    look = {
        "u1": (looks.BLOWS, 0.18, (0.9, 0.45), ""),
        "u3": (looks.SECOND, 0.18, (0.35, 0.35), ""),
        "u2": (looks.PORE, looks.CURVE, None, ""),
    }
    curves, arrays = [], []
    for key in have:
        colour, weight, dash, fill = look[key]
        if key == have[-1]:
            weight, dash = looks.CURVE, None
        values = _shown(interpretation, key)
        arrays.append(values)
        curves.append(Curve(symbol(key), values, colour, weight, dash, fill, key=key))
    inside: list[float] = []
    if series.measured("u0"):
        u0 = _shown(interpretation, "u0")
        inside = [float(np.nanmin(u0)), float(np.nanmax(u0))]
        curves.insert(
            0, Curve(symbol("u0"), u0, looks.INK, 0.2, (1.6, 0.7), marked=False, key="u0")
        )
    scale = signed_scale(arrays, inside=inside, least=50.0)
    notes = () if "u2" in have else ("u_{2} not measured",)
    return Track("pore", "Pore pressure", "kPa", scale, tuple(curves), notes)


def _blows(interpretation: Interpretation) -> Track:
    n60 = _shown(interpretation, "N60")
    scale = positive_scale([n60], least=10.0, most=100.0)
    curve = Curve(symbol("N60"), n60, looks.BLOWS, 0.22, fill=looks.BLOWS_FILL, key="N60")
    return Track("blows", "SPT blows", "-", scale, (curve,), notes=("estimated",), parts=1)

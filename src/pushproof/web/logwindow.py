"""The curves and the soil column of a log between two depths, as a page asks for them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pushproof.web.logdocument import Log
from pushproof.web.logtracks import page_tracks
from pushproof.web.numbers import compact
from pushproof.web.reduce import Reduced, Window, window

FloatArray = NDArray[np.float64]


def log_window(
    log: Log,
    names: Iterable[str] | None,
    top: float,
    base: float,
    pixels: int,
    *,
    with_bands: bool = False,
) -> dict[str, Any]:
    """Return what tracks draw between two depths.

    Parameters
    ----------
    log
        The sounding.
    names
        Tracks; those of the sheet if None.
    top, base
        The window [m].
    pixels
        Its height in pixel rows.
    with_bands
        Whether to give p10 and p90 of derived quantities, as ``KEY.p10`` and ``KEY.p90``.

    Raises
    ------
    ValueError
        If the window has no height.
    """
    tracks = page_tracks(log.interpretation, names)
    columns = {key: values for track in tracks for key, values in track.columns.items()}
    if with_bands:
        columns |= log.bands(columns)
    found = window(log.depth, columns, top=top, base=base, pixels=pixels, gap=log.gap)
    soil = any(track.name == "soil" for track in tracks)
    return as_json(found, log.gap) | {"soil": log.soil(top, base, pixels) if soil else None}


def as_json(found: Window, gap: float) -> dict[str, Any]:
    """Return a window as plain values and arrays, rounded to what can be seen."""
    return {
        "top": found.top,
        "base": found.base,
        "gap": gap,
        "reduced": found.is_reduced,
        "depth": np.round(found.depth, 4),
        "join": found.join,
        "columns": {key: _column(one) for key, one in found.columns.items()},
    }


def _column(one: FloatArray | Reduced) -> Any:
    if not isinstance(one, Reduced):
        return compact(one)
    return {
        "first": compact(one.first),
        "min": compact(one.low),
        "max": compact(one.high),
        "last": compact(one.last),
    }

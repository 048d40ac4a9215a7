"""Where a push stands: the middle of the positions that a satellite receiver gave.

The median is taken, not the mean: a receiver that has just been switched on, or that sees the sky
past the mast, gives a few fixes that are far off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

EARTH = 6_371_008.8
"""Mean radius of the Earth [m] (IUGG, as widely given); only the spread rests on it."""


@dataclass(frozen=True, slots=True)
class Position:
    """A position from many fixes.

    Parameters
    ----------
    latitude, longitude
        Medians [deg], WGS 84.
    spread
        Half of the fixes are within this distance of the medians [m].
    count
        Fixes it rests on.
    """

    latitude: float
    longitude: float
    spread: float
    count: int


def median_position(latitude: ArrayLike, longitude: ArrayLike) -> Position | None:
    """Return the middle of fixes, None if there is none.

    Parameters
    ----------
    latitude, longitude
        Shape (n,) [deg]; fixes with NaN are left out.

    Raises
    ------
    ValueError
        If the shapes differ.

    Examples
    --------
    >>> found = median_position([52.0, 52.0, 52.1], [5.0, 5.0, 5.0])
    >>> found.latitude, found.count
    (52.0, 3)
    """
    lat, lon = np.asarray(latitude, float), np.asarray(longitude, float)
    if lat.shape != lon.shape or lat.ndim != 1:
        raise ValueError(f"latitude {lat.shape} and longitude {lon.shape}: expected one shape (n,)")
    there = np.isfinite(lat) & np.isfinite(lon)
    lat, lon = lat[there], lon[there]
    if not lat.size:
        return None
    # around the first fix, so that the date line is no jump
    east = (lon - lon[0] + 180) % 360 - 180
    middle_lat, middle_east = float(np.median(lat)), float(np.median(east))
    north_m = np.radians(lat - middle_lat) * EARTH
    east_m = np.radians(east - middle_east) * EARTH * np.cos(np.radians(middle_lat))
    spread = float(np.median(np.hypot(north_m, east_m)))
    middle_lon = float((lon[0] + middle_east + 180) % 360 - 180)
    return Position(middle_lat, middle_lon, spread, int(lat.size))

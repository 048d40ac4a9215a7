"""One reading of a push as the tracks of a screen draw it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from pushproof.model.series import Origin


@dataclass(frozen=True, slots=True)
class LiveRow:
    """One cone reading placed along the length as it came, for the tracks of a screen.

    ``length`` and ``depth`` are those of the moment it arrived: the delay of the link and the
    drift of the cone clock are left to the merge. ``values`` are in inside units, ``rate`` in m/s
    (NaN while not pushing). ``stored`` is the number of the reading in the record, 0 if it was
    not stored: a screen that was away asks for what came after it.
    """

    number: int
    arrival: float
    length: float
    depth: float
    pushing: bool
    values: Mapping[str, float]
    origin: Origin = Origin.LIVE
    rate: float = math.nan
    stored: int = 0

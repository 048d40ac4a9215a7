"""The rod tally: length of the record against the whole rods between rod changes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pushproof.model.profile import Profile


@dataclass(frozen=True)
class Tally:
    """How far the length of a record is off its rods.

    Parameters
    ----------
    rods
        Whole rods between the first and the last rod change.
    rod
        Length of one rod [m].
    total
        Length of the record minus length of those rods [m].
    worst
        Largest difference at one of them [m].
    length
        Penetration length at the end of that one [m].
    interval
        Median distance between readings [m]; a rod change cannot be placed better.
    """

    rods: int
    rod: float
    total: float
    worst: float
    length: float
    interval: float


def rod_tally(profile: Profile) -> Tally | None:
    """Compare length and rods; None without rods or with fewer than three rod changes.

    Between two rod changes lies a whole number of rods, to within the interval of the readings.
    """
    rods = profile.sounding.rods
    at = [
        e.depth for e in profile.sounding.events if e.kind == "rod-change" and e.depth is not None
    ]
    if rods is None or len(at) < 3:
        return None
    places = np.sort(np.asarray(at))
    spacing = np.diff(places)
    kept = spacing > 0.5 * rods.length
    spacing, places = spacing[kept], places[1:][kept]
    if not spacing.size:
        return None
    off = spacing - rods.length * np.round(spacing / rods.length)
    steps = np.diff(profile.series["length"])
    interval = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
    worst = int(np.argmax(np.abs(off)))
    return Tally(
        rods=int(np.round(spacing / rods.length).sum()),
        rod=rods.length,
        total=round(float(off.sum()), 9),  # lengths that differ by their last digit only are equal
        worst=float(off[worst]),
        length=float(places[worst]),
        interval=interval,
    )

"""Single readings that stand far off their neighbours: found here, judged and removed elsewhere."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pushproof.processing.windows import running_median, running_rank

FloatArray = NDArray[np.float64]
FLOOR = {"qc": 60.0, "fs": 4.0, "u1": 10.0, "u2": 10.0, "u3": 10.0}
"""Smallest distance that counts as a spike [kPa]; common practice."""
SHARE = 0.10
"""Smallest distance that counts as a spike, as a share of the level around it."""
ALONE = 2.5
"""How many times farther off than the third farthest reading around it a spike must stand."""
DEVIATIONS = 8.0
"""Distance from the running median, in robust local deviations, that makes a spike."""


def spikes(
    values: FloatArray, channel: str, deviations: float = DEVIATIONS
) -> tuple[NDArray[np.bool_], FloatArray]:
    """Tell which readings are spikes.

    A spike stands off the running median of five readings by more than a floor, by more than
    ``deviations`` times the median of such distances around it, and by far more than the others
    around it do: rough ground has no spikes. The numbers were tuned on half of the soundings of
    the detection table.

    Parameters
    ----------
    values
        Present values in the order of length, shape (n,) [kPa].
    channel
        Key of the channel, for the floor.
    deviations
        See above.

    Returns
    -------
    mask, distance
        Shape (n,); the distance from the running median [kPa].
    """
    if values.size < 50:
        return np.zeros(values.size, dtype=bool), np.zeros(values.size)
    level = running_median(values, 5)
    off = np.abs(values - level)
    scale = 1.4826 * running_median(off, 101)
    others = running_rank(off, 51, 3)
    floor = FLOOR.get(channel, 10.0) + SHARE * np.abs(level)
    mask = off > np.maximum(np.maximum(floor, deviations * scale), ALONE * others)
    return mask, off

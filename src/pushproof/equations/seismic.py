"""Shear wave velocity between two depths of a seismic cone: geometry and travel times.

The geometry follows from a source beside the rods; no clause of the standard was read.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import DEFINITION


@equation(
    gives="slant path",
    formula="L = (z^2 + x^2)^0.5",
    reference="astm-d7400",
    mark=Mark.PRACTICE,
    units={"depth": "m", "offset": "m", "return": "m"},
    validity="straight ray from a source at ground level; refraction is left out",
    scatter=DEFINITION,
)
def slant_path(depth: ArrayLike, offset: ArrayLike) -> FloatArray:
    """Return the straight path from a source at ground level to a receiver.

    Parameters
    ----------
    depth
        Depth of the receiver below the source [m].
    offset
        Horizontal distance of the source from the rods [m].

    Returns
    -------
    FloatArray
        Length of the path [m].

    Examples
    --------
    >>> float(slant_path(4.0, 3.0))
    5.0
    """
    depth, offset = floats(depth, offset)
    return np.asarray(np.hypot(depth, offset))


@equation(
    gives="Vs",
    formula="Vs = (L2 - L1) / (t2 - t1)",
    reference="astm-d7400",
    mark=Mark.PRACTICE,
    units={
        "path_top": "m",
        "path_base": "m",
        "time_top": "s",
        "time_base": "s",
        "return": "m/s",
    },
    validity="interval between two receivers, or two depths of one; arrivals of the same wave",
    scatter=DEFINITION,
)
def Vs_interval(
    path_top: ArrayLike, path_base: ArrayLike, time_top: ArrayLike, time_base: ArrayLike
) -> FloatArray:
    """Return the shear wave velocity of the ground between two receivers.

    Parameters
    ----------
    path_top, path_base
        Lengths of the paths to the upper and the lower receiver [m].
    time_top, time_base
        Arrival times there [s].

    Returns
    -------
    FloatArray
        Shear wave velocity [m/s]; NaN where path or time does not grow downward.

    Examples
    --------
    >>> round(float(Vs_interval(4.0, 5.0, 0.020, 0.026)), 1)
    166.7
    """
    path_top, path_base, time_top, time_base = floats(path_top, path_base, time_top, time_base)
    return np.asarray(positive(path_base - path_top) / positive(time_base - time_top))

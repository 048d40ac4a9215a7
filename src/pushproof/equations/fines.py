"""Fines content estimated from soil behaviour: all forms from memory, and far apart."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import UNKNOWN, remembered_added


@equation(
    gives="FC",
    formula="FC = 1.75 Ic^3.25 - 3.7; 0 below Ic 1.26, 100 above 3.5",
    reference="robertson-wride-1998",
    mark=Mark.MEMORY,
    units={"Ic": "-", "return": "%"},
    validity="an estimate; plasticity and mineral change it",
    scatter=remembered_added(10.0, "wide; often 10 % of fines and more", low=0.0, high=100.0),
)
def FC_robertson_wride_1998(Ic: ArrayLike) -> FloatArray:
    """Apparent fines content from the behaviour index.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Fines content [%].

    Examples
    --------
    >>> FC_robertson_wride_1998([1.0, 1.64, 2.6, 3.6]).round(1).tolist()
    [0.0, 5.0, 35.4, 100.0]
    """
    (Ic,) = floats(Ic)
    fines = 1.75 * np.maximum(Ic, 0.0) ** 3.25 - 3.7
    return np.where(Ic < 1.26, 0.0, np.where(Ic > 3.5, 100.0, fines))


@equation(
    gives="FC",
    formula="FC = 2.8 Ic^2.60",
    reference="suzuki-1998",
    where="one of two forms cited to the same paper",
    mark=Mark.MEMORY,
    units={"Ic": "-", "return": "%"},
    validity="0 < Ic and FC up to 100",
    scatter=UNKNOWN,
)
def FC_suzuki_1998(Ic: ArrayLike) -> FloatArray:
    """Fines content by a power of the index, first form in circulation.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Fines content [%]; NaN where it would be above 100.

    Examples
    --------
    >>> round(float(FC_suzuki_1998(2.6)), 1)
    33.6
    """
    (Ic,) = floats(Ic)
    return _share(2.8 * np.maximum(Ic, 0.0) ** 2.60)


@equation(
    gives="FC",
    formula="FC = 1.0 Ic^4.2",
    reference="suzuki-1998",
    where="one of two forms cited to the same paper",
    mark=Mark.MEMORY,
    units={"Ic": "-", "return": "%"},
    validity="0 < Ic and FC up to 100",
    scatter=UNKNOWN,
)
def FC_suzuki_1998_steep(Ic: ArrayLike) -> FloatArray:
    """Fines content by a power of the index, second and steeper form in circulation.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].

    Returns
    -------
    FloatArray
        Fines content [%]; NaN where it would be above 100.

    Examples
    --------
    >>> round(float(FC_suzuki_1998_steep(2.6)), 1)
    55.3
    """
    (Ic,) = floats(Ic)
    return _share(np.maximum(Ic, 0.0) ** 4.2)


@equation(
    gives="FC",
    formula="FC = 80 (Ic + CFC) - 137, held between 0 and 100",
    reference="boulanger-idriss-2014",
    mark=Mark.MEMORY,
    units={"Ic": "-", "CFC": "-", "return": "%"},
    validity="CFC is a site fitting number, 0 where nothing is known; sand and silt",
    scatter=remembered_added(
        80.0 * 0.29,
        "standard deviation of about 0.29 in CFC",
        low=0.0,
        high=100.0,
        factor="CFC",
    ),
)
def FC_boulanger_idriss_2014(Ic: ArrayLike, CFC: ArrayLike = 0.0) -> FloatArray:
    """Fines content linear in the index, with a site fitting number.

    Parameters
    ----------
    Ic
        Soil behaviour type index [-].
    CFC
        Fitting number of the site [-].

    Returns
    -------
    FloatArray
        Fines content [%].

    Examples
    --------
    >>> round(float(FC_boulanger_idriss_2014(2.6)), 1)
    71.0
    """
    Ic, CFC = floats(Ic, CFC)
    return np.clip(80.0 * (Ic + CFC) - 137.0, 0.0, 100.0)


def _share(fines: FloatArray) -> FloatArray:
    return np.where(fines <= 100.0, fines, np.nan)

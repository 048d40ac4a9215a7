"""Cone factors of clay as functions of what the cone feels, or of what a laboratory knows."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import UNKNOWN


@equation(
    gives="Nkt",
    formula="Nkt = 10.5 - 4.6 ln(Bq + 0.1)",
    reference="mayne-peuchen-2018",
    where="range 8 to 25 and its fall with Bq are in the abstract; the equation is from memory",
    mark=Mark.MEMORY,
    units={"Bq": "-", "return": "-"},
    validity="clay, Bq above -0.1; strength of anisotropically consolidated compression tests",
    scatter=UNKNOWN,
)
def Nkt_mayne_peuchen_2018(Bq: ArrayLike) -> FloatArray:
    """Cone factor that falls with the pore pressure ratio.

    Parameters
    ----------
    Bq
        Pore pressure ratio [-].

    Returns
    -------
    FloatArray
        Cone factor Nkt [-]; NaN where Bq is -0.1 or less or the factor not positive.

    Examples
    --------
    >>> Nkt_mayne_peuchen_2018([0.0, 0.5, 1.0]).round(1).tolist()
    [21.1, 12.8, 10.1]
    """
    (Bq,) = floats(Bq)
    return positive(10.5 - 4.6 * np.log(positive(Bq + 0.1)))


@equation(
    gives="Nkt",
    formula="Nkt = 10.5 + 7 log10(Fr)",
    reference="robertson-2012",
    mark=Mark.MEMORY,
    units={"Fr": "%", "return": "-"},
    validity="clay; Fr of about 0.5 to 10 %",
    scatter=UNKNOWN,
)
def Nkt_robertson_2012(Fr: ArrayLike) -> FloatArray:
    """Cone factor that rises with the normalised friction ratio.

    Parameters
    ----------
    Fr
        Normalised friction ratio [%].

    Returns
    -------
    FloatArray
        Cone factor Nkt [-]; NaN where Fr or the factor is not positive.

    Examples
    --------
    >>> round(float(Nkt_robertson_2012(3.0)), 2)
    13.84
    """
    (Fr,) = floats(Fr)
    return positive(10.5 + 7.0 * np.log10(positive(Fr)))


@equation(
    gives="Nkt",
    formula="Nkt = 7.8 + 2.5 log10(OCR) + 0.082 PI",
    reference="karlsrud-2005",
    mark=Mark.MEMORY,
    units={"OCR": "-", "PI": "%", "return": "-"},
    validity="clay with sensitivity up to 15",
)
def Nkt_karlsrud_2005(OCR: ArrayLike, PI: ArrayLike) -> FloatArray:
    """Cone factor of clay of low sensitivity.

    Parameters
    ----------
    OCR
        Overconsolidation ratio [-].
    PI
        Plasticity index [%].

    Returns
    -------
    FloatArray
        Cone factor Nkt [-].

    Examples
    --------
    >>> round(float(Nkt_karlsrud_2005(2.0, 30.0)), 2)
    11.01
    """
    OCR, PI = floats(OCR, PI)
    return positive(7.8 + 2.5 * np.log10(positive(OCR)) + 0.082 * PI)


@equation(
    gives="Ndu",
    formula="Ndu = 6.9 - 4 log10(OCR) + 0.07 PI",
    reference="karlsrud-2005",
    mark=Mark.MEMORY,
    units={"OCR": "-", "PI": "%", "return": "-"},
    validity="clay with sensitivity up to 15",
)
def Ndu_karlsrud_2005(OCR: ArrayLike, PI: ArrayLike) -> FloatArray:
    """Pore pressure factor of clay of low sensitivity.

    Parameters
    ----------
    OCR
        Overconsolidation ratio [-].
    PI
        Plasticity index [%].

    Returns
    -------
    FloatArray
        Cone factor Ndu [-]; NaN where it would not be positive.

    Examples
    --------
    >>> round(float(Ndu_karlsrud_2005(2.0, 30.0)), 2)
    7.8
    """
    OCR, PI = floats(OCR, PI)
    return positive(6.9 - 4.0 * np.log10(positive(OCR)) + 0.07 * PI)


@equation(
    gives="Nkt",
    formula="Nkt = 8.5 + 2.5 log10(OCR)",
    reference="karlsrud-2005",
    mark=Mark.MEMORY,
    units={"OCR": "-", "return": "-"},
    validity="clay with sensitivity above 15",
)
def Nkt_karlsrud_2005_sensitive(OCR: ArrayLike) -> FloatArray:
    """Cone factor of sensitive clay.

    Parameters
    ----------
    OCR
        Overconsolidation ratio [-].

    Returns
    -------
    FloatArray
        Cone factor Nkt [-].

    Examples
    --------
    >>> round(float(Nkt_karlsrud_2005_sensitive(2.0)), 2)
    9.25
    """
    (OCR,) = floats(OCR)
    return positive(8.5 + 2.5 * np.log10(positive(OCR)))


@equation(
    gives="Ndu",
    formula="Ndu = 9.8 - 4.5 log10(OCR)",
    reference="karlsrud-2005",
    mark=Mark.MEMORY,
    units={"OCR": "-", "return": "-"},
    validity="clay with sensitivity above 15",
)
def Ndu_karlsrud_2005_sensitive(OCR: ArrayLike) -> FloatArray:
    """Pore pressure factor of sensitive clay.

    Parameters
    ----------
    OCR
        Overconsolidation ratio [-].

    Returns
    -------
    FloatArray
        Cone factor Ndu [-]; NaN where it would not be positive.

    Examples
    --------
    >>> round(float(Ndu_karlsrud_2005_sensitive(2.0)), 2)
    8.45
    """
    (OCR,) = floats(OCR)
    return positive(9.8 - 4.5 * np.log10(positive(OCR)))


@equation(
    gives="Nke",
    formula="Nke = 11.5 - 9.05 Bq",
    reference="karlsrud-2005",
    mark=Mark.MEMORY,
    units={"Bq": "-", "return": "-"},
    validity="clay with sensitivity up to 15",
)
def Nke_karlsrud_2005(Bq: ArrayLike) -> FloatArray:
    """Effective resistance factor of clay of low sensitivity.

    Parameters
    ----------
    Bq
        Pore pressure ratio [-].

    Returns
    -------
    FloatArray
        Cone factor Nke [-]; NaN where it would not be positive.

    Examples
    --------
    >>> round(float(Nke_karlsrud_2005(0.5)), 3)
    6.975
    """
    (Bq,) = floats(Bq)
    return positive(11.5 - 9.05 * Bq)


@equation(
    gives="Nke",
    formula="Nke = 12.5 - 11 Bq",
    reference="karlsrud-2005",
    mark=Mark.MEMORY,
    units={"Bq": "-", "return": "-"},
    validity="clay with sensitivity above 15",
)
def Nke_karlsrud_2005_sensitive(Bq: ArrayLike) -> FloatArray:
    """Effective resistance factor of sensitive clay.

    Parameters
    ----------
    Bq
        Pore pressure ratio [-].

    Returns
    -------
    FloatArray
        Cone factor Nke [-]; NaN where it would not be positive.

    Examples
    --------
    >>> round(float(Nke_karlsrud_2005_sensitive(0.5)), 3)
    7.0
    """
    (Bq,) = floats(Bq)
    return positive(12.5 - 11.0 * Bq)

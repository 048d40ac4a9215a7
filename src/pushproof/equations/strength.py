"""Undrained shear strength and sensitivity of clay, and the cone factors they rest on.

A cone factor is a fit between a cone and one kind of strength test; without a fit on the site it
is an assumption, and shown as one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pushproof.equations.arrays import FloatArray, floats, positive
from pushproof.equations.registry import Mark, equation
from pushproof.equations.scatter import factor_of, factor_range, published_cov


@equation(
    gives="su",
    formula="su = qn / Nkt, qn = qt - sigma_v0",
    reference="en-1997-2",
    where="Eq. 4.2",
    mark=Mark.VERIFIED,
    units={"qn": "kPa", "Nkt": "-", "return": "kPa"},
    validity="undrained clay; Nkt 8 to 25 over 62 clays (Mayne & Peuchen 2018), fitted on the site",
    scatter=published_cov(
        0.32,
        "su from qt scatters by 29 to 35 %, 32 % used",
        "ufc-3-220-20",
        "Ch. 7, numbers in the text",
        factor="Nkt",
    ),
)
def su_nkt(qn: ArrayLike, Nkt: ArrayLike) -> FloatArray:
    """Undrained shear strength from net cone resistance.

    Parameters
    ----------
    qn
        Net cone resistance [kPa].
    Nkt
        Cone factor [-].

    Returns
    -------
    FloatArray
        Undrained shear strength [kPa]; NaN where qn or the factor is not positive.

    Examples
    --------
    >>> float(su_nkt(750.0, 15.0))
    50.0
    """
    qn, Nkt = floats(qn, Nkt)
    return positive(qn) / positive(Nkt)


@equation(
    gives="su",
    formula="su = (qc - sigma_v0) / Nk",
    reference="en-1997-2",
    where="Eq. 4.1",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "sigma_v0": "kPa", "Nk": "-", "return": "kPa"},
    validity="undrained clay and a cone without u2; Nk 15 to 20, fitted on the site",
    scatter=published_cov(
        0.32,
        "su from qt scatters by 29 to 35 %, 32 % used, taken for qc too",
        "ufc-3-220-20",
        "Ch. 7, numbers in the text",
        factor="Nk",
    ),
)
def su_nk(qc: ArrayLike, sigma_v0: ArrayLike, Nk: ArrayLike) -> FloatArray:
    """Undrained shear strength from the uncorrected cone resistance.

    Parameters
    ----------
    qc, sigma_v0
        Cone resistance and total vertical stress [kPa].
    Nk
        Cone factor [-].

    Returns
    -------
    FloatArray
        Undrained shear strength [kPa]; NaN where it would not be positive.

    Examples
    --------
    >>> round(float(su_nk(800.0, 100.0, 15.0)), 4)
    46.6667
    """
    qc, sigma_v0, Nk = floats(qc, sigma_v0, Nk)
    return positive(qc - sigma_v0) / positive(Nk)


@equation(
    gives="su",
    formula="su = qc / Nc",
    reference="ufc-3-220-10",
    where="Eq. 8-23",
    mark=Mark.VERIFIED,
    units={"qc": "kPa", "Nc": "-", "return": "kPa"},
    validity="rough value in clay near the surface; Nc 17 to 23",
    scatter=published_cov(
        0.32,
        "su from qt scatters by 29 to 35 %, 32 % used, taken for qc too, which is no better",
        "ufc-3-220-20",
        "Ch. 7, numbers in the text",
        factor="Nc",
    ),
)
def su_nc(qc: ArrayLike, Nc: ArrayLike) -> FloatArray:
    """Undrained shear strength without the overburden, a rough value.

    Parameters
    ----------
    qc
        Cone resistance [kPa].
    Nc
        Cone factor [-].

    Returns
    -------
    FloatArray
        Undrained shear strength [kPa]; NaN where qc or the factor is not positive.

    Examples
    --------
    >>> float(su_nc(400.0, 20.0))
    20.0
    """
    qc, Nc = floats(qc, Nc)
    return positive(qc) / positive(Nc)


@equation(
    gives="su",
    formula="su = (u2 - u0) / Ndu",
    reference="lunne-1997",
    mark=Mark.MEMORY,
    units={"u2": "kPa", "u0": "kPa", "Ndu": "-", "return": "kPa"},
    validity="soft undrained clay and a saturated filter; Ndu 4 to 10, fitted on the site",
    scatter=factor_range(4.0, 10.0, "Ndu is usually 4 to 10", "Ndu"),
)
def su_ndu(u2: ArrayLike, u0: ArrayLike, Ndu: ArrayLike) -> FloatArray:
    """Undrained shear strength from excess pore pressure.

    Parameters
    ----------
    u2, u0
        Pore pressure behind the cone and in-situ pore pressure [kPa].
    Ndu
        Cone factor [-].

    Returns
    -------
    FloatArray
        Undrained shear strength [kPa]; NaN where there is no excess pressure.

    Examples
    --------
    >>> float(su_ndu(350.0, 70.0, 7.0))
    40.0
    """
    u2, u0, Ndu = floats(u2, u0, Ndu)
    return positive(u2 - u0) / positive(Ndu)


@equation(
    gives="su",
    formula="su = (qt - u2) / Nke",
    reference="lunne-1997",
    mark=Mark.MEMORY,
    units={"qt": "kPa", "u2": "kPa", "Nke": "-", "return": "kPa"},
    validity="undrained clay; poor in soft clay, where qt - u2 is a small difference; Nke 6 to 12",
    scatter=factor_range(6.0, 12.0, "Nke is usually 6 to 12", "Nke"),
)
def su_nke(qt: ArrayLike, u2: ArrayLike, Nke: ArrayLike) -> FloatArray:
    """Undrained shear strength from effective cone resistance.

    Parameters
    ----------
    qt, u2
        Corrected cone resistance and pore pressure behind the cone [kPa].
    Nke
        Cone factor [-].

    Returns
    -------
    FloatArray
        Undrained shear strength [kPa]; NaN where qt is not above u2.

    Examples
    --------
    >>> float(su_nke(800.0, 350.0, 9.0))
    50.0
    """
    qt, u2, Nke = floats(qt, u2, Nke)
    return positive(qt - u2) / positive(Nke)


@equation(
    gives="su",
    formula="su = S sigma_v0_eff OCR^m",
    reference="ufc-3-220-10",
    where="Ch. 8 (normalised strength), Table 8-9",
    mark=Mark.VERIFIED,
    units={"sigma_v0_eff": "kPa", "OCR": "-", "S": "-", "m": "-", "return": "kPa"},
    validity="clay; S about 0.22 and m 0.7 to 0.85 by kind of test",
)
def su_shansep(
    sigma_v0_eff: ArrayLike, OCR: ArrayLike, S: ArrayLike = 0.22, m: ArrayLike = 0.8
) -> FloatArray:
    """Undrained shear strength from stress history, independent of a cone factor.

    Parameters
    ----------
    sigma_v0_eff
        Effective vertical stress [kPa].
    OCR
        Overconsolidation ratio [-].
    S, m
        Strength ratio of normally consolidated clay and exponent [-].

    Returns
    -------
    FloatArray
        Undrained shear strength [kPa]; NaN where stress or OCR is not positive.

    Examples
    --------
    >>> round(float(su_shansep(100.0, 4.0)), 4)
    66.6915
    """
    sigma_v0_eff, OCR, S, m = floats(sigma_v0_eff, OCR, S, m)
    return np.asarray(S * positive(sigma_v0_eff) * positive(OCR) ** m)


@equation(
    gives="su",
    formula="su = 0.21 sigma_p",
    reference="ufc-3-220-10",
    where="Ch. 8 (strength from yield stress)",
    mark=Mark.VERIFIED,
    units={"sigma_p": "kPa", "return": "kPa"},
    validity="clay; mean of modes of shearing",
)
def su_yield_stress(sigma_p: ArrayLike) -> FloatArray:
    """Undrained shear strength from the yield stress.

    Parameters
    ----------
    sigma_p
        Yield stress [kPa].

    Returns
    -------
    FloatArray
        Undrained shear strength [kPa]; NaN where the yield stress is not positive.

    Examples
    --------
    >>> float(su_yield_stress(100.0))
    21.0
    """
    (sigma_p,) = floats(sigma_p)
    return 0.21 * positive(sigma_p)


@equation(
    gives="St",
    formula="St = 7.1 / Fr",
    reference="robertson-2009",
    mark=Mark.MEMORY,
    units={"Fr": "%", "return": "-"},
    validity="clay, Fr up to 10 %; fs taken as the remoulded strength, Nkt about 14",
    scatter=factor_of(2.0, "a factor of about two"),
)
def St_robertson_2009(Fr: ArrayLike) -> FloatArray:
    """Sensitivity from the normalised friction ratio.

    Parameters
    ----------
    Fr
        Normalised friction ratio [%].

    Returns
    -------
    FloatArray
        Sensitivity [-]; NaN where Fr is not positive or above 10 %.

    Examples
    --------
    >>> round(float(St_robertson_2009(2.0)), 2)
    3.55
    """
    (Fr,) = floats(Fr)
    return 7.1 / np.where(Fr <= 10.0, positive(Fr), np.nan)


@equation(
    gives="St",
    formula="St = Ns / Rf",
    reference="lunne-1997",
    mark=Mark.MEMORY,
    units={"Rf": "%", "Ns": "-", "return": "-"},
    validity="clay; Ns 6 to 10, 7.5 typical",
    scatter=factor_of(2.0, "a factor of about two; Ns 6 to 10 is a part of it"),
)
def St_lunne_1997(Rf: ArrayLike, Ns: ArrayLike = 7.5) -> FloatArray:
    """Sensitivity from the friction ratio, the older form.

    Parameters
    ----------
    Rf
        Friction ratio [%].
    Ns
        Factor [-].

    Returns
    -------
    FloatArray
        Sensitivity [-]; NaN where Rf is not positive.

    Examples
    --------
    >>> float(St_lunne_1997(2.5))
    3.0
    """
    Rf, Ns = floats(Rf, Ns)
    return positive(Ns) / positive(Rf)

"""How much a rod string carries before it bows out: free length, soft ground, casing.

Forces in kN, lengths in m, moduli and stresses in kPa. A straight rod is assumed everywhere; bent
rods carry less, so a safety factor belongs on every number here (see :data:`SAFETY`).
"""

from __future__ import annotations

import math

STEEL = 205e6
"""Young's modulus of steel [kPa]; 200 to 210 GPa in handbooks."""
SAFETY = 2.0
"""On straight-rod loads, for bent rods and eccentric push; common practice, from memory."""
END_FACTORS = {
    "fixed-fixed": 0.65,
    "fixed-pinned": 0.8,
    "pinned-pinned": 1.0,
    "fixed-guided": 1.2,
    "fixed-free": 2.1,
}
"""Effective length factors for design, FHWA-NHI-16-009 (GEC-12) Figure 8-4, verified."""


def tube(outer: float, inner: float = 0.0) -> tuple[float, float]:
    """Return area [m2] and second moment of area [m4] of a tube.

    Examples
    --------
    >>> area, second = tube(0.036, 0.016)
    >>> round(area * 1e6, 1), round(second * 1e12)
    (816.8, 79231)
    """
    if not outer > inner >= 0:
        raise ValueError(f"outer diameter {outer:g} m is not above the inner {inner:g} m")
    return math.pi / 4 * (outer**2 - inner**2), math.pi / 64 * (outer**4 - inner**4)


def euler_load(stiffness: float, length: float, end_factor: float = 1.0) -> float:
    """Return the load at which a free rod bows out [kN]; infinite for no free length.

    Parameters
    ----------
    stiffness
        Bending stiffness E I [kN m2].
    length
        Free length [m].
    end_factor
        Effective length factor K [-]; 1 for two hinges.

    Notes
    -----
    pi^2 E I / (K l)^2; FHWA-NHI-05-039 equation 5-5, FHWA-NHI-16-009 equation 8-39.

    Examples
    --------
    >>> round(euler_load(205e6 * 79231e-12, 2.0), 1)
    40.1
    """
    if length <= 0:
        return math.inf
    return math.pi**2 * stiffness / (end_factor * length) ** 2


def column_load(stiffness: float, squash: float, length: float, end_factor: float = 1.0) -> float:
    """Return the load of a free rod with its yield strength counted in [kN].

    Parameters
    ----------
    stiffness, length, end_factor
        As for :func:`euler_load`.
    squash
        Load at which the section yields, area times yield strength [kN].

    Notes
    -----
    FHWA-NHI-16-009 (GEC-12) equations 8-43 and 8-44: 0.658^(Po/Pe) Po where Pe/Po >= 0.44, else
    0.877 Pe.

    Examples
    --------
    The printed example of GEC-12 section 8.5.3 (kip): Po 1720, Pe 6120, Pn 1529.

    >>> round(column_load(6120.0 / 9.8696044, 1720.0, 1.0))
    1529
    """
    euler = euler_load(stiffness, length, end_factor)
    if euler >= 0.44 * squash:
        return squash * math.exp(math.log(0.658) * squash / euler)
    return 0.877 * euler


def bedded_load(stiffness: float, subgrade: float, length: float = math.inf) -> float:
    """Return the load at which a rod held by the ground bows out [kN].

    Parameters
    ----------
    stiffness
        Bending stiffness E I [kN m2].
    subgrade
        Lateral stiffness of the ground, load per length and deflection [kN/m2]; 0 for none.
    length
        Length in that ground [m], hinged at both ends; infinite for a long one.

    Notes
    -----
    The least over whole numbers m of half waves of ``pi^2 E I m^2 / l^2 + k l^2 / (pi^2 m^2)``;
    FHWA-NHI-05-039 equation 5-28. A long rod gives ``2 sqrt(k E I)``.

    Examples
    --------
    >>> round(bedded_load(210e6 * 79230.97e-12, 500.0), 1)
    182.4
    """
    if length <= 0:
        return math.inf
    if math.isinf(length):
        return 2 * math.sqrt(subgrade * stiffness)
    best = length / (math.pi * (stiffness / subgrade) ** 0.25) if subgrade > 0 else 1.0
    waves = {1, max(1, math.floor(best)), max(1, math.ceil(best))}
    return min(
        math.pi**2 * stiffness * m**2 / length**2 + subgrade * length**2 / (math.pi * m) ** 2
        for m in waves
    )


def subgrade_of(strength: float) -> float:
    """Return the lateral stiffness of soft clay from its undrained strength [kN/m2].

    Notes
    -----
    67 times the undrained strength, a rule for piles (Davisson 1970); from memory.

    Examples
    --------
    >>> subgrade_of(10.0)
    670.0
    """
    return 67.0 * strength

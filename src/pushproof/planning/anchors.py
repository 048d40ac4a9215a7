"""Screw anchors: how much they hold, from installation torque and from the ground.

The torque is the proof; what a model of the ground says is a guess before the day. Forces in kN,
torque in kN m, lengths in m, angles in deg.

An anchor that carries a push is a temporary work under tension: keep clear of the line of pull,
and stop if anchors creep or the ground domes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

INCH = 0.0254
FOOT = 0.3048

SMALL_FACTOR = 10.0 / FOOT
"""Torque factor of square bars and of round shafts under 89 mm [1/m], 10 per foot: Hoyt and
Clemence (1989), as quoted in a technical manual; verified in that quotation."""
VERIFIED_SIZES = {"square": (1.5 * INCH, 3.0 * INCH), "round": (2.375 * INCH, 4.5 * INCH)}
"""Sizes of shaft that ICC-ES AC358 covers since 2016, as printed by Souissi (2016)."""
TORQUE_SAFETY = 2.0
"""With torque measured at every anchor; an anchor page citing AC358, verified there."""
MODEL_SAFETY = 3.0
"""Without a torque reading: own choice."""
DEEP = 5.0
"""Embedment over the top plate, in its diameters, from which a plate counts as deep:
UFC 3-220-20 section 6-4.7, verified."""
UPLIFT_SHARE = 0.5
"""Share of the bearing factor of sand that is counted in uplift: own choice, cautious."""

Shaft = Literal["square", "round"]


def torque_factor(shaft: Shaft, size: float, given: float | None = None) -> float:
    """Return the torque factor of a shaft [1/m].

    Parameters
    ----------
    shaft
        ``"square"`` or ``"round"``.
    size
        Width of a square or outer diameter of a round shaft [m].
    given
        A factor from load tests of that anchor [1/m].

    Raises
    ------
    ValueError
        If no published factor covers the size and none is given, or if the given one is more
        than a quarter above the published one for that shaft: 33 per metre belongs to small
        shafts and doubles the holding power of a tube on paper.

    Notes
    -----
    The lower of 10 per foot and ``22.285 d^-0.9195`` (per foot, d in inches, diagonal for
    squares): ICC-ES AC358 as printed by Souissi (2016). The second gives 7.0 per foot at 3.5 in,
    the value of Hoyt and Clemence, and 5.6 at 4.5 in.

    Examples
    --------
    >>> round(torque_factor("square", 0.0381), 1), round(torque_factor("round", 0.1143), 1)
    (32.8, 18.3)
    """
    low, high = VERIFIED_SIZES[shaft]
    known = low * 0.999 <= size <= high * 1.001
    effective = size * (math.sqrt(2) if shaft == "square" else 1.0) / INCH
    published: float = min(SMALL_FACTOR, 22.285 * effective**-0.9195 / FOOT)
    if given is None:
        if not known:
            raise ValueError(
                f"no published torque factor for a {shaft} shaft of {size * 1000:.0f} mm (known: "
                f"{low * 1000:.0f} to {high * 1000:.0f} mm); give one from load tests of the anchor"
            )
        return published
    if given > 1.25 * published:
        raise ValueError(
            f"torque factor {given:.0f} per metre refused for a {shaft} shaft of "
            f"{size * 1000:.0f} mm: published is {published:.0f} per metre; the factor of small "
            f"shafts ({SMALL_FACTOR:.0f}) does not hold for tubes"
        )
    return given


def torque_capacity(torque: float, factor: float) -> float:
    """Return the ultimate pull from the torque at the end of installation [kN].

    Examples
    --------
    >>> round(torque_capacity(2.0, torque_factor("square", 0.0381)), 1)
    65.6
    """
    return torque * factor


def sand_factor(phi: float) -> float:
    """Return the bearing factor Nq of sand [-] (Reissner; EN 1997-1 Annex D as remembered).

    Examples
    --------
    >>> round(sand_factor(30.0), 1)
    18.4
    """
    tangent = math.tan(math.radians(phi))
    return math.exp(math.pi * tangent) * math.tan(math.radians(45 + phi / 2)) ** 2


@dataclass(frozen=True, slots=True)
class AnchorGround:
    """Ground that an anchor stands in: clay by ``su`` [kPa], or sand by ``phi`` [deg].

    ``gamma`` is the effective unit weight [kN/m3].
    """

    su: float | None = None
    phi: float | None = None
    gamma: float = 9.0

    def shear(self, top: float, base: float) -> float:
        """Return the mean shear strength on a vertical face between two depths [kPa].

        Sand by K0 = 1 - sin(phi) (Jaky), clay by its undrained strength.
        """
        if self.su is not None:
            return self.su
        phi = math.radians(self.phi or 0.0)
        return (1 - math.sin(phi)) * math.tan(phi) * self.gamma * (top + base) / 2

    def end_bearing(self, depth: float) -> float:
        """Return the pressure under which a deep plate gives way [kPa].

        9 su in clay (common for deep plates, from memory); q' Nq in sand, halved for uplift.
        """
        if self.su is not None:
            return 9.0 * self.su
        return UPLIFT_SHARE * sand_factor(self.phi or 0.0) * self.gamma * depth


def bearing_capacity(helices: Sequence[float], depths: Sequence[float], g: AnchorGround) -> float:
    """Return the pull of plates that each bear on their own [kN].

    Parameters
    ----------
    helices
        Diameters of the plates [m], the top one first.
    depths
        Their depths [m].
    g
        The ground.
    """
    areas = (math.pi / 4 * d**2 for d in helices)
    return sum(a * g.end_bearing(z) for a, z in zip(areas, depths, strict=True))


def cylinder_capacity(helices: Sequence[float], depths: Sequence[float], g: AnchorGround) -> float:
    """Return the pull of the ground between the plates as one cylinder [kN].

    Side of the cylinder between top and bottom plate, and the bearing of the top plate.
    """
    d = sum(helices) / len(helices)
    side = math.pi * d * (depths[-1] - depths[0]) * g.shear(depths[0], depths[-1])
    return side + math.pi / 4 * helices[0] ** 2 * g.end_bearing(depths[0])


def column_capacity(diameter: float, depth: float, g: AnchorGround) -> float:
    """Return the pull of the column of ground over a shallow plate: weight and side [kN]."""
    weight = math.pi / 4 * diameter**2 * depth * g.gamma
    return weight + math.pi * diameter * depth * g.shear(0.0, depth)


def block_capacity(
    count: int, spacing: float, diameter: float, depth: float, g: AnchorGround
) -> float:
    """Return the pull of the block of ground that a row of anchors shares [kN]."""
    length, width = (count - 1) * spacing + diameter, diameter
    side = 2 * (length + width) * depth * g.shear(0.0, depth)
    return side + length * width * depth * g.gamma

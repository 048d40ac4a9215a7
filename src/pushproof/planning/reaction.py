"""What holds the rig down: weight, anchors, slope, tipping; and what it does to the ground.

Forces in kN, lengths in m, pressures in kPa. A rig that lifts is a danger to the crew: stop before
it does. Anchors can meet services; local rules decide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from pushproof.model.findings import Finding, Severity
from pushproof.planning.anchors import (
    DEEP,
    MODEL_SAFETY,
    TORQUE_SAFETY,
    AnchorGround,
    bearing_capacity,
    block_capacity,
    column_capacity,
    cylinder_capacity,
    torque_capacity,
    torque_factor,
)
from pushproof.planning.document import Anchors, PushRig

GRAVITY = 9.81
STEEP = 5.0
"""Slope from which the rig should be levelled or held [deg]: own choice."""
NC_STRIP = math.pi + 2
"""Bearing factor of clay under a strip (Prandtl; EN 1997-1 Annex D as remembered)."""
MAT_SAFETY = 2.0
"""On the bearing of ground under mats: own choice."""
LEAST_SPACING = 3.0
"""Least distance of anchors in plate diameters before the shared block counts: from memory."""


@dataclass(frozen=True)
class AnchorEstimate:
    """What one anchor holds.

    Parameters
    ----------
    ultimate
        Method to ultimate pull [kN], of one anchor.
    used
        The method that counts.
    safety
        Safety factor [-].
    allowable
        Allowed pull of one anchor in the group [kN].
    group
        Share that the group leaves of the sum of single anchors [-].
    findings
        What limits it.
    """

    ultimate: dict[str, float]
    used: str
    safety: float
    allowable: float
    group: float = 1.0
    findings: tuple[Finding, ...] = ()


def _finding(id_: str, severity: Severity, found: str, expected: str, source: str) -> Finding:
    return Finding(id_, severity, found, expected, source=source)


def estimate_anchor(anchors: Anchors) -> AnchorEstimate:
    """Return what one anchor of a set holds, by every method that its data allow.

    Raises
    ------
    ValueError
        If the torque factor is not one for that shaft.
    """
    found: list[Finding] = []
    ultimate: dict[str, float] = {}
    if anchors.capacity is not None:
        ultimate["load test"] = anchors.capacity
    if anchors.torque is not None or anchors.torque_factor is not None:
        factor = torque_factor(anchors.shaft, anchors.shaft_size, anchors.torque_factor)
        if anchors.torque is not None:
            ultimate["torque"] = torque_capacity(anchors.torque, factor)
    ground = None
    if anchors.su is not None or anchors.phi is not None:
        ground = AnchorGround(anchors.su, anchors.phi, anchors.gamma)
        ultimate |= _models(anchors, ground)
    if anchors.torque is not None and anchors.torque > (anchors.torque_limit or math.inf):
        text = f"torque {anchors.torque:g} kNm is above the rating {anchors.torque_limit:g} kNm"
        found.append(_finding("anchor-torque", Severity.STOP, text, "replace the anchor", ""))
    top = anchors.helices[0]
    if anchors.depth < DEEP * top and "load test" not in ultimate:
        text = f"the top plate is {anchors.depth / top:.1f} diameters deep"
        advice = f"at least {DEEP:g} diameters, else it may pull a cone of ground up"
        found.append(
            _finding("anchor-shallow", Severity.CAUTION, text, advice, "UFC 3-220-20 6-4.7")
        )
    if not ultimate:
        text = "nothing tells what the anchors hold"
        advice = "give torque, su or phi, or a load test; counted as nothing"
        found.append(_finding("anchor-unknown", Severity.CAUTION, text, advice, ""))
        return AnchorEstimate({}, "", 1.0, 0.0, 1.0, tuple(found))
    used = next((key for key in ("load test", "torque") if key in ultimate), "")
    safety = TORQUE_SAFETY if used else MODEL_SAFETY
    used = used or min(ultimate, key=lambda key: ultimate[key])
    safety = anchors.safety or safety
    if safety < 2.0 and used != "load test":
        text = f"safety factor {safety:g} on anchors"
        found.append(_finding("anchor-safety", Severity.CAUTION, text, "2 or more", "from memory"))
    group = _group(anchors, ground, ultimate[used], found)
    found += _distances(anchors)
    return AnchorEstimate(
        ultimate, used, safety, ultimate[used] / safety * group, group, tuple(found)
    )


def _models(anchors: Anchors, ground: AnchorGround) -> dict[str, float]:
    """Return what bearing and cylinder model say; a shallow plate also as a column of ground."""
    spacing = anchors.plate_spacing or 3.0 * anchors.helices[0]
    depths = [anchors.depth + i * spacing for i in range(len(anchors.helices))]
    found = {"bearing": bearing_capacity(anchors.helices, depths, ground)}
    if len(anchors.helices) > 1:
        found["cylinder"] = cylinder_capacity(anchors.helices, depths, ground)
    if anchors.depth < DEEP * anchors.helices[0]:
        found["column of ground"] = column_capacity(anchors.helices[0], anchors.depth, ground)
    return found


def _group(
    anchors: Anchors, ground: AnchorGround | None, single: float, found: list[Finding]
) -> float:
    """Return the share that the group leaves; anchors too close hold one block of ground."""
    widest = max(anchors.helices)
    if anchors.spacing is None or anchors.count < 2:
        return 1.0
    if anchors.spacing >= LEAST_SPACING * widest:
        return 1.0
    share = anchors.spacing / (LEAST_SPACING * widest)
    if ground is not None:
        block = block_capacity(anchors.count, anchors.spacing, widest, anchors.depth, ground)
        share = min(1.0, block / (anchors.count * single))
    text = f"anchors {anchors.spacing:g} m apart are {anchors.spacing / widest:.1f} plates apart"
    advice = f"{LEAST_SPACING:g} plate diameters; the group counts as {100 * share:.0f} %"
    found.append(_finding("anchor-group", Severity.CAUTION, text, advice, "from memory"))
    return share


def _distances(anchors: Anchors) -> list[Finding]:
    found = []
    if anchors.edge is not None and anchors.edge < anchors.depth:
        text = f"an edge is {anchors.edge:g} m from anchors {anchors.depth:g} m deep"
        advice = "keep at least the depth of the anchor away; it may break out"
        found.append(_finding("anchor-edge", Severity.STOP, text, advice, "own choice"))
    if anchors.to_rods is not None and anchors.to_rods < LEAST_SPACING * max(anchors.helices):
        text = f"anchors stand {anchors.to_rods:g} m from the rods"
        advice = "farther away: they loosen the ground that the cone tests"
        found.append(_finding("anchor-rods", Severity.CAUTION, text, advice, "own choice"))
    return found


@dataclass(frozen=True)
class Reaction:
    """What can be pushed with.

    Parameters
    ----------
    weight
        Of the rig [kN].
    usable
        Of the weight alone: the share that counts, less on a slope or off centre [kN].
    anchors
        Allowed pull of all anchors [kN].
    each
        What one anchor holds, or None without anchors.
    tipping
        Push at which the rig lifts on one side, without anchors [kN]; None if not known.
    mat_pressure, allowed_pressure
        Under a mat [kPa], None if not known.
    findings
        What limits it.
    """

    weight: float
    usable: float
    anchors: float
    each: AnchorEstimate | None
    tipping: float | None
    mat_pressure: float | None
    allowed_pressure: float | None
    findings: tuple[Finding, ...] = field(default=())

    @property
    def total(self) -> float:
        """Usable reaction [kN]."""
        return self.usable + self.anchors


def reaction_of(rig: PushRig, anchors: Anchors | None) -> Reaction:
    """Return the reaction of a rig as it stands.

    Raises
    ------
    ValueError
        If the torque factor given is refused.

    Examples
    --------
    >>> reaction = reaction_of(PushRig(mass=20_000), None)
    >>> round(reaction.weight, 1), round(reaction.usable, 1)
    (196.2, 166.8)
    """
    found: list[Finding] = []
    weight = rig.mass * GRAVITY / 1000
    upright = weight * math.cos(math.radians(rig.slope))
    usable = rig.usable * upright
    tipping = None
    if rig.support_width is not None:
        half = rig.support_width / 2
        tipping = upright * half / (half + rig.rod_offset)
        usable = rig.usable * tipping
        if rig.rod_offset >= half:
            text = f"the rods stand {rig.rod_offset:g} m off centre, outside the supports"
            found.append(_finding("rods-outside", Severity.STOP, text, "set the rig up anew", ""))
    elif rig.rod_offset:
        text = "rods off centre, but nobody gave the width of the supports"
        found.append(_finding("tipping-unknown", Severity.CAUTION, text, "give support_width", ""))
    if rig.slope > STEEP:
        text = f"the ground slopes {rig.slope:g} deg"
        advice = "level the rig and keep it from sliding before it pushes"
        found.append(_finding("slope", Severity.CAUTION, text, advice, "own choice"))
    each, pull = None, 0.0
    if anchors is not None and anchors.count:
        each = estimate_anchor(anchors)
        pull = anchors.count * each.allowable
        found += each.findings
    pressure, allowed = _mats(rig, weight, found)
    return Reaction(weight, usable, pull, each, tipping, pressure, allowed, tuple(found))


def _mats(rig: PushRig, weight: float, found: list[Finding]) -> tuple[float | None, float | None]:
    """Return the pressure under the mats when rods are drawn, and what the ground allows."""
    if rig.mat_area is None:
        return None, rig.allowable_pressure
    pressure = (weight + rig.pull) / (rig.mats * rig.mat_area)
    allowed = rig.allowable_pressure
    if allowed is None and rig.surface_strength is not None:
        allowed = NC_STRIP * rig.surface_strength / MAT_SAFETY
    if allowed is not None and pressure > allowed:
        text = f"{pressure:.0f} kPa under the mats, {allowed:.0f} kPa allowed"
        advice = f"mats of {(weight + rig.pull) / (rig.mats * allowed):.2f} m2 each, or firm ground"
        found.append(_finding("mat-pressure", Severity.STOP, text, advice, "Prandtl, own factor"))
    return pressure, allowed

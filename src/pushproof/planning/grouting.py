"""What a crew says of a hole and its grout, and the plan that follows: for command and page alike.

Volumes and mixes are worked out in :mod:`pushproof.planning.closing`; this joins what is known of a
sounding with what was typed. Lengths and diameters in m, areas in m2, volumes in litres.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pushproof.errors import ConfigurationError
from pushproof.model.findings import Finding
from pushproof.model.sounding import Sounding
from pushproof.planning.closing import (
    Closing,
    Grouting,
    GroutOrder,
    Take,
    cone_diameter,
    hole,
    method_findings,
    mixes,
)

TIP_AREA = 0.001
"""Area of a tip that nobody stated [m2]."""
ROD_DIAMETER = 0.036
"""Diameter of rods that nobody stated [m]."""


@dataclass(frozen=True)
class Hole:
    """What is known of a hole before anything is typed.

    Parameters
    ----------
    name
        Name of the sounding.
    about
        Pairs of a heading and its text.
    depth
        Depth reached [m]; None if it is not in the record.
    tip_area, rods
        Area of the tip [m2] and diameter of the rods [m]; None if nobody stated them.
    water_level
        Depth of the water table [m].
    """

    name: str = "Hole"
    about: tuple[tuple[str, str], ...] = ()
    depth: float | None = None
    tip_area: float | None = None
    rods: float | None = None
    water_level: float | None = None


def hole_of(one: Sounding) -> Hole:
    """Return what a sounding tells of its hole."""
    reached = one.readings.get("length")
    if not np.isfinite(reached).any():
        reached = one.readings.get("depth")
    pushed = "" if one.started is None else one.started.strftime("%Y-%m-%d")
    about = (("Project", one.project or ""), ("Place", one.place or ""), ("Pushed", pushed))
    return Hole(
        one.name,
        tuple((key, text) for key, text in about if text),
        float(np.nanmax(reached)) if np.isfinite(reached).any() else None,
        one.cone.tip_area,
        None if one.rods is None else one.rods.outer_diameter,
        None if one.water is None else one.water.level,
    )


@dataclass(frozen=True)
class GroutPlan:
    """The grout for one hole, and what speaks against the way to place it.

    Parameters
    ----------
    hole
        The hole with what was typed put over what was known.
    order
        What was typed.
    grouting
        Volumes, mix, batches and bags.
    found
        What speaks against the method.
    """

    hole: Hole
    order: GroutOrder
    grouting: Grouting
    found: tuple[Finding, ...]

    def closing(self, take: Take) -> Closing:
        """Return the record of a hole that was closed by this plan."""
        return Closing(
            method=self.order.method,
            mix=self.order.mix,
            depth=self.grouting.depth,
            hole_volume=self.grouting.hole_volume,
            planned=self.grouting.planned,
            order=self.order,
            **take.model_dump(),
        )


def plan_grout(order: GroutOrder, known: Hole) -> GroutPlan:
    """Return the grout for a hole.

    Parameters
    ----------
    order
        What was typed; it counts before what is known.
    known
        What the record tells.

    Raises
    ------
    ConfigurationError
        If there is no such mix, or the depth is neither typed nor in the record.
    ValueError
        Naming every measure that cannot be.

    Examples
    --------
    >>> plan = plan_grout(GroutOrder(depth=20.0, tip_area=0.0015), Hole())
    >>> round(plan.grouting.hole_volume, 1), round(plan.grouting.planned)
    (30.0, 45)
    """
    if order.mix not in mixes():
        raise ConfigurationError(f"mix {order.mix!r}: known are {', '.join(mixes())}")
    depth = known.depth if order.depth is None else order.depth
    if depth is None:
        raise ConfigurationError("depth: it is not in the record; give the depth of the hole [m]")
    level = known.water_level if order.water_level is None else order.water_level
    bores = hole(
        depth,
        cone=cone_diameter(order.tip_area or known.tip_area or TIP_AREA),
        rods=order.rods or known.rods or ROD_DIAMETER,
        reducer=order.reducer,
        casing_depth=order.casing_depth,
        casing=order.casing,
        predrilled=order.predrilled,
        predrilled_diameter=order.predrilled_diameter,
    )
    about = [*known.about, ("Depth", f"{depth:.2f} m")]
    if level is not None:
        about.append(("Water table", f"{level:.2f} m below ground"))
    grouting = Grouting(
        bores, mixes()[order.mix], order.loss, order.batch, order.cement_bag, order.bentonite_bag
    )
    found = method_findings(order.method, depth, water_level=level, artesian=order.artesian)
    return GroutPlan(
        replace(known, about=tuple(about), depth=depth, water_level=level), order, grouting, found
    )

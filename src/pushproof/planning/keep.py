"""A plan as a fact of the job: plan and ground as plain values, and the forecast made of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from pushproof.planning.document import Plan, plan_from
from pushproof.planning.forecast import Forecast
from pushproof.planning.ground import Ground
from pushproof.planning.outlook import buckling_rows, limits_of
from pushproof.planning.reaction import reaction_of
from pushproof.planning.thrust import loads_of


def kept(plan: Plan, ground: Ground) -> dict[str, Any]:
    """Return plan and ground as plain values for the job file; numbers to 4 digits."""
    ground = ground.to(plan.target)
    columns = {"depth": ground.depth, "qc": ground.qc, "fs": ground.fs, "spread": ground.spread}
    return {
        "plan": plan.model_dump(mode="json", exclude_unset=True),
        "ground": {
            "source": ground.source,
            "soundings": ground.soundings,
            **{key: [float(f"{v:.4g}") for v in values] for key, values in columns.items()},
        },
    }


def taken_up(document: Mapping[str, Any]) -> tuple[Plan, Ground]:
    """Return plan and ground from what :func:`kept` gave.

    Raises
    ------
    ConfigurationError
        If the plan is not one.
    """
    ground = document["ground"]
    depth, qc, fs, spread = (
        np.asarray(ground[key], dtype=np.float64) for key in ("depth", "qc", "fs", "spread")
    )
    plan = plan_from(dict(document["plan"]), "plan in the job")
    return plan, Ground(depth, qc, fs, spread, ground["source"], int(ground["soundings"]))


def forecast_of(plan: Plan, ground: Ground) -> Forecast:
    """Return the forecast that follows a push by a plan.

    Raises
    ------
    ValueError
        If the torque factor of the anchors is refused.
    """
    ground = ground.to(plan.target)
    reaction = reaction_of(plan.rig, plan.anchors)
    limits = limits_of(plan, reaction, buckling_rows(plan, ground))
    loads = loads_of(plan.cone, plan.rods)
    return Forecast(loads, plan.target, limits, ground, predrilled=plan.predrilled)

"""Boundaries that the search sets though the ground has none: taken out again.

Two kinds are left over by a search for steps. A cone feels a firm or a soft layer before it gets
there, so that a thin unit appears between two, with a value between theirs. And a steady change
with depth is cut where a step stands for a slope: strength that grows, or, in the first metres,
resistance divided by a stress that is nearly nothing. Measured on simulated ground and on logged
layers; see *What the automatic units are worth*.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pushproof.interpretation.layercells import Part
from pushproof.interpretation.layersearch import Search
from pushproof.interpretation.units import main_zones
from pushproof.model.profile import Interpretation

FloatArray = NDArray[np.float64]

TRANSITION = 0.8
"""A unit thinner than this [m] may be what the cone feels ahead of a boundary: some twenty cone
diameters. Own choice."""
LOOK = 3.0
"""Ground on either side of a boundary over which a trend is looked for [m]. Own choice."""
_FEWEST = 3
"""Rows on either side that a step needs to be told from a trend."""


def pruned(
    interpretation: Interpretation, search: Search, part: Part, places: list[float]
) -> list[float]:
    """Return the boundaries of a part that a transition or a trend does not explain [m]."""
    places = without_transitions(search, part, places)
    return without_trends(interpretation, search, part, places)


def without_transitions(search: Search, part: Part, places: list[float]) -> list[float]:
    """Return boundaries with one instead of two where a thin unit lies between its neighbours.

    Between them means in every feature. The thinnest goes first; of its two boundaries the one
    with the larger step stays.
    """
    kept = list(places)
    while True:
        ends = [part.top, *kept, part.base]
        thin = [
            (ends[k + 1] - ends[k], k)
            for k in range(1, len(ends) - 2)
            if ends[k + 1] - ends[k] < TRANSITION and _between(search, ends[k - 1 : k + 3])
        ]
        if not thin:
            return kept
        k = min(thin)[1]
        above, below = search.contrast(*ends[k - 1 : k + 2]), search.contrast(*ends[k : k + 3])
        del kept[k - 1 if above < below else k]


def without_trends(
    interpretation: Interpretation, search: Search, part: Part, places: list[float]
) -> list[float]:
    """Return boundaries whose step tells more than one straight line over both sides.

    A step has two means and a line has two coefficients in each feature, so that the sums of
    squares are compared as they are. The weakest goes first. A step that earns the penalty on top
    of the line stays, and so do neighbours that have no main behaviour in common, since a unit is
    named by its behaviour.
    """
    kept = list(places)
    while kept:
        ends = [part.top, *kept, part.base]
        leads = [
            (step_lead(search, *three), k)
            for k in range(len(kept))
            if _share_a_zone(interpretation, search, *(three := ends[k : k + 3]))
        ]
        if not leads or min(leads)[0] > 0:
            break
        del kept[min(leads)[1]]
    return kept


def step_lead(search: Search, top: float, edge: float, base: float) -> float:
    """Return by how much a step at a boundary leaves a lower sum of squares than a line does.

    Parameters
    ----------
    search
        The search.
    top, base
        Neighbouring boundaries [m]; no more than :data:`LOOK` on either side is looked at.
    edge
        The boundary [m].

    Returns
    -------
    float
        Below zero if the line is nearer; infinite where a step on top of the line earns the
        penalty, and where too few rows are there to tell.
    """
    rows = search.rows(max(top, edge - LOOK), min(base, edge + LOOK))
    depth, values = search.ground.depth[rows], search.ground.features[rows]
    above = depth < edge
    if min(above.sum(), (~above).sum()) < _FEWEST:
        return float("inf")
    upper, lower = values[above], values[~above]
    step = ((upper - upper.mean(axis=0)) ** 2).sum() + ((lower - lower.mean(axis=0)) ** 2).sum()
    away = depth - depth.mean()
    slope = away @ values / (away @ away)
    bent = values - values.mean(axis=0) - away[:, None] * slope
    line = (bent**2).sum()
    # what a step gives on top of the line: a step within a slope is one
    side = above - above.mean()
    side = side - away * ((away @ side) / (away @ away))
    more = ((side @ bent) ** 2).sum() / (side @ side)
    if more * (depth[-1] - depth[0]) / len(depth) > search.penalty:
        return float("inf")
    return float(line - step)


def _between(search: Search, ends: list[float]) -> bool:
    upper, thin, lower = (search.means(ends[k], ends[k + 1]) for k in range(3))
    return bool(((thin - upper) * (lower - thin) > 0).all())


def _share_a_zone(
    interpretation: Interpretation, search: Search, top: float, edge: float, base: float
) -> bool:
    rows = search.ground.row
    upper, lower = (
        main_zones(interpretation, rows[search.rows(*pair)]) for pair in ((top, edge), (edge, base))
    )
    return upper == lower or not set(upper).isdisjoint(lower)

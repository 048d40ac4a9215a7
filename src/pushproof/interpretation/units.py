"""One unit of a sounding: its name in words, its seams and the statistics of its parameters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.behaviour import WORDS
from pushproof.interpretation.chain import COARSE_TO_FINE
from pushproof.interpretation.layercells import Ground, Void
from pushproof.model.layering import UnitName
from pushproof.model.profile import Interpretation
from pushproof.model.units import factor_to_display

if TYPE_CHECKING:
    from pushproof.interpretation.layersearch import Search

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SECOND = 0.30
"""A second zone is named if it fills at least this share of a unit."""
COVER = 0.25
"""A parameter is told if at least this share of a unit's rows has it: less is a seam's."""
SEAM = 0.04
"""Thinnest seam that is noted [m]."""
SEAM_STEP = 0.30
"""A seam differs by at least this from the median Ic of its unit."""
MOST_SEAMS = 3
LIKE = 1.0
"""Neighbours of one zone merge if they differ by less than the step that matters,"""
LIKE_HERE = 0.5
"""or by less than half of it close to the boundary: then it is a trend, not a step."""
NEAR = 1.0
"""How close that is [m]."""


@dataclass(frozen=True, slots=True)
class Statistic:
    """A parameter in a unit, in its display unit; ``deviation`` is the standard deviation."""

    count: int
    mean: float
    deviation: float
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True)
class Unit:
    """One unit.

    Parameters
    ----------
    number
        From 1, from the top down.
    top, base
        Depth [m].
    level_top, level_base
        Levels [m, datum], if the level of the zero of depth is known.
    name
        Soil behaviour in words, or the name that a person gave.
    kind
        ``"ground"``, ``"pre-excavated"``, ``"blanked"``, ``"no readings"`` or ``"no values"``.
    behaviour
        Soil behaviour in words, whatever the name; empty where there is none.
    zones
        The zones that fill most of it, the main one first.
    rows
        Rows with soil behaviour, or with resistance where there is none.
    ic
        Mean Ic, None where there is none.
    statistics
        Key to its numbers.
    notes
        Seams thinner than a unit, and where the ground changes too often for a name.
    named
        True if a person gave the name.
    """

    number: int
    top: float
    base: float
    level_top: float | None
    level_base: float | None
    name: str
    kind: str = "ground"
    behaviour: str = ""
    zones: tuple[int, ...] = ()
    rows: int = 0
    ic: float | None = None
    statistics: Mapping[str, Statistic] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    named: bool = False

    @property
    def thickness(self) -> float:
        """Thickness [m]."""
        return self.base - self.top

    def as_data(self) -> dict[str, Any]:
        """Return it as plain values, rounded to what is worth showing."""
        data = asdict(self)
        data |= {key: _rounded(data[key]) for key in ("top", "base", "level_top", "level_base")}
        data["thickness"] = _rounded(self.thickness)
        data["ic"] = _rounded(self.ic)
        data["zones"], data["notes"] = list(self.zones), list(self.notes)
        data["statistics"] = {
            key: {name: _figures(number) for name, number in asdict(one).items()}
            for key, one in self.statistics.items()
        }
        return data


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _figures(value: float) -> float:
    return value if isinstance(value, int) else float(f"{value:.5g}")


def describe(
    interpretation: Interpretation,
    ground: Ground,
    number: int,
    top: float,
    base: float,
    void: Void | None,
    parameters: Sequence[str],
    names: Sequence[UnitName],
) -> Unit:
    """Return the unit between two depths [m]."""
    level = interpretation.profile.sounding.location.level
    place = (
        number,
        round(top, 4),
        round(base, 4),
        None if level is None else level - top,
        None if level is None else level - base,
    )
    given = [one.name for one in names if top <= one.depth < base]
    if void is not None:
        name = given[-1] if given else void.words
        return Unit(*place, name, void.kind, named=bool(given))
    a, b = np.searchsorted(ground.depth, [top, base])
    if base >= float(ground.depth[-1]):
        b = np.intp(len(ground.depth))
    rows = ground.row[a:b]
    zones = main_zones(interpretation, rows)
    behaviour = " / ".join(WORDS[zone] for zone in zones)
    ic = interpretation.series.get("Ic")[rows]
    return Unit(
        *place,
        name=given[-1] if given else behaviour or "soil behaviour not known",
        behaviour=behaviour,
        zones=zones,
        rows=len(rows),
        ic=float(ic.mean()) if len(ic) and np.isfinite(ic).all() else None,
        statistics=_statistics(interpretation, rows, parameters),
        notes=_seams(ground.depth[a:b], ic, base),
        named=bool(given),
    )


def main_zones(interpretation: Interpretation, rows: NDArray[np.intp]) -> tuple[int, ...]:
    """Return the zone that fills most of some rows, with a second one if it fills a good share."""
    zone = interpretation.series.get("zone")[rows]
    zone = zone[np.isfinite(zone)].astype(np.int64)
    if not zone.size:
        return ()
    counts = np.bincount(zone, minlength=10)
    order = np.argsort(-counts, kind="stable")
    if counts[order[1]] >= SECOND * zone.size:
        return int(order[0]), int(order[1])
    return (int(order[0]),)


def same_ground(
    interpretation: Interpretation, ground: Ground, search: Search, ends: Sequence[float]
) -> bool:
    """Tell whether two neighbours are one unit: the same behaviour and like resistance.

    Parameters
    ----------
    ends
        Top, boundary and base [m].
    """
    top, edge, base = ends
    a, b, c = np.searchsorted(ground.depth, [top, edge, base])
    upper = main_zones(interpretation, ground.row[a:b])
    lower = main_zones(interpretation, ground.row[b:c])
    if upper[:1] != lower[:1]:
        return False
    near = search.contrast(max(top, edge - NEAR), edge, min(base, edge + NEAR))
    return search.contrast(top, edge, base) < LIKE or near < LIKE_HERE


def _statistics(
    interpretation: Interpretation, rows: NDArray[np.intp], keys: Sequence[str]
) -> dict[str, Statistic]:
    found = {}
    for key in keys:
        values = interpretation.series.get(key)[rows]
        values = values[np.isfinite(values)] * factor_to_display(key)
        if len(values) < max(3, COVER * len(rows)):
            continue
        p10, p50, p90 = np.percentile(values, [10, 50, 90])
        found[key] = Statistic(
            len(values),
            float(values.mean()),
            float(values.std(ddof=1)),
            float(p10),
            float(p50),
            float(p90),
        )
    return found


def _seams(depth: FloatArray, ic: FloatArray, base: float) -> tuple[str, ...]:
    """Return the notes on seams: what is thinner than a unit and of the other kind of ground."""
    if len(depth) < 4 or not np.isfinite(ic).all():
        return ()
    middle = float(np.median(ic))
    coarse = ic < COARSE_TO_FINE
    other = (coarse != (middle < COARSE_TO_FINE)) & (np.abs(ic - middle) >= SEAM_STEP)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], other.astype(np.int8), [0]])))
    ends = np.append(depth, base)
    seams = [
        (float(depth[a]), float(ends[b] - depth[a]))
        for a, b in edges.reshape(-1, 2)
        if ends[b] - depth[a] >= SEAM
    ]
    if not seams:
        return ()
    kind = "fine-grained" if middle < COARSE_TO_FINE else "coarse-grained"
    total = sum(thick for _, thick in seams)
    thickest = sorted(seams, key=lambda one: -one[1])[:MOST_SEAMS]
    told = ", ".join(f"{z:.2f} m ({thick:.2f} m thick)" for z, thick in sorted(thickest))
    if len(seams) > MOST_SEAMS:
        return (f"{len(seams)} {kind} seams, {total:.2f} m in all; the thickest at {told}",)
    return (f"{kind} seam{'s' * (len(seams) > 1)} at {told}",)

"""Layers: a profile divided into units, each with a name in words and its parameters.

Automatic units come from :mod:`pushproof.interpretation.layersearch`; a
:class:`~pushproof.model.layering.LayerChoice` in the recipe takes their place. Names are soil
behaviour, not a geological description, and the numbers are estimates.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from pushproof.interpretation.layercells import Ground, Part, Void, ground_of, parts_of
from pushproof.interpretation.layerpruning import pruned
from pushproof.interpretation.layersearch import Place, Search
from pushproof.interpretation.units import Statistic, Unit, describe, same_ground
from pushproof.model.layering import Boundary, LayerChoice, UnitName
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import quantity

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Edge", "Layers", "Statistic", "Unit", "layers"]

PARAMETERS = ("qt", "fs", "Rf", "Ic", "gamma", "su", "OCR", "phi", "Dr", "N60", "M", "E", "Vs")
"""Parameters told of each unit, if nobody chose others."""

FOUND, SET, RECORD = "found", "set", "record"
"""Where a boundary comes from: the search, a person, or the end of what was read."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A boundary between two units.

    Parameters
    ----------
    depth
        [m].
    origin
        ``"found"`` by the search, ``"set"`` by a person, ``"record"`` where it is the end of what
        was excavated, blanked or not read.
    confidence
        From 0 to 1: 1 - penalty / gain. 0.5 is a boundary that goes if the penalty doubles, 0.9
        one that goes only if it is ten times as high, 0 one that the profile does not ask for.
        None for an end of the record.
    spread
        It lies within plus or minus this [m] at 80 %, given that there is one. What the cone
        feels ahead of a boundary is not in it. None for an end of the record.
    contrast
        Step of the features there; 1 is half a zone of behaviour and a factor of 1.6 in
        resistance.
    author, reason
        Of a boundary that a person set.
    """

    depth: float
    origin: str
    confidence: float | None = None
    spread: float | None = None
    contrast: float | None = None
    author: str = ""
    reason: str = ""


@dataclass(frozen=True)
class Layers:
    """The units of a sounding, from the top down, without gaps between them.

    Parameters
    ----------
    name
        The sounding.
    units
        From ground level, or the first reading, to the last one.
    edges
        The boundaries between them: ``edges[k]`` is the base of ``units[k]``.
    automatic
        True if the search found the boundaries.
    min_thickness
        Thinnest unit of the search [m].
    parameters
        Keys of the parameters told of each unit.
    notes
        What was decided and could not be used.
    """

    name: str
    units: tuple[Unit, ...]
    edges: tuple[Edge, ...]
    automatic: bool
    min_thickness: float
    parameters: tuple[str, ...] = PARAMETERS
    notes: tuple[str, ...] = field(default=())

    def __len__(self) -> int:
        """Return the number of units."""
        return len(self.units)

    def at(self, depth: float) -> Unit | None:
        """Return the unit that holds a depth [m], or None."""
        for unit in self.units:
            if unit.top <= depth < unit.base:
                return unit
        last = self.units[-1] if self.units else None
        return last if last is not None and depth == last.base else None

    def choice(self, *, reason: str = "found by the search", author: str = "") -> LayerChoice:
        """Return the boundaries as a decision, ready to be edited and put into a recipe."""
        kept = [
            Boundary(depth=round(one.depth, 3), reason=one.reason or reason, author=one.author)
            if one.origin == SET
            else Boundary(depth=round(one.depth, 3), reason=reason, author=author)
            for one in self.edges
            if one.origin != RECORD
        ]
        names = [
            UnitName(depth=round((one.top + one.base) / 2, 3), name=one.name, reason=reason)
            for one in self.units
            if one.named
        ]
        return LayerChoice(
            min_thickness=self.min_thickness, boundaries=tuple(kept), names=tuple(names)
        )

    def as_data(self) -> dict[str, Any]:
        """Return all of it as plain values, for JSON; depths in m, parameters in display units."""
        return {
            "sounding": self.name,
            "automatic": self.automatic,
            "min_thickness": self.min_thickness,
            "parameters": {key: quantity(key).heading for key in self.parameters},
            "units": [one.as_data() for one in self.units],
            "boundaries": [
                {key: _short(value) for key, value in asdict(one).items()} for one in self.edges
            ],
            "notes": list(self.notes),
        }

    def to_frame(self) -> pd.DataFrame:
        """Return one row for each unit, headings with units in display units."""
        import pandas as pd

        rows = []
        for k, unit in enumerate(self.units):
            edge = self.edges[k] if k < len(self.edges) else None
            row: dict[str, Any] = {
                "unit": unit.number,
                "top [m]": unit.top,
                "base [m]": unit.base,
                "thickness [m]": round(unit.thickness, 3),
                "level of top [m]": unit.level_top,
                "level of base [m]": unit.level_base,
                "name": unit.name,
                "kind": unit.kind,
                "rows": unit.rows,
                "base: origin": edge.origin if edge else "end",
                "base: confidence [-]": _short(edge.confidence) if edge else None,
                "base: plus or minus [m]": _short(edge.spread) if edge else None,
                "notes": "; ".join(unit.notes),
            }
            for key in self.parameters:
                heading, found = quantity(key).heading, unit.statistics.get(key)
                row[f"mean {heading}"] = found.mean if found else None
                row[f"standard deviation {heading}"] = found.deviation if found else None
                row[f"p10 {heading}"] = found.p10 if found else None
                row[f"p90 {heading}"] = found.p90 if found else None
                row[f"values of {key}"] = found.count if found else 0
            rows.append(row)
        return pd.DataFrame(rows)


def _short(value: Any) -> Any:
    return round(value, 3) if isinstance(value, float) else value


def layers(
    interpretation: Interpretation,
    choice: LayerChoice | None = None,
    *,
    parameters: Sequence[str] = PARAMETERS,
) -> Layers:
    """Divide a sounding into units.

    Parameters
    ----------
    interpretation
        The sounding with its results.
    choice
        Boundaries and names; None takes those of the recipe, and without any the search.
    parameters
        Keys of the parameters told of each unit; those that the sounding lacks are left out.

    Returns
    -------
    Layers
        Units, boundaries and how firm each is.

    Raises
    ------
    ValueError
        If a parameter is not in the vocabulary.

    Examples
    --------
    >>> from pushproof.interpretation import interpret
    >>> from pushproof.processing import process
    >>> from pushproof.testing.samples import sample
    >>> found = layers(interpret(process(sample("clay-over-sand"))))
    >>> found.units[-1].name, found.edges[-1].origin
    ('sand', 'found')
    """
    for key in parameters:
        quantity(key)
    decided = choice if choice is not None else interpretation.profile.recipe.layers
    decided = decided if decided is not None else LayerChoice()
    ground = ground_of(interpretation)
    parts, voids = parts_of(interpretation, ground)
    search = Search.of(ground, parts, decided.min_thickness)
    notes: list[str] = []
    edges: list[Edge] = []
    for part in parts:
        if decided.boundaries is None:
            edges += _found(interpretation, search, part)
        else:
            edges += _set(search, part, decided.boundaries)
    if decided.boundaries is not None:
        notes += _unused(decided.boundaries, edges)
    kept = tuple(key for key in parameters if interpretation.series.measured(key))
    units, between = _assembled(interpretation, ground, parts, voids, edges, kept, decided)
    return Layers(
        interpretation.profile.sounding.name,
        units,
        between,
        decided.boundaries is None,
        decided.min_thickness,
        kept,
        tuple(notes),
    )


def _found(interpretation: Interpretation, search: Search, part: Part) -> list[Edge]:
    """Search one part, merge like neighbours, take out what is no step, judge what is left."""
    places = search.boundaries(part)
    places = _merged(interpretation, search, part, places)
    places = pruned(interpretation, search, part, places)
    places = search.refined(part, places)
    ends = [part.top, *places, part.base]
    return [_edge(search, *three, FOUND) for three in zip(ends, ends[1:], ends[2:], strict=False)]


def _edge(
    search: Search, top: float, edge: float, base: float, origin: str, by: Boundary | None = None
) -> Edge:
    place: Place = search.judged(top, edge, base)
    return Edge(
        edge,
        origin,
        place.confidence,
        place.spread,
        search.contrast(max(top, edge - 2.0), edge, min(base, edge + 2.0)),
        by.author if by else "",
        by.reason if by else "",
    )


def _merged(
    interpretation: Interpretation, search: Search, part: Part, places: list[float]
) -> list[float]:
    """Join neighbours of one behaviour and like resistance, the likest first."""
    kept = list(places)
    while kept:
        ends = [part.top, *kept, part.base]
        alike = [
            (search.contrast(ends[k], ends[k + 1], ends[k + 2]), k)
            for k in range(len(kept))
            if same_ground(interpretation, search.ground, search, ends[k : k + 3])
        ]
        if not alike:
            break
        del kept[min(alike)[1]]
    return kept


def _set(search: Search, part: Part, boundaries: Sequence[Boundary]) -> list[Edge]:
    inside = [one for one in boundaries if part.top < one.depth < part.base]
    ends = [part.top, *(one.depth for one in inside), part.base]
    return [
        _edge(search, ends[k], one.depth, ends[k + 2], SET, one) for k, one in enumerate(inside)
    ]


def _unused(boundaries: Sequence[Boundary], edges: Sequence[Edge]) -> list[str]:
    used = {one.depth for one in edges}
    return [
        f"the boundary set at {one.depth:.2f} m is not used: nothing was read on both sides of it"
        for one in boundaries
        if one.depth not in used
    ]


def _assembled(
    interpretation: Interpretation,
    ground: Ground,
    parts: Sequence[Part],
    voids: Sequence[Void],
    edges: Sequence[Edge],
    parameters: Sequence[str],
    decided: LayerChoice,
) -> tuple[tuple[Unit, ...], tuple[Edge, ...]]:
    """Put units together from the top down, what was not read among them."""
    spans: list[tuple[float, float, Void | None]] = [(v.top, v.base, v) for v in voids]
    for part in parts:
        ends = [part.top, *(e.depth for e in edges if part.top < e.depth < part.base), part.base]
        spans += [(a, b, None) for a, b in itertools.pairwise(ends)]
    spans.sort(key=lambda one: one[0])
    units = tuple(
        describe(interpretation, ground, k + 1, top, base, void, parameters, decided.names)
        for k, (top, base, void) in enumerate(spans)
    )
    by_depth = {round(one.depth, 4): one for one in edges}
    between = tuple(by_depth.get(one.base, Edge(one.base, RECORD)) for one in units[:-1])
    return units, between

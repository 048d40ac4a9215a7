"""What a band rests on, in words: for footnotes, tables, the page and ``explain``."""

from __future__ import annotations

from dataclasses import dataclass

from pushproof.equations import find
from pushproof.equations.bibliography import REFERENCES
from pushproof.equations.scatter import Basis
from pushproof.interpretation.ensemble import Ensemble
from pushproof.interpretation.firstorder import Parts

COUNTS = 0.02
"""Share of the variance of the measurement from which a channel is named."""


@dataclass(frozen=True)
class BandBasis:
    """What a band rests on.

    Parameters
    ----------
    channels
        Channels whose error matters.
    measurement
        One sentence on the error of each.
    relation
        Name of each relation with a known scatter and a sentence on it; without a name, one for
        each factor with a given spread.
    unknown
        Names of the relations on the way whose scatter is not known.
    """

    channels: tuple[str, ...]
    measurement: tuple[str, ...]
    relation: tuple[tuple[str, str], ...]
    unknown: tuple[str, ...]

    @property
    def note(self) -> str:
        """All of it as one footnote."""
        measured = "; ".join(self.measurement) or "no error is known"
        return f"measurement: {measured}. Relation: {self._related}."

    @property
    def short(self) -> str:
        """The same with the channels by name, where their errors are told once elsewhere."""
        measured = ", ".join(self.channels) or "no error is known"
        return f"measurement: {measured}. Relation: {self._related}."

    @property
    def _related(self) -> str:
        related = "; ".join(text for _, text in self.relation)
        if not self.unknown:
            return related or "a definition, which has no scatter"
        lacking = f"no published scatter, so nothing is in for: {', '.join(self.unknown)}"
        return f"{related}. {lacking}" if related else lacking


def basis_of(ready: Ensemble, parts: Parts, key: str) -> BandBasis:
    """Return what the band of a column rests on."""
    shares = parts.channels[key]
    felt = [one for one in ready.errors if shares.get(one.channel, 0.0) >= COUNTS]
    channels, measured = tuple(one.channel for one in felt), tuple(one.text for one in felt)
    on_the_way = _upstream(ready, key)
    related: list[tuple[str, str]] = []
    unknown: list[str] = []
    for place in on_the_way:
        step = ready.steps[place]
        if step.iterates:
            continue
        scatter = find(step.equation).scatter
        if place in ready.scatters:
            source = ""
            if scatter.basis is Basis.PUBLISHED:
                where = f", {scatter.where}" if scatter.where else ""
                source = f" [{_short(scatter.reference)}{where}]"
            text = f"{step.equation}: {scatter.words}{source}"
            related.append((step.equation, text))
        elif scatter.basis in (Basis.UNKNOWN, Basis.UNDECLARED):
            unknown.append(step.equation)
    names = {name for place in on_the_way for name in ready.steps[place].inputs}
    factors = ready.profile.recipe.factors
    related += [
        (
            "",
            f"{name} {factors.value(name):g} with a standard deviation of {size:g}, given by the "
            "recipe",
        )
        for name, size in ready.spreads.items()
        if name in names
    ]
    return BandBasis(channels, measured, tuple(related), tuple(dict.fromkeys(unknown)))


def _upstream(ready: Ensemble, key: str) -> list[int]:
    """Return the places of the steps that lead to a column, in order."""
    wanted, found = {key}, []
    for place in range(len(ready.steps) - 1, -1, -1):
        step = ready.steps[place]
        if step.key in wanted:
            wanted.update(step.inputs)
            found.append(place)
    return found[::-1]


def _short(reference: str) -> str:
    return REFERENCES[reference].split(". ", 1)[0]

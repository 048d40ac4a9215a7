"""Profile and interpretation: results computed from a sounding and a recipe.

Both are pure functions of their inputs and are never stored as truth. The classes live here so
that checks, sheets and pages can share them; the code that fills them is in ``processing`` and
``interpretation``.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pushproof.model.corrections import (
    BY_AN_EXPERT,
    OF_INTERRUPTIONS,
    OVER_THE_WHOLE_RECORD,
)
from pushproof.model.findings import Finding
from pushproof.model.recipe import Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding, Water
from pushproof.model.units import factor_to_display

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Assumption:
    """A value that nobody gave and that had to be assumed.

    Parameters
    ----------
    key
        What was assumed (``"water_level"``, ``"area_ratio"``, ...).
    text
        The assumption as a short sentence with number and unit, for sheets and pages.
    value
        The number, in the inside unit, if it is one.
    reason
        Why it had to be assumed.
    affects
        Keys of the columns that rest on it; empty where that is all of them.
    """

    key: str
    text: str
    value: float | None = None
    reason: str = ""
    affects: tuple[str, ...] = ()

    def concerns(self, keys: Collection[str]) -> bool:
        """Tell whether any of the columns rests on it."""
        return not self.affects or not set(self.affects).isdisjoint(keys)


@dataclass(frozen=True, slots=True)
class Effect:
    """What one correction did to one channel.

    Parameters
    ----------
    kind
        Kind of the correction (``"zero-shift"``, ``"despike"``, ...).
    channel
        Key of the channel; empty if it changed nothing at all.
    changed, removed
        Readings with another value, and readings left out.
    largest
        Largest change in the inside unit; None if no value changed.
    reason
        The reason that the decision gives.
    """

    kind: str
    channel: str
    changed: int
    removed: int
    largest: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class Declarations:
    """The three processing declarations of the Dutch register, derived from the recipe."""

    interruptions_edited: bool
    expert_corrections: bool
    signal_processing: bool


@dataclass(frozen=True)
class Profile:
    """A corrected, depth-true profile.

    Parameters
    ----------
    sounding, recipe
        The facts and decisions behind it.
    series
        Sorted by penetration length: ``length``, ``depth``, what was measured, and qt, ft, Rf.
    row
        Shape (n,): row of each profile row in ``sounding.readings``.
    water
        The water level used, with its origin; None if there is none to use.
    area_ratio
        The net area ratio used, or None (then qt is qc).
    qt_is_qc
        True where qt could not be corrected, shape (n,).
    depth_is_length
        True if no tilt was available and depth equals penetration length.
    assumptions
        Everything assumed so far.
    findings
        Findings of the reader and of the processing.
    effects
        What each correction of the recipe changed.
    """

    sounding: Sounding
    recipe: Recipe
    series: Series
    row: NDArray[np.intp]
    water: Water | None
    area_ratio: float | None
    qt_is_qc: NDArray[np.bool_]
    depth_is_length: bool
    assumptions: tuple[Assumption, ...] = ()
    findings: tuple[Finding, ...] = ()
    effects: tuple[Effect, ...] = ()

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.series)

    @property
    def declarations(self) -> Declarations:
        """What was edited, in the three terms of the Dutch register."""
        kinds = {one.kind for one in self.recipe.corrections}
        return Declarations(
            interruptions_edited=bool(kinds & set(OF_INTERRUPTIONS)),
            expert_corrections=bool(kinds & set(BY_AN_EXPERT)) or bool(self.recipe.blanked),
            signal_processing=bool(kinds & set(OVER_THE_WHOLE_RECORD)),
        )

    def to_frame(self) -> pd.DataFrame:
        """Return the series as a data frame, headings ``symbol [unit]`` in display units."""
        return frame(self.series)


@dataclass(frozen=True)
class Interpretation:
    """Derived parameters along a profile.

    Parameters
    ----------
    profile
        What it was derived from.
    series
        The profile's columns and the derived ones.
    methods
        Key of a derived column to the name of the equation that gave it. Where sand and clay
        have different ones, both names, joined by ``" | "``; see :meth:`relations`.
    assumptions, findings
        The profile's, and those of the interpretation.
    """

    profile: Profile
    series: Series
    methods: Mapping[str, str] = field(default_factory=dict)
    assumptions: tuple[Assumption, ...] = ()
    findings: tuple[Finding, ...] = ()

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.series)

    def relations(self, key: str) -> tuple[str, ...]:
        """Return the names of the equations behind a column, one for each kind of ground."""
        return tuple(self.methods[key].split(" | ")) if key in self.methods else ()

    def to_frame(self) -> pd.DataFrame:
        """Return the series as a data frame, headings ``symbol [unit]`` in display units."""
        return frame(self.series)


def frame(series: Series) -> pd.DataFrame:
    """Return a series as a data frame, headings ``symbol [unit]`` in display units."""
    import pandas as pd

    data: dict[str, NDArray[np.float64]] = {}
    for key in series:
        row = series.quantity(key)
        factor = 1.0 if key in series.extras else factor_to_display(key)
        data[row.heading] = series[key] * factor
    return pd.DataFrame(data)

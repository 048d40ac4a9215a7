"""Scatter of a relation as a number: how far the ground strays from a published fit.

The size is one standard deviation: of the natural logarithm for a factor, in the unit of the
result for something added. Where a source gives no standard deviation, these readings are used,
argued in decision record 0011: a range that a text calls typical, and a factor either way, go from
p10 to p90; a coefficient of variation belongs to a lognormal factor. A number without a source is
marked as remembered; where nothing is known, the scatter is said to be unknown, not zero.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

TENTH = 1.2815515655446004
"""Standard normal quantile of 90 %: p10 and p90 lie this many standard deviations out."""


class ScatterKind(StrEnum):
    """How the scatter acts on the result."""

    FACTOR = "factor"
    ADDED = "added"
    NONE = "none"


class Basis(StrEnum):
    """Where the size of a scatter comes from."""

    PUBLISHED = "published"
    MEMORY = "from memory"
    DEFINITION = "definition"
    UNKNOWN = "no published scatter"
    UNDECLARED = "not stated"


@dataclass(frozen=True, slots=True)
class Scatter:
    """Scatter of one relation.

    Parameters
    ----------
    kind
        How it acts.
    size
        One standard deviation: of ln(result) for a factor, else in the unit of the result.
    basis
        Where the size comes from.
    text
        What was stated, in words, and how it was read.
    reference, where
        Key into the bibliography and place in the source; empty unless published.
    factor
        Argument of the equation that the scatter stands for (``"Nkt"``), if there is one: a
        spread that the recipe gives for it takes the place of this scatter.
    low, high
        Limits that no result can pass, in the unit of the result.
    """

    kind: ScatterKind
    size: float
    basis: Basis
    text: str = ""
    reference: str = ""
    where: str = ""
    factor: str = ""
    low: float = -math.inf
    high: float = math.inf

    @property
    def known(self) -> bool:
        """Whether it has a size."""
        return self.kind is not ScatterKind.NONE

    @property
    def amount(self) -> str:
        """The size in words, as one standard deviation.

        Examples
        --------
        >>> factor_of(2.0, "about a factor of two").amount
        'lognormal factor, standard deviation 0.54 of the natural logarithm'
        """
        if self.kind is ScatterKind.FACTOR:
            return f"lognormal factor, standard deviation {self.size:.2f} of the natural logarithm"
        if self.kind is ScatterKind.ADDED:
            return f"added, standard deviation {self.size:.3g} in the unit of the result"
        return ""

    @property
    def words(self) -> str:
        """What is known, in one line: statement, where it comes from, size."""
        if not self.known:
            return f"{self.basis.value}: {self.text}" if self.text else self.basis.value
        return f"{self.text} ({self.basis.value}); {self.amount}"


DEFINITION = Scatter(ScatterKind.NONE, 0.0, Basis.DEFINITION)
"""A definition or an index: it has no scatter of its own."""

UNKNOWN = Scatter(ScatterKind.NONE, 0.0, Basis.UNKNOWN)
"""A fit whose scatter is not known here: a band then carries the measurement part only."""

UNDECLARED = Scatter(ScatterKind.NONE, 0.0, Basis.UNDECLARED)
"""Nobody looked yet: only for equations that no interpretation uses."""


def unknown(text: str) -> Scatter:
    """Return a scatter that is not known, with a word on it."""
    return Scatter(ScatterKind.NONE, 0.0, Basis.UNKNOWN, text)


def published_cov(share: float, text: str, reference: str, where: str, factor: str = "") -> Scatter:
    """Return the lognormal factor of a published coefficient of variation.

    Examples
    --------
    >>> round(published_cov(0.32, "", "ufc-3-220-20", "Ch. 7").size, 3)
    0.312
    """
    size = math.sqrt(math.log1p(share * share))
    return Scatter(ScatterKind.FACTOR, size, Basis.PUBLISHED, text, reference, where, factor=factor)


def factor_of(times: float, text: str, *, low: float = 0.0) -> Scatter:
    """Return a remembered factor either way, read as p10 and p90."""
    return Scatter(ScatterKind.FACTOR, math.log(times) / TENTH, Basis.MEMORY, text, low=low)


def factor_range(least: float, most: float, text: str, factor: str) -> Scatter:
    """Return the scatter of a remembered typical range of a factor, read as p10 to p90."""
    size = math.log(most / least) / (2.0 * TENTH)
    return Scatter(ScatterKind.FACTOR, size, Basis.MEMORY, text, factor=factor, low=0.0)


def remembered_share(share: float, text: str) -> Scatter:
    """Return a remembered scatter in parts of the value, one standard deviation."""
    return Scatter(ScatterKind.FACTOR, math.sqrt(math.log1p(share * share)), Basis.MEMORY, text)


def remembered_added(
    size: float, text: str, *, low: float = -math.inf, high: float = math.inf, factor: str = ""
) -> Scatter:
    """Return a remembered standard deviation in the unit of the result."""
    return Scatter(ScatterKind.ADDED, size, Basis.MEMORY, text, factor=factor, low=low, high=high)

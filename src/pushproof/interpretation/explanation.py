"""What an explanation of one number holds; filled by :func:`pushproof.interpretation.explain`.

Values are in the inside unit, which every one names; plain data throughout, so that a page or a
program can show it (:meth:`Explanation.to_dict`).
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class Input:
    """One number that goes into an equation.

    Parameters
    ----------
    name
        Argument of the equation.
    label
        What it is, where the name alone does not say it.
    value
        The number in ``unit``; None if it is missing.
    unit
        Inside unit.
    origin
        Where it comes from, in words.
    step
        Number of the link that gave it, from 1; None if it is no result.
    assumed
        Whether nobody gave it.
    """

    name: str
    label: str
    value: float | None
    unit: str
    origin: str
    step: int | None = None
    assumed: bool = False


@dataclass(frozen=True)
class Link:
    """One equation on the way, with its numbers.

    Parameters
    ----------
    number
        Its place, from 1.
    gives
        Key or name of what it gives.
    equation
        Name in the registry; empty where there is none (a constant, qt without u2).
    formula, substituted
        The equation, and the same with the numbers put in (empty where the text has no place for
        them).
    inputs
        What went in.
    result
        What the equation gives for these inputs; None if nothing.
    value
        What was used: the result, unless ``note`` says otherwise.
    unit
        Inside unit of both.
    source, where, check
        Reference, place in it, and how sure the coded form is.
    validity, scatter
        Where it holds, and how far the ground strays from it.
    note
        What else happened to the number.
    """

    number: int
    gives: str
    equation: str
    formula: str
    substituted: str
    inputs: tuple[Input, ...]
    result: float | None
    value: float | None
    unit: str
    source: str
    where: str
    check: str
    validity: str
    scatter: str
    note: str = ""


@dataclass(frozen=True)
class BandAt:
    """The band of the number, in the inside unit, whole and part by part."""

    p10: float
    p50: float
    p90: float
    measurement: tuple[float, float]
    relation: tuple[float, float]
    how: str
    measured_by: tuple[str, ...]
    related_by: tuple[str, ...]
    unknown: tuple[str, ...]
    not_in_it: str


@dataclass(frozen=True)
class Explanation:
    """How one number came about.

    Parameters
    ----------
    sounding, key, symbol, name
        Which number.
    asked, depth, row
        Depth asked for [m], depth of the row used [m], and its place in the profile.
    value, unit
        The number in the inside unit; None if it is missing.
    display, display_unit
        The same as people see it.
    reason, refused
        Why it is missing, and which test or missing value decided that; empty if it is not.
    ground
        What the ground was judged to be at this row, and by what.
    measured
        The measured channels the chain begins with.
    links
        The equations in order.
    assumptions
        What nobody gave and had to be assumed, of what counts here.
    band
        The band, None if there is none.
    """

    sounding: str
    key: str
    symbol: str
    name: str
    asked: float
    depth: float
    row: int
    value: float | None
    unit: str
    display: str
    display_unit: str
    reason: str
    refused: str
    ground: str
    measured: tuple[Input, ...]
    links: tuple[Link, ...]
    assumptions: tuple[str, ...]
    band: BandAt | None

    @property
    def text(self) -> str:
        """The explanation as plain text."""
        from pushproof.interpretation.wording import worded

        return "\n".join(worded(self))

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain data that JSON can hold; what is not finite becomes None."""
        found: dict[str, Any] = _plain(asdict(self))
        return found


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(one) for one in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def present(value: float) -> float | None:
    """Return a number, or None where it is not finite."""
    number = float(value)
    return number if math.isfinite(number) else None

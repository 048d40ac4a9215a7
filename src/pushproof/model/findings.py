"""Findings: what a reader, a correction or a check noticed, where, and what was expected."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum


class Severity(IntEnum):
    """How much a finding matters.

    ``INFO`` is worth knowing, ``CAUTION`` limits what the record may be used for,
    ``STOP`` means that the record cannot be relied on until it is resolved.
    """

    INFO = 1
    CAUTION = 2
    STOP = 3

    @property
    def word(self) -> str:
        """Lower-case word for people."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was noticed.

    Parameters
    ----------
    id
        Stable name in kebab case, the same for every occurrence (``"depth-backward"``).
    severity
        How much it matters.
    found
        What was found, one plain sentence with the number and the unit.
    expected
        What was expected instead, or what to do; empty if there is nothing to say.
    top, base
        Depth interval [m] it belongs to, or None for the whole sounding.
    source
        Standard or reference behind the expectation, with its mark (verified, from memory,
        common practice); empty where it needs none.
    channel
        Key of the quantity concerned, or empty.
    line
        Line in the file, for findings of a reader.
    """

    id: str
    severity: Severity
    found: str
    expected: str = ""
    top: float | None = None
    base: float | None = None
    source: str = ""
    channel: str = ""
    line: int | None = None

    @property
    def where(self) -> str:
        """Depth interval or line as text, empty for the whole sounding."""
        if self.top is not None and self.base is not None and self.base > self.top:
            return f"{self.top:.2f} to {self.base:.2f} m"
        if self.top is not None:
            return f"{self.top:.2f} m"
        return f"line {self.line}" if self.line is not None else ""


def worst(findings: Iterable[Finding]) -> Severity | None:
    """Return the highest severity among findings, or None if there are none."""
    return max((finding.severity for finding in findings), default=None)


def by_severity(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings with the gravest first, then by depth, then by id."""
    return sorted(
        findings,
        key=lambda f: (-f.severity, f.top if f.top is not None else -1.0, f.id),
    )

"""One question about a plan and its answer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["good", "look", "bad", "unknown"]


@dataclass(frozen=True, slots=True)
class DataRow:
    """One question: what is asked, what was found, how good, and on what basis."""

    what: str
    found: str
    verdict: Verdict
    basis: str

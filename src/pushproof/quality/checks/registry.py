"""The list of checks, each with its id, title and source."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from pushproof.model.findings import Finding
from pushproof.model.profile import Profile

CheckFunction = Callable[[Profile], Iterable[Finding]]


@dataclass(frozen=True)
class Check:
    """One check: id in kebab case, title, source with its mark, and the function."""

    id: str
    title: str
    source: str
    function: CheckFunction


_CHECKS: dict[str, Check] = {}


def check(id: str, title: str, source: str) -> Callable[[CheckFunction], CheckFunction]:
    """Register a check; the function itself stays as it is."""

    def register(function: CheckFunction) -> CheckFunction:
        if id in _CHECKS and _CHECKS[id].function.__module__ != function.__module__:
            raise ValueError(f"check {id!r}: the id is taken")
        _CHECKS[id] = Check(id, title, source, function)
        return function

    return register


def checks() -> tuple[Check, ...]:
    """Return every check, by id."""
    return tuple(_CHECKS[id] for id in sorted(_CHECKS))

"""The registry of equations: what each gives, where it is printed, where it holds.

``@equation(...)`` registers a function without changing it. The command line, the documentation,
the footnotes of reports and the test of check values read :func:`equations`.
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from typing import Any, TypeVar

from pushproof.equations.bibliography import REFERENCES
from pushproof.equations.scatter import UNDECLARED, Basis, Scatter

Function = TypeVar("Function", bound=Callable[..., Any])


class Mark(StrEnum):
    """How sure the coded form of an equation is."""

    VERIFIED = "verified"
    MEMORY = "from memory"
    PRACTICE = "common practice"


@dataclass(frozen=True, slots=True)
class Equation:
    """One registered equation.

    Parameters
    ----------
    name
        Function name: ``quantity_author_year``.
    gives
        Key of the vocabulary it computes, or a plain word where it gives an intermediate.
    formula
        The equation in one line of plain text.
    reference
        Key into :data:`pushproof.equations.bibliography.REFERENCES`.
    where
        Equation, table or page number in the source, empty if not known.
    mark
        How sure the coded form is.
    units
        Parameter name to unit; ``return`` for the result.
    validity
        Where it holds, in words.
    scatter
        How far the ground strays from the relation, and where that is known from.
    function
        The function itself.
    """

    name: str
    gives: str
    formula: str
    reference: str
    where: str
    mark: Mark
    units: Mapping[str, str]
    validity: str
    scatter: Scatter = UNDECLARED
    function: Callable[..., Any] = field(default=lambda: None, repr=False, compare=False)

    @property
    def citation(self) -> str:
        """Full reference as text."""
        return REFERENCES[self.reference]

    @property
    def parameters(self) -> Mapping[str, bool]:
        """Names of the arguments, and whether each has a default."""
        return _parameters(self.function)

    @property
    def summary(self) -> str:
        """First line of the docstring."""
        return (inspect.getdoc(self.function) or "").split("\n", 1)[0]


@cache
def _parameters(function: Callable[..., Any]) -> Mapping[str, bool]:
    found = inspect.signature(function).parameters
    return {name: one.default is not one.empty for name, one in found.items()}


_EQUATIONS: dict[str, Equation] = {}


def equation(
    *,
    gives: str,
    formula: str,
    reference: str,
    units: Mapping[str, str],
    validity: str,
    mark: Mark,
    where: str = "",
    scatter: Scatter = UNDECLARED,
) -> Callable[[Function], Function]:
    """Register a published equation; the function itself stays as it is.

    Raises
    ------
    ValueError
        If the reference is not in the bibliography, a parameter has no unit, or the name is taken.
    """

    def register(function: Function) -> Function:
        name = function.__name__
        faults = []
        if reference not in REFERENCES:
            faults.append(f"reference {reference!r} is not in the bibliography")
        if name in _EQUATIONS and _EQUATIONS[name].function.__module__ != function.__module__:
            faults.append("the name is taken")
        if (scatter.basis is Basis.PUBLISHED) != (scatter.reference in REFERENCES):
            faults.append("a published scatter needs a reference, and no other has one")
        if scatter.factor and scatter.factor not in inspect.signature(function).parameters:
            faults.append(f"its scatter stands for {scatter.factor!r}, which is no parameter")
        parameters = [*inspect.signature(function).parameters, "return"]
        faults += [f"no unit for {p!r}" for p in parameters if p not in units]
        faults += [f"unit for {p!r}, which is no parameter" for p in units if p not in parameters]
        if faults:
            raise ValueError(f"equation {name}: " + "; ".join(faults))
        _EQUATIONS[name] = Equation(
            name, gives, formula, reference, where, mark, dict(units), validity, scatter, function
        )
        return function

    return register


def equations() -> Mapping[str, Equation]:
    """Return every registered equation by name, sorted; imports all modules of the package."""
    _import_all()
    return dict(sorted(_EQUATIONS.items()))


@cache
def _import_all() -> None:
    import pushproof.equations as package

    for module in pkgutil.iter_modules(package.__path__, package.__name__ + "."):
        importlib.import_module(module.name)


def find(name: str) -> Equation:
    """Return one equation.

    Raises
    ------
    ValueError
        If there is none of that name; near names are listed.
    """
    found = _EQUATIONS.get(name) or equations().get(name)
    if found is None:
        import difflib

        near = difflib.get_close_matches(name, _EQUATIONS, n=5, cutoff=0.4)
        hint = f"; did you mean {', '.join(near)}?" if near else ""
        raise ValueError(f"no equation {name!r}{hint}")
    return found

"""Pushproof: from the push rig to the signed log of a cone penetration test.

The public names are few and load on first use, so that ``import pushproof`` stays fast::

    import pushproof as pp

    sounding = pp.read("sounding.gef")
    profile = pp.process(sounding)
    derived = pp.interpret(profile)
    derived.to_frame()
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pushproof.errors import PushproofError
    from pushproof.formats import losses, missing, read, read_all, write
    from pushproof.interpretation import bands, explain, interpret
    from pushproof.model.profile import Interpretation, Profile
    from pushproof.model.recipe import Recipe
    from pushproof.model.sounding import Sounding
    from pushproof.processing import process

__version__ = "0.1.0"

_HOMES = {
    "Interpretation": "pushproof.model.profile",
    "Profile": "pushproof.model.profile",
    "PushproofError": "pushproof.errors",
    "Recipe": "pushproof.model.recipe",
    "Sounding": "pushproof.model.sounding",
    "bands": "pushproof.interpretation",
    "explain": "pushproof.interpretation",
    "interpret": "pushproof.interpretation",
    "losses": "pushproof.formats",
    "missing": "pushproof.formats",
    "process": "pushproof.processing",
    "read": "pushproof.formats",
    "read_all": "pushproof.formats",
    "write": "pushproof.formats",
}

__all__ = [
    "Interpretation",
    "Profile",
    "PushproofError",
    "Recipe",
    "Sounding",
    "bands",
    "explain",
    "interpret",
    "losses",
    "missing",
    "process",
    "read",
    "read_all",
    "write",
]


def __getattr__(name: str) -> Any:
    """Load a public name from its home on first use."""
    try:
        home = _HOMES[name]
    except KeyError:
        raise AttributeError(f"module 'pushproof' has no attribute {name!r}") from None
    value = getattr(import_module(home), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """Return the public names."""
    return sorted([*__all__, "__version__"])

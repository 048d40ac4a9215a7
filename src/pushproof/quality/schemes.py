"""Accuracy schemes as data: one file for each norm and edition, each with its source and mark.

A class is never a bare number: it belongs to a norm, an edition and a kind.
"""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from pushproof.model.documents import load


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Tolerance(_Part):
    """Allowed inaccuracy: the larger of ``absolute`` (inside unit) and ``relative`` (of value)."""

    absolute: float = Field(gt=0)
    relative: float = Field(0.0, ge=0)


class ClassLimits(_Part):
    """One class: its name, what it needs, its reading interval [m] and its tolerances."""

    name: str
    needs: tuple[str, ...] = ()
    interval: float | None = Field(None, gt=0)
    limits: dict[str, Tolerance] = {}
    zero_shift_percent: float | None = Field(None, gt=0)


class Scheme(_Part):
    """An accuracy scheme, its best class first."""

    title: str
    norm: str
    edition: str
    kind: str
    mark: Literal[
        "verified",
        "from memory",
        "filled in by the user",
        "to be filled in by the holder of the standard",
    ]
    source: str
    rule: str
    classes: tuple[ClassLimits, ...] = ()

    @property
    def usable(self) -> bool:
        """Whether it holds any class to judge by."""
        return bool(self.classes)

    def label(self, name: str) -> str:
        """Return a class with its norm and edition.

        Examples
        --------
        >>> load_scheme("iso-22476-1-2012").label("2")
        'application class 2 of ISO 22476-1:2012 (from memory)'
        """
        return f"{self.kind} {name} of {self.norm}:{self.edition} ({self.mark})"


def scheme_names() -> list[str]:
    """Return the names of the shipped schemes."""
    folder = resources.files("pushproof.quality") / "schemes"
    return sorted(
        p.name.removesuffix(".toml") for p in folder.iterdir() if p.name.endswith(".toml")
    )


def load_scheme(name: str | Path) -> Scheme:
    """Read a scheme by name, or from a TOML file of the user.

    Raises
    ------
    ConfigurationError
        If there is none, or it is not valid; every fault is named.
    """
    path = Path(name)
    shipped = resources.files("pushproof.quality") / "schemes" / f"{name}.toml"
    source = path if path.suffix == ".toml" else shipped
    known = f"no such file or scheme (known: {', '.join(scheme_names())})"
    return load(Scheme, lambda: source.read_text("utf-8"), f"scheme {name}", missing=known)

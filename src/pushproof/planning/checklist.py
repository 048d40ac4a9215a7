"""The checklist of the day: its items, and where it stands after what was ticked.

The items are common practice. Ticks are facts of the job: who, when, and what was seen. Nothing is
ever unticked; a doubt is a new fact that says so.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from pushproof.errors import ConfigurationError

LOCAL = "Local rules and the permit of the site come before this list."
"""The line under every checklist."""
KIND = "checked"
"""Kind of the event that holds a tick."""


class Item(BaseModel):
    """One line of the list."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    key: str
    words: str = Field(min_length=3)
    when: Literal["before", "after"]
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Tick:
    """One tick: which item, done or in doubt, by whom, when [s since 1970], and what was seen."""

    item: str
    done: bool
    by: str
    at: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """An item and its newest tick, None if nobody looked yet."""

    item: Item
    tick: Tick | None

    @property
    def state(self) -> str:
        """``"done"``, ``"in doubt"`` or ``"open"``."""
        if self.tick is None:
            return "open"
        return "done" if self.tick.done else "in doubt"


@lru_cache
def checklist(path: Path | None = None) -> tuple[Item, ...]:
    """Return the items, of the package or of a TOML file of the user.

    Raises
    ------
    ConfigurationError
        If the file cannot be read or used; every fault is named.
    """
    place = resources.files("pushproof.planning") / "checklist.toml" if path is None else path
    try:
        tables = tomllib.loads(place.read_text("utf-8"))
        return tuple(Item(key=key, **table) for key, table in tables.items())
    except ValidationError as error:
        faults = "; ".join(f"{f['loc'][-1]}: {f['msg'].lower()}" for f in error.errors())
        raise ConfigurationError(f"checklist {path}: {faults}") from error
    except (OSError, UnicodeDecodeError, TypeError, tomllib.TOMLDecodeError) as error:
        raise ConfigurationError(f"checklist {path}: not usable: {error}") from error


def standing(items: Iterable[Item], ticks: Iterable[Tick]) -> list[Line]:
    """Return every item with its newest tick.

    Examples
    --------
    >>> items = checklist()
    >>> lines = standing(items, [Tick("link", True, "RV", 0.0)])
    >>> [line.item.key for line in lines if line.state == "done"]
    ['link']
    """
    newest: dict[str, Tick] = {}
    for tick in sorted(ticks, key=lambda one: one.at):
        newest[tick.item] = tick
    return [Line(item, newest.get(item.key)) for item in items]


def item_of(items: Iterable[Item], key: str) -> Item:
    """Return an item by its key.

    Raises
    ------
    ConfigurationError
        If there is none; the message names those there are.
    """
    known = {one.key: one for one in items}
    if key not in known:
        raise ConfigurationError(f"no item {key!r} on the checklist; items: {', '.join(known)}")
    return known[key]

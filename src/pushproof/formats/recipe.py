"""Recipe files: decisions as TOML, read with every fault named at once."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pushproof.errors import ConfigurationError
from pushproof.model.documents import checked, load
from pushproof.model.recipe import Recipe

if TYPE_CHECKING:
    pass


def load_recipe(path: str | Path) -> Recipe:
    """Read a recipe from a TOML file.

    Raises
    ------
    ConfigurationError
        If the file is missing, is not TOML, or has a field that a recipe does not know; the
        message names every bad field.
    """
    path = Path(path)
    return load(Recipe, lambda: path.read_text(encoding="utf-8"), f"recipe {path}")


def recipe_from(document: dict[str, Any], where: str = "recipe") -> Recipe:
    """Return the recipe that a plain document describes.

    Raises
    ------
    ConfigurationError
        Naming every bad field, what was found and what is known.
    """
    return checked(Recipe, document, where)


def save_recipe(recipe: Recipe, path: str | Path) -> None:
    """Write a recipe to a TOML file; a file that is there is replaced as a whole.

    Raises
    ------
    ConfigurationError
        If the file cannot be written.
    """
    path = Path(path)
    beside = path.with_name(path.name + ".part")
    try:
        beside.write_text(recipe_text(recipe), encoding="utf-8", newline="\n")
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise ConfigurationError(f"recipe {path}: cannot be written: {error}") from error


def recipe_text(recipe: Recipe) -> str:
    """Return a recipe as TOML, what is left at its default left out.

    Examples
    --------
    >>> print(recipe_text(Recipe(water_level=1.5)), end="")
    water_level = 1.5
    """
    document = recipe.model_dump(mode="json", exclude_defaults=True)
    if recipe.corrections:
        document["corrections"] = [one.model_dump(mode="json") for one in recipe.corrections]
    return _table(document, ())


def _table(document: dict[str, Any], where: tuple[str, ...]) -> str:
    """Return a table of TOML: plain values first, then the tables inside it."""
    lines, inner = [], []
    for key, value in document.items():
        place = (*where, key)
        if value is None:
            continue
        if isinstance(value, dict):
            inner.append(f"\n[{'.'.join(place)}]\n" + _table(value, place))
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            head = f"\n[[{'.'.join(place)}]]\n"
            inner += [head + _table(one, place) for one in value]
        else:
            lines.append(f"{key} = {_value(value)}\n")
    return "".join(lines) + "".join(inner)


def _value(value: Any) -> str:
    """Return a plain value as TOML; the strings of JSON are strings of TOML."""
    if isinstance(value, list):
        return f"[{', '.join(_value(one) for one in value)}]"
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")

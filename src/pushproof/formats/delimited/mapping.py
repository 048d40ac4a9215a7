"""Which column is what: guessed from names and units, or said by the user."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import ConfigurationError
from pushproof.formats.delimited.names import (
    PORE_PRESSURE_NO_PLACE,
    column_key,
    fold,
    split_unit,
)
from pushproof.formats.delimited.structure import Structure
from pushproof.model.quantities import QUANTITIES
from pushproof.model.units import unit


@dataclass(frozen=True)
class ColumnGuess:
    """What one column is taken for.

    Parameters
    ----------
    index
        Column number, from 1.
    heading
        Its heading as found.
    key
        Vocabulary key, or None where it is kept aside.
    unit
        Unit it is read in, as text; empty where kept aside without one.
    how
        ``"name and unit"``, ``"name"``, ``"given"`` or ``"kept aside"``, with what was assumed.
    assumed
        True if the unit or the filter position had to be assumed.
    kept
        Key under which a column nobody knows is kept, where the table names it.
    """

    index: int
    heading: str
    key: str | None
    unit: str
    how: str
    assumed: bool = False
    kept: str = ""


def guess(structure: Structure, sample: NDArray[np.float64]) -> list[ColumnGuess]:
    """Guess every column from its heading; ``sample`` has shape (rows, columns)."""
    guesses: list[ColumnGuess] = []
    taken: set[str] = set()
    for i, heading in enumerate(structure.heading):
        if not heading and not np.isfinite(sample[:, i]).any():
            continue  # a separator at the end of each line makes a column of nothing
        name, stated = split_unit(heading)
        stated = structure.units[i] or stated
        if structure.keys:
            guesses.append(_named(i, structure, stated))
            continue
        key = column_key(name)
        loose = key is None and fold(name) in PORE_PRESSURE_NO_PLACE
        if loose:
            key = "u2"
        if key is None or key in taken:
            guesses.append(ColumnGuess(i + 1, heading, None, stated, "kept aside"))
            continue
        found = unit(stated) if stated else None
        if found is not None and found.inside != QUANTITIES[key].unit:
            how = f"kept aside: {stated} is no unit of {key}"
            guesses.append(ColumnGuess(i + 1, heading, None, stated, how))
            continue
        taken.add(key)
        guesses.append(_with_unit(i + 1, heading, key, stated, loose, sample[:, i]))
    return guesses


def _named(i: int, structure: Structure, stated: str) -> ColumnGuess:
    """Return a column of a table of our own, which says its key and its unit."""
    key, heading = structure.keys[i], structure.heading[i]
    found = unit(stated)
    if key in QUANTITIES and found is not None and found.inside == QUANTITIES[key].unit:
        return ColumnGuess(i + 1, heading, key, stated, "named by the table")
    name = split_unit(heading)[0]
    return ColumnGuess(i + 1, name, None, stated, "kept aside", kept=key)


def _with_unit(
    index: int, heading: str, key: str, stated: str, loose: bool, values: NDArray[np.float64]
) -> ColumnGuess:
    place = "; filter position not stated, taken as u2" if loose else ""
    if unit(stated) is not None and stated:
        how = f"name and unit{place}"
        return ColumnGuess(index, heading, key, stated, how, assumed=loose)
    assumed = likely_unit(key, values)
    certain = QUANTITIES[key].unit == "-" or key in ("length", "depth", "time", "Rf", "tilt")
    how = f"name; unit {assumed} {'as usual' if certain else 'assumed from the size'}{place}"
    return ColumnGuess(index, heading, key, assumed, how, assumed=loose or not certain)


def likely_unit(key: str, values: NDArray[np.float64]) -> str:
    """Return the unit that values without one are likely in, by their size.

    Examples
    --------
    >>> likely_unit("qc", np.array([0.5, 12.0])), likely_unit("qc", np.array([500.0, 12000.0]))
    ('MPa', 'kPa')
    """
    row = QUANTITIES[key]
    finite = np.abs(values[np.isfinite(values)])
    if not finite.size or row.unit != "kPa":
        return "mm/s" if key == "rate" and finite.size and np.median(finite) > 1 else row.unit
    largest = float(np.quantile(finite, 0.99))
    limit = {"qc": 150.0, "qt": 150.0, "fs": 2.0}.get(key, 4.0)
    return "MPa" if largest < limit else "kPa"


_PART = re.compile(r"^\s*(\w+)\s*=\s*(.+?)\s*$")


def said(text: str, structure: Structure, sample: NDArray[np.float64]) -> list[ColumnGuess]:
    """Read a mapping that the user gave: ``"depth=1:m, qc=2:MPa"`` or the path of a TOML file.

    A column is named by its number or its heading; the unit may be left out where the heading
    has it. Columns that are not named are kept aside.

    Raises
    ------
    ConfigurationError
        Listing every part that cannot be used.
    """
    wanted = _from_toml(Path(text)) if text.strip().endswith(".toml") else _from_text(text)
    faults: list[str] = []
    by_index: dict[int, ColumnGuess] = {}
    for key, (column, stated) in wanted.items():
        if key not in QUANTITIES:
            faults.append(f"{key}: no such quantity (known: {' '.join(QUANTITIES)})")
            continue
        index = _index(column, structure)
        if index is None:
            known = ", ".join(repr(h) for h in structure.heading if h) or "no headings"
            faults.append(f"{key}: no column {column!r} of {structure.columns} ({known})")
            continue
        heading = structure.heading[index - 1]
        stated = stated or structure.units[index - 1] or split_unit(heading)[1]
        found = unit(stated) if stated else None
        if stated and found is None:
            faults.append(f"{key}: unknown unit {stated!r}")
        elif found is not None and found.inside != QUANTITIES[key].unit:
            faults.append(f"{key}: {stated} is no unit of it")
        by_index[index] = ColumnGuess(
            index, heading, key, stated or likely_unit(key, sample[:, index - 1]), "given"
        )
    if not wanted:
        faults.append("no column is named")
    if faults:
        raise ConfigurationError("columns: " + "; ".join(faults))
    return [
        by_index.get(
            i + 1,
            ColumnGuess(i + 1, heading, None, split_unit(heading)[1], "kept aside"),
        )
        for i, heading in enumerate(structure.heading)
    ]


def _index(column: str, structure: Structure) -> int | None:
    if column.isdecimal():
        return int(column) if 1 <= int(column) <= structure.columns else None
    folded = fold(split_unit(column)[0])
    for i, heading in enumerate(structure.heading):
        if fold(heading) == fold(column) or fold(split_unit(heading)[0]) == folded:
            return i + 1
    return None


def _from_text(text: str) -> dict[str, tuple[str, str]]:
    wanted: dict[str, tuple[str, str]] = {}
    for part in filter(None, (p.strip() for p in text.split(","))):
        match = _PART.match(part)
        if match is None:
            raise ConfigurationError(
                f"columns: {part!r} is not of the form key=column:unit, such as qc=2:MPa"
            )
        column, _, stated = match[2].partition(":")
        wanted[match[1]] = (column.strip(), stated.strip())
    return wanted


def _from_toml(path: Path) -> dict[str, tuple[str, str]]:
    try:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise ConfigurationError(f"columns: no such file: {path}") from None
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise ConfigurationError(f"columns {path}: not valid TOML: {error}") from error
    wanted: dict[str, tuple[str, str]] = {}
    for key, value in document.get("columns", document).items():
        if isinstance(value, dict):
            wanted[key] = (str(value.get("column", "")), str(value.get("unit", "")))
        else:
            column, _, stated = str(value).partition(":")
            wanted[key] = (column.strip(), stated.strip())
    return wanted

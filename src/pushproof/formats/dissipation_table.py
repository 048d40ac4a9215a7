"""A dissipation test as a small text table, for records that come without a sounding format.

One reading a row, the first row names columns and units::

    time [s], u2 [kPa], qc [MPa]
    0, 412.5, 0.61
    1, 409.0, 0.60

Known columns are time, qc, u1, u2 and u3. Time counts from the stop of the push. The separator may
be a comma, a semicolon or a tab. An empty field is a missing value.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from pushproof.errors import FormatError
from pushproof.formats.numbers import parse_number
from pushproof.formats.source import source_file
from pushproof.formats.text import decode, read_bytes
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation
from pushproof.model.units import unit

LARGEST = 50_000_000
"""Largest file that is read [bytes]."""
_COLUMNS = {"time": "s", "qc": "kPa", "u1": "kPa", "u2": "kPa", "u3": "kPa"}
_HEADING = re.compile(r"^(?P<name>[a-z0-9]+)\s*[\[(](?P<unit>[^\])]*)[\])]$")


def read_dissipation(path: str | Path, depth: float) -> Dissipation:
    """Read a dissipation test from a text table.

    Parameters
    ----------
    path
        The file.
    depth
        Depth of the tip [m]; the table does not hold it.

    Raises
    ------
    FormatError
        If it is no such table; the message names line, finding and what was expected.
    """
    path = Path(path)
    data = read_bytes(path, LARGEST)
    text = decode(data, path)
    lines = [(k, line) for k, line in enumerate(text.text.splitlines(), 1) if line.strip()]
    lines = [(k, line) for k, line in lines if not line.lstrip().startswith("#")]
    if len(lines) < 2:
        raise FormatError("no rows; expected headings as time [s], u2 [kPa]", path=path)
    separator = next((one for one in ("\t", ";", ",") if one in lines[0][1]), ",")
    decimal = "," if separator != "," and not any("." in line for _, line in lines[1:20]) else "."
    names, factors = _headings(lines[0][1].split(separator), path, lines[0][0])
    table = np.array([_row(line, k, separator, decimal, names, path) for k, line in lines[1:]])
    columns = {name: table[:, k] * factors[k] for k, name in enumerate(names)}
    source = source_file(path, data, "dissipation table", text.encoding)
    return Dissipation(depth, Series(columns), source=source)


def _headings(cells: list[str], path: Path, line: int) -> tuple[list[str], list[float]]:
    names, factors = [], []
    for cell in cells:
        match = _HEADING.match(cell.strip().strip('"').strip().lower())
        found = unit(match["unit"]) if match else None
        name = match["name"] if match else ""
        if name not in _COLUMNS or found is None or found.inside != _COLUMNS[name]:
            known = "time [s], qc [MPa], u1, u2, u3 [kPa]"
            text = f"heading {cell.strip()!r}; expected some of {known}, each with its unit"
            raise FormatError(text, path=path, line=line)
        names.append(name)
        factors.append(found.factor)
    if "time" not in names or not {"u1", "u2", "u3"} & set(names):
        text = "expected time and a pore pressure u1, u2 or u3"
        raise FormatError(text, path=path, line=line)
    if len(set(names)) < len(names):
        raise FormatError("a column stands twice", path=path, line=line)
    return names, factors


def _row(
    line: str, number: int, separator: str, decimal: str, names: list[str], path: Path
) -> list[float]:
    cells = line.split(separator)
    if len(cells) < len(names):
        raise FormatError(f"{len(cells)} fields; expected {len(names)}", path=path, line=number)
    try:
        return [parse_number(cell, decimal) for cell in cells[: len(names)]]
    except ValueError:
        text = f"a field is no number: {line.strip()!r}"
        raise FormatError(text, path=path, line=number) from None

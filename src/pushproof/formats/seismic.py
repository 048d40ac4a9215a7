"""Seismic tests from small text tables: picked arrivals, traces, or a column of a sounding.

Picks, one arrival a row (receiver, strike and shot may be left out)::

    depth [m], time [ms], offset [m], receiver, strike, shot
    4.75, 31.9, 1.20, 1, left, 12

Traces, one a column; the rows above ``time`` say what each is::

    depth [m], 4.75, 5.75
    offset [m], 1.20, 1.20
    strike, left, left
    time [ms]
    0.00, 0.001, 0.002
    0.05, 0.003, 0.001

Times count from the trigger. The separator may be a comma, a semicolon or a tab.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
from pydantic import ValidationError

from pushproof.errors import FormatError
from pushproof.formats.source import source_file
from pushproof.formats.text import decode, read_bytes
from pushproof.model.seismic import Arrival, SeismicTest, Trace
from pushproof.model.sounding import Sounding
from pushproof.model.units import unit

LARGEST = 200_000_000
"""Largest file that is read [bytes]."""
_WORDS = ("receiver", "strike", "shot")
_NUMBERS = {"depth": "m", "offset": "m", "time": "s"}
_HEADING = re.compile(r"^(?P<name>[a-z]+)\s*(?:[\[(](?P<unit>[^\])]*)[\])])?$")
_TRAVEL_TIME = re.compile(r"s.?wave.*(travel|arrival).*time|shear.*(travel|arrival).*time", re.I)
_OFFSET = re.compile(r"(?=.*offset)(?=.*source)", re.I)

Rows = list[tuple[int, list[str]]]


def read_seismic(path: str | Path, offset: float | None = None) -> SeismicTest:
    """Read a table of picks or of traces.

    Parameters
    ----------
    path
        The file.
    offset
        Distance of the source from the rods [m], where the table does not give it.

    Raises
    ------
    FormatError
        If it is no such table; the message names line, finding and what was expected.
    """
    path = Path(path)
    data = read_bytes(path, LARGEST)
    text = decode(data, path)
    rows = _rows(text.text)
    if not rows:
        raise FormatError("no rows; expected a table of picks or traces", path=path)
    source = source_file(path, data, "seismic table", text.encoding)
    names = [_heading(cell)[0] for cell in rows[0][1]]
    if "depth" in names and "time" in names:
        arrivals = _picks(rows, path, offset)
        return SeismicTest(path.stem, arrivals=arrivals, source=source)
    traces = _traces(rows, path, offset)
    return SeismicTest(path.stem, traces=traces, source=source)


def is_seismic(path: str | Path) -> bool:
    """Tell whether a file begins as one of the two tables."""
    path = Path(path)
    try:
        rows = _rows(path.read_bytes()[:4000].decode("utf-8", errors="replace"))
    except OSError:
        return False
    if not rows:
        return False
    names = [_heading(cell)[0] for cell in rows[0][1]]
    if "depth" in names and "time" in names:
        return not {"qc", "fs", "tip"} & set(names) and len(names) <= 6
    heads = {_heading(row[0])[0] for _, row in rows if row}
    return "depth" in heads and "time" in heads


def arrivals_of(sounding: Sounding, offset: float | None = None) -> SeismicTest:
    """Return the arrivals that stand in a column of a sounding, as in the files of the USGS.

    Parameters
    ----------
    sounding
        Read from a file with a column of shear wave travel times.
    offset
        Distance of the source from the rods [m], where the header does not give it.

    Raises
    ------
    FormatError
        If there is no such column, no unit of time, or no offset.
    """
    series = sounding.readings
    where = sounding.source.name if sounding.source else sounding.name
    column = next(
        (key for key, one in series.extras.items() if _TRAVEL_TIME.search(one.name)), None
    )
    if column is None:
        raise FormatError(
            "no column of shear wave travel times; expected one, or a table of picks or traces",
            path=where,
        )
    given = unit(series.extras[column].unit)
    if given is None or given.inside != "s":
        found = series.extras[column].unit
        raise FormatError(f"column {column}: unit {found!r} is no unit of time", path=where)
    stated = _offset(sounding) if offset is None else offset
    if stated is None:
        raise FormatError("no distance of the source from the rods; give the offset", path=where)
    depth = series["depth"] if "depth" in series else series["length"]
    rows = np.flatnonzero(np.isfinite(series[column]) & np.isfinite(depth))
    arrivals = tuple(
        Arrival(
            depth=float(depth[row]), time=float(series[column][row]) * given.factor, offset=stated
        )
        for row in rows
    )
    return SeismicTest(sounding.name, arrivals=arrivals, source=sounding.source)


def _offset(sounding: Sounding) -> float | None:
    for item in sounding.header:
        if _OFFSET.search(item.key):
            try:
                return float(item.value)
            except ValueError:
                return None
    return None


def _rows(text: str) -> Rows:
    """Return the cells of each line that is neither empty nor a remark, with its number."""
    lines = [(k, line) for k, line in enumerate(text.splitlines(), 1) if line.strip()]
    lines = [(k, line) for k, line in lines if not line.lstrip().startswith("#")]
    if not lines:
        return []
    separator = next((one for one in ("\t", ";", ",") if one in lines[0][1]), ",")
    decimal_comma = separator != "," and not any("." in line for _, line in lines[1:20])
    rows = []
    for number, line in lines:
        cells = [cell.strip().strip('"').strip() for cell in line.split(separator)]
        rows.append((number, [c.replace(",", ".") for c in cells] if decimal_comma else cells))
    return rows


def _heading(cell: str) -> tuple[str, str]:
    """Return the name and the unit of a heading; both empty where it is none."""
    match = _HEADING.match(cell.strip().lower())
    return (match["name"], match["unit"] or "") if match else ("", "")


def _factor(name: str, given: str, path: Path, line: int) -> float:
    found = unit(given) if given else None
    if found is None or found.inside != _NUMBERS[name]:
        text = f"{name}: unit {given!r}; expected one, as depth [m], time [ms], offset [m]"
        raise FormatError(text, path=path, line=line)
    return found.factor


def _number(cell: str, name: str, path: Path, line: int) -> float:
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise FormatError(f"{name} {cell!r} is no number", path=path, line=line)
    return value


def _picks(rows: Rows, path: Path, offset: float | None) -> tuple[Arrival, ...]:
    line, headings = rows[0]
    heads = [_heading(cell) for cell in headings]
    names = [name for name, _ in heads]
    unknown = [
        cell for cell, name in zip(headings, names, strict=True) if name not in (*_WORDS, *_NUMBERS)
    ]
    if unknown:
        known = ", ".join((*_NUMBERS, *_WORDS))
        raise FormatError(f"unknown column {unknown[0]!r}; known: {known}", path=path, line=line)
    if "offset" not in names and offset is None:
        raise FormatError("no column offset; add it, or give the offset", path=path, line=line)
    factors = {name: _factor(name, given, path, line) for name, given in heads if name in _NUMBERS}
    arrivals = []
    for number, cells in rows[1:]:
        if len(cells) < len(names):
            text = f"{len(cells)} fields; expected {len(names)}"
            raise FormatError(text, path=path, line=number)
        row = dict(zip(names, cells, strict=False))
        values = {name: _number(row[name], name, path, number) * factors[name] for name in factors}
        values.setdefault("offset", offset if offset is not None else 0.0)
        words = {name: row[name] for name in _WORDS if name in row}
        try:
            arrivals.append(Arrival.model_validate(values | words))
        except ValidationError as error:
            fault = error.errors()[0]
            text = f"{fault['loc'][0]}: {fault['msg'].lower()}, found {fault['input']!r}"
            raise FormatError(text, path=path, line=number) from error
    return tuple(arrivals)


def _traces(rows: Rows, path: Path, offset: float | None) -> tuple[Trace, ...]:
    about: dict[str, list[str]] = {}
    scale = {"depth": 1.0, "offset": 1.0}
    for place, (line, cells) in enumerate(rows):
        name, given = _heading(cells[0])
        if name == "time":
            factor = _factor(name, given, path, line)
            return _samples(rows[place + 1 :], about, scale, factor, path, offset)
        if name not in (*_WORDS, "depth", "offset"):
            known = "depth, offset, receiver, strike, shot, then time"
            raise FormatError(f"row {cells[0]!r}: expected {known}", path=path, line=line)
        if name in scale:
            scale[name] = _factor(name, given, path, line)
        about[name] = cells[1:]
    raise FormatError("no row time, so no samples; see the two tables that are read", path=path)


def _samples(
    rows: Rows,
    about: dict[str, list[str]],
    scale: dict[str, float],
    factor: float,
    path: Path,
    offset: float | None,
) -> tuple[Trace, ...]:
    count = len(about.get("depth", []))
    if not count or len(rows) < 8:
        raise FormatError("expected a row depth, and at least 8 samples", path=path)
    if "offset" not in about and offset is None:
        raise FormatError("no row offset; add it, or give the offset", path=path)
    short = next((line for line, cells in rows if len(cells) < count + 1), None)
    if short is not None:
        raise FormatError(f"fewer than {count + 1} fields", path=path, line=short)
    table = np.array(
        [
            [_number(cell, "sample", path, line) for cell in cells[: count + 1]]
            for line, cells in rows
        ]
    )
    time = table[:, 0] * factor
    steps = np.diff(time)
    interval = float(np.median(steps))
    if interval <= 0 or np.abs(steps - interval).max() > 0.02 * interval:
        raise FormatError("the times of the samples are not evenly spaced", path=path)

    def cell(name: str, k: int) -> str:
        values = about.get(name, [])
        return values[k] if k < len(values) else ""

    line = rows[0][0]
    return tuple(
        Trace(
            depth=_number(cell("depth", k), "depth", path, line) * scale["depth"],
            offset=offset
            if "offset" not in about and offset is not None
            else _number(cell("offset", k), "offset", path, line) * scale["offset"],
            start=float(time[0]),
            interval=interval,
            values=table[:, k + 1],
            receiver=cell("receiver", k),
            strike=cell("strike", k),
            shot=cell("shot", k),
        )
        for k in range(count)
    )

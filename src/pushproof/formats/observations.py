"""Observations as a small table: CSV or Excel, one observation a row.

The headings are ``kind``, ``top`` (or ``depth``), ``base``, ``value``, ``words``, ``test`` and
``source``; only the first two must be there::

    kind,top,base,value,words,test,source
    N60,4.5,,6,,SPT,BH-2
    su,5.0,5.5,24,,triaxial CIU,BH-2
    layer,1.2,8.4,,soft grey clay,,BH-2
    water,0,,1.15,,standpipe,BH-2

Depths and a water level are in m below the zero of depth, su in kPa, phi in deg, Vs in m/s. The
separator of a text may be a comma, a semicolon or a tab.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from pushproof.errors import FormatError
from pushproof.formats.text import decode, read_bytes
from pushproof.model.observations import KINDS, Observation

HEADINGS = ("kind", "top", "base", "value", "words", "test", "source")
LARGEST = 5_000_000
"""Largest file that is read [bytes]."""


def read_observations(path: str | Path) -> tuple[Observation, ...]:
    """Read a table of observations.

    Raises
    ------
    FormatError
        If it cannot be read; the message names the line, what was found and what was expected.
    """
    path = Path(path)
    rows = _sheet(path) if path.suffix.lower() in (".xlsx", ".xlsm") else _text(path)
    _, heads = next(rows, (0, []))
    names = ["top" if head in ("depth", "depth [m]") else head.split(" [")[0] for head in heads]
    unknown = [name for name in names if name and name not in HEADINGS]
    if unknown or not {"kind", "top"} <= set(names):
        found = ", ".join(heads) or "nothing"
        raise FormatError(f"headings {found}; expected {', '.join(HEADINGS)}", path=path, line=1)
    made = [
        _observation(dict(zip(names, cells, strict=False)), path, line)
        for line, cells in rows
        if any(cells)
    ]
    if not made:
        raise FormatError("no observation under the headings", path=path)
    return tuple(made)


def _observation(cells: dict[str, str], path: Path, line: int) -> Observation:
    document: dict[str, Any] = {k: v for k, v in cells.items() if k and v != ""}
    for name in ("top", "base", "value"):
        if name in document:
            text = str(document[name]).replace(",", ".")
            try:
                document[name] = float(text)
            except ValueError:
                fault = f"{name}: {text!r} is no number"
                raise FormatError(fault, path=path, line=line) from None
    if document.get("kind") not in KINDS:
        fault = f"kind: {document.get('kind', '')!r}; expected one of {', '.join(KINDS)}"
        raise FormatError(fault, path=path, line=line)
    try:
        return Observation.model_validate(document)
    except ValidationError as error:
        faults = "; ".join(
            ": ".join(part for part in (".".join(map(str, f["loc"])), f["msg"]) if part)
            for f in error.errors()
        )
        raise FormatError(faults.replace("Value error, ", ""), path=path, line=line) from error


def _text(path: Path) -> Iterator[tuple[int, list[str]]]:
    text = decode(read_bytes(path, LARGEST)).text
    first = text.splitlines()[0] if text.strip() else ""
    separator = max(";\t,", key=first.count)
    for number, cells in enumerate(csv.reader(text.splitlines(), delimiter=separator), 1):
        yield number, [cell.strip() for cell in cells]


def _sheet(path: Path) -> Iterator[tuple[int, list[str]]]:
    import openpyxl

    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    except Exception as error:  # the library raises many kinds for a broken archive
        raise FormatError(f"not a workbook: {error}", path=path) from error
    try:
        for number, cells in enumerate(book.worksheets[0].iter_rows(values_only=True), 1):
            yield number, ["" if cell is None else str(cell).strip() for cell in cells]
    finally:
        book.close()

"""Tables to AGS 4 text: quotes, order of headings, types, and the groups that explain codes."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pushproof.formats.ags.dictionary import ABBREVIATIONS, TYPES, UNITS, headings
from pushproof.formats.precision import decimals, fixed

_PLAIN = str.maketrans(
    {"µ": "u", "°": "deg ", "²": "2", "³": "3", "–": "-", "—": "-", "“": '"', "”": '"'}
    | {"‘": "'", "’": "'", "ß": "ss", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "Ae", "×": "x"}
    | {"σ": "sigma", "φ": "phi", "γ": "gamma", "α": "alpha", "ψ": "psi", "±": "+/-", "·": "."}
)


def ascii_text(text: str) -> str:
    """Return text in ASCII on one line, as the format demands.

    Examples
    --------
    >>> ascii_text("Grès,\\n5 °C"), ascii_text("日")
    ('Gres, 5 deg C', '?')
    """
    text = " ".join(text.split())
    if text.isascii():
        return text.translate(dict.fromkeys(range(32)))
    parts = unicodedata.normalize("NFKD", text.translate(_PLAIN))
    bare = "".join(one for one in parts if not unicodedata.combining(one))
    return bare.encode("ascii", "replace").decode()


@dataclass
class Column:
    """One heading with its texts, type and unit."""

    heading: str
    type: str
    unit: str
    texts: Sequence[str]

    def quoted(self) -> Sequence[str]:
        """Return the texts as they stand between quotes; numbers hold none."""
        if self.type.endswith("DP"):
            return self.texts
        return [one.replace('"', '""') if '"' in one else one for one in self.texts]


@dataclass
class Table:
    """One group: columns side by side in the order of the dictionary."""

    name: str
    columns: list[Column] = field(default_factory=list)

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.columns[0].texts) if self.columns else 0

    def lines(self) -> list[str]:
        """Return the lines of the group, without their ends."""
        rows = [
            ("HEADING", *(one.heading for one in self.columns)),
            ("UNIT", *(one.unit for one in self.columns)),
            ("TYPE", *(one.type for one in self.columns)),
        ]
        found = [f'"GROUP","{self.name}"', *('"' + '","'.join(row) + '"' for row in rows)]
        data = zip(*(one.quoted() for one in self.columns), strict=True)
        found += ['"DATA","' + '","'.join(row) + '"' for row in data]
        return [*found, ""]


def numeric(
    heading: str, values: NDArray[np.float64], kind: tuple[str, str], *, count: int | None = None
) -> Column:
    """Return a column of numbers: the decimals of its type, more where the values carry more.

    Parameters
    ----------
    heading
        Name of the column.
    values
        In the unit of the column, shape (n,).
    kind
        Type (``"2DP"``) and unit of the dictionary.
    count
        Decimals, where the values do not tell them.
    """
    least = int(kind[0].removesuffix("DP"))
    places = decimals(values, least=least) if count is None else max(count, least)
    return Column(heading, f"{places}DP", kind[1], fixed(values, places))


def records(name: str, rows: Sequence[Mapping[str, str | float | None]], edition: str) -> Table:
    """Return a group of a few rows of mixed fields; headings that no row fills are left out.

    Numbers are in the unit of the heading. Key headings are always there.
    """
    columns = []
    for heading, kind in headings(name, edition).items():
        values = [row.get(heading) for row in rows]
        if not any(value not in (None, "") for value in values) and not any(
            heading in row for row in rows
        ):
            continue
        if kind[0].endswith("DP"):
            numbers = [np.nan if v is None else float(v) for v in values]
            columns.append(numeric(heading, np.array(numbers), kind))
            continue
        if kind[0].endswith("SCI"):
            texts = ["" if v is None else f"{float(v):.{int(kind[0][0])}E}" for v in values]
            columns.append(Column(heading, kind[0], kind[1], texts))
            continue
        texts = [ascii_text(str(v)) if v is not None else "" for v in values]
        columns.append(Column(heading, kind[0], kind[1], texts))
    return Table(name, columns)


def with_lists(tables: Sequence[Table], edition: str, codes: Mapping[tuple[str, str], str]) -> str:
    """Return the text of a file: the tables, and the lists of units, types and codes they use.

    Parameters
    ----------
    tables
        Groups in the order of the file.
    edition
        Edition of the dictionary.
    codes
        Heading and code to description, for codes that no dictionary has.
    """
    used = [one for table in tables for one in table.columns]
    known = {**ABBREVIATIONS, **codes}
    pairs = sorted(
        {(one.heading, text) for one in used if one.type == "PA" for text in one.texts if text}
    )
    abbreviations = [
        {"ABBR_HDNG": heading, "ABBR_CODE": code, "ABBR_DESC": known.get((heading, code), code)}
        for heading, code in pairs
    ]
    listed = [text for one in used if one.type == "PU" for text in one.texts]
    units = sorted({*(one.unit for one in used), *listed} - {""})
    rows = [{"UNIT_UNIT": one, "UNIT_DESC": UNITS.get(one, one)} for one in units]
    lists = [records("UNIT", rows, edition)]
    if abbreviations:
        lists.append(records("ABBR", abbreviations, edition))
    listed = [text for one in used if one.type == "PT" for text in one.texts]
    types = sorted({*(one.type for one in used), *listed, "X"} - {""})
    described = [{"TYPE_TYPE": one, "TYPE_DESC": _type(one)} for one in types]
    lists.append(records("TYPE", described, edition))
    lines = [line for table in (*tables, *lists) for line in table.lines()]
    return "\r\n".join(lines[:-1]) + "\r\n"


def _type(code: str) -> str:
    if code in TYPES:
        return TYPES[code]
    return f"Value; required number of decimal places, {code.removesuffix('DP')}"

"""From the columns of a table and what they are taken for to a series, and to its soundings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import FormatError
from pushproof.formats.delimited.mapping import ColumnGuess
from pushproof.formats.numbers import SENTINELS
from pushproof.model.findings import Finding, Severity
from pushproof.model.quantities import QUANTITIES
from pushproof.model.series import Reason, Series, extra_quantity
from pushproof.model.sounding import Sounding, SourceFile
from pushproof.model.units import to_inside


def to_series(
    guesses: Sequence[ColumnGuess],
    values: NDArray[np.float64],
    unreadable: NDArray[np.bool_],
    line: int | None,
) -> tuple[Series, list[Finding]]:
    """Return the columns of a table as a series, and what was assumed about them.

    Parameters
    ----------
    guesses
        What each column is taken for.
    values, unreadable
        The numbers, and which fields were none, shape (rows, columns).
    line
        Line of the heading.
    """
    series = Series()
    findings: list[Finding] = []
    for one in guesses:
        raw = values[:, one.index - 1]
        void = np.isin(raw, SENTINELS)
        if void.any():
            text = f"column {one.index} holds {raw[void][0]:g} {int(void.sum())} times; "
            findings.append(Finding("void-not-declared", Severity.INFO, text + "taken as void"))
            raw = np.where(void, np.nan, raw)
        missing = ~np.isfinite(raw)
        reason = np.where(unreadable[:, one.index - 1], Reason.UNREADABLE, Reason.VOID_IN_FILE)
        reason = np.where(missing, reason, Reason.PRESENT).astype(np.uint8)
        if one.key is None:
            key = _free(one.kept or f"column {one.index}", series)
            extra = extra_quantity(key, one.heading or key, one.unit)
            series = series.with_column(key, raw, reason, extra=extra)
            continue
        series = series.with_column(one.key, to_inside(raw, one.unit), reason)
        if one.assumed:
            findings.append(_assumed(one, line))
    return series, findings


def _free(key: str, series: Series) -> str:
    free, number = key, 1
    while free in series or free in QUANTITIES:
        number += 1
        free = f"{key} ({number})"
    return free


def _assumed(one: ColumnGuess, line: int | None) -> Finding:
    return Finding(
        "column-assumed",
        Severity.CAUTION,
        f"column {one.index} {one.heading!r} is taken as {one.key} in {one.unit} ({one.how})",
        "say it with --columns",
        channel=one.key or "",
        line=line,
    )


def need_depth(
    series: Series, headings: Sequence[str], path: Path, line: int | None = None
) -> None:
    """Refuse a table without a depth or a penetration length.

    Raises
    ------
    FormatError
        With the headings that were found.
    """
    if not {"length", "depth"} & set(series):
        found = ", ".join(repr(one) for one in headings) or "no headings"
        raise FormatError(
            f"no column is a depth or a penetration length (found: {found}); name it with "
            '--columns "depth=1:m, qc=2:MPa"',
            path=path,
            line=line,
        )


def each_sounding(
    parts: Iterable[tuple[str, NDArray[np.intp]]],
    series: Series,
    about: dict[str, Any],
    source: SourceFile,
    notes: tuple[Finding, ...],
) -> list[Sounding]:
    """Return the soundings of a table: name, if it has one of its own, and rows of each."""
    return [
        Sounding(
            **{**about, "name": name or about["name"]},
            readings=series.take(rows),
            source=source,
            findings=notes,
        )
        for name, rows in parts
    ]

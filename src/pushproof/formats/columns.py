"""Adding a raw column to a series: unit, void, reasons. Shared by the table-like formats."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding, Severity
from pushproof.model.quantities import QUANTITIES
from pushproof.model.series import Reason, Series, extra_quantity
from pushproof.model.units import unit


def add_column(
    series: Series,
    key: str | None,
    name: str,
    raw: NDArray[np.float64],
    stated: str,
    *,
    standard: str = "",
    unreadable: NDArray[np.bool_] | None = None,
    voids: tuple[float, ...] = (),
    where: str = "",
    line: int | None = None,
) -> tuple[Series, tuple[Finding, ...]]:
    """Return the series with one more column and what was odd about it.

    Parameters
    ----------
    series
        What there is.
    key
        Vocabulary key, or None for a column that nobody knows: it is kept as found.
    name
        Name of the column in the file; the key of a kept column.
    raw
        Values in the unit of the file, shape (n,).
    stated
        Unit as the file states it; empty if it states none.
    standard
        Unit that the format prescribes, for a file that states none or an unknown one.
    unreadable
        Fields that were no number, shape (n,).
    voids
        Numbers that stand for nothing.
    where
        Words for messages (``"heading SCPT_RES"``).
    line
        Line of the heading.
    """
    where = where or f"column {name}"
    missing = ~np.isfinite(raw)
    if voids:
        missing |= np.isin(raw, voids)
    reason = np.full(len(raw), Reason.VOID_IN_FILE, dtype=np.uint8)
    if unreadable is not None:
        reason[unreadable] = Reason.UNREADABLE
    reason[~missing] = Reason.PRESENT
    values = np.where(missing, np.nan, raw)
    found = unit(stated) if stated else unit(standard)
    if key is None or key in series:
        return _kept(series, name, values, reason, stated), ()
    if found is None:
        found = unit(standard)
        if found is None:
            return _kept(series, name, values, reason, stated), ()
        text = f"the unit {stated!r} of {where} ({key}) is not known; taken as {standard}"
        finding = Finding(
            "unit-unknown",
            Severity.CAUTION,
            text,
            "the unit the format prescribes; check it",
            channel=key,
            line=line,
        )
        values = values * found.factor + found.offset
        return series.with_column(key, values, reason), (finding,)
    if found.inside != QUANTITIES[key].unit:
        finding = Finding(
            "unit-mismatch",
            Severity.CAUTION,
            f"{where} is {key} but its unit is {stated!r}; kept aside as found",
            f"a unit of {QUANTITIES[key].unit}",
            channel=key,
            line=line,
        )
        return _kept(series, name, values, reason, stated), (finding,)
    return series.with_column(key, values * found.factor + found.offset, reason), ()


def _kept(
    series: Series, name: str, values: NDArray[np.float64], reason: NDArray[np.uint8], stated: str
) -> Series:
    key = name
    number = 2
    while key in series or key in QUANTITIES:
        key = f"{name} ({number})"
        number += 1
    return series.with_column(key, values, reason, extra=extra_quantity(key, name, stated))

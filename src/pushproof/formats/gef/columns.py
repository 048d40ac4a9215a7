"""Columns of a GEF file: quantity numbers to the vocabulary, voids, units."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.formats.gef.header import Entry, Header
from pushproof.formats.numbers import SENTINELS, Block, parse_number
from pushproof.model.findings import Finding, Severity
from pushproof.model.quantities import QUANTITIES
from pushproof.model.series import Reason, Series, extra_quantity
from pushproof.model.units import unit

QUANTITY = {
    1: ("length", "m"),
    2: ("qc", "MPa"),
    3: ("fs", "MPa"),
    4: ("Rf", "%"),
    5: ("u1", "MPa"),
    6: ("u2", "MPa"),
    7: ("u3", "MPa"),
    8: ("tilt", "deg"),
    9: ("tilt_y", "deg"),
    10: ("tilt_x", "deg"),
    11: ("depth", "m"),
    12: ("time", "s"),
    13: ("qt", "MPa"),
    14: ("qn", "MPa"),
    15: ("Bq", "-"),
    17: ("gamma", "kN/m3"),
    18: ("u0", "MPa"),
    19: ("sigma_v0", "MPa"),
    20: ("sigma_v0_eff", "MPa"),
    21: ("tilt_x", "deg"),
    22: ("tilt_y", "deg"),
}
"""Quantity number to vocabulary key and the unit the format prescribes."""

DISSIPATION = {
    1: ("time", "s"),
    2: ("qc", "MPa"),
    3: ("u1", "MPa"),
    4: ("u2", "MPa"),
    5: ("u3", "MPa"),
}


@dataclass(frozen=True)
class Columns:
    """The series of a data block and what was odd about its columns."""

    series: Series
    findings: tuple[Finding, ...]


def to_series(
    block: Block, header: Header, meaning: dict[int, tuple[str, str]] = QUANTITY
) -> Columns:
    """Turn parsed rows into a series by ``COLUMNINFO`` and ``COLUMNVOID``."""
    info = header.numbered("COLUMNINFO")
    voids = header.numbered("COLUMNVOID")
    series = Series()
    findings: list[Finding] = []
    for index in range(1, block.values.shape[1] + 1):
        raw = block.values[:, index - 1]
        unreadable = block.unreadable[:, index - 1]
        void, more = _void(index, raw, voids.get(index))
        findings += more
        reason = np.where(unreadable, Reason.UNREADABLE, Reason.VOID_IN_FILE).astype(np.uint8)
        missing = void | ~np.isfinite(raw)
        reason = np.where(missing, reason, np.uint8(Reason.PRESENT)).astype(np.uint8)
        values = np.where(void, np.nan, raw)
        series, more = _add(series, index, values, reason, info.get(index), meaning)
        findings += more
    return Columns(series, tuple(findings))


def _void(
    index: int, raw: NDArray[np.float64], entry: Entry | None
) -> tuple[NDArray[np.bool_], list[Finding]]:
    if entry is not None:
        try:
            void = parse_number(entry.parts(2)[1])
        except (ValueError, IndexError):
            return np.zeros(len(raw), dtype=bool), [
                Finding(
                    "void-unreadable",
                    Severity.CAUTION,
                    f"the void value of column {index} is no number: {entry.value!r}",
                    line=entry.line,
                )
            ]
        return np.isclose(raw, void, rtol=0, atol=1e-6 * max(1.0, abs(void))), []
    sentinel = np.isin(raw, SENTINELS)
    if not sentinel.any():
        return sentinel, []
    return sentinel, [
        Finding(
            "void-not-declared",
            Severity.CAUTION,
            f"column {index} declares no void value but holds {raw[sentinel][0]:g} "
            f"{int(sentinel.sum())} times; taken as void",
        )
    ]


def _add(
    series: Series,
    index: int,
    values: NDArray[np.float64],
    reason: NDArray[np.uint8],
    entry: Entry | None,
    meaning: dict[int, tuple[str, str]],
) -> tuple[Series, list[Finding]]:
    parts = [*(entry.parts(4) if entry else []), "", "", "", ""]
    stated, name, number = parts[1], parts[2], parts[3]
    known = meaning.get(int(number)) if number.isdecimal() else None
    found = unit(stated)
    if known is None or known[0] in series:
        return _keep(series, index, values, reason, name, stated), []
    key, standard = known
    line = entry.line if entry else None
    if found is None:
        fallback = unit(standard)
        assert fallback is not None
        values = values * fallback.factor
        finding = Finding(
            "unit-unknown",
            Severity.CAUTION,
            f"the unit {stated!r} of column {index} ({key}) is not known; taken as {standard}, "
            "the unit the format prescribes",
            channel=key,
            line=line,
        )
        return series.with_column(key, values, reason), [finding]
    if found.inside != QUANTITIES[key].unit:
        finding = Finding(
            "unit-mismatch",
            Severity.CAUTION,
            f"column {index} is numbered as {key} but its unit is {stated!r}; kept aside as found",
            f"a unit of {QUANTITIES[key].unit}",
            channel=key,
            line=line,
        )
        return _keep(series, index, values, reason, name, stated), [finding]
    return series.with_column(key, values * found.factor + found.offset, reason), []


def _keep(
    series: Series,
    index: int,
    values: NDArray[np.float64],
    reason: NDArray[np.uint8],
    name: str,
    stated: str,
) -> Series:
    key = f"column {index}"
    return series.with_column(key, values, reason, extra=extra_quantity(key, name or key, stated))

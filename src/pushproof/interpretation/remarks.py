"""Findings of the interpretation: rows without a value, and ground that relations do not fit."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pushproof.equations.behaviour_groups import CLAY_LIKE, SAND_LIKE
from pushproof.model.findings import Finding, Severity
from pushproof.model.series import Reason, Series


def remarks(series: Series) -> list[Finding]:
    """Return what is to be said about a derived profile, each thing once."""
    findings = []
    low = series["qn"] <= 0
    if low.any():
        findings.append(
            _rows_finding(
                "qt-below-overburden",
                series,
                low,
                "qt is not above the overburden in {rows}; nothing is derived there",
                "qt above sigma_v0; check the zero of qc, the unit weight and the water level",
                "qt",
            )
        )
    if not series.measured("fs"):
        findings.append(
            Finding(
                "fs-missing",
                Severity.CAUTION,
                "there is no sleeve friction, so no soil behaviour and what follows from it",
                "fs at every depth",
                channel="fs",
            )
        )
    elif (flat := series["fs"] <= 0).any():
        findings.append(
            _rows_finding(
                "fs-not-positive",
                series,
                flat,
                "fs is zero or less in {rows}; no soil behaviour is derived there",
                "fs above zero; check its zero reading",
                "fs",
            )
        )
    stuck = series.reason("n") == Reason.NOT_CONVERGED
    if stuck.any():
        text = "the stress exponent did not settle in {rows}"
        findings.append(_rows_finding("n-not-converged", series, stuck, text, "", "n"))
    return [*findings, *_special_ground(series)]


def rows_in_words(count: int) -> str:
    """Return a count of rows in words.

    Examples
    --------
    >>> rows_in_words(1), rows_in_words(20)
    ('1 row', '20 rows')
    """
    return "1 row" if count == 1 else f"{count} rows"


def _special_ground(series: Series) -> list[Finding]:
    """Say where the ground is of a kind that relations for ordinary sand or clay do not fit."""
    IB, zone, group = series["IB"], series["zone"], series["group"]
    kinds = (
        (
            "ground-transitional",
            (IB >= CLAY_LIKE) & (IB <= SAND_LIKE),
            "{part} of transitional ground: neither relations for sand nor for clay fit well, "
            "and the push may be partly drained",
            "Robertson 2016",
        ),
        (
            "ground-sensitive",
            (zone == 1.0) | (group == 1.0),
            "{part} of sensitive clay by behaviour: fs is near the remoulded strength, "
            "and disturbance matters",
            "Robertson 2016",
        ),
        (
            "ground-organic",
            zone == 2.0,
            "{part} of organic soil or very soft clay by behaviour: relations for unit "
            "weight and strength of mineral soil may not hold",
            "Robertson 2009",
        ),
    )
    return [
        _rows_finding(
            name,
            series,
            where,
            text,
            "",
            "zone",
            severity=Severity.INFO,
            source=f"{source}, from memory",
        )
        for name, where, text, source in kinds
        if where.any()
    ]


def _rows_finding(
    name: str,
    series: Series,
    rows: NDArray[np.bool_],
    text: str,
    expected: str,
    channel: str,
    severity: Severity = Severity.CAUTION,
    source: str = "",
) -> Finding:
    where = np.flatnonzero(rows)
    count = rows_in_words(where.size)
    part = f"{count} ({where.size / len(series):.0%} of all)"
    return Finding(
        name,
        severity,
        text.format(rows=count, part=part),
        expected,
        top=float(series["depth"][where[0]]),
        base=float(series["depth"][where[-1]]),
        source=source,
        channel=channel,
    )

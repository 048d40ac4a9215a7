"""Dissipation sheets: what was found, how, and the plots of one test."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from pushproof import __version__
from pushproof.equations import find
from pushproof.interpretation.dissipation import dissipation
from pushproof.interpretation.dissipation.factors import IR_HIGH, IR_LOW
from pushproof.model.dissipation import DissipationEstimate, DissipationResult
from pushproof.model.findings import by_severity
from pushproof.model.profile import Interpretation
from pushproof.model.sounding import Dissipation
from pushproof.report import looks
from pushproof.report.dissipationplot import HEIGHT, draw, time_words
from pushproof.report.facts import CAUTION, NOT_STATED, log_facts
from pushproof.report.formula import formula_runs, lowered
from pushproof.report.logsheet import Sheet, paper_of
from pushproof.report.plate import Plate

SECONDS_PER_YEAR = 365.25 * 86400.0
_METHODS = {
    "direct": "direct reading",
    "root-time": "root time",
    "log-time": "log time",
    "curve-fit": "tabulated curve",
    "dilatory-fit": "dilatory solution",
}


def lay_dissipations(
    interpretation: Interpretation,
    results: Sequence[DissipationResult],
    *,
    paper: str = "A4",
    signed: str | None = None,
) -> Sheet:
    """Lay the sheets of dissipation tests out, one test after another.

    Parameters
    ----------
    interpretation
        The sounding.
    results
        Results of its tests.
    paper
        ``"A4"`` or ``"Letter"``.
    signed
        Line that says who signed; None prints "Not signed".

    Raises
    ------
    ValueError
        If there is no result, or the paper is not known.
    """
    if not results:
        name = interpretation.profile.sounding.name
        raise ValueError(f"sounding {name}: there is no dissipation test in it")
    sheet_paper = paper_of(paper)
    tests, pictures = [], {}
    for result in results:
        test = interpretation.profile.sounding.dissipations[result.number - 1]
        words, plate = dissipation_parts(result, test, sheet_paper.content)
        name = f"dissipation{result.number}"
        pictures[name] = plate.svg()
        rows = method_rows([result])
        picture = plate.picture() | {"height": HEIGHT}
        tests.append(words | {"plate": name, "picture": picture, "methods": rows})
    log = log_facts(interpretation, signed=signed, shown=())
    data = {
        "version": f"Pushproof {__version__}",
        "paper": sheet_paper.as_data(),
        "log": log | {"dissipations": tests},
        "caution": CAUTION,
    }
    return Sheet("dissipation.typ", data, pictures)


def dissipations_of(interpretation: Interpretation) -> list[tuple[DissipationResult, Dissipation]]:
    """Return each test of a sounding with its result."""
    tests = interpretation.profile.sounding.dissipations
    return [(dissipation(test, interpretation), test) for test in tests]


def dissipation_parts(
    result: DissipationResult, test: Dissipation, content: float
) -> tuple[dict[str, Any], Plate]:
    """Return the words and the plots of one dissipation test.

    Parameters
    ----------
    result
        What was found.
    test
        The record.
    content
        Width between the margins [mm].
    """
    data = {
        "depth": f"{result.depth:.2f}",
        "facts": _facts(result, test),
        "estimates": [_estimate_row(one, result) for one in result.estimates],
        "swing": f"ch for Ir {IR_LOW:g} to {IR_HIGH:g}",
        "ways": [[_METHODS[one.method], looks.minus(one.how)] for one in result.estimates],
        "degrees": _degree_rows(result),
        "findings": [
            {"severity": one.severity.word, "found": one.found, "expected": one.expected}
            for one in by_severity(result.findings)
        ],
        "assumed": [[one.text, one.reason] for one in result.assumptions],
        "notes": list(result.notes),
        "reason": result.choice.reason,
    }
    return data, draw(result, test, content)


def method_rows(results: Sequence[DissipationResult]) -> list[dict[str, Any]]:
    """Return the equations behind results, each once, as rows of the table of methods."""
    names = dict.fromkeys(name for result in results for name in result.equations)
    rows = []
    for name in names:
        one = find(name)
        rows.append(
            {
                "key": one.gives,
                "symbol": lowered(_symbol(one.gives)),
                "name": name,
                "formula": formula_runs(one.formula),
                "citation": one.citation,
                "mark": str(one.mark),
            }
        )
    return rows


def _symbol(gives: str) -> str:
    known = {"ch": "c_{h}", "kh": "k_{h}", "T*": "T*", "excess pore pressure": "Δu"}
    return known.get(gives, gives)


def _facts(result: DissipationResult, test: Dissipation) -> list[dict[str, Any]]:
    keys = {one.key for one in result.assumptions}
    length = float(result.time[-1]) if len(result.time) else math.nan
    level = looks.minus(f"{result.water_level:.2f} m")
    chosen = result.chosen
    known = chosen is not None and math.isfinite(chosen.reached)
    reached = f"{chosen.reached:.0f} % at the end" if known and chosen else "not known"
    M = NOT_STATED if math.isnan(result.M) else f"{result.M / 1e3:.1f} MPa, {result.M_how}"
    rows = [
        ("Depth, filter", f"{result.depth:.2f} m, {result.channel}", False),
        ("Started", test.start.strftime("%Y-%m-%d %H:%M:%S") if test.start else NOT_STATED, False),
        ("Record", f"{len(result.time)} readings over {time_words(length)}", False),
        ("Shape", f"the pressure {result.kind.value}", False),
        ("Dissipated", reached, False),
        ("u_{0}", looks.minus(f"{_kpa(result.u0)}, {result.u0_how}"), "u0" in keys),
        ("u_{0} stands for", f"a water table at {level}", "u0" in keys),
        ("Rigidity index", _rigidity(result), "Ir" in keys),
        ("Radius of cone", f"{result.radius * 1e3:.2f} mm", "radius" in keys),
        ("Modulus M", M, False),
    ]  # fmt: skip
    return [
        {"label": lowered(label), "value": value, "assumed": assumed}
        for label, value, assumed in rows
    ]


def _estimate_row(one: DissipationEstimate, result: DissipationResult) -> dict[str, Any]:
    swing = scientific(one.ch_low)
    if math.isfinite(one.ch_low):
        swing = [*swing, [" to ", False], *scientific(one.ch_high)]
    return {
        "method": _METHODS[one.method],
        "chosen": one.method == result.method,
        "u_i": looks.minus(f"{one.u_i:.1f}"),
        "u50": "–" if math.isnan(one.u50) else looks.minus(f"{one.u50:.1f}"),
        "t50": time_words(one.t50) + (" *" if one.extrapolated else ""),
        "extrapolated": one.extrapolated,
        "T": "–" if math.isnan(one.ch) else f"{one.T_star:.3g}",
        "ch": scientific(one.ch),
        "swing": swing,
        "year": _significant(one.ch * SECONDS_PER_YEAR),
        "kh": scientific(one.kh_modulus),
        "kh_direct": scientific(one.kh_direct),
        "residual": "–" if one.residual is None else f"{one.residual:.2g}",
    }


def _degree_rows(result: DissipationResult) -> list[list[Any]]:
    return [
        [
            f"{row.degree:.0f} %",
            f"{row.T_star:.3g}",
            time_words(row.time),
            time_words(row.predicted),
            scientific(row.ch),
        ]
        for row in result.degrees
    ]


def _rigidity(result: DissipationResult) -> str:
    if result.chosen is None:
        return "not used"
    return f"{result.Ir:g}, {result.Ir_how}"


def _kpa(value: float) -> str:
    return "–" if math.isnan(value) else f"{value:.1f} kPa"


def scientific(value: float) -> list[list[Any]]:
    """Return a small number as people write it, as lettering.

    Examples
    --------
    >>> scientific(2.921e-5)
    [['2.9·10', False], ['−5', 'up']]
    >>> scientific(float("nan"))
    [['–', False]]
    """
    if not math.isfinite(value):
        return [["–", False]]
    mantissa, power = f"{value:.1e}".split("e")
    return [[f"{mantissa}·10", False], [looks.minus(str(int(power))), "up"]]


def _significant(value: float) -> str:
    """Return a number with three significant digits and no exponent."""
    if not math.isfinite(value):
        return "–"
    decimals = max(0, 2 - math.floor(math.log10(value))) if value > 0 else 0
    return f"{value:.{decimals}f}"

"""``pushproof dissipation``: t50, ch and kh of the dissipation tests of a sounding."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console
from pushproof.cli.findings import findings_table
from pushproof.cli.job import Reading, product_path
from pushproof.cli.options import (
    AreaRatio,
    AsJson,
    Columns,
    Debug,
    Files,
    Paper,
    PaperName,
    Quiet,
    RecipeFile,
    Salvage,
    WaterLevel,
    decisions,
)
from pushproof.errors import ConfigurationError

if TYPE_CHECKING:
    from pushproof.model.dissipation import DissipationResult
    from pushproof.model.profile import Interpretation
    from pushproof.model.recipe import Recipe


class MethodName(StrEnum):
    """Ways to t50."""

    DIRECT = "direct"
    ROOT = "root-time"
    LOG = "log-time"
    CURVE = "curve-fit"
    DILATORY = "dilatory-fit"


class EquilibriumName(StrEnum):
    """Ways to the in-situ pore pressure."""

    LEVELLED = "levelled"
    HYDROSTATIC = "hydrostatic"
    INVERSE = "inverse-time"
    INVERSE_ROOT = "inverse-root-time"


Record = Annotated[
    Path | None,
    typer.Option(
        "--record",
        help="A test as a table time [s], u2 [kPa]; it joins the sounding.",
        show_default=False,
    ),
]
Depth = Annotated[
    float | None,
    typer.Option("--depth", help="Depth of the test of --record [m].", show_default=False),
]
Test = Annotated[
    int | None,
    typer.Option("--test", min=1, help="Number of the test, from 1.", show_default=False),
]
InSitu = Annotated[
    float | None,
    typer.Option("--u0", help="In-situ pore pressure [kPa].", show_default=False),
]
InSituBy = Annotated[
    EquilibriumName | None,
    typer.Option("--u0-by", help="How in-situ pressure is found.", show_default=False),
]
Initial = Annotated[
    float | None,
    typer.Option("--ui", help="Initial pore pressure [kPa].", show_default=False),
]
Rigidity = Annotated[
    float | None,
    typer.Option("--ir", help="Rigidity index [-].", show_default=False),
]
Modulus = Annotated[
    float | None,
    typer.Option("--modulus", help="Constrained modulus M [MPa], for kh.", show_default=False),
]
Stop = Annotated[
    float | None,
    typer.Option("--t0", help="Time of the record at which the push stopped [s]."),
]
Window = Annotated[
    str,
    typer.Option(
        "--window",
        help="Straight part over root time [s], as 30-400.",
        show_default=False,
    ),
]
Method = Annotated[
    MethodName | None,
    typer.Option("--method", help="The way that counts.", show_default=False),
]
Output = Annotated[
    Path | None,
    typer.Option("--output", "-o", help="Sheet (.pdf, .png, .svg) or folder.", show_default=False),
]
Save = Annotated[
    Path | None,
    typer.Option("--save", help="Write the picks into this recipe file.", show_default=False),
]
Why = Annotated[str, typer.Option("--reason", help="Reason for the picks.", show_default=False)]


def dissipation(
    files: Files,
    record: Record = None,
    depth: Depth = None,
    test: Test = None,
    u0: InSitu = None,
    u0_by: InSituBy = None,
    u_i: Initial = None,
    rigidity: Rigidity = None,
    modulus: Modulus = None,
    t0: Stop = None,
    window: Window = "",
    method: Method = None,
    output: Output = None,
    paper: Paper = PaperName.A4,
    as_json: AsJson = False,
    save: Save = None,
    reason: Why = "",
    columns: Columns = "",
    salvage: Salvage = False,
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Interpret dissipation tests: t50, ch with its swing, kh; every way side by side."""
    picks: dict[str, Any] = {
        "u0": u0,
        "u0_by": None if u0_by is None else u0_by.value,
        "u_i": u_i,
        "Ir": rigidity,
        "M": None if modulus is None else modulus * 1e3,
        "t0": t0,
        "window": _window(window),
        "method": None if method is None else method.value,
        "reason": reason or None,
    }
    picked = {key: value for key, value in picks.items() if value is not None}
    chosen = decisions(recipe, water_level, area_ratio)
    reading = Reading(chosen, columns, salvage)
    documents: list[dict[str, Any]] = []
    for path in files:
        for one in _interpretations(reading, path, record, depth):
            results, chosen = _results(one, chosen, test, picked)
            if as_json:
                documents += [result.document() for result in results]
            else:
                _print(one, results)
            if output is not None and results:
                _write(one, results, output, path, len(files) == 1, paper)
    if as_json:
        import json

        typer.echo(json.dumps(documents, indent=2, ensure_ascii=False, allow_nan=False))
    if save is not None:
        from pushproof.formats.recipe import save_recipe

        save_recipe(chosen, save)
        if not as_json:
            console().print(f"picks saved in {save}", soft_wrap=True, markup=False)


def _interpretations(
    reading: Reading, path: Path, record: Path | None, depth: float | None
) -> Iterator[Interpretation]:
    """Yield the interpretations of a file, the test of a table of its own added."""
    if record is None:
        if depth is not None:
            raise ConfigurationError("--depth: it goes with --record; choose a test with --test")
        yield from reading.interpretations(path)
        return
    if depth is None:
        raise ConfigurationError("--record: give the depth of the test with --depth")
    from pushproof.formats.dissipation_table import read_dissipation
    from pushproof.interpretation import interpret
    from pushproof.processing import process

    added = read_dissipation(record, depth)
    found = list(reading.decided(path))
    if len(found) != 1:
        raise ConfigurationError(f"--record: {path} holds {len(found)} soundings; expected one")
    ((sounding, recipe),) = found
    joined = replace(sounding, dissipations=(*sounding.dissipations, added))
    yield interpret(process(joined, recipe))


def _window(text: str) -> tuple[float, float] | None:
    if not text:
        return None
    parts = text.split("-")
    try:
        first, last = (float(part) for part in parts)
    except ValueError:
        raise ConfigurationError(
            f"--window {text!r}: expected two times in seconds, as 30-400"
        ) from None
    return first, last


def _results(
    one: Interpretation, recipe: Recipe, number: int | None, picked: dict[str, Any]
) -> tuple[list[DissipationResult], Recipe]:
    """Return the results, and the recipe with the picks of this call in it."""
    from pushproof.interpretation.dissipation import choice_for, with_choice
    from pushproof.interpretation.dissipation import dissipation as interpret_test

    tests = one.profile.sounding.dissipations
    if number is not None and number > len(tests):
        raise ConfigurationError(
            f"--test {number}: {one.profile.sounding.name} holds {len(tests)} dissipation tests"
        )
    # those of the job, or beside the file, are in it too
    decided = one.profile.recipe
    results = []
    for k, test in enumerate(tests, 1):
        if number not in (None, k):
            continue
        choice = choice_for(decided, test.depth, k)
        if picked:
            kept = choice.model_dump(exclude_none=True) | {"depth": test.depth, "number": k}
            choice = type(choice).model_validate(kept | picked)
            recipe = with_choice(recipe, choice)
        results.append(interpret_test(test, one, recipe=decided, choice=choice))
    return results, recipe


def _print(one: Interpretation, results: list[DissipationResult]) -> None:
    from rich.markup import escape

    out = console()
    name = escape(one.profile.sounding.name)
    if not results:
        out.print(f"[bold]{name}[/]: no dissipation test")
    for result in results:
        out.print(f"[bold]{name}[/] test {result.number} at {result.depth:.2f} m, {result.channel}")
        out.print(escape(f"the pressure {result.kind.value}"))
        if math.isfinite(result.u0):
            level = f"stands for a water table at {result.water_level:.2f} m"
            out.print(escape(f"u0 {result.u0:.1f} kPa: {result.u0_how}; {level}"))
        if result.estimates:
            out.print(_table(result))
            modulus = "not known"
            if math.isfinite(result.M):
                modulus = f"{result.M / 1e3:.1f} MPa ({result.M_how})"
            cone = f"cone radius {result.radius * 1e3:.2f} mm"
            out.print(escape(f"Ir {result.Ir:g} ({result.Ir_how}), {cone}, M {modulus}"))
        out.print()
        out.print(findings_table(result.findings))
        out.print()


def _table(result: DissipationResult) -> Any:
    from rich.table import Table

    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in ("way", "ui kPa", "t50 s", "end %", "ch m2/s", "swing", "kh(M)", "kh(t50)"):
        table.add_column(heading, no_wrap=True)
    for one in result.estimates:
        swing = "" if math.isnan(one.ch_low) else f"{one.ch_low:.1e}..{one.ch_high:.1e}"
        table.add_row(
            one.method,
            f"{one.u_i:.1f}",
            _number(one.t50, ".1f") + ("*" if one.extrapolated else ""),
            _number(one.reached, ".0f"),
            _number(one.ch, ".2e"),
            swing,
            _number(one.kh_modulus, ".1e"),
            _number(one.kh_direct, ".1e"),
            style="bold" if one.method == result.method else None,
        )
    beyond = any(one.extrapolated for one in result.estimates)
    table.caption = "bold: used; kh in m/s" + "; * beyond the end of the record" * beyond
    table.caption_justify = "left"
    return table


def _number(value: float, form: str) -> str:
    return "-" if math.isnan(value) else format(value, form)


def _write(
    one: Interpretation,
    results: list[DissipationResult],
    output: Path,
    source: Path,
    alone: bool,
    paper: PaperName,
) -> None:
    from pushproof.report.dissipation import lay_dissipations

    name = f"{one.profile.sounding.name}-dissipation"
    target = product_path(output, source, name, ".pdf", alone=alone)
    target.parent.mkdir(parents=True, exist_ok=True)
    sheet = lay_dissipations(one, results, paper=paper.size)
    for written in sheet.write(target):
        console(stderr=True).print(f"{written}", soft_wrap=True, markup=False)

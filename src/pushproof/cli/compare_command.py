"""``pushproof compare``: a sounding against borings and laboratory, and factors fitted."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import console
from pushproof.cli.job import Reading, observed_in
from pushproof.cli.options import (
    AreaRatio,
    AsJson,
    Author,
    Columns,
    Debug,
    Observed,
    Quiet,
    RecipeFile,
    WaterLevel,
    WhichSounding,
    observations_of,
)
from pushproof.cli.options import decisions as decided

if TYPE_CHECKING:
    from pushproof.interpretation.crosscheck import Fitted, Misfit


def compare(
    file: Annotated[Path, typer.Argument(help="A sounding file, or a job file.")],
    observations: Observed = None,
    sounding: WhichSounding = "",
    fit: Annotated[str, typer.Option("--fit", help="Factor to fit: Nkt, Ndu, Nke or OCR_k.")] = "",
    save: Annotated[
        Path | None,
        typer.Option("--save", help="Recipe to write with the fit.", show_default=False),
    ] = None,
    author: Author = "",
    as_json: AsJson = False,
    columns: Columns = "",
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Hold a sounding against blow counts, laboratory strengths, water levels and logged layers."""
    from pushproof.errors import ConfigurationError
    from pushproof.formats.recipe import save_recipe
    from pushproof.interpretation.crosscheck import fit as fit_factor
    from pushproof.interpretation.crosscheck import misfits

    if save is not None and not (fit and author.strip()):
        raise ConfigurationError("--save keeps a fit as a decision: give --fit and --as")
    found = list(Reading(decided(recipe, water_level, area_ratio), columns).interpretations(file))
    named = [one for one in found if sounding in ("", one.profile.sounding.name)]
    if len(named) != 1:
        names = ", ".join(one.profile.sounding.name for one in found)
        raise ConfigurationError(f"{file}: name one sounding with --sounding; there are: {names}")
    (derived,) = named
    seen = observations_of(observations)
    if not seen:
        seen = observed_in(file).get(derived.profile.sounding.name, ())
    if not seen:
        raise ConfigurationError(
            "nothing to compare with: give --observations, or keep a table with pushproof observe"
        )
    stands = misfits(derived, seen)
    fitted = fit_factor(derived, seen, fit) if fit else None
    if as_json:
        import json

        document = {
            "sounding": derived.profile.sounding.name,
            "misfits": [_document(one) for one in stands],
            "fit": None if fitted is None else _fit_document(fitted),
        }
        typer.echo(json.dumps(document, indent=2, ensure_ascii=False))
    else:
        _print(derived, seen, stands, fitted)
    if save is not None and fitted is not None:
        save_recipe(fitted.into(derived.profile.recipe, author.strip()), save)
        if not as_json:
            console().print(f"{save}: {fitted.factor} is kept as a decision", markup=False)


def _print(derived: Any, seen: Any, stands: list[Misfit], fitted: Fitted | None) -> None:
    from rich.markup import escape
    from rich.table import Table

    out = console()
    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in ("", "relation", "n", "no value", "observed / estimated", "scatter"):
        table.add_column(heading)
    for one in stands:
        name = one.relation if one.chosen else f"  {one.relation}"
        bias = (
            "–"
            if math.isnan(one.bias)
            else f"{one.bias:+.1f} deg"
            if one.degrees
            else (f"{one.bias:.2f}")
        )
        scatter = (
            "–"
            if math.isnan(one.scatter)
            else (f"{one.scatter:.1f} deg" if one.degrees else f"{one.scatter:.0%}")
        )
        mark = f"[bold]{one.key}[/]" if one.chosen else ""
        table.add_row(mark, escape(name), str(one.n), str(one.silent), bias, scatter)
    if stands:
        out.print(table)
    _water(derived, seen)
    _layers(derived, seen)
    if fitted is not None:
        out.print(
            f"{fitted.factor} = {fitted.value:.2f}, one standard deviation {fitted.spread:.2f}, "
            f"standard error {fitted.standard_error:.2f}, from {fitted.n} observations",
            markup=False,
        )


def _water(derived: Any, seen: Any) -> None:
    water = derived.profile.water
    for one in seen:
        if one.kind == "water" and water is not None and one.value is not None:
            off = one.value - water.level
            console().print(
                f"water level observed at {one.value:.2f} m, {water.level:.2f} m is used "
                f"({water.origin.value}): {off:+.2f} m",
                markup=False,
            )


def _layers(derived: Any, seen: Any) -> None:
    from pushproof.interpretation.layers import layers

    logged = [one for one in seen if one.kind == "layer"]
    if not logged:
        return
    units = layers(derived).units
    for one in logged:
        met = [
            (min(unit.base, one.base) - max(unit.top, one.top), unit.name)
            for unit in units
            if min(unit.base, one.base) > max(unit.top, one.top)
        ]
        words = ", ".join(f"{name} {thick:.1f} m" for thick, name in met) or "not reached"
        console().print(
            f"{one.top:.2f} to {one.base:.2f} m, logged as {one.words}: {words}", markup=False
        )


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _document(one: Misfit) -> dict[str, Any]:
    return {
        "key": one.key,
        "relation": one.relation,
        "chosen": one.chosen,
        "n": one.n,
        "no_value": one.silent,
        "bias": _number(one.bias),
        "scatter": _number(one.scatter),
        "unit": "deg" if one.degrees else "ratio",
        "pairs": [
            {
                "top": pair.observation.top,
                "base": pair.observation.base,
                "observed": pair.observation.value,
                "estimated": _number(pair.estimate),
            }
            for pair in one.pairs
        ],
    }


def _fit_document(one: Fitted) -> dict[str, Any]:
    return {
        "factor": one.factor,
        "value": one.value,
        "spread": one.spread,
        "standard_error": one.standard_error,
        "n": one.n,
        "each": list(one.each),
    }

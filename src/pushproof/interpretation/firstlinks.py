"""The first links of an explanation: from the channels to qt, unit weight and stresses."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from pushproof.equations import find
from pushproof.interpretation.explanation import Input, Link, present
from pushproof.interpretation.links import link_of
from pushproof.interpretation.rowvalues import RowValues
from pushproof.interpretation.stresses import load_above, water_used
from pushproof.interpretation.wording import figure
from pushproof.model.quantities import QUANTITIES
from pushproof.model.sounding import WaterOrigin


def needed_first(row: RowValues, wanted: set[str]) -> list[str]:
    """Return which of the first columns are needed, in the order in which they are found."""
    needs = set(wanted)
    method = row.interpretation.methods.get("gamma", "")
    of_gamma = () if method in ("", "constant") else tuple(find(method).parameters)
    for key, inputs in (
        ("sigma_v0_eff", ("sigma_v0", "u0")),
        ("sigma_v0", ("gamma",)),
        ("gamma", of_gamma),
        ("Rf", ("qt", "fs")),
        ("qt", ("qc",)),
        ("ft", ("fs", "u2")),
    ):
        if key in needs:
            needs.update(inputs)
    wanted.update(needs)
    return [key for key in _MAKERS if key in needs and key in row.interpretation.series]


def first_link(row: RowValues, key: str, number: int) -> Link:
    """Return the link that gives one of the first columns."""
    return _MAKERS[key](row, number)


def _qt(row: RowValues, number: int) -> Link:
    profile = row.interpretation.profile
    if not profile.qt_is_qc[row.row]:
        ratio = profile.area_ratio
        recipe = profile.recipe.area_ratio is not None
        a = Input("a", "net area ratio", ratio, "-", "the recipe" if recipe else "the sounding")
        full = (row.argument("qc", "", "kPa"), row.argument("u2", "", "kPa"), a)
        return link_of(row, number, "qt", "qt_area_ratio", full)
    lacking = "no net area ratio" if profile.series.measured("u2") else "no u2"
    given = (row.argument("qc", "", "kPa"),)
    note = f"not corrected for pore pressure: there is {lacking}"
    return _plain_link(row, number, "qt", "qt = qc", given, note)


def _ft(row: RowValues, number: int) -> Link:
    given = (row.argument("fs", "", "kPa"), row.argument("u2", "", "kPa"))
    note = "with the end areas of the sleeve; see ft_end_areas"
    return _plain_link(row, number, "ft", "ft = fs - (u2 Asb - u3 Ast) / As", given, note)


def _rf(row: RowValues, number: int) -> Link:
    return link_of(row, number, "Rf", "rf_over_qt")


def _gamma(row: RowValues, number: int) -> Link:
    recipe = row.interpretation.profile.recipe
    method = row.interpretation.methods.get("gamma", "constant")
    value = row.values["gamma"]
    if method == "constant":
        return _plain_link(
            row, number, "gamma", "gamma constant", (), "one unit weight, given by the recipe"
        )
    link = link_of(row, number, "gamma", method, value=value)
    if link.result is None:
        note = "the relation has no value here: bridged between neighbours, or the assumed value"
        return _noted(link, f"{note} of the recipe above the first reading")
    held = min(max(link.result, recipe.gamma_low), recipe.gamma_high)
    if abs(held - value) > 0.02:
        return _noted(link, f"the first reading stands for what is above it: assumed {value:g}")
    if held != link.result:
        return _noted(link, f"held at the bound of the recipe, {held:g} kN/m3")
    if "sigma_v0_eff" in find(method).parameters:
        return _noted(link, "settled together with the stress that it depends on")
    return link


def _sigma_v0(row: RowValues, number: int) -> Link:
    """Return the sum of the unit weight as the step from the row above."""
    series = row.interpretation.series
    depth, gamma, total = (series[key] for key in ("depth", "gamma", "sigma_v0"))
    above = np.flatnonzero(np.isfinite(depth[: row.row]))
    here = max(float(depth[row.row]), 0.0)
    if above.size:
        last = int(above[-1])
        step = here - max(float(depth[last]), 0.0)
        mean = 0.5 * float(gamma[last] + gamma[row.row])
        start = Input(
            "surcharge", f"sigma_v0 at {depth[last]:.3f} m", float(total[last]), "kPa", "row above"
        )
        weight = Input("gamma", "mean of the two rows", mean, "kN/m3", "unit weight")
    else:
        step = here
        load = load_above(row.interpretation.profile)
        start = Input("surcharge", "open water", load, "kPa", "water level of the sounding")
        weight = Input(
            "gamma", "down to the first row", float(gamma[row.row]), "kN/m3", "unit weight"
        )
    moved = Input("depth", "step in depth", step, "m", "depth of the rows")
    link = link_of(row, number, "sigma_v0", "sigma_v0_layers", (moved, weight, start))
    text = (
        f"sigma_v0 = {figure(start.value, 'kPa')} + {figure(weight.value, 'kN/m3')} "
        f"× {figure(step, 'm')}"
    )
    note = ""
    if here > 0:
        own = float(total[row.row]) - load_above(row.interpretation.profile)
        note = f"{own / here:.2f} kN/m3 on average from depth 0"
    return _noted(link, note, text)


def _u0(row: RowValues, number: int) -> Link:
    profile = row.interpretation.profile
    level = water_used(profile)
    origin = profile.water.origin.value if profile.water else "not known"
    assumed = profile.water is not None and profile.water.origin is WaterOrigin.ASSUMED
    depth = row.argument("depth", "", "m")
    water = Input("water_level", "zw", level, "m", origin, assumed=assumed)
    given = (depth, water, row.argument("gamma_w", "", "kN/m3"))
    link = link_of(row, number, "u0", "u0_hydrostatic", given)
    text = (
        f"u0 = {figure(given[2].value, 'kN/m3')} × max(0, {figure(depth.value, 'm')} - "
        f"{_bracketed(level)})"
    )
    return _noted(link, "", text if level is not None else "")


def _sigma_v0_eff(row: RowValues, number: int) -> Link:
    link = link_of(row, number, "sigma_v0_eff", "sigma_v0_eff_terzaghi")
    if link.value is None and link.result is not None:
        return _noted(link, "too near to zero to normalise by: not used")
    return link


_MAKERS: dict[str, Callable[[RowValues, int], Link]] = {
    "qt": _qt,
    "ft": _ft,
    "Rf": _rf,
    "gamma": _gamma,
    "sigma_v0": _sigma_v0,
    "u0": _u0,
    "sigma_v0_eff": _sigma_v0_eff,
}


def _plain_link(
    row: RowValues, number: int, key: str, formula: str, given: tuple[Input, ...], note: str
) -> Link:
    row.links[key] = number
    value = present(row.values[key])
    unit = QUANTITIES[key].unit
    return Link(number, key, "", formula, "", given, value, value, unit, "", "", "", "", "", note)


def _bracketed(level: float | None) -> str:
    text = figure(level, "m")
    return f"({text})" if text.startswith("-") else text


def _noted(link: Link, note: str, substituted: str | None = None) -> Link:
    text = link.substituted if substituted is None else substituted
    return replace(link, note=note, substituted=text)

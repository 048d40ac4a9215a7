"""What a recipe offers to choose from: relations, factors and settings, in words for a form."""

from __future__ import annotations

import typing
from typing import Any

from pushproof.equations.registry import find
from pushproof.model.quantities import QUANTITIES
from pushproof.model.recipe import Factors, Methods, Recipe

_TITLES = {
    "gamma": "unit weight",
    "n": "stress exponent",
    "overconsolidated_zones": "boundary of zones 8 and 9",
    "n60": "SPT blow count",
    "fines": "fines content",
    "su": "undrained shear strength",
    "nkt": "factor Nkt",
    "sensitivity": "sensitivity",
    "yield_stress": "yield stress and OCR",
    "k0_sand": "K0 in sand-like ground",
    "k0_clay": "K0 in clay-like ground",
    "phi_sand": "friction angle in sand-like ground",
    "phi_clay": "friction angle in clay-like ground",
    "dr": "relative density",
    "psi": "state parameter",
    "m": "constrained modulus",
    "e": "drained Young's modulus",
    "g0": "small-strain shear modulus",
    "vs": "shear wave velocity",
}
_COLUMN = {
    "gamma": "gamma",
    "n": "n",
    "overconsolidated_zones": "Ic",
    "n60": "N60",
    "fines": "FC",
    "su": "su",
    "nkt": "su",
    "sensitivity": "St",
    "yield_stress": "OCR",
    "k0_sand": "K0",
    "k0_clay": "K0",
    "phi_sand": "phi",
    "phi_clay": "phi",
    "dr": "Dr",
    "psi": "psi",
    "m": "M",
    "e": "E",
    "g0": "G0",
    "vs": "Vs",
}


def choices(recipe: Recipe) -> dict[str, Any]:
    """Return the relations and factors that a recipe can choose, and what it chooses now."""
    return {
        "methods": [_method(name, recipe) for name in Methods.model_fields],
        "factors": [_factor(name, recipe) for name in Factors.model_fields],
    }


def _method(name: str, recipe: Recipe) -> dict[str, Any]:
    field = Methods.model_fields[name]
    chosen = getattr(recipe.methods, name)
    column = _COLUMN.get(name, "")
    return {
        "field": name,
        "title": _TITLES.get(name, name.replace("_", " ")),
        "column": column,
        "symbol": QUANTITIES[column].symbol if column in QUANTITIES else "",
        "chosen": chosen,
        "usual": field.default,
        "why": field.description or "",
        "options": [_option(one) for one in typing.get_args(field.annotation)],
    }


def _option(name: str) -> dict[str, str]:
    """Return a relation with its formula and source; a plain word stands for itself."""
    try:
        equation = find(name)
    except ValueError:
        return {"name": name, "title": name.replace("_", " "), "formula": "", "source": ""}
    source = equation.citation.split(").", 1)[0] + ")" if ")." in equation.citation else ""
    return {
        "name": name,
        "title": equation.summary.rstrip("."),
        "formula": equation.formula,
        "source": equation.citation,
        "short": source or equation.citation.split(".", 1)[0],
        "where": equation.where,
        "mark": equation.mark.value,
        "validity": equation.validity,
        "scatter": equation.scatter.text,
    }


def _factor(name: str, recipe: Recipe) -> dict[str, Any]:
    field = Factors.model_fields[name]
    bounds = {
        type(one).__name__.lower(): getattr(one, type(one).__name__.lower(), None)
        for one in field.metadata
    }
    return {
        "field": name,
        "text": recipe.factors.text(name),
        "given": getattr(recipe.factors, name),
        "value": recipe.factors.value(name),
        "above": bounds.get("gt"),
        "below": bounds.get("lt"),
    }

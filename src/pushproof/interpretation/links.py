"""Links of an explanation: an equation of the registry with its numbers at one row."""

from __future__ import annotations

import numpy as np

from pushproof.equations import Equation, find
from pushproof.equations.behaviour import Ic_robertson_wride_1998
from pushproof.equations.normalised import Qtn_stress
from pushproof.interpretation.chain import Step
from pushproof.interpretation.explanation import Input, Link, present
from pushproof.interpretation.rowvalues import RowValues
from pushproof.interpretation.seismic.measured import measured_reason
from pushproof.interpretation.wording import substituted


def link_of(
    row: RowValues,
    number: int,
    key: str,
    equation: str,
    given: tuple[Input, ...] | None = None,
    *,
    value: float | None = None,
) -> Link:
    """Return the link of an equation, and note that it gives a value.

    Parameters
    ----------
    row
        The row; the number of the link is kept in it.
    number, key, equation
        Place, what it gives, and the equation.
    given
        The arguments; found in the row where None.
    value
        What was used; the value of the row where None.
    """
    one = find(equation)
    if given is None:
        given = tuple(row.argument(n, equation, one.units[n]) for n in one.parameters)
    used = row.values[key] if value is None else value
    row.links[key] = number
    return Link(
        number=number,
        gives=key,
        equation=equation,
        formula=one.formula,
        substituted=substituted(one.formula, given),
        inputs=given,
        result=result_of(one, given),
        value=present(used),
        unit=one.units["return"],
        source=one.citation,
        where=one.where,
        check=one.mark.value,
        validity=one.validity,
        scatter=one.scatter.words,
        note=measured_note(row) if key == "Vs" else "",
    )


def measured_note(row: RowValues) -> str:
    """Say that the velocity of the row was measured, where it was, and how."""
    interpretation = row.interpretation
    return measured_reason(float(interpretation.series["depth"][row.row]), interpretation.profile)


def result_of(one: Equation, given: tuple[Input, ...]) -> float | None:
    """Return what an equation gives for some arguments, None if it gives nothing."""
    numbers = {
        item.name: np.array([np.nan if item.value is None else item.value]) for item in given
    }
    with np.errstate(all="ignore"):
        found = np.atleast_1d(one.function(**numbers))
    return present(float(found[0]))


def exponent_link(row: RowValues, number: int, step: Step) -> Link:
    """Return the link of the stress exponent, which is found together with Ic."""
    together = "found together with Ic, which depends on it"
    if step.equation == "linear":
        row.links["n"] = number
        value = present(row.values["n"])
        note = "normalised linearly, as the recipe chooses"
        return Link(number, "n", "", "n = 1", "", (), value, value, "-", "", "", "", "", "", note)
    one = find(step.equation)
    given = []
    for name in one.parameters:
        if name in ("Ic_linear", "Ic_half"):
            exponent = 1.0 if name == "Ic_linear" else 0.5
            given.append(Input(name, f"Ic with n {exponent:g}", _index(row, exponent), "-", "Ic"))
        elif name == "Ic":
            given.append(Input("Ic", "", present(row.values["Ic"]), "-", together))
        else:
            given.append(row.argument(name, step.equation, one.units[name]))
    return link_of(row, number, "n", step.equation, tuple(given))


def _index(row: RowValues, exponent: float) -> float | None:
    values = row.values
    stress, friction = values["sigma_v0_eff"], values["Fr"]
    normalised = Qtn_stress(values["qn"], stress, exponent, values["pa"])
    return present(float(Ic_robertson_wride_1998(normalised, friction)))

"""``explain``: one number with the chain of equations behind it, from the channels on.

Each link is an equation of the registry with the numbers of this row put in, so that it can be
worked again by hand; a test does so for every link. Values are those of the interpretation.
"""

from __future__ import annotations

import math

import numpy as np

from pushproof.interpretation.band import NOT_IN_A_BAND, Band, bands
from pushproof.interpretation.chain import Step
from pushproof.interpretation.ensemble import banded
from pushproof.interpretation.explanation import BandAt, Explanation, Input, Link, present
from pushproof.interpretation.firstlinks import first_link, needed_first
from pushproof.interpretation.firstorder import reach
from pushproof.interpretation.links import exponent_link, link_of
from pushproof.interpretation.rowvalues import CHANNELS, RowValues, row_values, upstream
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES, Kind
from pushproof.model.series import Reason
from pushproof.model.units import factor_to_display

BEYOND = 0.1
"""How far beyond the first or last row a depth may be asked for [m]."""

_EXPLAINED = (Kind.MEASURED, Kind.CORRECTED, Kind.STRESS, Kind.DERIVED)


def explain(
    interpretation: Interpretation, key: str, depth: float, *, band: bool = True
) -> Explanation:
    """Explain one number: the chain of equations with its numbers, sources and band.

    Parameters
    ----------
    interpretation
        Where the number stands.
    key
        Its column, measured, corrected or derived (``"su"``).
    depth
        Depth below ground level [m]; the nearest row is used and named.
    band
        Whether to give the band too.

    Returns
    -------
    Explanation
        Plain data; ``text`` is the same as text, ``to_dict()`` for other programs. Where the
        number is missing it says why, and which test or missing value decided that.

    Raises
    ------
    ValueError
        Listing every wrong argument.

    Examples
    --------
    >>> import numpy as np
    >>> from pushproof.interpretation import interpret
    >>> from pushproof.model.series import Series
    >>> from pushproof.model.sounding import Sounding
    >>> from pushproof.processing import process
    >>> columns = {"length": np.array([4.0]), "qc": np.array([900.0]), "fs": np.array([20.0])}
    >>> su = explain(interpret(process(Sounding("A", Series(columns)))), "su", 4.0)
    >>> su.links[-1].substituted, su.display
    ('su = 828 kPa / 14', '59')
    """
    place = _place(interpretation, key, depth)
    row = row_values(interpretation, place)
    steps, wanted = upstream(row, key)
    refused_by_ground = not steps and any(step.key == key for step in row.steps)
    if refused_by_ground:
        steps, wanted = upstream(row, "zone")
    links = _links(row, steps, wanted)
    value = present(interpretation.series[key][place])
    reason, refused = _missing(row, key, links, refused_by_ground)
    quantity = QUANTITIES[key]
    used = {one.name for link in links for one in link.inputs} | {key} | set(row.links)
    return Explanation(
        sounding=interpretation.profile.sounding.name,
        key=key,
        symbol=quantity.symbol,
        name=quantity.name,
        asked=float(depth),
        depth=float(interpretation.series["depth"][place]),
        row=place,
        value=value,
        unit=quantity.unit,
        display="" if value is None else _display(key, value),
        display_unit=quantity.display_unit,
        reason=reason,
        refused=refused,
        ground=row.ground,
        measured=_measured(row, key, links),
        links=tuple(links),
        assumptions=_assumptions(interpretation, used),
        band=_band(row, key, links) if band and value is not None else None,
    )


def _place(interpretation: Interpretation, key: str, depth: float) -> int:
    series = interpretation.series
    known = [k for k in series if k in QUANTITIES and series.quantity(k).kind in _EXPLAINED]
    faults = []
    if key not in known:
        faults.append(f"no column {key!r} to explain; there are: {' '.join(known)}")
    depths = series.get("depth")
    placed = np.flatnonzero(np.isfinite(depths))
    if not placed.size:
        faults.append("no row has a depth")
    elif not math.isfinite(depth):
        faults.append(f"depth {depth} is no number")
    else:
        top, base = float(depths[placed].min()), float(depths[placed].max())
        if not top - BEYOND <= depth <= base + BEYOND:
            faults.append(f"depth {depth:g} m: the sounding goes from {top:.2f} to {base:.2f} m")
    if faults:
        raise ValueError("; ".join(faults))
    return int(placed[np.argmin(np.abs(depths[placed] - depth))])


def _links(row: RowValues, steps: list[Step], wanted: set[str]) -> list[Link]:
    links: list[Link] = []
    for key in needed_first(row, wanted):
        links.append(first_link(row, key, len(links) + 1))
    for step in steps:
        number = len(links) + 1
        if step.iterates:
            links.append(exponent_link(row, number, step))
        else:
            links.append(link_of(row, number, step.key, step.equation))
    return links


def _measured(row: RowValues, key: str, links: list[Link]) -> tuple[Input, ...]:
    used = {one.name for link in links for one in link.inputs} | {key, "depth"}
    names = [name for name in CHANNELS if name in used and name in row.values]
    if QUANTITIES[key].kind is Kind.MEASURED and key not in names:
        names.append(key)
    return tuple(row.argument(name, "", QUANTITIES[name].unit) for name in names)


def _missing(
    row: RowValues, key: str, links: list[Link], refused_by_ground: bool
) -> tuple[str, str]:
    """Return the reason of a missing value and what decided it, both empty if there is a value."""
    series = row.interpretation.series
    code = Reason(int(series.reason(key)[row.row]))
    if code is Reason.PRESENT:
        return "", ""
    if refused_by_ground:
        kinds = " and ".join(
            dict.fromkeys(step.ground.value for step in row.steps if step.key == key)
        )
        if row.ground:
            return code.words, f"the relation for {key} is for {kinds}; here it is {row.ground}"
        return code.words, f"the relation for {key} is for {kinds}; the ground was not judged"
    for link in links:
        lacking = [one for one in link.inputs if one.value is None and one.step is None]
        if link.value is None and lacking:
            names = ", ".join(f"{one.name} ({one.origin})" for one in lacking)
            return code.words, f"step {link.number}, {link.gives}: there is no {names}"
        if link.value is None:
            numbers = ", ".join(
                f"{one.name} {one.value:.4g}" for one in link.inputs if one.value is not None
            )
            if code is Reason.NOT_CONVERGED and link.gives == "n":
                return code.words, f"step {link.number}: the stress exponent did not settle"
            text = f"step {link.number}: {link.equation or link.gives} gives no value for "
            return code.words, f"{text}{numbers}; it holds for {link.validity}"
    return code.words, "" if key in row.links else f"{key} itself is missing"


def _assumptions(interpretation: Interpretation, used: set[str]) -> tuple[str, ...]:
    names = {"gamma_predrilled": "gamma", "water_level": "u0", "area_ratio": "qt"}
    return tuple(
        f"{one.text} ({one.reason})"
        for one in interpretation.assumptions
        if one.key in used or names.get(one.key) in used
    )


def _band(row: RowValues, key: str, links: list[Link]) -> BandAt | None:
    interpretation, place = row.interpretation, row.row
    here = {link.equation for link in links}
    if key not in banded(interpretation):
        return None
    made = bands(interpretation, keys=[key])
    one = made[key]
    if not math.isfinite(one.p50[place]):
        return None
    return BandAt(
        p10=float(one.p10[place]),
        p50=float(one.p50[place]),
        p90=float(one.p90[place]),
        measurement=_alone(one, one.measurement[place], place),
        relation=_alone(one, one.relation[place], place),
        how=made.words,
        measured_by=one.basis.measurement,
        related_by=tuple(text for name, text in one.basis.relation if not name or name in here),
        unknown=tuple(name for name in one.basis.unknown if name in here),
        not_in_it=NOT_IN_A_BAND,
    )


def _alone(one: Band, deviation: float, place: int) -> tuple[float, float]:
    """Return p10 and p90 with one part alone."""
    low, high = reach(np.array([one.p50[place]]), np.array([deviation]), one.scale == "added")
    return float(low[0]), float(high[0])


def _display(key: str, value: float) -> str:
    row = QUANTITIES[key]
    number = value * factor_to_display(key)
    if number and abs(number) < 10.0 ** (1 - row.decimals):
        return f"{number:.4g}"
    return f"{number:.{row.decimals}f}"

"""Explanations in words: numbers put into formulas, and the whole as plain text."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator

from pushproof.interpretation.explanation import BandAt, Explanation, Input, Link
from pushproof.model.quantities import QUANTITIES
from pushproof.model.units import factor_to_display

WIDTH = 96

WRITTEN = {
    "m_yield": "m",
    "OCR_k": "k",
    "Dr_b": "b",
    "n60_ratio": "ratio",
    "depth": "z",
    "water_level": "zw",
}
"""Arguments that formulas write in short."""


def figure(value: float | None, unit: str = "-") -> str:
    """Return a number with six figures and its unit.

    Examples
    --------
    >>> figure(640.537, "kPa"), figure(14.0), figure(2.5e-9, "m/s"), figure(None)
    ('640.537 kPa', '14', '2.5e-09 m/s', 'no value')
    """
    if value is None:
        return "no value"
    text = f"{value:.6g}"
    if "e" in text and 1e-4 <= abs(value) < 1e9:
        text = f"{value:.0f}"
    return text if unit in ("-", "") else f"{text} {unit}"


def substituted(formula: str, inputs: Iterable[Input]) -> str:
    """Return a formula with the numbers in place of the names, empty if none has a place.

    Examples
    --------
    >>> Nkt = Input("Nkt", "", 14.0, "-", "assumed")
    >>> substituted("su = qn / Nkt, qn = qt - sigma_v0", [Nkt])
    'su = qn / 14'
    """
    left, equals, right = formula.partition(" = ")
    if not equals:
        return ""
    right = _first_statement(right)
    numbers = {_as_written(one.name, right): one for one in inputs}
    names = "|".join(sorted(map(re.escape, numbers), key=len, reverse=True))
    if not names:
        return ""
    out, end, changed = "", 0, False
    for match in re.finditer(rf"\b(?:{names})\b", right):
        before = right[end : match.start()]
        one = numbers[match[0]]
        text = figure(one.value, one.unit)
        powered = right[match.end() : match.end() + 1] == "^" and " " in text
        if powered or (text[0] == "-" and not before.endswith("(")):
            text = f"({text})"
        times = "× " if before.endswith(" ") and _is_number(out + before) else ""
        out += before + times + text
        end, changed = match.end(), True
    return f"{left} = {out}{right[end:]}" if changed else ""


def _as_written(name: str, formula: str) -> str:
    """Return the short name that a formula uses for an argument."""
    short = WRITTEN.get(name, name)
    return short if not re.search(rf"\b{re.escape(name)}\b", formula) else name


def _first_statement(text: str) -> str:
    """Return a formula up to the first comma or semicolon outside brackets."""
    depth = 0
    for place, sign in enumerate(text):
        depth += (sign == "(") - (sign == ")")
        if sign in ",;" and depth == 0:
            return text[:place]
    return text


def _is_number(text: str) -> bool:
    """Tell whether a text ends in a number, a unit after a number, or a bracket."""
    return bool(re.search(r"(?:^|[\s(])-?\d[\d.e-]*(?:\s(?:kPa|kN/m3|deg|%|m/s|m))?\)?\s$", text))


def worded(one: Explanation) -> Iterator[str]:
    """Yield the lines of an explanation."""
    yield f"{one.sounding}: {one.name} {one.symbol} at {one.depth:.3f} m"
    if abs(one.asked - one.depth) > 5e-4:
        yield f"(asked for {one.asked:g} m; this is the nearest row, number {one.row + 1})"
    yield ""
    if one.value is None:
        yield f"{one.symbol} has no value here: {one.reason}"
        yield from _wrapped(one.refused, "  ")
    else:
        yield f"{one.symbol} = {one.display} {one.display_unit}".replace(" -", "")
    if one.band:
        yield from _band_line(one, one.band)
    if one.ground:
        yield from _wrapped(f"ground: {one.ground}")
    if one.measured:
        yield ""
        yield "Measured"
        for value in one.measured:
            yield f"  {value.name:<14} {figure(value.value, value.unit):<18} {value.origin}"
    for link in one.links:
        yield ""
        yield from _link(link)
    if one.assumptions:
        yield ""
        yield "Assumed, since nobody gave it"
        for text in one.assumptions:
            yield from _wrapped(text, "  ")
    if one.band:
        yield ""
        yield from _band(one, one.band)


def _link(link: Link) -> Iterator[str]:
    name = f"  [{link.equation}]" if link.equation else ""
    yield f"{link.number}. {link.gives} = {figure(link.value, link.unit)}{name}"
    yield from _wrapped(link.formula, "     ")
    if link.substituted:
        plain = link.substituted.startswith(f"{link.gives} = ")
        end = " = " if plain else f", so {link.gives} = "
        yield from _wrapped(f"{link.substituted}{end}{figure(link.result, link.unit)}", "     ")
    for one in link.inputs:
        mark = "  ASSUMED" if one.assumed else ""
        origin = f"step {one.step}" if one.step else one.origin
        label = f"{one.label}, " if one.label else ""
        yield f"       {one.name:<14} {figure(one.value, one.unit):<18} {label}{origin}{mark}"
    if link.note:
        yield from _wrapped(link.note, "     ")
    if link.source:
        where = f", {link.where}" if link.where else ""
        yield from _wrapped(f"source: {link.source}{where} (coded form {link.check})", "     ")
    if link.validity and link.validity != "definition":
        yield from _wrapped(f"holds for: {link.validity}", "     ")


def _band_line(one: Explanation, band: BandAt) -> Iterator[str]:
    low, middle, high = (_shown(one, value) for value in (band.p10, band.p50, band.p90))
    unit = "" if one.display_unit == "-" else f" {one.display_unit}"
    yield f"band: p10 {low}, p50 {middle}, p90 {high}{unit} ({band.how})"


def _band(one: Explanation, band: BandAt) -> Iterator[str]:
    unit = "" if one.display_unit == "-" else f" {one.display_unit}"
    yield "What the band rests on (each part alone, p10 to p90)"
    parts = (
        ("measurement", band.measurement, band.measured_by, "no error of a channel is known"),
        ("relation", band.relation, band.related_by, "no scatter is known"),
    )
    for name, (low, high), texts, nothing in parts:
        yield f"  {name:<12} {_shown(one, low)} to {_shown(one, high)}{unit}"
        for text in texts or (nothing,):
            yield from _wrapped(f"- {text}", "    ")
    if band.unknown:
        text = f"- no published scatter, so nothing is in for: {', '.join(band.unknown)}"
        yield from _wrapped(text, "    ")
    yield from _wrapped(f"Not in the band: {band.not_in_it}.", "  ")


def _shown(one: Explanation, value: float) -> str:
    row = QUANTITIES[one.key]
    number = value * factor_to_display(one.key)
    if number and abs(number) < 10.0 ** (1 - row.decimals):
        return f"{number:.3g}"
    return f"{number:.{row.decimals}f}"


def _wrapped(text: str, indent: str = "") -> list[str]:
    return (
        textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
        if text
        else []
    )

"""Formulas of the registry, which are plain text, as lettering with lowered and raised parts."""

from __future__ import annotations

import re
from typing import Any

_GREEK = {"sigma": "σ", "gamma": "γ", "phi": "φ", "psi": "ψ", "alpha": "α", "lam": "λ", "pi": "π"}
_LOWERED = re.compile(
    r"(?P<number>\d[\d.]*e-?\d+)"
    r"|(?P<blows>\(N1\)60)"
    r"|\^(?P<up>-?[\d.]+|[a-zA-Z]\b)"
    r"|(?P<log>log10)"
    r"|(?P<greek>sigma|gamma|phi|psi|alpha|lam|pi)(?:_(?P<tail>v0|m0|p|w|dry|cv))?"
    r"(?P<effective>_eff)?\b"
    r"|\b(?P<head>s(?=u\b)|C(?=N\b)|[quNMCIKGBRFQVSfkcptzDn])(?P<rest>kt|ke|du|tn|v0|60|50|cs|t1|[cntsrf0-3aqkuhwN])\b"
)


def formula_runs(formula: str) -> list[list[Any]]:
    """Return a formula as runs of [text, level]: False plain, True lowered, ``"up"`` raised.

    Examples
    --------
    >>> formula_runs("Qtn = (qn / pa)^n")[:3]
    [['Q', False], ['tn', True], [' = (q', False]]
    >>> "".join(run[0] for run in formula_runs("sigma_v0_eff = sigma_v0 - u0"))
    'σ′v0 = σv0 − u0'
    """
    found: list[list[Any]] = []

    def add(text: str, level: bool | str = False) -> None:
        if text and found and found[-1][1] == level:
            found[-1][0] += text
        elif text:
            found.append([text, level])

    at = 0
    for match in _LOWERED.finditer(formula):
        add(_plain(formula[at : match.start()]))
        at = match.end()
        if match["number"]:
            add(match["number"])
        elif match["blows"]:
            add("(N")
            add("1", True)
            add(")")
            add("60", True)
        elif match["up"]:
            add(_plain(match["up"]), "up")
        elif match["log"]:
            add("log")
            add("10", True)
        elif match["greek"]:
            add(_GREEK[match["greek"]] + ("′" if match["effective"] else ""))
            add(match["tail"] or "", True)
        else:
            add(match["head"])
            add(match["rest"], True)
    add(_plain(formula[at:]))
    return found


def _plain(text: str) -> str:
    """Write minus signs as such: between values and before a number, not inside a word."""
    return re.sub(r"(?<![A-Za-z])-(?=[\s\d])", "−", text).replace("<=", "≤").replace(">=", "≥")


def lowered(text: str) -> list[list[Any]]:
    """Return text with ``_{...}`` as runs of [text, lowered], see :mod:`plate`."""
    parts = re.split(r"_\{([^}]*)\}", text)
    return [[part, bool(k % 2)] for k, part in enumerate(parts) if part]

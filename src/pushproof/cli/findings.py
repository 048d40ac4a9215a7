"""Findings in the terminal and as plain documents, the same for every command."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.table import Table

    from pushproof.model.findings import Finding

_COLOUR = {1: "dim", 2: "yellow", 3: "bold red"}


def findings_table(findings: Iterable[Finding]) -> Table | str:
    """Return findings as a table, the gravest first, or a line that there are none."""
    from rich.markup import escape
    from rich.table import Table

    from pushproof.model.findings import by_severity

    ordered = by_severity(findings)
    if not ordered:
        return "no findings"
    table = Table(box=None, header_style="bold", pad_edge=False)
    table.add_column("finding", no_wrap=True)
    table.add_column("where", no_wrap=True)
    table.add_column("what was found, and what was expected")
    for one in ordered:
        colour = _COLOUR[one.severity]
        expected = f"\n[dim]{escape(one.expected)}[/]" if one.expected else ""
        text = f"{escape(one.found)}{expected}"
        table.add_row(f"[{colour}]{one.severity.word}[/]", one.where, text)
    return table


def finding_document(one: Finding) -> dict[str, Any]:
    """Return a finding as a plain document."""
    return {
        "id": one.id,
        "severity": one.severity.word,
        "found": one.found,
        "expected": one.expected,
        "top": one.top,
        "base": one.base,
        "line": one.line,
        "source": one.source,
    }

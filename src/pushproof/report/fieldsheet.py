"""The sheets of the field share one page: a lead sentence, then blocks of facts and tables."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from pushproof import __version__
from pushproof.model.findings import Finding, by_severity
from pushproof.report.logsheet import Sheet, paper_of
from pushproof.report.plate import Plate, runs

Cell = str | tuple[str]
"""Text of a cell; a tuple of one text is set in bold."""


def lay_field_sheet(
    title: str,
    what: str,
    lead: tuple[str, str, str],
    parts: Sequence[dict[str, Any]],
    *,
    plates: dict[str, Plate] | None = None,
    source: str = "",
    caution: str = "",
    paper: str = "A4",
) -> Sheet:
    """Lay a sheet out.

    Parameters
    ----------
    title, what
        Left and right of the head.
    lead
        Level (``clear``, ``caution``, ``stop``), the sentence that matters, and what goes with it.
    parts
        Blocks from :func:`facts`, :func:`table`, :func:`findings`, :func:`words`,
        :func:`columns`, :func:`picture`, :func:`lines_to_sign`.
    plates
        Name to plate, for the blocks of :func:`picture`.
    source
        Where the data come from, for the foot.
    caution
        One line for the foot.
    paper
        ``"A4"`` or ``"Letter"``.
    """
    sheet_paper = paper_of(paper)
    level, head, text = lead
    data = {
        "version": f"Pushproof {__version__}",
        "paper": sheet_paper.as_data(),
        "title": title,
        "what": what,
        "lead": {"level": level, "head": head, "text": text},
        "parts": list(parts),
        "source": f" · {source}" if source else "",
        "caution": caution,
    }
    pictures = {name: plate.svg() for name, plate in (plates or {}).items()}
    return Sheet("field.typ", data, pictures)


def facts(title: str, rows: Iterable[tuple[str, str]], width: float = 34.0) -> dict[str, Any]:
    """Return a block of names and values; the names take ``width`` [mm]."""
    lettered = [[runs(name), runs(value)] for name, value in rows]
    return {"kind": "facts", "title": title, "rows": lettered, "width": width}


def table(
    title: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[Cell]],
    *,
    columns: Sequence[float] | None = None,
    right: Sequence[int] = (),
    empty: str = "None.",
    note: str = "",
) -> dict[str, Any]:
    """Return a table; ``columns`` are shares of the width, 0 for what the text needs."""
    return {
        "kind": "table",
        "title": title,
        "heads": [runs(head) for head in heads],
        "rows": [[_cell(cell) for cell in row] for row in rows],
        "columns": list(columns or [1.0] * len(heads)),
        "right": list(right),
        "empty": empty,
        "note": note,
    }


def _cell(cell: Cell) -> Any:
    return {"text": runs(cell[0])} if isinstance(cell, tuple) else runs(cell)


def findings(title: str, found: Iterable[Finding]) -> dict[str, Any]:
    """Return findings, the gravest first."""
    rows = [
        {"severity": f.severity.word, "found": f.found, "expected": f.expected}
        for f in by_severity(found)
    ]
    return {"kind": "findings", "title": title, "rows": rows}


def words(title: str, lines: Iterable[str]) -> dict[str, Any]:
    """Return lines of text."""
    return {"kind": "text", "title": title, "lines": list(lines)}


def columns(*parts: Sequence[dict[str, Any]], widths: Sequence[float]) -> dict[str, Any]:
    """Return blocks side by side."""
    return {"kind": "columns", "parts": [list(part) for part in parts], "widths": list(widths)}


def picture(name: str, plate: Plate, alt: str) -> dict[str, Any]:
    """Return the block of a plate."""
    shown = plate.picture()
    height = plate.bottom - plate.top
    return {"kind": "plate", "plate": name, "picture": shown, "height": height, "alt": alt}


def lines_to_sign(*fields: str) -> dict[str, Any]:
    """Return lines to write on."""
    return {"kind": "sign", "fields": list(fields)}

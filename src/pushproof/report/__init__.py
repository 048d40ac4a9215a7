"""Sheets: plots drawn by matplotlib as SVG, pages set by Typst."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from pushproof.model.profile import Interpretation
    from pushproof.report.layout import PaperName
    from pushproof.report.logsheet import Sheet

__all__ = ["log_sheet", "set_log"]


def log_sheet(
    interpretation: Interpretation,
    path: Path | str | None = None,
    *,
    paper: PaperName = "A4",
    scale: int | Literal["fit"] = "fit",
    notes: bool = True,
    signed: str | None = None,
) -> bytes:
    """Set the log of a sounding and write it to a file.

    Parameters
    ----------
    interpretation
        The sounding with its results.
    path
        Where to write: ``.pdf``, ``.svg`` or ``.png``. SVG and PNG of several pages become
        numbered files (``log-1.png``, ``log-2.png``). None writes nothing.
    paper
        ``"A4"`` or ``"Letter"``.
    scale
        ``"fit"`` for the depth fitted to whole pages, or n for a true scale of 1:n.
    notes
        Whether pages with assumed values, findings and methods follow.
    signed
        Line that says who signed; None prints "Not signed".

    Returns
    -------
    bytes
        The PDF, or the first page as SVG or PNG.

    Raises
    ------
    ValueError
        If the paper, the scale or the ending of the file name is not known.
    """
    sheet = set_log(interpretation, paper=paper, scale=scale, notes=notes, signed=signed)
    if path is None:
        return sheet.pdf()
    return sheet.write(path)[0].read_bytes()


def set_log(
    interpretation: Interpretation,
    *,
    paper: PaperName = "A4",
    scale: int | Literal["fit"] = "fit",
    notes: bool = True,
    signed: str | None = None,
) -> Sheet:
    """Lay a log out without writing it; see :func:`log_sheet` for the parameters."""
    from pushproof.report.logsheet import lay_log

    return lay_log(interpretation, paper=paper, scale=scale, notes=notes, signed=signed)

"""Sheets: plots drawn by matplotlib as SVG, pages set by Typst."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from pushproof.model.observations import Observation
    from pushproof.model.profile import Interpretation
    from pushproof.quality import Scheme
    from pushproof.report.layout import PaperName
    from pushproof.report.logsheet import Sheet

__all__ = ["log_sheet", "report", "set_log", "set_report"]


def log_sheet(
    interpretation: Interpretation,
    path: Path | str | None = None,
    *,
    paper: PaperName = "A4",
    scale: int | Literal["fit"] = "fit",
    notes: bool = True,
    parameters: bool = False,
    signed: str | None = None,
    observed: Sequence[Observation] = (),
) -> bytes:
    """Set the log of a sounding and write it to a file.

    Parameters
    ----------
    interpretation
        The sounding with its results; the checks are run on it, and their findings stand on the
        proof rail and in the notes.
    path
        Where to write: ``.pdf``, ``.svg`` or ``.png``. SVG and PNG of several pages become
        numbered files (``log-1.png``, ``log-2.png``). None writes nothing.
    paper
        ``"A4"`` or ``"Letter"``.
    scale
        ``"fit"`` for the depth fitted to whole pages, or n for a true scale of 1:n.
    notes
        Whether pages with assumed values, findings and methods follow.
    parameters
        Whether pages with strength, stiffness and other derived values follow the log.
    signed
        Line that says who signed; None prints "Not signed".
    observed
        Observations from elsewhere, drawn in their tracks and told in the notes.

    Returns
    -------
    bytes
        The PDF, or the first page as SVG or PNG.

    Raises
    ------
    ValueError
        If the paper, the scale or the ending of the file name is not known.
    """
    sheet = set_log(
        interpretation,
        paper=paper,
        scale=scale,
        notes=notes,
        parameters=parameters,
        signed=signed,
        observed=observed,
    )
    if path is None:
        return sheet.pdf()
    return sheet.write(path)[0].read_bytes()


def set_log(
    interpretation: Interpretation,
    *,
    paper: PaperName = "A4",
    scale: int | Literal["fit"] = "fit",
    notes: bool = True,
    parameters: bool = False,
    signed: str | None = None,
    observed: Sequence[Observation] = (),
) -> Sheet:
    """Lay a log out without writing it; see :func:`log_sheet` for the parameters."""
    from pushproof.report.logsheet import lay_log

    return lay_log(
        interpretation,
        paper=paper,
        scale=scale,
        notes=notes,
        parameters=parameters,
        signed=signed,
        observed=observed,
    )


def report(
    interpretations: Sequence[Interpretation],
    path: Path | str | None = None,
    *,
    paper: PaperName = "A4",
    scale: int | Literal["fit"] = "fit",
    signed: str | Mapping[str, str] | None = None,
    scheme: str | Scheme = "iso-22476-1-2012",
    observed: Mapping[str, Sequence[Observation]] | None = None,
) -> bytes:
    """Set the report of one or more soundings and write it to a PDF.

    Parameters
    ----------
    interpretations
        The soundings; the checks of :mod:`pushproof.quality` are run on each.
    path
        Where to write; None writes nothing.
    paper, scale
        As for :func:`log_sheet`.
    signed
        Line that says who signed, for all soundings or by name; one without prints "Not signed".
    scheme
        Accuracy scheme told first and by aspect; the others stand below it.
    observed
        Observations from elsewhere by name of the sounding.

    Returns
    -------
    bytes
        The PDF: cover, log, proof sheet, notes, equipment, dissipations, methods.

    Raises
    ------
    ValueError
        If there is no sounding, or the paper, the scale or the ending is not known.
    """
    sheet = set_report(
        interpretations,
        paper=paper,
        scale=scale,
        signed=signed,
        scheme=scheme,
        observed=observed,
    )
    if path is None:
        return sheet.pdf()
    return sheet.write(path)[0].read_bytes()


def set_report(
    interpretations: Sequence[Interpretation],
    *,
    paper: PaperName = "A4",
    scale: int | Literal["fit"] = "fit",
    signed: str | Mapping[str, str] | None = None,
    scheme: str | Scheme = "iso-22476-1-2012",
    observed: Mapping[str, Sequence[Observation]] | None = None,
) -> Sheet:
    """Lay a report out without writing it; see :func:`report` for the parameters."""
    from pushproof.report.fullreport import lay_report

    return lay_report(
        interpretations,
        paper=paper,
        scale=scale,
        signed=signed,
        scheme=scheme,
        observed=observed,
    )

"""The log of a sounding as a sheet: laid out once, given as PDF, SVG or PNG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np

from pushproof.interpretation.layers import Layers, layers
from pushproof.model.observations import Observation
from pushproof.model.profile import Interpretation
from pushproof.quality import assess
from pushproof.report.checked import with_checks
from pushproof.report.depthpage import draw_page
from pushproof.report.drawing import LogDrawing
from pushproof.report.facts import DRAWN, log_facts
from pushproof.report.layout import PAPERS, DepthPlan, Paper, lay_columns, plan_depth
from pushproof.report.observedplate import observed_rows
from pushproof.report.parameters import parameter_bands, parameter_tracks
from pushproof.report.rail import rail
from pushproof.report.tracks import Track, tracks
from pushproof.report.typeset import FormatName, typeset

_ENDINGS: dict[str, FormatName] = {".pdf": "pdf", ".svg": "svg", ".png": "png"}


@dataclass(frozen=True)
class Sheet:
    """A laid-out document.

    Parameters
    ----------
    template
        Its page template.
    data
        Words and lettering.
    pictures
        Name to SVG text of the plates.
    """

    template: str
    data: dict[str, Any]
    pictures: dict[str, str]

    def pdf(self) -> bytes:
        """Return the document as PDF."""
        return typeset(self.template, self.data, self.pictures, "pdf")[0]

    def svg(self) -> list[bytes]:
        """Return the pages as SVG."""
        return typeset(self.template, self.data, self.pictures, "svg")

    def png(self, ppi: float = 144.0) -> list[bytes]:
        """Return the pages as PNG."""
        return typeset(self.template, self.data, self.pictures, "png", ppi=ppi)

    def write(self, path: Path | str) -> list[Path]:
        """Write the document and return the files written.

        Parameters
        ----------
        path
            Ends in ``.pdf``, ``.svg`` or ``.png``; several pages of SVG or PNG are numbered.

        Raises
        ------
        ValueError
            If the ending is not one of these.
        """
        path = Path(path)
        form = _ENDINGS.get(path.suffix.lower())
        if form is None:
            raise ValueError(f"{path.name}: a sheet is written as .pdf, .svg or .png")
        pages = typeset(self.template, self.data, self.pictures, form)
        written = []
        for k, page in enumerate(pages):
            target = path if len(pages) == 1 else path.with_stem(f"{path.stem}-{k + 1}")
            target.write_bytes(page)
            written.append(target)
        return written


def paper_of(name: str) -> Paper:
    """Return a paper by name.

    Raises
    ------
    ValueError
        If there is none of that name.
    """
    if name not in PAPERS:
        raise ValueError(f"paper {name!r}: expected one of {', '.join(PAPERS)}")
    return PAPERS[name]


def lay_log(
    interpretation: Interpretation,
    *,
    paper: str = "A4",
    scale: int | Literal["fit"] = "fit",
    notes: bool = True,
    parameters: bool = False,
    signed: str | None = None,
    observed: Sequence[Observation] = (),
) -> Sheet:
    """Lay a log out; see :func:`pushproof.report.log_sheet`.

    Raises
    ------
    ValueError
        If the paper or the scale is not known, or no reading has a depth.
    """
    sheet_paper = paper_of(paper)
    interpretation = with_checks(interpretation, assess(interpretation.profile, ()))
    log, pictures = log_parts(
        interpretation,
        sheet_paper,
        scale,
        signed=signed,
        parameters=parameters,
        observed=observed,
    )
    data = {
        "version": log["footer"]["version"],
        "paper": sheet_paper.as_data(),
        "with_notes": notes,
        "log": log,
    }
    return Sheet("logsheet.typ", data, pictures)


def log_parts(
    interpretation: Interpretation,
    paper: Paper,
    scale: int | Literal["fit"],
    *,
    signed: str | None = None,
    parameters: bool = False,
    prefix: str = "log",
    observed: Sequence[Observation] = (),
) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the words and the plates of one log; the names of the plates begin with ``prefix``."""
    depth = interpretation.series.get("depth")
    known = depth[np.isfinite(depth)]
    if not known.size:
        name = interpretation.profile.sounding.name
        raise ValueError(f"sounding {name}: no reading has a depth, so there is no log to draw")
    plan = plan_depth(float(known.min()), float(known.max()), scale)
    sets = [("Log", tracks(interpretation))]
    found = parameter_bands(interpretation) if parameters else None
    if parameters:
        sets.append(("Parameters", parameter_tracks(interpretation, found)))
    units = layers(interpretation)
    pages: list[dict[str, Any]] = []
    pictures: dict[str, str] = {}
    for title, made in sets:
        if not made:
            continue
        log = _drawing(interpretation, paper, plan, made, units, tuple(observed))
        for page in plan.pages:
            plate, name = draw_page(log, page), f"{prefix}-{len(pages)}"
            pictures[name] = plate.svg()
            words = {"title": title, "top": page.top, "base": page.base, "plate": name}
            pages.append(words | {"picture": plate.picture()})
    shown = tuple(interpretation.methods) if parameters else DRAWN
    data = log_facts(interpretation, signed=signed, shown=shown, found=found)
    data["observed"] = observed_rows(tuple(observed))
    return data | {"scale": plan.words, "left_out": plan.left_out, "pages": pages}, pictures


def _drawing(
    interpretation: Interpretation,
    paper: Paper,
    plan: DepthPlan,
    made: dict[str, Track],
    units: Layers,
    observed: tuple[Observation, ...],
) -> LogDrawing:
    present = {name: track.scale is not None for name, track in made.items()}
    level = interpretation.profile.sounding.location.level is not None
    return LogDrawing(
        interpretation=interpretation,
        paper=paper,
        plan=plan,
        columns=lay_columns(paper.content, present, level=level),
        tracks=made,
        rail=rail(interpretation),
        layers=units,
        observed=observed,
    )

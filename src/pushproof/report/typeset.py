"""Typst sets the pages: templates and fonts of the package, words and plates handed over in memory.

Nothing is read from the machine: system fonts are ignored, no date is written, no file is left.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

FOLDER = Path(str(files("pushproof.report")))
FormatName = Literal["pdf", "svg", "png"]


@cache
def _fonts() -> Any:
    import matplotlib
    import typst

    ours = str(FOLDER / "fonts")
    # letters that B612 lacks (Polish, Czech, Cyrillic, Greek rho) come from matplotlib's own font
    fallback = str(Path(matplotlib.get_data_path()) / "fonts" / "ttf")
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[ours, fallback]
    )


def typeset(
    template: str,
    data: dict[str, Any],
    pictures: dict[str, str],
    form: FormatName,
    *,
    ppi: float = 144.0,
) -> list[bytes]:
    """Set a document.

    Parameters
    ----------
    template
        File name of the template in the package.
    data
        What the template reads as JSON.
    pictures
        Name to SVG text.
    form
        ``"pdf"`` gives one item, ``"svg"`` and ``"png"`` one for each page.
    ppi
        Dots per inch of a PNG.
    """
    import typst

    inputs = {"data": json.dumps(data, ensure_ascii=False), **pictures}
    made = typst.compile(
        str(FOLDER / template),
        root=str(FOLDER),
        format=form,
        ppi=ppi,
        font_paths=_fonts(),
        ignore_system_fonts=True,
        sys_inputs=inputs,
        timestamp=0,
    )
    return made if isinstance(made, list) else [made]

"""A plate: the drawn part of one page, in mm, as SVG made by matplotlib.

Shapes are collected by style and become one path each, so that a page stays small. Lettering is
collected beside the shapes and set by Typst in the sheet's own typeface. There are no axes and
no pyplot: positions come from the layout, and the same input gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.transforms import Affine2D
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_POINTS = 72 / 25.4
_SETTINGS: Any = {
    "svg.hashsalt": "pushproof",
    "svg.fonttype": "none",
    "path.simplify": True,
    "path.simplify_threshold": 1 / 9,
    "path.sketch": None,
    "path.effects": [],
}


@dataclass(frozen=True, slots=True)
class Label:
    """A piece of lettering.

    Parameters
    ----------
    x, y
        Anchor [mm], in the coordinates of the plate.
    text
        The text; ``_{...}`` lowers a part.
    size
        Type size [pt].
    anchor
        Two letters: ``l c r`` and ``t m b`` (of the capital height).
    colour, bold, italic
        Look.
    width
        The type is made smaller until it fits this width [mm]; 0 for no limit.
    turned
        True for text that reads from the bottom up.
    lines
        Lines the text may be broken into where ``width`` is given.
    """

    x: float
    y: float
    text: str
    size: float
    anchor: str = "lm"
    colour: str = "#15222C"
    bold: bool = False
    italic: bool = False
    width: float = 0.0
    turned: bool = False
    lines: int = 1

    def as_data(self) -> dict[str, Any]:
        """Return the label for the page template."""
        return {
            "x": round(self.x, 3),
            "y": round(self.y, 3),
            "runs": runs(self.text),
            "size": self.size,
            "h": self.anchor[0],
            "v": self.anchor[1],
            "colour": self.colour,
            "bold": self.bold,
            "italic": self.italic,
            "width": round(self.width, 3),
            "turned": self.turned,
            "lines": self.lines,
        }


def runs(text: str) -> list[list[Any]]:
    """Split text with ``_{...}`` into runs of [text, lowered].

    Examples
    --------
    >>> runs("q_{t} in MPa")
    [['q', False], ['t', True], [' in MPa', False]]
    """
    found: list[list[Any]] = []
    rest = text
    while "_{" in rest:
        before, _, after = rest.partition("_{")
        inner, _, rest = after.partition("}")
        found += [[before, False]] if before else []
        found.append([inner, True])
    return [*found, [rest, False]] if rest or not found else found


@dataclass
class Plate:
    """Shapes and lettering in mm; x to the right, y down.

    Parameters
    ----------
    left, top, right, bottom
        What the picture covers [mm].
    """

    left: float
    top: float
    right: float
    bottom: float
    labels: list[Label] = field(default_factory=list)
    _patches: list[tuple[Path, dict[str, Any]]] = field(default_factory=list)

    def lines(
        self,
        parts: Iterable[FloatArray | Sequence[tuple[float, float]]],
        colour: str,
        weight: float,
        *,
        dash: tuple[float, ...] | None = None,
        simplify: bool = True,
        butt: bool = False,
    ) -> None:
        """Draw open lines, each of shape (k, 2) [mm], as one path."""
        path = _compound(parts, closed=False)
        if path is None:
            return
        path.should_simplify = simplify and dash is None
        style: dict[str, Any] = {
            "fill": False,
            "edgecolor": colour,
            "linewidth": weight * _POINTS,
            "capstyle": "butt" if butt or dash else "round",
            "joinstyle": "round",
        }
        if dash is not None:
            style["linestyle"] = (0, [d / weight for d in dash])
        self._patches.append((path, style))

    def areas(
        self, parts: Iterable[FloatArray | Sequence[tuple[float, float]]], colour: str
    ) -> None:
        """Fill closed areas, each of shape (k, 2) [mm], as one path."""
        path = _compound(parts, closed=True)
        if path is not None:
            path.should_simplify = False
            self._patches.append((path, {"facecolor": colour, "linewidth": 0.0}))

    def boxes(self, boxes: Iterable[tuple[float, float, float, float]], colour: str) -> None:
        """Fill rectangles given as left, top, right, bottom [mm]."""
        self.areas(([(a, b), (c, b), (c, d), (a, d)] for a, b, c, d in boxes), colour)

    def frame(self, left: float, top: float, right: float, bottom: float, weight: float) -> None:
        """Draw the outline of a rectangle in the frame colour."""
        corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
        self.lines([corners], "#15222C", weight)

    def dots(self, centres: Iterable[tuple[float, float]], colour: str, diameter: float) -> None:
        """Draw round dots [mm]."""
        parts = [[(x - 0.005, y), (x + 0.005, y)] for x, y in centres]
        self.lines(parts, colour, diameter, simplify=False)

    def text(self, x: float, y: float, text: str, size: float, **look: Any) -> None:
        """Add lettering; see :class:`Label`."""
        self.labels.append(Label(x, y, text, size, **look))

    def picture(self) -> dict[str, Any]:
        """Return where the picture stands about its zero [mm], and its lettering."""
        return {
            "left": self.left,
            "top": self.top,
            "width": self.right - self.left,
            "labels": [label.as_data() for label in self.labels],
        }

    def svg(self) -> str:
        """Return the picture as SVG text."""
        width, height = self.right - self.left, self.bottom - self.top
        figure = Figure(figsize=(width / 25.4, height / 25.4), dpi=72)
        figure.patch.set_visible(False)
        canvas = FigureCanvasSVG(figure)
        to_page = Affine2D().translate(-self.left, -self.bottom).scale(_POINTS, -_POINTS)
        for order, (path, style) in enumerate(self._patches):
            patch = PathPatch(path, zorder=order, **style)
            patch.set_transform(to_page)
            figure.add_artist(patch)
        out = io.StringIO()
        nothing = {"Date": None, "Creator": None, "Format": None, "Type": None}
        with rc_context(_SETTINGS):
            canvas.print_svg(out, metadata=nothing)  # type: ignore[no-untyped-call]
        return out.getvalue()


def _compound(
    parts: Iterable[FloatArray | Sequence[tuple[float, float]]], *, closed: bool
) -> Path | None:
    arrays = [np.asarray(part, dtype=np.float64) for part in parts]
    arrays = [a if len(a) > 1 else np.repeat(a, 2, axis=0) for a in arrays if len(a)]
    if not arrays:
        return None
    codes = []
    for k, array in enumerate(arrays):
        code = np.full(len(array), Path.LINETO, dtype=np.uint8)
        code[0] = Path.MOVETO
        if closed:
            arrays[k] = np.concatenate([array, array[:1]])
            code = np.append(code, np.uint8(Path.CLOSEPOLY))
        codes.append(code)
    return Path(np.round(np.concatenate(arrays), 3), np.concatenate(codes))

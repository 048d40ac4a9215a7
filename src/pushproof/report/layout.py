"""Layout of the depth pages: paper, depth scale, pages, columns. Lengths in mm on paper.

Every depth page has the same 200 mm of plot, so that round scales give round page lengths:
1:50 is 10 m to a page, 1:100 is 20 m, 1:200 is 40 m. A fitted scale takes the shortest round
page length that needs no more pages than 1:200 would.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

PLOT_HEIGHT = 200.0
_FITTED = (4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0)
_LABEL_STEPS = {0.1: 0.5, 0.2: 1.0, 0.5: 1.0, 1.0: 5.0, 2.0: 10.0, 5.0: 10.0, 10.0: 50.0}
"""Distance of depth labels to distance of strong ones [m]."""
_LABEL_PITCH = 5.5
"""Least distance between depth labels [mm]."""

PaperName = Literal["A4", "Letter"]


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper size and the bands of a depth page from top to bottom [mm]."""

    name: str
    width: float
    height: float
    top: float
    title: float
    headings: float
    keys: float
    left: float = 14.0
    right: float = 8.0

    @property
    def content(self) -> float:
        """Width between the margins."""
        return self.width - self.left - self.right

    def as_data(self) -> dict[str, float]:
        """Return the measures for the page templates."""
        names = ("width", "height", "left", "right", "top", "title", "headings", "keys")
        return {name: getattr(self, name) for name in names}

    @property
    def plot_top(self) -> float:
        """Top edge of the plot on the page."""
        return self.top + self.title + self.headings


PAPERS = {
    "A4": Paper("A4", 210.0, 297.0, top=9.0, title=41.0, headings=16.0, keys=13.5),
    "Letter": Paper("Letter", 215.9, 279.4, top=6.0, title=30.0, headings=15.0, keys=12.2),
}


@dataclass(frozen=True, slots=True)
class DepthPage:
    """One page: the depth interval it shows [m]."""

    top: float
    base: float


@dataclass(frozen=True, slots=True)
class DepthPlan:
    """The depth scale and the pages of a sounding.

    Parameters
    ----------
    metres
        Depth shown on one page [m].
    pages
        The depth intervals.
    fitted
        True if the scale was chosen to fill whole pages.
    left_out
        Depth above the first page that holds no reading and is not printed [m]; 0 if none.
    """

    metres: float
    pages: tuple[DepthPage, ...]
    fitted: bool
    left_out: float = 0.0

    @property
    def mm_per_metre(self) -> float:
        """Paper length of one metre of depth."""
        return PLOT_HEIGHT / self.metres

    @property
    def ratio(self) -> float:
        """The scale is 1 to this."""
        return 1000.0 / self.mm_per_metre

    @property
    def label_step(self) -> float:
        """Distance between depth labels [m]."""
        for step in _LABEL_STEPS:
            if step * self.mm_per_metre >= _LABEL_PITCH:
                return step
        return max(_LABEL_STEPS)

    @property
    def strong_step(self) -> float:
        """Distance between strong depth labels [m]."""
        return _LABEL_STEPS[self.label_step]

    @property
    def words(self) -> str:
        """The scale as text: ``1:100`` or ``1:150 fitted``."""
        text = f"1:{self.ratio:g}"
        return f"{text} fitted" if self.fitted else text


def plan_depth(first: float, last: float, scale: int | Literal["fit"]) -> DepthPlan:
    """Divide a sounding over pages.

    Parameters
    ----------
    first, last
        Depth of the first and the last reading [m].
    scale
        ``"fit"``, or n for a scale of 1:n.

    Raises
    ------
    ValueError
        If the scale is not ``"fit"`` or a whole number from 5 to 2000.

    Examples
    --------
    >>> plan_depth(0.0, 29.9, "fit").words
    '1:150 fitted'
    >>> [(p.top, p.base) for p in plan_depth(0.0, 29.9, 100).pages]
    [(0.0, 20.0), (20.0, 40.0)]
    """
    last = max(last, 0.5)
    if scale == "fit":
        count = max(1, math.ceil(last / _FITTED[-1] - 1e-9))
        metres = next(m for m in _FITTED if count * m >= last - 1e-9)
    else:
        if isinstance(scale, bool) or not isinstance(scale, int) or not 5 <= scale <= 2000:
            raise ValueError(
                f"scale {scale!r}: expected 'fit' or a whole number n from 5 to 2000 for 1:n"
            )
        metres = PLOT_HEIGHT * scale / 1000.0
        count = max(1, math.ceil(last / metres - 1e-9))
    start = min(0.0, math.floor(first))
    skipped = max(0, math.floor((first - start) / metres - 1e-9))
    skipped = min(skipped, count - 1)
    count = max(count, math.ceil((last - start) / metres - 1e-9))
    pages = tuple(
        DepthPage(round(start + k * metres, 6), round(start + (k + 1) * metres, 6))
        for k in range(skipped, count)
    )
    return DepthPlan(metres, pages, scale == "fit", skipped * metres)


def depth_ticks(page: DepthPage, step: float) -> list[float]:
    """Return the multiples of ``step`` on a page, ends included."""
    first = math.ceil(page.top / step - 1e-9)
    last = math.floor(page.base / step + 1e-9)
    return [round(k * step, 6) for k in range(first, last + 1)]


@dataclass(frozen=True, slots=True)
class Column:
    """A vertical strip of the plot [mm from the left margin]."""

    left: float
    right: float

    @property
    def width(self) -> float:
        """Width of the strip."""
        return self.right - self.left

    @property
    def middle(self) -> float:
        """Middle of the strip."""
        return (self.left + self.right) / 2


DEPTH_WIDTH = 8.6
RAIL_WIDTH = 12.2
LEVEL_WIDTH = 9.6
GUTTER = 2.0

_WEIGHTS = {
    "cone": 43.0,
    "sleeve": 25.0,
    "ratio": 18.0,
    "pore": 25.0,
    "blows": 14.0,
    "soil": 43.0,
    "strength": 22.0,
    "history": 16.0,
    "angle": 16.0,
    "density": 16.0,
    "stiffness": 20.0,
    "shear": 18.0,
    "flow": 18.0,
}
"""Shares of the width that tracks take, for the log and for the parameter page."""
_ABSENT = 13.5
"""Width of a track that only says that its channel was not measured [mm]."""


@dataclass(frozen=True, slots=True)
class Columns:
    """Where the depth labels, the proof rail, the tracks and the level labels stand."""

    depth: Column
    rail: Column
    tracks: dict[str, Column]
    level: Column | None


def lay_columns(content: float, present: dict[str, bool], *, level: bool) -> Columns:
    """Share the content width out.

    Parameters
    ----------
    content
        Width between the margins [mm].
    present
        Name of every track to whether it has anything to draw, left to right.
    level
        Whether a column of levels stands at the right.
    """
    if not any(present.values()):
        present = dict.fromkeys(present, True)
    depth = Column(0.0, DEPTH_WIDTH)
    rail = Column(DEPTH_WIDTH, DEPTH_WIDTH + RAIL_WIDTH)
    right = content - (LEVEL_WIDTH if level else 0.0)
    room = right - rail.right - GUTTER * len(present)
    room -= _ABSENT * sum(not there for there in present.values())
    unit = room / sum(_WEIGHTS[name] for name, there in present.items() if there)
    found, x = {}, rail.right
    for name, there in present.items():
        width = _WEIGHTS[name] * unit if there else _ABSENT
        found[name] = Column(round(x + GUTTER, 3), round(x + GUTTER + width, 3))
        x += GUTTER + width
    return Columns(depth, rail, found, Column(right, content) if level else None)

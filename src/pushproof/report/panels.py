"""Small plots for the pages after the log: a frame with two axes, and what is drawn in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.report import looks
from pushproof.report.plate import Plate
from pushproof.report.scales import Scale, tick_text

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Panel:
    """A framed plot.

    Parameters
    ----------
    left, top, right, bottom
        Frame [mm].
    x, y
        Axes; ``down`` tells that y grows downward (depth).
    """

    left: float
    top: float
    right: float
    bottom: float
    x: Scale
    y: Scale
    down: bool = False

    def place(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return points on paper, shape (n, 2) [mm], clipped to the frame."""
        ends = (self.top, self.bottom) if self.down else (self.bottom, self.top)
        return np.column_stack(
            [
                np.clip(self.x.place(x, self.left, self.right), self.left, self.right),
                np.clip(self.y.place(y, *ends), self.top, self.bottom),
            ]
        )

    def draw_grid(
        self, plate: Plate, title: str, *, x_texts: list[str] | None = None, x_words: str = ""
    ) -> None:
        """Draw title, grid and the numbers of both axes."""
        plate.text(self.left, self.top - 2.6, title, looks.TITLE_SIZE, bold=True)
        x_ticks, y_ticks = np.array(self.x.ticks()), np.array(self.y.ticks())
        at_x = self.place(x_ticks, np.full(len(x_ticks), self.y.low))[:, 0]
        at_y = self.place(np.full(len(y_ticks), self.x.low), y_ticks)[:, 1]
        plate.lines([[(x, self.top), (x, self.bottom)] for x in at_x], looks.GRID, 0.1, butt=True)
        plate.lines([[(self.left, y), (self.right, y)] for y in at_y], looks.GRID, 0.1, butt=True)
        texts = x_texts or [looks.minus(tick_text(v, self.x.step)) for v in x_ticks]
        for x, text in zip(at_x, texts, strict=True):
            plate.text(float(x), self.bottom + 2.4, text, looks.TICK_SIZE, anchor="cm")
        for y, value in zip(at_y, y_ticks, strict=True):
            text = looks.minus(tick_text(float(value), self.y.step))
            plate.text(self.left - 1.2, float(y), text, looks.TICK_SIZE, anchor="rm")
        if x_words:
            middle = (self.left + self.right) / 2
            plate.text(
                middle,
                self.bottom + 5.4,
                x_words,
                looks.TICK_SIZE,
                anchor="cm",
                colour=looks.SOFT_INK,
            )

    def draw_frame(self, plate: Plate) -> None:
        """Draw the frame over what stands in it."""
        plate.frame(self.left, self.top, self.right, self.bottom, looks.FRAME_WEIGHT)

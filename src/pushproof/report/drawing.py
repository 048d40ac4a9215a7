"""What all pages of one log share when they are drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.interpretation.layers import Layers
from pushproof.model.observations import Observation
from pushproof.model.profile import Interpretation
from pushproof.report.layout import Column, Columns, DepthPage, DepthPlan, Paper
from pushproof.report.rail import Rail
from pushproof.report.tracks import Track

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class LogDrawing:
    """All that the pages of one log share."""

    interpretation: Interpretation
    paper: Paper
    plan: DepthPlan
    columns: Columns
    tracks: dict[str, Track]
    rail: Rail
    layers: Layers
    observed: tuple[Observation, ...] = ()

    def y(self, page: DepthPage, depth: FloatArray | float) -> FloatArray:
        """Return the place of a depth on a page [mm below the top of the plot]."""
        return (np.asarray(depth, dtype=np.float64) - page.top) * self.plan.mm_per_metre

    @property
    def first(self) -> Column:
        """The first track: words about the whole page stand there."""
        return next(iter(self.columns.tracks.values()))

    @property
    def water(self) -> Column:
        """The track that shows the water level."""
        pore = self.tracks.get("pore")
        return self.columns.tracks["pore"] if pore and pore.scale is not None else self.first

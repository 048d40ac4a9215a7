"""The search for layer boundaries: change points of the mean, and how firm each is.

Optimal partitioning: the division with the least sum of squares and penalties, found exactly, as in
B. Jackson et al. (2005), "An algorithm for optimal partitioning of data on an interval", IEEE
Signal Processing Letters 12, 105-108. The tests hold it against the library ``ruptures``
(C. Truong, L. Oudre, N. Vayatis, 2020, Signal Processing 167, 107299), which is not needed at run
time: it takes longer to load than a log takes to set. The penalty is our own; decision record 0012
argues it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.interpretation.layercells import Ground, Part, cell_height, cells_of

FloatArray = NDArray[np.float64]

BLOCK = 0.5
"""Length over which scatter is averaged before it is judged [m]."""
WINDOW = 2.0
"""Ground on either side that a boundary is judged by [m]."""
FLUCTUATION = 0.3
"""Vertical scale of fluctuation [m] of the scatter inside a unit: Phoon and Kulhawy 1999, from
memory, give 0.2 to 0.5 for qt of clay."""
LEAST_SCATTER = 0.02
"""Scatter below which none is believed [m, squared steps]."""
FEW_BLOCKS = 6
USUAL_SCATTER = 0.15


@dataclass(frozen=True, slots=True)
class Place:
    """A boundary and how firm it is.

    Parameters
    ----------
    depth
        [m].
    confidence
        1 - penalty / gain, at least 0: 0.5 is a boundary that goes if the penalty doubles,
        0.9 one that goes only if it is ten times as high.
    spread
        Half of the interval [m] in which it lies at 80 %, given that there is one boundary
        between its neighbours and scatter as in its units.
    """

    depth: float
    confidence: float
    spread: float


def scatter_of(cells: list[FloatArray], height: float) -> FloatArray:
    """Return the scatter of each feature, shape (d,) [m, squared steps].

    It is the variance of means over a block, times the block: for scatter that is correlated
    over less than a block this does not depend on the block. The median of differences of
    neighbouring blocks is used, so that boundaries, which are few, do not count.
    """
    per = max(1, round(BLOCK / height))
    differences = []
    for part in cells:
        count = len(part) // per
        if count > 1:
            means = part[: count * per].reshape(count, per, -1).mean(axis=1)
            differences.append(np.diff(means, axis=0))
    features = cells[0].shape[1] if cells else 1
    found = np.concatenate(differences) if differences else np.empty((0, features))
    if len(found) < FEW_BLOCKS:
        return np.full(features, USUAL_SCATTER)
    deviation = 1.4826 * np.median(np.abs(found), axis=0) / math.sqrt(2.0)
    scatter: FloatArray = np.maximum(deviation**2 * BLOCK, LEAST_SCATTER)
    return scatter


def penalty_of(scatter: FloatArray, thickness: float, span: float) -> float:
    """Return the penalty for a boundary [m, squared steps].

    The first part is the gain of a step that matters, in every feature, between two units of the
    least thickness. The second is the largest gain that scatter alone gives along the sounding:
    twice the logarithm of the number of places (Yao 1988, from memory).

    Examples
    --------
    >>> round(penalty_of(np.array([0.1, 0.1]), 0.5, 20.0), 2)
    1.24
    """
    places = max(span / thickness, 2.0)
    step = len(scatter) * thickness / 2.0
    return step + 2.0 * float(scatter.mean()) * math.log(places)


def without_seams(cells: FloatArray, least: int) -> FloatArray:
    """Return the running median over two units of the least thickness, shape as given.

    It takes out what is thinner than ``least`` cells and leaves the edges of what is thicker where
    they are.
    """
    if least < 2:
        return cells
    padded = np.pad(cells, ((least - 1, least - 1), (0, 0)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * least - 1, axis=0)
    found: FloatArray = np.median(windows, axis=-1)
    return found


def partition(cells: FloatArray, least: int, penalty: float) -> list[int]:
    """Return where the cells divide best, as the first cell of each part but the first.

    Parameters
    ----------
    cells
        Shape (n, d).
    least
        Fewest cells in a part.
    penalty
        Of one boundary, in the unit of the squared cells.

    Notes
    -----
    Minimises the sum over the parts of the squared distances to their means, plus the penalty for
    each boundary. Every division is looked at (in the sense of dynamic programming), so that the
    work grows with the square of the cells.

    Examples
    --------
    >>> partition(np.array([[0.0], [0.1], [0.0], [5.0], [5.1], [5.0]]), 2, 1.0)
    [3]
    """
    count = len(cells)
    centred = cells - cells.mean(axis=0)  # keeps the digits of the sums
    sums = np.zeros((count + 1, cells.shape[1]))
    sums[1:] = np.cumsum(centred, axis=0)
    squares = np.concatenate([[0.0], np.cumsum((centred**2).sum(axis=1))])
    best = np.full(count + 1, np.inf)
    best[0] = -penalty
    start = np.zeros(count + 1, dtype=np.intp)
    for end in range(least, count + 1):
        last = end - least + 1
        size = end - np.arange(last)
        spread = squares[end] - squares[:last]
        spread = spread - ((sums[end] - sums[:last]) ** 2).sum(axis=1) / size
        total = best[:last] + spread + penalty
        start[end] = total.argmin()
        best[end] = total[start[end]]
    found: list[int] = []
    end = int(start[count])
    while end > 0:
        found.append(end)
        end = int(start[end])
    return found[::-1]


@dataclass(frozen=True)
class Search:
    """What a search of one sounding shares.

    Parameters
    ----------
    ground
        The rows.
    thickness
        Thinnest unit [m].
    penalty
        Of one boundary [m, squared steps].
    scatter
        Of each feature, shape (d,).
    height
        Of a cell [m].
    """

    ground: Ground
    thickness: float
    penalty: float
    scatter: FloatArray
    height: float

    @classmethod
    def of(cls, ground: Ground, parts: list[Part], thickness: float) -> Search:
        """Prepare the search of a sounding."""
        height = cell_height(ground)
        scatter = scatter_of([cells_of(ground, part, height)[0] for part in parts], height)
        span = sum(part.base - part.top for part in parts)
        return cls(ground, thickness, penalty_of(scatter, thickness, span), scatter, height)

    def boundaries(self, part: Part) -> list[float]:
        """Return the boundaries inside one part, from the top down [m]."""
        cells, exact = cells_of(self.ground, part, self.height)
        least = max(1, round(self.thickness / exact))
        if len(cells) < 2 * least:
            return []
        ends = partition(without_seams(cells, least), least, self.penalty / exact)
        return [part.top + end * exact for end in ends]

    def refined(self, part: Part, edges: list[float]) -> list[float]:
        """Return the boundaries set between rows, within a cell and a half of where they were.

        No unit gets thinner than the thinnest allowed.
        """
        found: list[float] = []
        ends = [part.top, *edges, part.base]
        for k, edge in enumerate(edges):
            upper, lower = self.means(ends[k], edge), self.means(edge, ends[k + 2])
            least = (found[-1] if found else part.top) + self.thickness
            low = max(edge - 1.5 * self.height, least)
            near = self.rows(low, min(edge + 1.5 * self.height, ends[k + 2] - self.thickness))
            depth = self.ground.depth[near]
            if len(depth) < 2:
                found.append(max(edge, least))
                continue
            values = self.ground.features[near]
            lead = ((values - upper) ** 2 - (values - lower) ** 2).sum(axis=1)
            costs = np.concatenate([[0.0], np.cumsum(lead)])[1:-1]
            best = int(costs.argmin())
            found.append(float(depth[best] + depth[best + 1]) / 2)
        return found

    def rows(self, top: float, base: float) -> slice:
        """Return the rows between two depths [m]."""
        a, b = np.searchsorted(self.ground.depth, [top, base])
        return slice(int(a), int(b))

    def means(self, top: float, base: float) -> FloatArray:
        """Return the mean of each feature between two depths [m]; zeros where no row is."""
        rows = self.ground.features[self.rows(top, base)]
        means: FloatArray = rows.mean(axis=0) if len(rows) else np.zeros(len(self.scatter))
        return means

    def contrast(self, top: float, edge: float, base: float) -> float:
        """Return the step at a boundary: root of the mean square over the features."""
        step = self.means(top, edge) - self.means(edge, base)
        return float(np.sqrt(np.mean(step**2)))

    def judged(self, top: float, edge: float, base: float) -> Place:
        """Return a boundary with its confidence and its spread.

        Parameters
        ----------
        top, base
            Neighbouring boundaries [m]; no more than a window on either side is looked at.
        edge
            The boundary [m].
        """
        top, base = max(top, edge - WINDOW), min(base, edge + WINDOW)
        rows = self.rows(top, base)
        depth, values = self.ground.depth[rows], self.ground.features[rows]
        above = depth < edge
        if not above.any() or above.all():
            return Place(edge, 0.0, (base - top) / 2)
        upper, lower = values[above].mean(axis=0), values[~above].mean(axis=0)
        thick, thin = edge - top, base - edge
        gain = float(((upper - lower) ** 2).sum()) * thick * thin / (thick + thin)
        confidence = max(0.0, 1.0 - self.penalty / gain) if gain > 0 else 0.0
        residual = values - np.where(above[:, None], upper, lower)
        scatter = np.maximum(self.scatter, residual.var(axis=0) * FLUCTUATION)
        spread = _spread(depth, values, upper, lower, scatter)
        return Place(edge, confidence, spread)


def _spread(
    depth: FloatArray, values: FloatArray, upper: FloatArray, lower: FloatArray, scatter: FloatArray
) -> float:
    """Return half of the central 80 % of where one boundary between two means may lie [m]."""
    lead = (((values - upper) ** 2 - (values - lower) ** 2) / scatter).sum(axis=1)
    weights = np.gradient(depth) if len(depth) > 1 else np.ones(1)
    cost = np.cumsum(lead * weights)
    likely = np.exp(-0.5 * (cost - cost.min())) * weights
    share = np.cumsum(likely) / likely.sum()
    low, high = np.interp([0.1, 0.9], share, depth)
    step = float(np.median(np.diff(depth))) if len(depth) > 1 else 0.0
    return max(float(high - low) / 2, step / 2)

"""How soil behaviour is shown: a colour ramp keyed to Ic, words, and a hatch for every zone.

The ramp is our own. It runs from pale straw (coarse) over stone and slate to dusk blue (fine),
getting darker all the way, so that it keeps its order in grey and for every kind of colour
vision. Zones are named in plain words; the hatch says the zone without any colour.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pushproof.equations.behaviour import WORDS

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

IC_LOW, IC_HIGH = 1.0, 4.2
"""Ends of the ramp and of the Ic axis [-]."""


@dataclass(frozen=True, slots=True)
class Zone:
    """A soil behaviour zone: number, words, an Ic typical of it, and its hatch."""

    number: int
    words: str
    ic: float
    hatch: str


ZONES = {
    zone.number: zone
    for zone in (
        Zone(7, WORDS[7], 1.15, "circles"),
        Zone(6, WORDS[6], 1.75, "dots"),
        Zone(5, WORDS[5], 2.35, "dots-dashes"),
        Zone(4, WORDS[4], 2.78, "dashes"),
        Zone(3, WORDS[3], 3.25, "lines"),
        Zone(2, WORDS[2], 3.85, "waves"),
        Zone(1, WORDS[1], 3.40, "broken"),
        Zone(8, WORDS[8], 1.95, "slashes-dots"),
        Zone(9, WORDS[9], 2.65, "slashes"),
    )
}
"""Zones in the order of the key: coarse to fine, then those that Ic alone does not tell."""

# OKLCH anchors of the ramp: Ic, lightness, chroma, hue [deg]
_RAMP = np.array(
    [
        [1.00, 0.970, 0.040, 95.0],
        [1.75, 0.855, 0.085, 88.0],
        [2.35, 0.740, 0.060, 92.0],
        [2.60, 0.665, 0.022, 150.0],
        [2.95, 0.570, 0.050, 232.0],
        [3.60, 0.430, 0.082, 256.0],
        [4.20, 0.300, 0.070, 285.0],
    ]
)


def soil_rgb(ic: ArrayLike) -> FloatArray:
    """Return the ramp's colour for Ic, shape (..., 3) in sRGB from 0 to 1.

    Notes
    -----
    Interpolated in OKLab (B. Ottosson, 2020, "A perceptual color space for image processing"),
    so that equal steps of Ic look like equal steps.

    Examples
    --------
    >>> soil_hex(1.75), soil_hex(3.6)
    ('#e7cd8e', '#30517c')
    """
    lightness, chroma, hue = _RAMP[:, 1], _RAMP[:, 2], np.radians(_RAMP[:, 3])
    lab = np.stack([lightness, chroma * np.cos(hue), chroma * np.sin(hue)])
    values = np.clip(np.asarray(ic, dtype=np.float64), IC_LOW, IC_HIGH)
    parts = np.stack([np.interp(values, _RAMP[:, 0], row) for row in lab])
    to_lms = np.array(
        [
            [1.0, 0.3963377774, 0.2158037573],
            [1.0, -0.1055613458, -0.0638541728],
            [1.0, -0.0894841775, -1.2914855480],
        ]
    )
    to_rgb = np.array(
        [
            [4.0767416621, -3.3077115913, 0.2309699292],
            [-1.2684380046, 2.6097574011, -0.3413193965],
            [-0.0041960863, -0.7034186147, 1.7076147010],
        ]
    )
    linear = np.tensordot(to_rgb, np.tensordot(to_lms, parts, 1) ** 3, 1)
    linear = np.clip(linear, 0.0, 1.0)
    coded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return np.moveaxis(np.clip(coded, 0.0, 1.0), 0, -1)


def soil_hex(ic: float) -> str:
    """Return the ramp's colour for one Ic as ``#rrggbb``."""
    red, green, blue = (round(float(part) * 255) for part in soil_rgb(ic))
    return f"#{red:02x}{green:02x}{blue:02x}"


@dataclass(frozen=True, slots=True)
class SoilRows:
    """Soil behaviour per paper row of one page.

    Parameters
    ----------
    edges
        Depth of the row edges [m], shape (n + 1,).
    ic
        Median Ic of each row, NaN where there is none, shape (n,).
    zone
        Most frequent zone of each row, 0 where there is none, shape (n,).
    """

    edges: FloatArray
    ic: FloatArray
    zone: IntArray


def soil_rows(
    depth: FloatArray, ic: FloatArray, zone: FloatArray, edges: FloatArray, gap: float
) -> SoilRows:
    """Bring Ic and zone to paper rows.

    Parameters
    ----------
    depth, ic, zone
        Columns, shape (m,), sorted by depth.
    edges
        Depth of the row edges [m], equal steps, shape (n + 1,).
    gap
        A row takes no value from a reading farther away than half of this [m], and none at all
        beyond the first and the last reading.
    """
    n = len(edges) - 1
    row_ic = np.full(n, np.nan)
    row_zone = np.zeros(n, dtype=np.int64)
    use = np.isfinite(depth)
    depth, ic, zone = depth[use], ic[use], zone[use]
    if not len(depth):
        return SoilRows(edges, row_ic, row_zone)
    middle = (edges[1:] + edges[:-1]) / 2
    first = np.searchsorted(depth, edges[:-1], side="left")
    last = np.searchsorted(depth, edges[1:], side="left")
    near = np.clip(np.searchsorted(depth, middle), 1, max(len(depth) - 1, 1))
    if len(depth) > 1:
        near -= (middle - depth[near - 1]) < (depth[near] - middle)
    else:
        near[:] = 0
    whole = np.nan_to_num(zone).astype(np.int64)
    for k in range(n):
        if last[k] - first[k] <= 1:
            row = first[k] if last[k] > first[k] else near[k]
            inside = depth[0] <= middle[k] <= depth[-1]
            if abs(depth[row] - middle[k]) <= (gap / 2 if inside else (edges[1] - edges[0]) / 2):
                row_ic[k], row_zone[k] = ic[row], whole[row]
            continue
        part = slice(first[k], last[k])
        values = ic[part][np.isfinite(ic[part])]
        if values.size:
            row_ic[k] = np.median(values)
        row_zone[k] = np.bincount(whole[part]).argmax()
    row_zone[~np.isfinite(row_ic)] = 0
    return SoilRows(edges, row_ic, row_zone)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of depth [m] with the zones that fill most of it, the main one first."""

    top: float
    base: float
    zones: tuple[int, ...]

    @property
    def main(self) -> str:
        """The zone that fills most of it, in words."""
        return ZONES[self.zones[0]].words

    @property
    def words(self) -> str:
        """The zones in words."""
        return " / ".join(ZONES[zone].words for zone in self.zones)


_MIXED = 0.30
"""A second zone is named if it fills at least this share of a stretch."""


def stretches(rows: SoilRows, least: float) -> list[Stretch]:
    """Group paper rows into stretches tall enough for words.

    Runs of one zone are merged, the thinnest first, into the neighbour that holds more of the
    same zone (else the thinner one), until every run is at least ``least`` [m] tall. This is for
    lettering only: the drawn colours and hatches keep every row.
    """
    height = float(rows.edges[1] - rows.edges[0])
    found: list[Stretch] = []
    for a, b in _covered(rows.zone):
        runs = _runs(rows.zone[a:b])
        runs = _merge(runs, max(1, round(least / height)))
        top = a
        for run in runs:
            length = sum(run.values())
            if length * height >= least * 0.75:
                found.append(
                    Stretch(float(rows.edges[top]), float(rows.edges[top + length]), _main(run))
                )
            top += length
    return found


Run = dict[int, int]


def _covered(zone: IntArray) -> list[tuple[int, int]]:
    has = np.concatenate([[False], zone > 0, [False]])
    edges = np.flatnonzero(np.diff(has.astype(np.int8)))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]


def _runs(zone: IntArray) -> list[Run]:
    starts = np.flatnonzero(np.diff(zone, prepend=-1))
    ends = np.append(starts[1:], len(zone))
    return [{int(zone[a]): int(b - a)} for a, b in zip(starts, ends, strict=True)]


def _merge(runs: list[Run], least: int) -> list[Run]:
    while len(runs) > 1:
        sizes = [sum(run.values()) for run in runs]
        k = min(range(len(runs)), key=lambda i: sizes[i])
        if sizes[k] >= least:
            break
        sides = [i for i in (k - 1, k + 1) if 0 <= i < len(runs)]
        zone = _main(runs[k])[0]
        partner = max(sides, key=lambda i: (runs[i].get(zone, 0), -sizes[i]))
        a, b = min(k, partner), max(k, partner)
        runs[a : b + 1] = [_sum(runs[a], runs[b])]
    merged: list[Run] = []
    for run in runs:
        if merged and _main(merged[-1]) == _main(run):
            merged[-1] = _sum(merged[-1], run)
        else:
            merged.append(run)
    return merged


def _sum(one: Run, other: Run) -> Run:
    return {zone: one.get(zone, 0) + other.get(zone, 0) for zone in {**one, **other}}


def _main(run: Run) -> tuple[int, ...]:
    order = sorted(run, key=lambda zone: (-run[zone], zone))
    total = sum(run.values())
    if len(order) > 1 and run[order[1]] >= _MIXED * total:
        return (order[0], order[1])
    return (order[0],)

"""Reducing to pixel rows never loses an extreme and never bridges what is missing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.web.reduce import Reduced, window

ROWS = st.integers(2, 400)


@st.composite
def columns(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    n = draw(ROWS)
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    depth = np.cumsum(rng.uniform(0.0, 0.05, n))
    values = rng.normal(0, 10, n)
    values[rng.uniform(size=n) < draw(st.sampled_from([0.0, 0.1, 0.7]))] = np.nan
    return depth, values


@given(columns(), st.integers(1, 60), st.floats(0.0, 1.0), st.floats(0.01, 1.0))
def test_extremes_are_never_lost(
    made: tuple[np.ndarray, np.ndarray], pixels: int, start: float, share: float
) -> None:
    depth, values = made
    span = max(float(depth[-1] - depth[0]), 0.01)
    top = float(depth[0]) + start * span
    base = top + max(share * span, 1e-3)
    found = window(depth, {"v": values}, top=top, base=base, pixels=pixels, gap=0.15)
    inside = values[(depth >= top) & (depth <= base)]
    inside = inside[np.isfinite(inside)]
    one = found.columns["v"]
    low = one.low if isinstance(one, Reduced) else one
    high = one.high if isinstance(one, Reduced) else one
    if inside.size:
        assert np.nanmin(low) <= inside.min()
        assert np.nanmax(high) >= inside.max()
        # and each extreme stands within one pixel row of where it was read
        reach = (base - top) / pixels + 1e-9
        at = depth[(depth >= top) & (depth <= base)][
            np.nanargmax(values[(depth >= top) & (depth <= base)])
        ]
        peak = inside.max()
        near = np.abs(found.depth - at) <= reach
        assert (high[near] >= peak).any()
    kept = values[np.isfinite(values)]
    shown = np.concatenate([low, high])
    assert np.isin(shown[np.isfinite(shown)], kept).all(), "a value that nobody read"


@given(columns(), st.integers(1, 60))
def test_never_more_than_a_screen_can_show(
    made: tuple[np.ndarray, np.ndarray], pixels: int
) -> None:
    depth, values = made
    top, base = float(depth[0]), float(depth[-1]) + 1e-6
    found = window(depth, {"v": values}, top=top, base=base, pixels=pixels, gap=0.15)
    assert len(found.depth) <= 2 * pixels + 2
    assert (np.diff(found.depth) >= 0).all()


def test_a_missing_stretch_stays_a_gap() -> None:
    depth = np.arange(0, 10, 0.01)
    values = np.where((depth > 4) & (depth < 5), np.nan, 1.0)
    found = window(depth, {"v": values}, top=0, base=10, pixels=100, gap=0.15)
    assert found.is_reduced
    one = found.columns["v"]
    assert isinstance(one, Reduced)
    empty = (found.depth > 4.15) & (found.depth < 4.9)
    assert empty.sum() >= 6
    assert np.isnan(one.high[empty]).all()
    assert np.isfinite(one.high[~empty]).sum() > 80


def test_a_jump_in_depth_is_not_joined() -> None:
    depth = np.concatenate([np.arange(0, 4, 0.01), np.arange(6, 10, 0.01)])
    found = window(depth, {"v": depth}, top=0, base=10, pixels=50, gap=0.15)
    after = int(np.flatnonzero(found.depth > 5)[0])
    assert not found.join[after]
    assert found.join[1:after].all()


def test_few_rows_are_sent_as_they_are() -> None:
    depth = np.arange(0, 2, 0.02)
    found = window(depth, {"v": depth * 3}, top=0.5, base=1.0, pixels=500, gap=0.15)
    assert not found.is_reduced
    inside = (found.depth >= 0.5) & (found.depth <= 1.0)
    assert np.array_equal(np.asarray(found.columns["v"])[inside], found.depth[inside] * 3)
    assert found.depth[0] < 0.5
    assert found.depth[-1] > 1.0


def test_bad_windows_are_named() -> None:
    with pytest.raises(ValueError, match="base 1 m is not below top 2 m; pixels: 0"):
        window(np.arange(3.0), {}, top=2, base=1, pixels=0, gap=0.1)

"""Curves: gaps stay gaps, page cuts meet, thinning loses no peak."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from pushproof.report.curves import cut, excursions, gap_length, lines, stretches, thin


def test_a_missing_value_breaks_the_line():
    depth = np.arange(6) * 0.02
    values = np.array([1.0, 2.0, np.nan, 4.0, 5.0, 6.0])
    found = stretches(depth, values, gap=0.15)
    assert [(s.start, s.stop) for s in found] == [(0, 2), (3, 6)]


def test_a_jump_in_depth_breaks_the_line():
    depth = np.array([0.00, 0.02, 0.04, 0.06, 0.80, 0.82])
    assert len(stretches(depth, np.ones(6), gap_length(depth))) == 2


def test_a_lone_value_is_still_drawn():
    depth = np.arange(5) * 0.02
    values = np.array([np.nan, np.nan, 3.0, np.nan, np.nan])
    found = lines(depth, values, 0.0, 1.0, row=0.01, gap=0.15)
    assert len(found) == 1
    assert found[0].tolist() == [[3.0, 0.04]]


def test_pages_meet_on_the_curve():
    depth = np.linspace(0, 4, 81)
    values = depth**2
    upper, _ = cut(depth, values, 0.0, 1.99)
    lower_depth, lower = cut(depth, values, 1.99, 4.0)
    assert upper[-1] == 1.99
    assert lower_depth[0] == 1.99
    assert abs(lower[0] - 1.99**2) < 1e-2


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(-1e3, 1e5), min_size=30, max_size=400),
    st.floats(0.01, 1.0),
)
def test_thinning_keeps_every_extreme_of_every_row(values, row):
    values = np.array(values)
    depth = np.linspace(0.0, 1.0, len(values))
    z, v = thin(depth, values, row)
    rows = np.floor(depth / row)
    kept = np.floor(z / row)
    for k in np.unique(rows):
        assert v[kept == k].max() == values[rows == k].max()
        assert v[kept == k].min() == values[rows == k].min()
    assert z[0] == depth[0]
    assert z[-1] == depth[-1]
    assert np.isin(v, values).all()


def test_a_long_record_is_thinned():
    depth = np.linspace(0, 40, 40_000)
    z, _ = thin(depth, np.sin(depth * 100), row=0.02)
    assert len(z) <= 4 * 2000 + 4


def test_excursions_give_the_peak_once_per_run():
    depth = np.arange(100) * 0.02
    values = np.full(100, 1.0)
    values[20:24] = [30, 62, 55, 31]
    values[80] = -4.0
    found = excursions(depth, values, 0.0, 20.0, apart=0.1)
    assert [(e.value, e.high) for e in found] == [(62.0, True), (-4.0, False)]

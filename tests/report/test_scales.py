"""Axes: robust to outliers, round, the same for a whole sounding."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.report.scales import Scale, axis_end, positive_scale, signed_scale, tick_text


def test_one_spike_does_not_squash_the_axis():
    values = np.append(np.full(500, 2.4), 80.0)
    assert positive_scale([values], least=2.0).high == 3.0


def test_many_high_runs_are_no_outliers():
    values = np.full(1000, 2.0)
    values[::90] = 40.0
    assert positive_scale([values], least=2.0).high == 40.0


def test_a_little_longer_axis_shows_everything():
    values = np.append(np.full(500, 2.4), 4.0)
    assert positive_scale([values], least=2.0).high == 4.0


def test_nothing_measured_gives_the_least_axis():
    assert positive_scale([np.full(5, np.nan)], least=40.0) == Scale(0.0, 40.0, 10.0)


def test_negative_pore_pressure_is_inside():
    values = np.concatenate([np.linspace(-60, 0, 100), np.linspace(0, 380, 300)])
    scale = signed_scale([values], inside=[0.0, 240.0], least=50.0)
    assert scale.low <= -60
    assert scale.high == 400.0
    assert 0.0 in scale.ticks()


def test_the_hydrostatic_line_is_inside_even_if_u2_is_small():
    scale = signed_scale([np.full(100, 5.0)], inside=[0.0, 690.0], least=50.0)
    assert scale.high >= 690.0


@given(st.floats(1e-6, 1e6))
def test_axis_ends_are_round_and_close(value):
    end = axis_end(value)
    assert value <= end * (1 + 1e-9)
    assert end <= value * 2.0000001
    ticks = positive_scale([np.array([value])], least=1e-9).ticks()
    assert 3 <= len(ticks) <= 6


@given(st.floats(0.01, 1e4), st.floats(-1e4, -0.01))
def test_a_signed_axis_holds_both_ends(high, low):
    scale = signed_scale([np.array([low, high])], inside=[low, high], least=1.0)
    assert scale.low <= low * (1 - 1e-9) or low > -0.02 * scale.high
    assert scale.high >= high * (1 - 1e-9)


def test_tick_labels_are_distinct():
    for end in (0.2, 1.0, 2.5, 30.0, 800.0):
        scale = positive_scale([np.array([end])], least=0.1)
        labels = [tick_text(tick, scale.step) for tick in scale.ticks()]
        assert len(set(labels)) == len(labels)


def test_place_is_linear():
    assert Scale(0.0, 10.0, 2.0).place([0.0, 5.0, 10.0], 20.0, 40.0) == pytest.approx(
        [20.0, 30.0, 40.0]
    )

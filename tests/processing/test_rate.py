"""The rate of penetration, whatever the clock of the file counts in."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.processing.rate import penetration_rate


def push(rate, rows, spacing, tick, pauses=()):
    """Times of a push at a constant rate, counted in ticks, with pauses [row, s]."""
    length = 1.0 + spacing * np.arange(rows)
    time = (length - 1.0) / rate
    for row, seconds in pauses:
        time[row:] += seconds
    return length, np.floor(time / tick + 1e-9) * tick


@pytest.mark.parametrize("tick", [0.001, 0.1, 1.0])
@pytest.mark.parametrize("spacing", [0.005, 0.02, 0.05])
def test_a_constant_rate_is_found_whatever_the_clock_counts_in(tick, spacing):
    rate = penetration_rate(*push(0.02, 400, spacing, tick, [(100, 30.0), (260, 45.0)]))
    middle = np.median(rate)
    assert middle == pytest.approx(0.02, rel=0.05)
    # 0.5 m at 20 mm/s is 25 s: a clock of whole seconds is then good to one in 25 at best
    assert np.quantile(np.abs(rate - 0.02), 0.95) < 0.0032


def test_a_pause_does_not_count_and_a_slow_stretch_does():
    length, time = push(0.02, 300, 0.02, 0.01, [(150, 600.0)])
    assert np.all(np.abs(penetration_rate(length, time) - 0.02) < 0.001)
    slow = length.copy()
    seconds = np.cumsum(np.where((np.arange(300) > 100) & (np.arange(300) < 160), 4.0, 1.0))
    assert penetration_rate(slow, seconds)[130] == pytest.approx(0.005)


def test_missing_times_and_none_at_all():
    length = np.arange(5.0)
    assert np.isnan(penetration_rate(length, np.full(5, np.nan))).all()
    rate = penetration_rate(length, np.array([0.0, 50.0, np.nan, 150.0, 200.0]))
    assert np.isnan(rate[2])
    assert rate[[0, 1, 3, 4]] == pytest.approx(0.02)


@given(st.lists(st.floats(0, 30), min_size=2, max_size=40), st.floats(0.001, 0.05))
def test_never_infinite_never_negative_for_time_that_grows(steps, spacing):
    time = np.cumsum(steps)
    rate = penetration_rate(spacing * np.arange(time.size), time)
    assert not np.isinf(rate).any()
    assert (rate[np.isfinite(rate)] >= 0).all()

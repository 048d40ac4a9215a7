"""Offset and drift between cone and surface: against a linear programme, outliers, and pauses."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from pushproof.processing.streams.clocks import (
    DRIFT_PRIOR,
    UNKNOWN_DELAY,
    Start,
    delay_by_pauses,
    fit_arrivals,
    fit_clock,
    runs,
)
from pushproof.processing.streams.surface import surface_time


def packets(rng, n=3000, *, drift=40e-6, offset=1000.0, delay=0.35, jitter=0.05):
    """Packets of a cone whose clock loses ``drift`` seconds a second against the surface."""
    cone = 700.0 + np.arange(n) + rng.uniform(0, 0.01, n)
    true = cone + offset + drift * (cone - cone.mean())
    return cone, true, true + delay + rng.exponential(jitter, n)


def lower_line(t, late):
    """The line under all points with the least mean distance: a linear programme.

    The classic estimate of clock skew from one-sided delays (Moon, Skelly and Towsley 1999, from
    memory), solved by scipy.
    """
    x = t - t.mean()
    result = linprog(
        [-len(x), -x.sum()],
        A_ub=np.column_stack([np.ones(len(x)), x]),
        b_ub=late,
        bounds=[(None, None)] * 2,
    )
    return result.x[1]


@pytest.mark.parametrize("drift", [-300e-6, 0.0, 40e-6])
def test_the_drift_is_that_of_the_line_under_all_packets(drift):
    rng = np.random.default_rng(3)
    cone, _, arrival = packets(rng, drift=drift)
    fit = fit_arrivals(cone, arrival)
    reference = lower_line(cone, arrival - cone)
    assert fit.drift == pytest.approx(reference, abs=2e-6)
    assert fit.drift == pytest.approx(drift, abs=3e-6)
    assert fit.cone_ppm == pytest.approx(-1e6 * drift, abs=3)


def test_the_stated_uncertainty_of_the_drift_covers_its_error():
    inside = 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        cone, _, arrival = packets(rng, 1200, jitter=rng.uniform(0.01, 0.4))
        fit = fit_arrivals(cone, arrival)
        inside += abs(fit.drift - 40e-6) < 2 * fit.drift_sd
    assert inside >= 52


def test_a_few_packets_that_come_absurdly_early_or_late_move_nothing():
    rng = np.random.default_rng(1)
    cone, true, arrival = packets(rng)
    clean = fit_arrivals(cone, arrival)
    spoilt = arrival.copy()
    spoilt[rng.choice(3000, 60, replace=False)] -= rng.uniform(5, 300, 60)
    spoilt[rng.choice(3000, 300, replace=False)] += rng.uniform(5, 300, 300)
    fit = fit_arrivals(cone, spoilt)
    assert fit.drift == pytest.approx(clean.drift, abs=4e-6)
    assert np.abs(fit.surface(cone) - true - 0.35).max() < 0.05
    # The line under all points is pulled away by a single early packet.
    assert abs(lower_line(cone, spoilt - cone) - 40e-6) > 1e-3


def test_without_pauses_the_unknown_delay_is_part_of_the_uncertainty():
    rng = np.random.default_rng(2)
    cone, true, arrival = packets(rng)
    fit = fit_arrivals(cone, arrival)
    assert fit.delay is None
    assert fit.offset_sd == pytest.approx(UNKNOWN_DELAY, abs=0.01)
    assert np.all(np.abs(fit.surface(cone) - true) < 2 * fit.sd(cone))


@pytest.mark.parametrize("n", [1, 2, 9, 25])
def test_a_short_record_keeps_the_drift_open(n):
    rng = np.random.default_rng(n)
    cone, _, arrival = packets(rng, n)
    fit = fit_arrivals(cone, arrival)
    assert (fit.drift, fit.drift_sd) == (0.0, DRIFT_PRIOR)
    assert fit.readings == n


def test_no_packet_is_no_fit():
    with pytest.raises(ValueError, match="no packet"):
        fit_arrivals([np.nan], [3.0])


@settings(max_examples=40, deadline=None)
@given(
    st.integers(0, 10_000),
    st.floats(-2e-4, 2e-4),
    st.floats(-1e6, 1e6),
    st.randoms(use_true_random=False),
)
def test_surface_and_cone_time_undo_each_other_and_order_does_not_matter(
    seed, drift, offset, random
):
    rng = np.random.default_rng(seed)
    cone, _, arrival = packets(rng, 400, drift=drift, offset=offset)
    fit = fit_arrivals(cone, arrival)
    np.testing.assert_allclose(fit.cone(fit.surface(cone)), cone, atol=1e-6)
    order = list(range(400))
    random.shuffle(order)
    again = fit_arrivals(cone[order], arrival[order])
    assert again.drift == pytest.approx(fit.drift, abs=1e-12)
    assert again.offset == pytest.approx(fit.offset, abs=1e-6)


# -- pauses ------------------------------------------------------------------------------------


def push(rng, delay, *, rods=12, every=0.5, noise=3.0, soil=60.0):
    """A push with a rod change each metre: encoder, cone readings, packets, starts."""
    time, length = [0.0], [0.0]
    starts = []
    for _ in range(rods):
        stop = time[-1] + 50.0
        time += [stop, stop + 25.0]
        length += [length[-1] + 1.0] * 2
        starts.append([stop, stop + 25.0, stop + 75.0])
    depth_time = np.arange(0, time[-1], 0.1)
    depth = np.interp(depth_time, time, length)
    cone = np.arange(0.03, time[-1] - 1, every)
    at = np.interp(cone, time, length)
    walk = 6000 + np.cumsum(rng.normal(0, soil, 4000))
    qc = np.interp(at, np.linspace(0, rods + 1, 4000), walk) + rng.normal(0, noise, len(cone))
    sent = cone[::2]
    arrival = sent + delay + rng.exponential(0.03, len(sent))
    return depth_time, depth, cone, qc, sent, arrival, [Start(*s) for s in starts[:-1]]


@pytest.mark.parametrize("delay", [0.0, 0.35, 1.6])
def test_pauses_part_the_delay_of_the_link_from_the_offset(delay):
    rng = np.random.default_rng(int(10 * delay))
    depth_time, depth, cone, qc, sent, arrival, starts = push(rng, delay)
    fit = fit_clock(
        sent,
        arrival,
        dense_time=cone,
        qc=qc,
        starts=starts,
        depth_time=depth_time,
        length=depth,
    )
    assert fit.pauses >= 8
    assert fit.delay == pytest.approx(delay, abs=2 * fit.delay_sd)
    assert fit.delay_sd < 0.3
    assert np.abs(fit.surface(cone) - cone).max() < 0.2


def test_even_soil_shows_no_pause_and_that_is_said():
    rng = np.random.default_rng(4)
    depth_time, depth, cone, qc, sent, arrival, starts = push(rng, 0.35, soil=0.0)
    fit = fit_arrivals(sent, arrival)
    assert delay_by_pauses(fit, cone, qc, starts, depth_time, depth) is None
    whole = fit_clock(
        sent,
        arrival,
        dense_time=cone,
        qc=qc,
        starts=starts,
        depth_time=depth_time,
        length=depth,
    )
    assert whole.delay is None


# -- runs of the cone clock and the surface clock ----------------------------------------------


def test_a_cone_that_starts_anew_begins_a_new_run_and_late_packets_do_not():
    assert runs([]).tolist() == []
    assert runs([5, 6, 4, 7, 40, 39]).tolist() == [0] * 6
    assert runs([900, 901, 900.5, 0, 1, 2, 3, 500, 2]).tolist() == [0, 0, 0, 1, 1, 1, 1, 1, 1]
    # One absurd value is not a new run.
    assert runs([900, 901, 3, 902, 903, 904, 905]).tolist() == [0] * 7


def test_a_wall_clock_that_is_set_changes_nothing():
    mono = np.arange(100.0)
    for shift in (-3600, 3600):
        wall = 1e9 + mono + np.where(mono > 50, shift, 0)
        time, steps = surface_time(wall, mono, mono)
        np.testing.assert_allclose(time, 1e9 + mono)
        assert [(s.row, s.kind, s.seconds) for s in steps] == [(51, "set", shift)]


def test_a_laptop_that_slept_is_told_by_the_clock_of_the_cone():
    truth = np.concatenate((np.arange(50.0), np.arange(110.0, 160.0)))
    mono = np.arange(100.0)
    time, steps = surface_time(1e9 + truth, mono, 7 + truth)
    np.testing.assert_allclose(time, 1e9 + truth)
    assert steps[0].kind == "slept"
    # Without the cone nobody can tell sleep from a clock that was set.
    time, steps = surface_time(1e9 + truth, mono)
    np.testing.assert_allclose(time, 1e9 + mono)
    assert steps[0].kind == "set"


def test_a_computer_that_started_anew_goes_on_by_the_wall_clock():
    truth = np.concatenate((np.arange(50.0), np.arange(200.0, 250.0)))
    mono = np.concatenate((5000 + np.arange(50.0), np.arange(50.0)))
    time, steps = surface_time(1e9 + truth, mono)
    np.testing.assert_allclose(time, 1e9 + truth)
    assert steps[0].kind == "restarted"


@given(
    st.lists(st.tuples(st.floats(-100, 100), st.floats(-100, 100)), max_size=50),
)
def test_surface_time_never_goes_back(steps):
    wall = np.cumsum([s[0] for s in steps])
    mono = np.cumsum([s[1] for s in steps])
    time, _ = surface_time(wall, mono)
    assert np.all(np.diff(time) >= 0)

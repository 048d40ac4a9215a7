"""Calibration of the encoder, its check run, and the rod tally."""

import pytest

from pushproof.processing.streams.encoder import (
    calibrate_travel,
    calibrate_two_points,
    check_run,
    rod_tally,
)


def test_two_points_give_the_sign_of_the_count():
    assert calibrate_two_points(0, 0.0, -5000, 1.0).metres_per_count == -0.0002
    with pytest.raises(ValueError, match=r"both counts.*; both marks"):
        calibrate_two_points(3, 1.0, 3, 1.0)


def test_runs_of_travel_are_averaged_and_their_spread_stated():
    one = calibrate_travel([(5000, 1.0)])
    assert (one.metres_per_count, one.spread) == (0.0002, None)
    two = calibrate_travel([(4950, 1.0), (5050, 1.0)])
    assert two.metres_per_count == pytest.approx(0.0002, rel=2e-4)
    assert two.spread == pytest.approx(0.01414, rel=0.01)
    with pytest.raises(ValueError, match="no run given"):
        calibrate_travel([])
    with pytest.raises(ValueError, match="run 2: 0 counts"):
        calibrate_travel([(10, 1.0), (0, 1.0)])
    with pytest.raises(ValueError, match="different directions"):
        calibrate_travel([(10, 1.0), (-10, 1.0)])


@pytest.mark.parametrize(("counts", "found"), [(5040, 0), (5060, 1), (4940, 1), (4951, 0)])
def test_a_check_run_beyond_one_percent_is_a_finding(counts, found):
    run = check_run(calibrate_two_points(0, 0.0, 5000, 1.0), counts, 1.0)
    assert len(run.findings) == found


@pytest.mark.parametrize(
    ("rods", "stick_up", "length", "found"),
    [
        (5, 0.40, 4.55, 0),  # 0.05 m of 0.1 m
        (5, 0.40, 4.45, 1),  # 0.15 m of 0.1 m
        (30, 0.30, 29.45, 0),  # 0.25 m of 1 % of 29.45 m
        (30, 0.30, 30.05, 1),  # 0.35 m of 0.30 m
        (13, 0.30, 11.7, 1),  # a rod counted twice
    ],
)
def test_the_tally_allows_a_tenth_of_a_metre_or_one_percent(rods, stick_up, length, found):
    tally = rod_tally(rods, 1.0, stick_up, length)
    assert len(tally.findings()) == found
    assert (tally.share > 1) == bool(found)
    if found:
        assert f"{rods} rods give {rods - stick_up:.2f} m" in tally.findings()[0].found


def test_the_cone_below_the_first_rod_counts():
    assert rod_tally(10, 1.0, 0.5, 9.8, lead=0.3).difference == pytest.approx(0.0)

"""The middle of positions."""

import numpy as np
import pytest

from pushproof.processing.streams.position import median_position


def test_a_few_wild_fixes_do_not_move_it():
    rng = np.random.default_rng(3)
    lat, lon = 52.0 + rng.normal(0, 1e-5, 300), 5.0 + rng.normal(0, 1e-5, 300)
    lat[:40], lon[:40] = 0.0, 0.0
    found = median_position(lat, lon)
    assert found.latitude == pytest.approx(52.0, abs=5e-6)
    assert found.longitude == pytest.approx(5.0, abs=5e-6)
    assert found.count == 300


def test_spread_by_hand():
    # One second of latitude is one sixtieth of a nautical mile, 1852 m / 60 = 30.87 m; a mean
    # sphere gives 30.89 m. At 60 degrees a second of longitude is half of that.
    second = 1 / 3600
    north = median_position([10.0, 10.0 + second, 10.0 - second], [5.0] * 3)
    assert north.spread == pytest.approx(30.87, rel=0.005)
    east = median_position([60.0] * 3, [5.0, 5.0 + second, 5.0 - second])
    assert east.spread == pytest.approx(30.87 / 2, rel=0.005)


def test_the_date_line_is_no_jump():
    found = median_position([0.0, 0.0, 0.0], [179.9999, -179.9999, 180.0])
    assert abs(found.longitude) == pytest.approx(180.0)
    assert found.spread < 20


def test_without_a_fix_there_is_none():
    assert median_position([], []) is None
    assert median_position([np.nan], [5.0]) is None
    with pytest.raises(ValueError, match="expected one shape"):
        median_position([1.0], [1.0, 2.0])

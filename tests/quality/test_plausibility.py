"""Unit faults are caught by plausibility and reported, never repaired."""

import numpy as np
import pytest

from pushproof.model.series import Series
from pushproof.model.sounding import Sounding
from pushproof.quality.plausibility import plausibility
from pushproof.testing import sample


def clay(**changes):
    """A plain soft clay: qc 300 to 900 kPa, 2 % friction, u2 above the water column."""
    length = np.arange(1, 21, 0.02)
    columns = {"length": length, "qc": 250 + 30 * length, "u2": 15 * length}
    columns["fs"] = 0.02 * columns["qc"]
    for key, change in changes.items():
        columns[key] = change(columns[key])
    return Sounding("T", Series(columns))


def ids(sounding):
    return {finding.id for finding in plausibility(sounding)}


def test_a_plain_sounding_has_no_finding():
    assert ids(clay()) == set()


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"qc": lambda v: v / 1000}, "qc-unit-doubtful"),
        ({"qc": lambda v: v * 1000}, "qc-unit-doubtful"),
        ({"fs": lambda v: v / 1000}, "fs-unit-doubtful"),
        ({"fs": lambda v: v * 1000}, "fs-unit-doubtful"),
        ({"u2": lambda v: v / 1000}, "u2-unit-doubtful"),
        ({"u2": lambda v: v * 1000}, "u2-unit-doubtful"),
    ],
)
def test_a_factor_of_a_thousand_is_reported(changes, expected):
    assert expected in ids(clay(**changes))


def test_swapped_friction_and_pore_pressure_are_reported():
    for name in ("clay-over-sand", "refusal"):
        plain = sample(name).readings
        columns = {key: plain[key] for key in ("length", "qc")}
        as_it_is = Series({**columns, "fs": plain["fs"], "u2": plain["u2"]})
        swapped = Series({**columns, "fs": plain["u2"], "u2": plain["fs"]})
        assert "fs-u2-swapped" not in ids(Sounding("T", as_it_is))
        assert "fs-u2-swapped" in ids(Sounding("T", swapped))


def test_a_value_out_of_range_is_reported_with_depth_and_number():
    def spike(values):
        values = values.copy()
        values[100] = 4000.0
        return values

    (finding,) = plausibility(clay(fs=spike))
    assert finding.id == "fs-out-of-range"
    assert "4000" in finding.found
    assert finding.top == pytest.approx(3.0)

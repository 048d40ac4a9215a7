"""Sounding and recipe to a corrected profile."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.model.equipment import Cone
from pushproof.model.recipe import BlankedInterval, Recipe
from pushproof.model.series import Reason, Series
from pushproof.model.sounding import Location, Sounding, Water, WaterOrigin
from pushproof.processing import process


def sounding(cone=None, columns=None, **known):
    columns = {key: np.asarray(values, float) for key, values in (columns or {}).items()}
    return Sounding("T1", Series(columns), cone=cone or Cone(), **known)


def ids(profile):
    return [finding.id for finding in profile.findings]


def test_vessel_all_round_water_pressure_gives_qt_equal_to_the_pressure():
    # GEC-5 Eq. 4-23: in a vessel only the net area feels the water, so qc = a u and qt = u.
    u = np.array([100.0, 500.0, 1000.0])
    s = sounding(Cone(area_ratio=0.8), {"length": [1, 2, 3], "qc": 0.8 * u, "u2": u})
    assert process(s).series["qt"] == pytest.approx(u)


def test_without_area_ratio_qt_is_qc_and_says_so():
    s = sounding(columns={"length": [1, 2], "qc": [500, 600], "u2": [90, 95]})
    profile = process(s)
    assert profile.series["qt"].tolist() == [500, 600]
    assert profile.qt_is_qc.all()
    assert "area-ratio-missing" in ids(profile)


def test_u1_never_stands_in_for_u2():
    s = sounding(Cone(area_ratio=0.8), {"length": [1, 2], "qc": [500, 600], "u1": [90, 95]})
    profile = process(s)
    assert profile.series["qt"].tolist() == [500, 600]
    (finding,) = [f for f in profile.findings if f.id == "qt-is-qc"]
    assert "u1 is not used" in finding.found


def test_all_zero_u2_is_not_fitted():
    s = sounding(Cone(area_ratio=0.8), {"length": [1, 2], "qc": [500, 600], "u2": [0, 0]})
    profile = process(s)
    assert "u2" not in profile.series
    assert {"u2-not-fitted", "qt-is-qc"} <= set(ids(profile))


def test_ft_needs_both_pore_pressures_and_the_end_areas():
    cone = Cone(
        area_ratio=0.8,
        sleeve_area=0.015,
        sleeve_end_area_bottom=2e-4,
        sleeve_end_area_top=2e-4,
    )
    columns = {"length": [1], "qc": [900], "fs": [20], "u2": [300], "u3": [200]}
    # ISO 22476-1:2012 Eq. C.1 by hand: 20 - (300 x 2e-4 - 200 x 2e-4) / 0.015 = 18.667
    assert process(sounding(cone, columns)).series["ft"] == pytest.approx([18.6667], abs=1e-3)
    del columns["u3"]
    assert "ft" not in process(sounding(cone, columns)).series


def test_unsorted_rows_are_sorted_and_the_order_kept():
    s = sounding(columns={"length": [3, 1, 2], "qc": [30, 10, 20]})
    profile = process(s)
    assert profile.series["qc"].tolist() == [10, 20, 30]
    assert profile.row.tolist() == [1, 2, 0]


def test_unsorted_file_with_times_in_order_of_length_is_only_worth_knowing():
    s = sounding(columns={"length": [3, 1, 2], "time": [150, 50, 100], "qc": [1, 2, 3]})
    assert "rows-unsorted" in ids(process(s))
    assert "length-backward" not in ids(process(s))


def test_a_real_step_back_is_reported_with_its_size():
    s = sounding(columns={"length": [1, 2, 1.95, 3], "time": [1, 2, 3, 4], "qc": [1, 2, 3, 4]})
    (finding,) = [f for f in process(s).findings if f.id == "length-backward"]
    assert "50 mm" in finding.found
    assert (finding.top, finding.base) == (1.95, 2)


def test_repeated_length_is_reported_with_the_longest_run():
    s = sounding(columns={"length": [1, 2, 2, 2, 3], "qc": [1, 2, 3, 4, 5]})
    (finding,) = [f for f in process(s).findings if f.id == "length-repeated"]
    assert "longest run has 3 rows" in finding.found
    assert finding.top == 2


def test_predrilled_rows_are_missing_for_that_reason():
    s = sounding(columns={"length": [0.5, 1.0, 1.5], "qc": [9, 10, 11]}, predrilled=1.0)
    profile = process(s)
    assert profile.series.reason("qc").tolist() == [Reason.PREDRILLED, 0, 0]
    assert "values-in-predrilled" in ids(profile)


def test_a_blanked_interval_keeps_its_reason_and_is_declared():
    recipe = Recipe(blanked=(BlankedInterval(top=1.5, base=2.5, reason="gravel jammed"),))
    s = sounding(columns={"length": [1, 2, 3], "qc": [9, 10, 11], "fs": [1, 2, 3]})
    profile = process(s, recipe)
    assert profile.series.reason("qc").tolist() == [0, Reason.BLANKED, 0]
    assert np.isnan(profile.series["qt"][1])
    (finding,) = [f for f in profile.findings if f.id == "blanked"]
    assert "gravel jammed" in finding.found


@pytest.mark.parametrize("degrees", [2, 5, 10, 12, 15, 20])
def test_constant_tilt_shortens_ten_metres_as_geometry_says(degrees):
    # Geometry of a straight inclined string: 10 m x (1 - cos tilt).
    length = np.linspace(0, 10, 501)
    s = sounding(columns={"length": length, "qc": length + 1, "tilt": np.full(501, degrees)})
    short = 10 - process(s).series["depth"][-1]
    assert short == pytest.approx(10 * (1 - np.cos(np.radians(degrees))), abs=1e-9)


def test_an_arc_of_constant_curvature_reaches_the_closed_form_depth():
    # Tilt growing linearly with length is a circular arc: z = R sin(l / R).
    length = np.linspace(0, 30, 1501)
    radius = 90.0
    s = sounding(columns={"length": length, "qc": length + 1, "tilt": np.degrees(length / radius)})
    expected = radius * np.sin(length / radius)
    assert process(s).series["depth"] == pytest.approx(expected, abs=1e-4)


def test_two_axes_are_combined_by_annex_b():
    # ISO 22476-1:2012 Eq. B.3 by hand for 10 and 10 deg: (1 + 2 tan^2 10)^-0.5 = 0.97028
    s = sounding(columns={"length": [0, 10], "qc": [1, 2], "tilt_x": [10, 10], "tilt_y": [10, 10]})
    profile = process(s)
    assert profile.series["depth"][-1] == pytest.approx(9.7028, abs=1e-4)
    assert not profile.depth_is_length


def test_a_stored_depth_is_used_where_there_is_no_tilt_and_kept_where_there_is():
    columns = {"length": [1, 2], "depth": [0.99, 1.97], "qc": [1, 2]}
    assert process(sounding(columns=columns)).series["depth"].tolist() == [0.99, 1.97]
    columns["tilt"] = [5, 5]
    series = process(sounding(columns=columns)).series
    assert series["depth"][1] == pytest.approx(1 + np.cos(np.radians(5)))
    assert series["stored:depth"].tolist() == [0.99, 1.97]


def test_water_level_recipe_before_file_before_assumption():
    stated = Water(level=1.2, origin=WaterOrigin.MEASURED)
    columns = {"length": [1, 2], "qc": [1, 2]}
    assert process(sounding(columns=columns, water=stated)).water == stated
    given = process(sounding(columns=columns, water=stated), Recipe(water_level=2.0))
    assert (given.water.level, given.water.origin) == (2.0, WaterOrigin.GIVEN)
    assumed = process(sounding(columns=columns))
    assert assumed.water.origin == WaterOrigin.ASSUMED
    assert [a.key for a in assumed.assumptions] == ["water_level"]
    over_water = process(sounding(columns=columns, location=Location(water_depth=4.0)))
    assert over_water.water.level == -4.0


def test_stored_results_are_kept_aside_and_not_used():
    s = sounding(columns={"length": [1], "qc": [500], "qt": [999], "Bq": [0.4]})
    series = process(s).series
    assert series["qt"].tolist() == [500]
    assert series["stored:qt"].tolist() == [999]
    assert series["stored:Bq"].tolist() == [0.4]


@pytest.mark.parametrize("values", [[], [np.nan, np.nan]])
def test_nothing_measured_is_a_stop_finding_not_a_crash(values):
    profile = process(sounding(columns={"length": np.arange(len(values)), "qc": values}))
    assert "no-readings" in ids(profile)


lengths = st.lists(st.floats(0, 60, allow_nan=False, width=32), min_size=2, max_size=60)


@given(lengths, st.randoms(use_true_random=False))
def test_depth_never_exceeds_length_and_grows(values, random):
    tilt = [random.uniform(0, 25) for _ in values]
    profile = process(sounding(columns={"length": values, "qc": values, "tilt": tilt}))
    depth, length = profile.series["depth"], profile.series["length"]
    assert (depth <= length + 1e-9).all()
    assert (np.diff(depth) >= -1e-12).all()


@given(st.permutations(range(12)))
def test_the_order_of_the_rows_does_not_change_the_profile(order):
    length = np.linspace(1, 4, 12)[list(order)]
    s = sounding(
        Cone(area_ratio=0.7),
        {"length": length, "qc": length * 100, "u2": length * 10, "tilt": length},
    )
    series = process(s).series
    base = np.linspace(1, 4, 12)
    assert series["length"] == pytest.approx(base)
    assert series["qt"] == pytest.approx(base * 100 + 0.3 * base * 10)


def test_a_tilt_that_no_rod_survives_is_not_used_and_reported():
    s = sounding(columns={"length": [0, 1, 2, 3], "qc": [1, 1, 1, 1], "tilt": [0, 0, 999, 0]})
    profile = process(s)
    assert profile.series["depth"].tolist() == [0, 1, 2, 3]
    assert "tilt-impossible" in ids(profile)

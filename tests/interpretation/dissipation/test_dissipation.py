"""What a dissipation result does with records that are awkward, short or strange."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from interpretation.dissipation.records import sounding, table_record
from pushproof.interpretation import interpret
from pushproof.interpretation.dissipation import (
    choice_for,
    dissipation,
    dissipations,
    time_of_degree,
    with_choice,
)
from pushproof.model.dissipation import DissipationKind
from pushproof.model.findings import Severity
from pushproof.model.picks import DissipationChoice
from pushproof.model.recipe import Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation
from pushproof.processing import process


def _only(case, recipe=None, **picks):
    (test,) = case.dissipations
    return dissipation(test, case, recipe=recipe, choice=DissipationChoice(**picks))


def _ids(found):
    return {one.id for one in found.findings}


def _plain(water=None):
    return sounding(*table_record(1e-6, 100.0, 400.0, 60.0), water=water)


def test_straight_over_root_time_is_run_back_to_where_it_began():
    time = np.arange(3.0, 900.0, 3.0)
    u = 300.0 - 5.0 * np.sqrt(time)
    found = _only(sounding(time, u), u0=100.0)
    assert found.method == "root-time"  # the first reading came 3 s after the stop
    assert found.u_i == pytest.approx(300.0, abs=0.1)
    assert found.t50 == pytest.approx(400.0, rel=0.01)  # 300 - 5 * 20 = 200, half way to 100
    parabola = {one.method: one for one in found.estimates}["log-time"]
    assert parabola.u_i == pytest.approx(300.0, abs=0.1)
    assert "dissipation-first-reading" in _ids(found)
    assert found.fit("root-time").residual == pytest.approx(0.0, abs=1e-6)


def test_a_picked_window_and_initial_pressure_are_used():
    time = np.arange(0.0, 900.0, 1.0)
    u = 300.0 - 5.0 * np.sqrt(time)
    found = _only(sounding(time, u), u0=100.0, window=(100.0, 400.0), method="root-time")
    assert found.chosen.window == (100.0, 400.0)
    assert "as picked" in found.chosen.how
    assert _only(sounding(time, u), u0=100.0, u_i=320.0).chosen.u50 == 210.0


def test_a_record_that_ends_too_early_says_so_and_gives_a_bound():
    time = np.arange(0.0, 200.0, 1.0)
    u = 300.0 - 5.0 * np.sqrt(time)
    found = _only(sounding(time, u), u0=100.0)
    assert found.method == "root-time"
    assert found.chosen.extrapolated
    assert found.t50 == pytest.approx(400.0, rel=0.01)
    assert found.chosen.reached == pytest.approx(35.0, abs=0.5)
    assert "dissipation-short" in _ids(found)


def test_a_record_below_the_table_says_so():
    time = np.arange(0.0, 30.0, 0.5)
    found = _only(sounding(time, 300.0 - 5.0 * np.sqrt(time)), u0=100.0)
    assert found.chosen.reached < 20.0
    assert "dissipation-table" in _ids(found)
    assert all(np.isnan(row.time) for row in found.degrees)


def test_in_situ_pressure_in_the_order_of_trust():
    case = _plain(water=3.0)
    assert _only(case, u0=55.0).u0_by == "given"
    time, u = table_record(1e-6, 100.0, 400.0, 60.0)
    early = time < 3000.0
    short = sounding(time[early], u[early], water=3.0)
    still = _only(short)
    assert (still.u0_by, still.u0) == ("hydrostatic", pytest.approx(9.81 * 7.0))
    assert "measured" in still.u0_how
    dry = _only(sounding(time[early], u[early]))
    assert dry.u0_by == "assumed"
    assert "dissipation-u0-assumed" in _ids(dry)
    assert "u0" in [one.key for one in dry.assumptions]
    given = _only(sounding(time[early], u[early]), Recipe(water_level=2.0))
    assert (given.u0_by, given.u0) == ("hydrostatic", pytest.approx(9.81 * 8.0))


def test_a_tail_over_inverse_time_gives_the_pressure_it_was_made_with():
    time = np.arange(0.0, 3000.0, 5.0)
    u = 80.0 + 200.0 / (1.0 + time / 100.0)
    tail = u[time > 0]
    assert tail[-1] - 80.0 < 7.0
    found = _only(sounding(time, u), u0_by="inverse-time")
    # 1 / (1 + t / 100) is 1/t at the end only: the two axes stand on either side
    assert found.u0 == pytest.approx(80.0, abs=1.0)
    assert "dissipation-u0-extrapolated" in _ids(found)
    root = _only(sounding(time, 80.0 + 200.0 / np.sqrt(1.0 + time)), u0_by="inverse-root-time")
    assert root.u0 == pytest.approx(80.0, abs=0.1)


@pytest.mark.parametrize("until", [500.0, 1000.0, 3000.0])
def test_a_record_that_ends_early_is_not_extrapolated_unasked(until):
    time, u = table_record(1e-6, 100.0, 400.0, 60.0)
    early = time < until
    case = sounding(time[early], u[early])
    assert _only(case).u0_by == "assumed"
    asked = {one.id: one.severity for one in _only(case, u0_by="inverse-time").findings}
    assert asked["dissipation-u0-extrapolated"] is Severity.CAUTION


def test_a_record_that_ends_late_is_extrapolated_within_its_two_axes():
    time, u = table_record(1e-6, 100.0, 400.0, 60.0)
    late = time < 60_000.0
    found = _only(sounding(time[late], u[late]))
    other = _only(sounding(time[late], u[late]), u0_by="inverse-root-time")
    assert found.u0_by == "inverse-time"
    assert other.u0 < 60.0 < found.u0 < u[late][-1]


def test_a_level_that_is_not_that_of_still_water_is_told():
    case = _plain(water=1.0)  # still water is 88 kPa, the record goes to 60
    found = _only(case)
    assert found.u0_by == "levelled"
    assert found.u0 == pytest.approx(60.0, abs=3.0)
    assert found.water_level == pytest.approx(10.0 - found.u0 / 9.81)
    near = _only(_plain(water=3.8))
    assert "dissipation-u0-not-hydrostatic" in _ids(_only(case, u0=10.0))
    assert "dissipation-u0-not-hydrostatic" not in _ids(near)


def test_noise_is_told_and_does_not_move_t50_far():
    rng = np.random.default_rng(3)
    time = np.arange(0.0, 4000.0, 1.0)
    grid, curve = table_record(1e-6, 100.0, 400.0, 60.0)
    clean = np.interp(time, grid, curve)
    found = _only(sounding(time, clean + rng.normal(0, 8.0, len(time))), u0=60.0, u_i=400.0)
    truth = _only(sounding(time, clean), u0=60.0, u_i=400.0)
    assert found.kind is DissipationKind.FALLING
    assert "dissipation-noisy" in _ids(found)
    assert "dissipation-noisy" not in _ids(truth)
    assert found.t50 == pytest.approx(truth.t50, rel=0.1)


def test_single_spikes_do_not_make_a_peak():
    time, u = table_record(1e-6, 100.0, 400.0, 60.0)
    u[40] = 900.0
    found = _only(sounding(time, u), u0=60.0)
    assert found.kind is DissipationKind.FALLING
    assert found.ch == pytest.approx(1e-6, rel=0.02)


@pytest.mark.parametrize(
    ("u", "kind", "finding"),
    [
        (np.full(50, 40.0), DissipationKind.FLAT, "dissipation-flat"),
        (np.linspace(10.0, 90.0, 50), DissipationKind.RISING, "dissipation-rising"),
        (np.full(3, 40.0), DissipationKind.EMPTY, "dissipation-few-readings"),
        (np.full(50, np.nan), DissipationKind.EMPTY, "dissipation-no-pressure"),
    ],
)
def test_records_without_a_t50_say_why(u, kind, finding):
    found = _only(sounding(np.arange(float(len(u))), u))
    assert found.kind is kind
    assert finding in _ids(found)
    assert found.method is None
    assert np.isnan(found.t50)
    assert np.isnan(time_of_degree(found, 50.0))
    json.dumps(found.document(), allow_nan=False)


def test_time_out_of_order_and_from_elsewhere_is_told():
    time, u = table_record(1e-6, 100.0, 400.0, 60.0)
    mixed = np.random.default_rng(1).permutation(len(time))
    found = _only(sounding(time[mixed], u[mixed]), u0=60.0)
    assert "dissipation-order" in _ids(found)
    assert found.ch == pytest.approx(1e-6, rel=0.01)
    late = _only(sounding(time + 500.0, u), u0=60.0)
    assert late.t0 == 500.0
    assert "dissipation-time-zero" in _ids(late)
    assert late.ch == pytest.approx(1e-6, rel=0.01)
    assert _only(sounding(time + 20.0, u), u0=60.0, t0=20.0).ch == pytest.approx(1e-6, rel=0.01)


def test_u0_above_the_record_is_told():
    assert "dissipation-below-u0" in _ids(_only(_plain(), u0=150.0))
    assert "dissipation-excess" in _ids(_only(_plain(), u0=399.0))


def test_a_filter_behind_the_sleeve_stands_between_the_rows_of_the_table():
    time, u = table_record(1e-6, 100.0, 400.0, 60.0)
    found = _only(sounding(time, u, "u3"), u0=60.0)
    assert 1.11 < found.chosen.T_star < 1.46
    assert "7.5 radii" in found.filter


def test_times_outside_the_table_are_missing():
    found = _only(_plain(), u0=60.0)
    assert np.isnan(time_of_degree(found, 19.9))
    assert np.isnan(time_of_degree(found, 80.1))
    times = [time_of_degree(found, degree) for degree in (20, 35, 50, 65, 80)]
    assert times == sorted(times)


def test_slower_ground_has_less_ch():
    found = [
        _only(sounding(*table_record(ch, 100.0, 400.0, 60.0)), u0=60.0) for ch in (1e-5, 1e-6, 1e-7)
    ]
    for name in ("ch", "kh_direct"):
        values = [getattr(one.chosen, name) for one in found]
        assert values == sorted(values, reverse=True)


def test_an_unknown_in_situ_pressure_leaves_percent_open():
    # a profile without a water level; a sounding alone would assume one
    short = table_record(1e-6, 100.0, 400.0, 60.0)
    early = short[0] < 1000.0
    case = sounding(short[0][early], short[1][early])
    profile = replace(process(case, Recipe()), water=None)
    (found,) = dissipations(profile)
    assert found.u0_by is None
    assert np.isnan(found.percent).all()
    assert "dissipation-u0-unknown" in _ids(found)


def test_the_modulus_comes_from_the_sounding_where_nobody_gives_it():
    time, u = table_record(1e-6, 100.0, 400.0, 60.0)
    depth = np.arange(0.5, 15.0, 0.5)
    columns = {
        "length": depth,
        "qc": np.full(len(depth), 900.0),
        "fs": np.full(len(depth), 20.0),
        "u2": np.full(len(depth), 250.0),
    }
    case = replace(sounding(time, u, water=1.0), readings=Series(columns))
    derived = interpret(process(case))
    (found,) = dissipations(derived)
    row = int(np.argmin(np.abs(derived.series["depth"] - 10.0)))
    assert pytest.approx(derived.series["M"][row]) == found.M
    assert "M_robertson_2009" in found.M_how
    assert found.chosen.kh_modulus == pytest.approx(found.ch * 9.81 / found.M)


def test_picks_stand_in_the_recipe_by_depth_and_number():
    near, other = DissipationChoice(depth=10.02, Ir=200.0), DissipationChoice(number=2, Ir=300.0)
    recipe = Recipe(dissipations=(near, other))
    assert choice_for(recipe, 10.0, 1) is near
    assert choice_for(recipe, 4.0, 2) is other
    assert choice_for(recipe, 4.0, 1) == DissipationChoice()
    changed = with_choice(recipe, DissipationChoice(depth=10.02, Ir=400.0))
    assert [one.Ir for one in changed.dissipations] == [300.0, 400.0]
    found = dissipations(_plain(), recipe)
    assert found[0].Ir == 200.0
    with pytest.raises(ValueError, match="window"):
        DissipationChoice(window=(5.0, 2.0))


def test_the_result_is_a_plain_document():
    found = _only(_plain(), u0=60.0)
    text = json.dumps(found.document(), allow_nan=False)
    read = json.loads(text)
    assert read["chosen"]["ch"] == pytest.approx(found.ch)
    assert len(read["time"]) == len(found.time)
    assert "time" not in found.document(arrays=False)
    assert read["choice"] == {"u0": 60.0, "reason": ""}


def test_an_empty_test_gives_an_empty_result():
    test = Dissipation(5.0, Series({"time": np.array([0.0, 1.0])}))
    found = dissipation(test, _plain())
    assert found.kind is DissipationKind.EMPTY
    assert "dissipation-no-pressure" in _ids(found)


def test_what_an_ags_file_reports_is_held_against_the_result():
    from pushproof.model.sounding import HeaderItem

    case = _plain()
    told = [("SCDG_PWPE [MPa]", "0.060"), ("SCDG_T [s]", "780"), ("SCDG_DDIS [%]", "50"),
            ("SCDG_CH [m2/yr]", "95.0")]  # fmt: skip
    header = tuple(HeaderItem(key=key, value=value) for key, value in told)
    test = replace(case.dissipations[0], header=header)
    found = dissipation(test, case, choice=DissipationChoice(u0=60.0))
    differ = [one.found for one in found.findings if one.id == "dissipation-reported-differs"]
    # t50 = 0.245 r2 10 / 1e-6 = 780 s agrees; 95 m2/yr is 3.0e-6 m2/s against 1e-6
    assert len(differ) == 1
    assert "ch of 3.01e-06" in differ[0]


_VALUES = st.floats(-500.0, 2000.0) | st.just(math.nan)


@given(
    st.lists(st.tuples(st.floats(-10.0, 5000.0), _VALUES), max_size=40),
    st.sampled_from([None, 0.0, 50.0]),
    st.sampled_from([None, "direct", "root-time", "log-time", "curve-fit", "dilatory-fit"]),
)
@settings(max_examples=80, deadline=None)
def test_no_record_breaks_it(rows, u0, method):
    time = [float(t) for t, _ in rows]
    u = [float(value) for _, value in rows]
    found = _only(sounding(time, u), u0=u0, method=method)
    json.dumps(found.document(), allow_nan=False)
    assert found.kind is DissipationKind.EMPTY or len(found.time) == len(found.percent)
    for one in found.estimates:
        assert math.isnan(one.ch) or one.ch > 0
        assert math.isnan(one.t50) or one.t50 > 0
    if found.method is None or math.isnan(found.t50):
        assert found.findings

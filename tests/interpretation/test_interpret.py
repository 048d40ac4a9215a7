"""Profile to derived parameters, at the edges too."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.equations.behaviour import Ic_robertson_wride_1998
from pushproof.equations.normalised import Qtn_stress
from pushproof.interpretation import interpret
from pushproof.interpretation.arguments import constants
from pushproof.interpretation.chain import run
from pushproof.interpretation.normalise import stress_exponent
from pushproof.interpretation.steps import chain
from pushproof.model.recipe import Methods, Recipe
from pushproof.model.series import Reason, Series
from pushproof.model.sounding import Location, Sounding
from pushproof.processing import process


def derive(columns, recipe=None, **known):
    columns = {key: np.asarray(values, float) for key, values in columns.items()}
    return interpret(process(Sounding("T", Series(columns), **known), recipe))


def ids(derived):
    return [finding.id for finding in derived.findings]


def test_iterated_index_agrees_with_an_independent_program():
    # Reference set B-IC-ITER: qt, fs, sv, sv' and the converged Qtn, Fr, Ic, n, pa 100 kPa,
    # computed elsewhere to 1e-10 from the equations of Robertson 2009 (from memory).
    cases = np.array(
        [
            [10000, 50, 100, 60, 128.2596, 0.5051, 1.6454, 0.5069],
            [5000, 50, 200, 110, 44.7166, 1.0417, 2.2006, 0.7434],
            [1000, 20, 150, 80, 10.625, 2.3529, 2.9163, 1.0],
            [800, 30, 180, 100, 6.2, 4.8387, 3.286, 1.0],
            [20000, 100, 300, 180, 142.3133, 0.5076, 1.6095, 0.5532],
        ]
    )
    qt, fs, total, effective, Qtn, Fr, Ic, n = cases.T
    qn = qt - total
    found, change = stress_exponent("n_robertson_2009", qn, 100 * fs / qn, effective, 100.0)
    resistance = Qtn_stress(qn, effective, found)
    assert 100 * fs / qn == pytest.approx(Fr, rel=1e-4)
    assert found == pytest.approx(n, abs=5.1e-5)
    assert resistance == pytest.approx(Qtn, rel=1e-6)
    assert Ic_robertson_wride_1998(resistance, 100 * fs / qn) == pytest.approx(Ic, abs=5.1e-5)
    assert (change < 1e-4).all()


def test_the_clay_point_of_gec_5_through_the_whole_chain():
    # GEC-5 Sec. 4.16 and 7.4: qc 800, u2 350, a 0.8, fs 15, sv 170, u0 78.48 kPa.
    gamma = 17.0
    derived = derive(
        {"length": [10.0], "qc": [800], "fs": [15], "u2": [350]},
        Recipe(area_ratio=0.8, gamma_constant=gamma, water_level=2.0, methods=Methods(n="linear")),
    )
    s = derived.series
    assert s["sigma_v0"] == pytest.approx([170])
    assert s["u0"] == pytest.approx([78.48])
    assert s["qt"] == pytest.approx([870])
    assert s["Qt"] == pytest.approx([7.6486], abs=1e-4)
    assert s["Fr"] == pytest.approx([2.14286], abs=1e-5)
    assert s["Bq"] == pytest.approx([0.387886], abs=1e-6)
    assert s["Ic"] == pytest.approx([3.01581], abs=1e-5)
    assert s["zone"].tolist() == [3]


def test_qt_below_overburden_gives_nothing_and_says_so():
    derived = derive({"length": [5, 10], "qc": [600, 20], "fs": [10, 2]})
    assert np.isnan(derived.series["Ic"][1])
    assert derived.series.reason("Ic")[1] == Reason.OUTSIDE_VALIDITY
    assert "qt-below-overburden" in ids(derived)


@pytest.mark.parametrize("fs", [0.0, -4.0])
def test_friction_not_above_zero_gives_no_index_but_keeps_the_resistance(fs):
    derived = derive({"length": [5, 6], "qc": [600, 700], "fs": [fs, 9]})
    assert np.isnan(derived.series["Ic"][0])
    assert np.isfinite(derived.series["qn"]).all()
    assert derived.series["fs"][0] == fs
    assert "fs-not-positive" in ids(derived)


def test_no_friction_means_no_behaviour_and_an_assumed_unit_weight():
    derived = derive({"length": [5, 6], "qc": [600, 700]})
    assert not derived.series.measured("Ic")
    assert derived.series.missing("Ic") == {Reason.NOT_MEASURED: 2}
    assert "fs-missing" in ids(derived)
    assert "gamma" in {a.key for a in derived.assumptions}


def test_effective_stress_near_zero_at_the_water_bottom_is_no_crash():
    derived = derive(
        {"length": [0.0, 0.02, 1.0], "qc": [5, 8, 300], "fs": [0.1, 0.1, 3]},
        location=Location(water_depth=20.0),
    )
    assert derived.series["sigma_v0_eff"][0] == pytest.approx(0, abs=1e-9)
    assert np.isnan(derived.series["Ic"][0])
    assert np.isfinite(derived.series["Ic"][2])


def test_open_water_loads_soil_and_pore_water_alike():
    columns = {"length": [1.0, 5.0], "qc": [900, 900], "fs": [10, 10]}
    dry = derive(columns, Recipe(water_level=0.0, gamma_constant=18.0)).series
    wet = derive(columns, Recipe(water_level=-30.0, gamma_constant=18.0)).series
    assert wet["sigma_v0_eff"] == pytest.approx(dry["sigma_v0_eff"])
    assert wet["u0"] - dry["u0"] == pytest.approx(30 * 9.81)


def test_every_missing_value_has_a_reason_and_every_column_a_method():
    rng = np.random.default_rng(4)
    length = np.arange(0.5, 12, 0.02)
    qc = rng.uniform(-50, 9000, length.size)
    qc[40:60] = np.nan
    derived = derive({"length": length, "qc": qc, "fs": rng.uniform(-5, 90, length.size)})
    for key in set(derived.series) - {"length", "depth", "qc", "fs", "qt", "Rf"}:
        missing = ~np.isfinite(derived.series[key])
        assert (derived.series.reason(key)[missing] != Reason.PRESENT).all()
        assert key in derived.methods
    assert (derived.series.reason("Ic")[40:60] == Reason.VOID_IN_FILE).all()


@pytest.mark.parametrize(
    "n", ["n_robertson_2009", "n_robertson_wride_1998", "n_youd_2001", "n_zhang_2002", "linear"]
)
@given(data=st.data())
def test_the_exponent_settles_anywhere(n, data):
    number = st.floats(-1, 5, allow_nan=False)
    logs = np.array(data.draw(st.lists(st.tuples(number, number, number), min_size=1)))
    qn, Fr, effective = 10 ** logs[:, 0], 10 ** (logs[:, 1] - 2), 10 ** (logs[:, 2] - 1)
    found, change = stress_exponent(n, qn, Fr, effective, 100.0)
    done = np.isfinite(found)
    assert (done | (change > 1e-4)).all()
    if n == "n_robertson_2009":
        Ic = Ic_robertson_wride_1998(Qtn_stress(qn, effective, found), Fr)
        again = np.minimum(1, 0.381 * Ic + 0.05 * effective / 100 - 0.15)
        assert again[done] == pytest.approx(found[done], abs=1e-3)
        assert done[effective > 1].all()


def test_one_row_gives_what_many_rows_give():
    length = np.linspace(1, 20, 200)
    columns = {"length": length, "qc": 300 + 50 * length, "fs": 5 + length}
    recipe = Recipe(gamma_constant=18.0)
    many = derive(columns, recipe).series
    for i in (0, 77, 199):
        one = derive({k: v[i : i + 1] for k, v in columns.items()}, recipe).series
        for key in ("Qtn", "Ic", "N60"):
            assert one[key][0] == pytest.approx(many[key][i], rel=1e-9)


def test_a_frame_has_headings_with_units():
    frame = derive({"length": [5.0], "qc": [2500.0], "fs": [10.0]}).to_frame()
    assert frame["qt [MPa]"].tolist() == [2.5]
    assert "Ic [-]" in frame


def test_no_pore_pressure_means_no_ratio_with_the_reason():
    derived = derive({"length": [5.0, 6.0], "qc": [900, 950], "fs": [10, 12]})
    assert derived.series.missing("Bq") == {Reason.NOT_MEASURED: 2}


def test_stress_is_summed_from_depth_zero_linear_between_rows():
    # By hand: 18 kN/m3 assumed to 1 m, then fs gives 26 - 14/2 = 19 (99 kPa) and 26 - 14/5 = 23.2
    # (9999 kPa) by Mayne 2014; mean 18.5 and 21.1 between rows.
    derived = derive(
        {"length": [1.0, 2.0, 3.0], "qc": [9e3] * 3, "fs": [50, 99, 9999]},
        Recipe(methods=Methods(gamma="gamma_mayne_2014"), water_level=10.0),
    )
    assert derived.series["gamma"] == pytest.approx([18, 19, 23.2])
    assert derived.series["sigma_v0"] == pytest.approx([18, 36.5, 57.6])
    assert derived.assumptions[0].key == "gamma_predrilled"


def test_a_unit_weight_outside_the_bounds_is_held_and_reported():
    derived = derive({"length": [0.1, 2.0], "qc": [900, 60], "fs": [9, 0.1]})
    assert derived.series["gamma"][1] == 10.0
    assert "gamma-at-bound" in ids(derived)


def test_a_gap_in_the_readings_is_bridged_in_unit_weight_and_reported():
    columns = {"length": [0.1, 1.0, 2.0], "qc": [900, np.nan, 900], "fs": [9, np.nan, 9]}
    derived = derive(columns)
    assert derived.series["gamma"][1] == pytest.approx(derived.series["gamma"][0])
    assert "gamma-bridged" in ids(derived)


@given(
    st.lists(st.tuples(st.floats(0.02, 2), st.floats(-50, 3e4), st.floats(-5, 500)), min_size=2),
    st.floats(-5, 20),
)
def test_total_stress_only_grows_with_depth(rows, water):
    step, qc, fs = np.array(rows).round(3).T
    derived = derive({"length": np.cumsum(step), "qc": qc, "fs": fs}, Recipe(water_level=water))
    for key in ("sigma_v0", "u0"):
        assert (np.diff(derived.series[key]) >= -1e-9).all()
    assert (derived.series["gamma"] >= 10).all()
    assert (derived.series["gamma"] <= 24).all()


def test_over_water_a_level_that_contradicts_the_water_depth_is_reported():
    derived = derive(
        {"length": [1.0], "qc": [300], "fs": [3]},
        Recipe(water_level=2.0, gamma_constant=16.0),
        location=Location(water_depth=20.0),
    )
    assert derived.series["sigma_v0_eff"] == pytest.approx([16 - 9.81])
    assert "water-level-under-open-water" in ids(derived)


def test_water_given_above_ground_is_open_water_and_the_other_reading_is_named():
    derived = derive({"length": [1.0], "qc": [300], "fs": [3]}, Recipe(water_level=-2.0))
    finding = next(f for f in derived.findings if f.id == "water-above-ground")
    assert "20 kPa lower" in finding.expected


def test_a_row_without_depth_has_no_stress_and_spoils_no_other():
    profile = process(
        Sounding(
            "T",
            Series(
                {
                    "length": np.array([1.0, 2.0, 3.0]),
                    "qc": np.full(3, 900.0),
                    "fs": np.full(3, 9.0),
                }
            ),
        ),
        Recipe(gamma_constant=18.0),
    )
    holed = replace(
        profile,
        series=profile.series.blank("depth", np.array([False, True, False]), Reason.LOST_ON_LINK),
    )
    derived = interpret(holed).series
    assert derived["sigma_v0"][[0, 2]] == pytest.approx([18, 54])
    assert derived.reason("Ic").tolist() == [0, Reason.LOST_ON_LINK, 0]


def test_without_a_water_level_there_is_no_effective_stress():
    profile = process(Sounding("T", Series({"length": np.array([5.0]), "qc": np.array([900.0])})))
    derived = interpret(replace(profile, water=None))
    assert derived.series.missing("sigma_v0_eff") == {Reason.NOT_MEASURED: 1}
    assert np.isfinite(derived.series["qn"]).all()
    assert "water-level-missing" in ids(derived)


def test_blocks_give_what_one_pass_gives():
    rng = np.random.default_rng(7)
    columns = {
        "length": 1 + np.arange(300) * 0.1,
        "qc": 10 ** rng.uniform(2, 4.5, 300),
        "fs": 10 ** rng.uniform(0, 2.5, 300),
    }
    whole = derive(columns).series
    steps, given_constants = chain(Recipe()), constants(Recipe())
    cut = run(steps, whole, given_constants, block=7)
    for key in ("Ic", "zone", "N60"):
        np.testing.assert_array_equal(cut.columns[key], whole[key])


def test_a_row_that_does_not_converge_says_so(monkeypatch):
    monkeypatch.setattr("pushproof.interpretation.normalise.MAXIMUM", 1)
    derived = derive({"length": [5.0], "qc": [9000], "fs": [30]})
    assert derived.series.missing("Ic") == {Reason.NOT_CONVERGED: 1}
    assert "n-not-converged" in ids(derived)


def test_nothing_read_gives_an_interpretation_with_nothing_in_it():
    derived = derive({"length": [1.0, 2.0], "qc": [np.nan, np.nan]})
    assert derived.series.missing("qn") == {Reason.VOID_IN_FILE: 2}
    assert len(derive({"length": [], "qc": []})) == 0


NASTY = [np.nan, 0.0, -1.0, -1e5, 1e-3, 0.5, 20.0, 350.0, 5e3, 1e5, 1e7]


@given(
    st.lists(st.tuples(*[st.sampled_from(NASTY)] * 3), min_size=1, max_size=30),
    st.floats(0, 30),
    st.floats(-30, 30),
)
def test_whatever_is_read_nothing_is_invented(rows, top, water):
    qc, fs, u2 = np.array(rows).T
    columns = {"length": top + 0.5 * np.arange(len(rows)), "qc": qc, "fs": fs, "u2": u2}
    derived = derive(columns, Recipe(area_ratio=0.8, water_level=water))
    for key in derived.methods:
        values, codes = derived.series[key], derived.series.reason(key)
        assert not np.isinf(values).any(), key
        assert (np.isnan(values) == (codes != Reason.PRESENT)).all(), key
    void = np.isnan(qc)
    for key in ("qn", "Ic", "su", "phi", "M", "k"):
        assert np.isnan(derived.series[key][void]).all()

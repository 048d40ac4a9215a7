"""Thrust, refusal and options of a plan."""

import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pushproof.errors import ConfigurationError
from pushproof.planning.document import load_plan, plan_from
from pushproof.planning.ground import Ground, depth_grid, from_layers, from_profile
from pushproof.planning.outlook import ground_of, work_out
from pushproof.planning.plain import outlook_data
from pushproof.planning.thrust import Limits, Loads, Pushes, thrust_parts

LAYERS = [
    {"top": 0, "base": 8, "soil": "clay", "qc": 700, "scatter": 0.4},
    {"top": 8, "base": 20, "soil": "sand", "qc": 12000, "scatter": 0.4},
]


def plan(**changes):
    rig = {"mass": 15_000, "free_length": 0.5} | changes.pop("rig", {})
    return plan_from({"target": 18.0, "layers": LAYERS, "rig": rig} | changes)


def flat(depth, qc, fs, spread=0.3):
    grid = depth_grid(depth)
    one = np.ones_like(grid)
    return Ground(grid, qc * one, fs * one, spread * one, "flat")


@pytest.mark.parametrize(
    ("area", "mpa", "kn"),
    [(0.001, 10, 10), (0.001, 30, 30), (0.001, 50, 50), (0.0015, 30, 45), (0.0015, 50, 75)],
)
def test_tip_thrust_is_resistance_times_area(area, mpa, kn):
    parts = thrust_parts(flat(5.0, mpa * 1000.0, 0.0), Loads(area, 0.015, 0.1, 0.3))
    assert parts.tip[-1] == pytest.approx(kn)


def test_rod_friction_by_hand():
    # 36 mm rods, 10 kPa left: 11 kN for each 10 m
    parts = thrust_parts(flat(30.0, 0.0, 10.0), Loads(0.001, 0.015, math.pi * 0.036, 1.0))
    assert parts.rods[-1] == pytest.approx(33.9, abs=0.1)
    assert parts.sleeve[-1] == pytest.approx(0.15)


@given(st.floats(20.0, 400.0))
@settings(max_examples=20, deadline=None)
def test_more_force_never_comes_less_deep(force):
    pushes = Pushes(flat(20.0, 8000.0, 60.0, 0.5), Loads(0.001, 0.015, 0.113, 0.3), 20.0)
    one, other = (pushes.refusal(Limits({"force": f})) for f in (force, force * 1.1))
    assert np.all(other.stopped <= one.stopped)
    assert other.reached >= one.reached
    assert sum(one.causes.values()) == pytest.approx(1 - one.reached)


def test_without_scatter_it_ends_where_thrust_meets_force():
    ground = flat(30.0, 0.0, 50.0, 1e-9)
    loads = Loads(0.001, 0.0, math.pi * 0.036, 1.0)
    factors = (np.ones((300, 1)), np.ones(1))
    pushes = Pushes(ground, loads, 30.0, factors=factors)
    # 60 kN = 50 kPa x pi x 0.036 m x z gives z = 10.61 m
    assert pushes.refusal(Limits({"force": 60.0})).depth_at(0.5) == pytest.approx(10.6, abs=0.1)


def test_chance_to_pass_one_hard_step_is_that_of_a_lognormal():
    # a single step: P(qc > limit) of a lognormal with median 10 MPa and sigma 0.5
    ground = flat(0.1, 10_000.0, 0.0, 0.5)
    pushes = Pushes(ground, Loads(0.001, 0.015, 0.1, 0.3), 0.1)
    told = pushes.refusal(Limits({"force": 1e9}, tip=20_000.0)).reached
    assert told == pytest.approx(0.5 * (1 + math.erf(math.log(2) / 0.5 / math.sqrt(2))), abs=0.03)


def test_the_same_plan_gives_the_same_answer():
    texts = [json.dumps(outlook_data(work_out(p, ground_of(p)))) for p in (plan(), plan())]
    assert texts[0] == texts[1]


def test_anchors_close_the_gap_in_the_table_of_options():
    anchors = {"count": 2, "torque": 2.5, "depth": 1.5, "helices": [0.25]}
    light = plan(rig={"mass": 5000}, anchors=anchors, rods={"reducer": 0.045})
    options = {o.words: o for o in work_out(light, ground_of(light)).options}
    few, many = options["As planned"], options["4 anchors"]
    assert many.reached > few.reached
    assert many.available == pytest.approx(few.available + 2 * 2.5 * 10 / 0.3048 / 2)
    assert options["No anchors"].reached < few.reached


def test_a_long_free_length_is_seen_and_a_foot_clamp_offered():
    free = plan(rig={"free_length": 2.5})
    outlook = work_out(free, ground_of(free))
    assert outlook.limits.least[0] == "buckling: free length"
    assert outlook.limits.least[1] == pytest.approx(41.05386 * 205 / 210 * (2 / 2.5) ** 2 / 2, 1e-4)
    clamp = next(o for o in outlook.options if o.words == "Foot clamp")
    assert clamp.available > outlook.limits.least[1]
    assert "slender-rods" in {finding.id for finding in outlook.findings}


def test_soft_ground_over_sand_needs_casing():
    soft = [{"top": 0, "base": 6, "soil": "peat", "qc": 60}, *[{**LAYERS[1], "top": 6}]]
    mud = plan(layers=soft)
    outlook = work_out(mud, ground_of(mud))
    row = next(row for row in outlook.buckling if row.where == "soft ground")
    assert row.length == pytest.approx(6.0)
    assert any("asing to 6.0 m" in option.words for option in outlook.options)


def test_the_order_is_judged_with_the_scheme():
    day = "2026-03-02"
    fine = {"serial": "fine", "filters": ["u2"], "calibrations": [
        {"channel": "qc", "date": day, "capacity": 7500, "uncertainty": 20},
        {"channel": "fs", "date": day, "capacity": 250, "uncertainty": 3},
        {"channel": "u2", "date": day, "capacity": 1000, "uncertainty": 5},
    ]}  # fmt: skip
    strong = {"serial": "strong", "filters": ["u2"], "calibrations": [
        {"channel": "qc", "date": day, "capacity": 100000, "uncertainty": 150},
        {"channel": "fs", "date": day, "capacity": 1000, "uncertainty": 12},
        {"channel": "u2", "date": day, "capacity": 2500, "uncertainty": 20},
    ]}  # fmt: skip
    both = plan(cone=strong, cones=[fine], order={"accuracy_class": "1"})
    rows = {row.name: row for row in work_out(both, ground_of(both)).cones}
    # ISO 22476-1:2012 as remembered: class 1 allows 35 kPa, class 2 100 kPa, class 3 200 kPa
    assert (rows["strong"].best, rows["strong"].meets_order) == ("3", False)
    assert (rows["fine"].best, rows["fine"].meets_order) == ("1", True)
    assert rows["fine"].beyond > 0.9 > rows["strong"].beyond


def test_ground_below_what_is_known_is_said():
    deep = plan(target=25.0)
    outlook = work_out(deep, ground_of(deep))
    assert "ground-unknown" in {finding.id for finding in outlook.findings}
    assert outlook.ground.spread[-1] > outlook.ground.spread[190]


def test_a_design_profile_is_read(tmp_path):
    path = tmp_path / "design.csv"
    path.write_text("depth,qc,fs\n0,500,10\n5,500,10\n5,8000,60\n12,8000,60\n")
    ground = from_profile(path, 0.3)
    assert ground.qc[20] == pytest.approx(500)
    assert ground.qc[100] == pytest.approx(8000)
    path.write_text("depth,qc,fs\n0,500,10\n5,x,10\n")
    with pytest.raises(ConfigurationError, match="line 3"):
        from_profile(path)


def test_a_bad_plan_names_every_fault(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text("target = -1\n[rig]\nmass = 0\ncolour = 'red'\n")
    with pytest.raises(ConfigurationError, match=r"target.*rig\.mass.*rig\.colour"):
        load_plan(path)


def test_layers_must_not_overlap():
    with pytest.raises(ConfigurationError, match="overlap at 7 m"):
        plan(layers=[LAYERS[0], {**LAYERS[1], "top": 7}])


def test_a_gap_between_layers_is_bridged():
    ground = from_layers(plan(layers=[LAYERS[0], {**LAYERS[1], "top": 9}]).layers)
    assert np.isnan(ground.qc[85])
    assert np.isfinite(ground.to(18.0).qc).all()

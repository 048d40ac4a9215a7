"""The forecast: what was met tells what lies ahead; checked on real soundings that it never saw.

The hold-out itself, with its error and calibration, is ``benchmarks/forecast.py``; here only that
it stays about as good as the documentation says.
"""

import math

import numpy as np
import pytest

from pushproof.formats import read_all
from pushproof.model.recipe import Recipe
from pushproof.planning.document import plan_from
from pushproof.planning.forecast import Forecast
from pushproof.planning.ground import Ground, depth_grid, from_soundings
from pushproof.planning.keep import forecast_of, kept, taken_up
from pushproof.planning.outlook import ground_of
from pushproof.planning.thrust import SITE_SHARE, Limits, Loads
from pushproof.processing import process

LOADS = Loads(0.001, 0.015, 0.113, 0.3)


def flat(depth, qc=5000.0, spread=0.4):
    grid = depth_grid(depth)
    one = np.ones_like(grid)
    return Ground(grid, qc * one, 0.01 * qc * one, spread * one, "flat")


def follow(forecast, depths, qc, fs=50.0, thrust=None):
    for depth in depths:
        forecast.meet(float(depth), qc, fs, thrust)
    return forecast


def test_nothing_met_gives_the_plan_itself():
    forecast = Forecast(LOADS, 10.0, Limits({"reaction": 1e9}), flat(10.0))
    _, logs = forecast.resistance_ahead()
    assert np.median(logs) == pytest.approx(math.log(5000), abs=0.05)
    assert np.std(logs) == pytest.approx(0.4, abs=0.03)


def test_the_part_that_holds_is_that_of_generalised_least_squares():
    # the filter against the closed form: prior N(0, 1), correlated residuals, all steps at once
    ground = flat(20.0)
    rng = np.random.default_rng(3)
    met = 80
    place = np.arange(met)
    rho = math.exp(-0.2)
    noise = (1 - SITE_SHARE) * rho ** np.abs(place[:, None] - place[None, :])
    seen = rng.multivariate_normal(np.full(met, 0.8), noise)
    forecast = Forecast(LOADS, 20.0, Limits({"reaction": 1e9}), ground)
    for i, y in enumerate([*seen, 0.0]):
        forecast.meet(float(ground.depth[i]), 5000 * math.exp(0.4 * y), 50.0)
    gain = math.sqrt(SITE_SHARE) * np.ones(met)
    weight = np.linalg.solve(noise, gain)
    variance = 1 / (1 + gain @ weight)
    assert forecast._site == pytest.approx([variance * weight @ seen, variance], rel=1e-6)


def test_harder_ground_than_planned_makes_the_rest_harder():
    chances = []
    for qc in (2500.0, 5000.0, 10_000.0):
        forecast = Forecast(LOADS, 30.0, Limits({"reaction": 60.0}), flat(30.0))
        chances.append(follow(forecast, depth_grid(10.0), qc).ahead().reached)
    assert chances[0] > chances[1] > chances[2]


def test_the_rods_are_learned_from_a_measured_thrust():
    forecast = Forecast(LOADS, 40.0, Limits({"reaction": 300.0}), flat(40.0))
    grip = 0.0
    for depth in depth_grid(30.0):
        grip += 50.0 * 0.1 * LOADS.rod
        thrust = 5.0 + 0.75 + 0.6 * grip  # twice the friction that was assumed
        forecast.meet(float(depth), 5000.0, 50.0, thrust)
    assert forecast.rod_share == pytest.approx(0.6, abs=0.05)


def test_a_push_taken_up_again_counts_the_friction_above():
    whole = follow(Forecast(LOADS, 30.0, Limits({"r": 1e9}), flat(30.0)), depth_grid(20.0), 5000.0)
    late = Forecast(LOADS, 30.0, Limits({"r": 1e9}), flat(30.0))
    follow(late, depth_grid(20.0)[100:], 5000.0)
    assert late.ahead().expected[-1] == pytest.approx(whole.ahead().expected[-1], rel=0.02)


def test_a_plan_is_kept_and_taken_up_again():
    layers = [{"top": 0, "base": 20, "soil": "clay", "qc": 900}]
    plan = plan_from({"target": 18, "layers": layers, "rig": {"mass": 9000}})
    again, ground = taken_up(kept(plan, ground_of(plan)))
    assert again == plan
    one, other = (forecast_of(plan, g).ahead() for g in (ground_of(plan), ground))
    assert other.reached == pytest.approx(one.reached, abs=0.01)


def test_what_cannot_be_used_is_left_out():
    forecast = Forecast(LOADS, 10.0, Limits({"reaction": 50.0}), flat(10.0))
    forecast.meet(1.0, math.nan, 50.0)
    forecast.meet(1.0, 5000.0, math.nan)
    forecast.meet(0.5, 90_000.0, 50.0)
    assert forecast.met == 1.0
    assert 0 <= forecast.ahead().reached <= 1


@pytest.mark.shared
def test_the_refusal_of_the_register_is_met_at_its_depth(shared_data):
    # 78.4 MPa at 3.44 m on 10 cm2: 78.4 kN at the tip; the register gives no reason ("onbekend")
    [sounding] = read_all(shared_data / "bro" / "CPT000000204248.xml")
    profile = process(sounding, Recipe())
    ground = from_soundings([profile])
    assert float(np.nanmax(sounding.readings["qc"])) * 0.001 == pytest.approx(78.448)
    assert sounding.stop_reason == "unknown"
    # the last step holds 6.8 and 78.4 MPa; a rig of 30 kN stops there, and not before
    follow_limit = Forecast(LOADS, 3.4, Limits({"reaction": 30.0}))
    series = profile.series
    for depth, qc in zip(series["depth"], series["qc"], strict=True):
        if depth < 3.3:
            follow_limit.meet(float(depth), float(qc), 25.0)
    # an obstacle cannot be foreseen from soft ground above it: said in the documentation
    assert follow_limit.ahead().reached > 0.9
    hard = ground.qc * 0.001
    assert np.flatnonzero(hard > 30.0).tolist() == [len(hard) - 1]
    assert ground.depth[-1] == pytest.approx(3.45)


@pytest.mark.shared
def test_neighbours_forecast_a_lower_half_that_was_held_out(shared_data):
    # ten soundings in till: thrust of the lower half, forecast from the other nine and the upper
    # half; the documentation says within about a fifth, and 8 of 10 inside the band
    soundings = read_all(shared_data / "bgs" / "C6048.ags")
    profiles = [process(sounding, Recipe()) for sounding in soundings]
    inside, errors = [], []
    for i, profile in enumerate(profiles):
        mine = from_soundings([profile])
        others = from_soundings([p for k, p in enumerate(profiles) if k != i])
        half = len(mine.depth) // 2
        forecast = Forecast(LOADS, len(mine.depth) / 10, Limits({"r": 1e9}), others)
        friction, actual = 0.0, np.full(len(mine.depth), np.nan)
        for k, depth in enumerate(mine.depth):
            if not np.isfinite(mine.qc[k]):
                continue
            if k < half:
                forecast.meet(float(depth), float(mine.qc[k]), float(mine.fs[k]))
            friction += mine.fs[k] * 0.1
            at_tip = mine.qc[k] * LOADS.tip + mine.fs[k] * LOADS.sleeve
            actual[k] = at_tip + friction * LOADS.rod * LOADS.share
        ahead = forecast.ahead()
        lower = actual[-len(ahead.depth) :]
        inside.append(np.mean((lower >= ahead.low) & (lower <= ahead.high)))
        errors.append(np.nanmedian(np.abs(np.log(lower / ahead.expected))))
    assert np.mean(inside) > 0.7
    assert np.median(errors) < 0.25

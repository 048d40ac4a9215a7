"""Will the data be good: each row against what its source says."""

from datetime import date

import numpy as np
import pytest

from pushproof.planning.conestate import calibration_row, saturation_row, wear_rows
from pushproof.planning.document import DataPlan, plan_from
from pushproof.planning.ground import Ground, depth_grid
from pushproof.planning.linkplan import link_margin, link_reach, link_rows
from pushproof.planning.outlook import ground_of, work_out
from pushproof.planning.worktime import dissipation_time, duration, stretches_of, supply_rows


def ground(qc, fs):
    grid = depth_grid(20.0)
    one = np.ones_like(grid)
    return Ground(grid, qc * one, fs * one, 0.4 * one, "flat")


def test_time_of_a_dissipation_is_that_of_its_parts():
    # by hand at 8 m, water at 1 m, qc 500, fs 15: stress 144, effective 75.33, net 356
    # Qt 4.726, Fr 4.213, Ic = hypot(3.47 - 0.6745, 0.6246 + 1.22) = 3.349
    # k = 10^(-4.52 - 1.37 Ic) = 7.78e-10 m/s (Robertson 2010, Ic above 3.27)
    # M = Qtn qn = 1683 kPa (Robertson 2009, Ic above 2.2 and Qtn below 14)
    # ch = k M / 9.81 = 1.335e-7 m2/s; t50 = 0.245 x 0.001 / pi x 10 / ch = 5841 s
    test = dissipation_time(ground(500.0, 15.0), 8.0, 1.0, 0.001)
    assert test.index == pytest.approx(3.349, abs=0.002)
    assert test.t50 == pytest.approx(5841, rel=0.02)
    assert test.high / test.low == pytest.approx(10.0)


def test_every_stretch_of_fine_ground_is_told_its_time():
    grid = depth_grid(20.0)
    sand = (grid > 6.0) & (grid < 11.0)
    made = Ground(
        grid, np.where(sand, 15_000.0, 500.0), np.where(sand, 80.0, 15.0), 0.4 + 0 * grid, "made"
    )
    upper, lower = stretches_of(made, 20.0, 1.0, 0.001)
    # at half a metre: net 491, effective 9, Qt 54.6, Fr 3.05, Ic = hypot(1.733, 1.705) = 2.43,
    # so the stiff top of the same clay does not count as fine
    assert (upper[:2], lower[:2]) == ((1.0, 6.0), (11.0, 20.0))
    assert lower[2] == dissipation_time(made, 15.5, 1.0, 0.001)


def test_sand_dissipates_at_once():
    assert dissipation_time(ground(15_000.0, 80.0), 8.0, 1.0, 0.001).high < 1.0


def test_battery_and_memory_are_asked_for_the_time_planned():
    data = DataPlan(battery=1.0, memory=10_000, has_memory=True, reading_rate=2.0)
    seconds = duration(data, 20.0, 1.0, [])
    # 1.3 x 4000 s = 1.44 h, and twice 5200 readings
    rows = {row.what: row for row in supply_rows(data, seconds)}
    assert rows["battery"].verdict == "bad"
    assert rows["battery"].found.startswith("1.4 h needed")
    assert rows["memory"].found.startswith("10,400 readings needed")
    assert rows["memory"].verdict == "bad"
    assert supply_rows(DataPlan(), seconds)[0].verdict == "unknown"


def test_the_link_reaches_where_the_level_is_used_up():
    data = DataPlan(level=54, loss_per_metre=0.5, loss_per_joint=0.0, noise=26, has_memory=True)
    # 20 dB to lose at 0.5 dB/m is 40 m beyond the first rod, with which the level was read
    assert link_reach(data, 1.0) == pytest.approx(1.0 + 40.0)
    assert link_rows(data, 30.0, 1.0, None)[0].verdict == "good"
    assert link_rows(data, 60.0, 1.0, None)[0].verdict == "look"
    assert link_reach(DataPlan(level=54), 1.0) is None


@pytest.mark.parametrize(
    ("rate", "memory", "verdict"), [(1.0, False, "good"), (0.4, False, "bad"), (0.4, True, "look")]
)
def test_the_interval_that_the_link_carries(rate, memory, verdict):
    # 20 mm/s and 20 mm is one reading a second
    data = DataPlan(link_rate=rate, has_memory=memory)
    assert link_rows(data, 20.0, 1.0, 0.02)[1].verdict == verdict


@pytest.mark.parametrize(
    ("calibrated", "metres", "verdict"),
    [
        (date(2026, 3, 2), 1200.0, "good"),
        (date(2026, 3, 2), None, "look"),
        (date(2026, 3, 2), 2990.0, "bad"),
        (date(2026, 6, 1), 10.0, "bad"),
        (date(2025, 11, 11), 1200.0, "good"),
        (date(2025, 11, 10), 1200.0, "bad"),
        (date(2025, 11, 2), None, "bad"),
        (date(2026, 3, 2), 3100.0, "bad"),
        (None, None, "unknown"),
    ],
)
def test_calibration_by_env_1997_3(calibrated, metres, verdict):
    # 11 Nov to 13 May is 183 days; 2990 m and a push of 25 m pass 3000 m
    assert calibration_row(date(2026, 5, 13), calibrated, metres, 40, 25.0).verdict == verdict


def test_a_push_uses_one_sounding_of_the_calibration():
    day = date(2026, 5, 13)
    assert calibration_row(day, date(2026, 3, 2), 10.0, 99, 25.0).verdict == "good"
    assert calibration_row(day, date(2026, 3, 2), 10.0, 100, 25.0).verdict == "bad"


def test_the_rod_at_which_the_link_runs_out():
    # 2 m rods, 10 dB to lose, 0.6 dB a joint and 0.2 dB/m: 1 dB a rod, so 11 rods are heard;
    # the joint to the 12th leaves 10 - 6.6 = 3.4 dB, 17 m beyond the first rod: less than 22 m
    given = {"level": 40, "noise": 22, "loss_per_metre": 0.2, "loss_per_joint": 0.6}
    data = DataPlan(**given)
    assert link_reach(data, 2.0) == pytest.approx(22.0)
    assert link_margin(data, 30.0, 2.0) == pytest.approx(18 - 14 * 0.6 - 28 * 0.2)
    row = link_rows(data, 30.0, 2.0, None)[0]
    assert row.verdict == "bad"
    assert "runs out in rod 12" in row.found
    assert link_reach(DataPlan(**{**given, "level": 29}), 2.0) == 0.0


def test_what_is_not_known_is_asked_for_by_name():
    link, interval = link_rows(DataPlan(level=54, noise=20), 20.0, 1.0, 0.02)
    assert link.found == "give loss_per_metre, loss_per_joint"
    assert interval.found == "give link_rate, or link_bits and reading_bits"
    assert "battery_draw" in supply_rows(DataPlan(), 3600.0)[0].found


def test_battery_from_capacity_and_draw():
    # 3 W h at 2 W is 1.5 h; 1.3 times 4000 s is 1.44 h, 1.3 times 4200 s is 1.52 h
    data = DataPlan(battery_capacity=3.0, battery_draw=2.0)
    assert supply_rows(data, 4000.0)[0].verdict == "good"
    assert supply_rows(data, 4200.0)[0].verdict == "bad"


def test_lost_readings_widen_the_interval():
    # 32 bits a second, 32 a reading: 20 mm; with a fifth lost 25 mm
    data = DataPlan(link_bits=32, reading_bits=32)
    assert link_rows(data, 20.0, 1.0, 0.02)[1].verdict == "good"
    row = link_rows(data.model_copy(update={"link_lost": 0.2}), 20.0, 1.0, 0.02)[1]
    assert (row.verdict, row.found[:5]) == ("bad", "25 mm")


def test_a_cone_of_another_size_has_no_band():
    rows = wear_rows(DataPlan(tip_diameter=0.0252, sleeve_diameter=0.0253), 0.0005)
    assert [row.verdict for row in rows] == ["unknown", "good"]


@pytest.mark.parametrize(
    ("tip", "sleeve", "verdicts"),
    [
        (0.0357, 0.0358, ["good", "good"]),
        (0.0352, 0.0358, ["bad", "bad"]),
        (0.0357, 0.0356, ["good", "bad"]),
        (0.0357, 0.03605, ["good", "good"]),
        (None, 0.0358, ["unknown", "unknown"]),
    ],
)
def test_wear_of_tip_and_sleeve(tip, sleeve, verdicts):
    rows = wear_rows(DataPlan(tip_diameter=tip, sleeve_diameter=sleeve), 0.001)
    assert [row.verdict for row in rows] == verdicts


@pytest.mark.parametrize(
    ("fluid", "level", "verdict"),
    [
        ("water", 3.0, "bad"),
        ("water", 1.0, "good"),
        ("silicone oil", 3.0, "good"),
        ("glycerine", 3.0, "good"),
        ("", 3.0, "unknown"),
        ("tea", 3.0, "unknown"),
    ],
)
def test_the_filter_fluid_for_the_ground_above_water(fluid, level, verdict):
    assert saturation_row(DataPlan(fluid=fluid), level, 1.2).verdict == verdict


def test_a_plan_with_data_has_its_rows():
    plan = plan_from(
        {
            "target": 18.0,
            "water_level": 2.0,
            "layers": [{"top": 0, "base": 18, "soil": "clay", "qc": 600}],
            "rig": {"mass": 9000},
            "order": {"accuracy_class": "2"},
            "data": {"dissipations": [8.0, 40.0], "link_rate": 0.5, "fluid": "water"},
        }
    )
    outlook = work_out(plan, ground_of(plan))
    data = outlook.data
    rows = {row.what: row.verdict for row in data.rows}
    assert rows["interval"] == "bad"  # 40 mm, and class 2 asks 20 mm
    assert rows["saturation"] == "bad"
    assert "dissipation at 8 m" in rows
    assert data.seconds > 1800
    assert rows["dissipation at 40 m"] == "bad"  # below the target
    found = [f.found for f in outlook.findings if f.id == "data-at-risk"]
    assert len(found) == list(rows.values()).count("bad") == 3

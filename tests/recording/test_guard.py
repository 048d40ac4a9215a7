"""Every rule of the guard is raised, acknowledged and cleared; nothing is raised on a good push."""

import pickle
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pushproof.model.equipment import Calibration, Cone, Rig, Rods
from pushproof.model.stream import Reading, StreamKind
from pushproof.planning.forecast import Forecast
from pushproof.planning.ground import Ground, depth_grid
from pushproof.planning.thrust import Limits, Loads
from pushproof.processing.streams.depth import DepthSettings
from pushproof.recording.guard import Change, Guard
from pushproof.recording.limits import load_limits
from pushproof.recording.signals import Setup
from pushproof.recording.snapshot import Freshness, Level

DAY = date(2024, 1, 1)
CONE = Cone(
    calibrations=(
        Calibration(channel="qc", date=DAY, capacity=50_000),
        Calibration(channel="fs", date=DAY, capacity=500),
        Calibration(channel="u2", date=DAY, capacity=2000),
    )
)
SETUP = Setup(
    depth=DepthSettings(metres_per_count=0.0005),
    cone=CONE,
    rig=Rig(mass=20_000, thrust=200),
    rods=Rods(length=1.0),
    interval=0.02,
    water_level=1.0,
)


def planned():
    """Return a forecast of the ground that the push of these tests meets."""
    grid = depth_grid(12.0)
    one = np.ones_like(grid)
    ground = Ground(grid, 5000 * one, 40 * one, 0.4 * one, "as met")
    loads = Loads(0.001, 0.015, 0.113, 0.3)
    return Forecast(loads, 12.0, Limits({"reaction": 42.0}), ground)


@pytest.fixture
def push(make_push):
    return make_push(Guard(replace(SETUP, forecast=planned())))


def jump(push):
    push.head += 4.0


def sleep(push):
    push.wall += 60


def rods(push, n):
    push.guard.signals.rods = n
    push.guard.signals.tally()


# rule, what brings caution, what then brings stop, what clears it
CASES = {
    "rate": (
        lambda p: p.run(10, 0.030),
        lambda p: p.run(10, 0.045),
        lambda p: p.run(10, 0.02),
    ),
    "tilt": (
        lambda p: p.run(5, tilt_x=11.0),
        lambda p: p.run(5, tilt_x=16.0),
        lambda p: p.run(5, tilt_x=9.0),
    ),
    "tilt-change": (
        lambda p: p.run(5, tilt_x=2.0),
        lambda p: p.run(5, tilt_x=4.5),
        lambda p: p.run(80, tilt_x=4.5),
    ),
    "silence": (
        lambda p: p.run(6, cone=False),
        lambda p: p.run(6, cone=False),
        lambda p: p.run(8),
    ),
    "depth-silence": (
        lambda p: p.run(2, depth=False),
        lambda p: p.run(2, depth=False),
        lambda p: p.run(4),
    ),
    "source": (None, lambda p: p.source(False), lambda p: p.source(True)),
    "loss": (
        lambda p: p.run(35, cone=lambda n: n % 5),
        lambda p: p.run(40, cone=lambda n: n % 2),
        lambda p: p.run(120),
    ),
    "level": (
        lambda p: p.run(8, link_level=10.0),
        lambda p: p.run(8, link_level=6.0),
        lambda p: p.run(25),
    ),
    "qc-capacity": (
        lambda p: p.run(2, qc=41_000.0),
        lambda p: p.run(2, qc=46_000.0),
        lambda p: p.run(4),
    ),
    "fs-capacity": (
        lambda p: p.run(2, fs=410.0),
        lambda p: p.run(2, fs=460.0),
        lambda p: p.run(4),
    ),
    "u-capacity": (
        lambda p: p.run(2, u2=1650.0),
        lambda p: p.run(2, u2=1900.0),
        lambda p: p.run(4),
    ),
    "thrust": (
        lambda p: p.run(3, encoder={"thrust": 165.0}),
        lambda p: p.run(3, encoder={"thrust": 185.0}),
        lambda p: p.run(5, encoder={"thrust": 100.0}),
    ),
    "thrust-ahead": (
        lambda p: p.run(75, qc=48_000.0),
        lambda p: p.run(90, qc=54_000.0),
        lambda p: p.run(140),
    ),
    "refusal-ahead": (
        lambda p: p.run(75, qc=44_000.0),
        lambda p: p.run(120, qc=52_000.0),
        lambda p: p.run(260),
    ),
    "encoder-stalled": (
        lambda p: p.run(9, 0.0),
        lambda p: p.run(9, 0.0),
        lambda p: p.run(3),
    ),
    "encoder-jump": (
        None,
        lambda p: (jump(p), p.run(1)),
        lambda p: p.run(12),
    ),
    "encoder-reversing": (
        lambda p: p.run(4, -0.02),
        lambda p: p.run(8, -0.02),
        lambda p: p.run(13, 0.02),
    ),
    "rod-tally": (
        lambda p: (p.run(10), rods(p, 3), p.run(1)),
        lambda p: (rods(p, 2), p.run(1)),
        lambda p: (rods(p, 4), p.run(1)),
    ),
    "interval": (
        lambda p: p.run(60, cone=lambda n: n % 3),
        lambda p: p.run(60, cone=lambda n: n % 6 == 0),
        lambda p: p.run(120),
    ),
    "gap": (
        lambda p: p.run(8, cone=False),
        lambda p: p.run(10, cone=False),
        lambda p: p.run(60),
    ),
    "u-still": (
        lambda p: p.run(60, u2=lambda n: 40 + n % 2),
        lambda p: p.run(60, u2=40.0),
        lambda p: p.run(30),
    ),
    "u-suction": (
        lambda p: p.run(5, u2=-85.0),
        lambda p: p.run(5, u2=-97.0),
        lambda p: p.run(12),
    ),
    "battery": (
        lambda p: p.run(8, battery=3.45),
        lambda p: p.run(8, battery=3.2),
        lambda p: p.run(30),
    ),
    "disk": (
        lambda p: p.events.extend(p.guard.observe("free_disk", 800, p.time)),
        lambda p: p.events.extend(p.guard.observe("free_disk", 100, p.time)),
        lambda p: p.events.extend(p.guard.observe("free_disk", 5000, p.time)),
    ),
    "clock": (None, lambda p: (sleep(p), p.run(1)), lambda p: p.run(40)),
    "undecoded": (
        lambda p: (p.noise(4), p.run(3)),
        lambda p: (p.noise(20), p.run(2.5)),
        lambda p: p.run(80),
    ),
    "restart": (
        lambda p: (setattr(p, "cone_number", 0), p.run(3)),
        lambda p: [(setattr(p, "cone_number", n), p.run(5)) for n in (5000, 2000, 1000)],
        lambda p: p.run(70),
    ),
}


def test_every_rule_of_the_table_has_a_case():
    assert set(CASES) == set(load_limits())


@pytest.mark.parametrize("rule", sorted(CASES))
def test_a_rule_is_raised_acknowledged_and_cleared(push, rule):
    caution, stop, clear = CASES[rule]
    push.run(150)
    assert push.changes(rule) == []
    if caution is not None:
        caution(push)
        assert push.changes(rule)[-1] == ("raised", "caution")
        assert push.guard.level(rule) is Level.CAUTION
    stop(push)
    assert push.changes(rule)[-1] == ("rose to stop" if caution else "raised", "stop")
    [alarm] = [a for a in push.guard.alarms() if a.rule == rule]
    assert (alarm.level, alarm.acknowledged, alarm.cleared) == (Level.STOP, False, False)
    assert alarm.advice
    assert alarm.mark
    assert "{" not in alarm.text
    [event] = push.guard.acknowledge(rule)
    assert event.change is Change.ACKNOWLEDGED
    assert push.guard.acknowledge(rule) == []
    clear(push)
    assert push.changes(rule)[-1] == ("cleared", "ok")
    assert rule not in [a.rule for a in push.guard.alarms()]


@pytest.mark.parametrize("rule", sorted(CASES))
def test_an_alarm_that_cleared_unseen_stays_until_it_is_acknowledged(push, rule):
    _, stop, clear = CASES[rule]
    push.run(150)
    if CASES[rule][0] is not None:
        CASES[rule][0](push)
    stop(push)
    clear(push)
    [alarm] = [a for a in push.guard.alarms() if a.rule == rule]
    assert alarm.cleared
    assert alarm.level is Level.STOP
    push.guard.acknowledge()
    assert rule not in [a.rule for a in push.guard.alarms()]


def test_a_good_push_with_rod_changes_raises_nothing(push):
    for _ in range(6):
        push.run(50)
        push.run(4, 0.0, qc=lambda n: 4000.0)
        for _ in range(40):
            push.time += 0.1
            push.head -= 0.025
            push.depth(clamp=0.0)
            push.tick()
        push.run(8, 0.0, cone=False)
    assert push.events == []


def test_from_the_reading_to_the_alarm_there_is_no_wait(push):
    """A rule without a hold time answers to the very message that shows it."""
    push.run(20)
    reading = Reading(StreamKind.CONE, push.time, push.time, {"qc": 48_000.0}, sequence=21)
    [event] = [e for e in push.guard.message(reading) if e.rule == "qc-capacity"]
    assert event.level is Level.STOP
    assert event.text == "cone resistance of capacity 96 %, above 90 %"
    assert event.monotonic == push.time


def test_the_alarm_names_the_limit_it_broke_and_where_that_comes_from(push):
    push.run(10)
    push.run(15, 0.01)
    event = next(e for e in push.events if e.rule == "rate")
    assert event.text == "penetration rate 10 mm/s, below 15 mm/s"
    assert (event.limit, event.unit, event.mark) == (15.0, "mm/s", "verified")
    assert event.source == "ENV 1997-3 3.4.2(3): 20 +/- 5 mm/s"
    assert event.event().kind == "alarm"
    assert event.event().depth == pytest.approx(event.length)


def test_a_cleared_alarm_goes_on_saying_how_far_it_went(push):
    push.run(20)
    push.run(3, qc=41_000.0)
    push.run(3, qc=47_500.0)
    push.run(3, qc=46_000.0)
    push.run(3, qc=43_000.0)
    push.run(8)
    [alarm] = [a for a in push.guard.alarms() if a.rule == "qc-capacity"]
    assert (alarm.text, alarm.cleared) == ("cone resistance of capacity 95 %, above 90 %", True)
    assert alarm.since == pytest.approx(push.wall + 21, abs=0.11)


def test_hysteresis_keeps_an_alarm_from_chattering(push):
    push.run(20)
    values = [9.9, 10.1] * 20
    push.run(40, tilt_x=lambda n: values[n % 40], tilt_y=0.0)
    assert push.changes("tilt") in ([], [("raised", "caution")])
    push.run(10, tilt_x=10.2, tilt_y=0.0)
    assert push.changes("tilt") == [("raised", "caution")]
    push.run(10, tilt_x=9.8, tilt_y=0.0)
    assert push.guard.level("tilt") is Level.CAUTION
    push.run(10, tilt_x=9.5, tilt_y=0.0)
    assert push.guard.level("tilt") is Level.OK


def test_a_rule_holds_only_in_its_steps(push):
    push.run(20)
    push.guard.step = "zeros after"
    push.run(30, 0.04)
    assert push.changes("rate") == []
    push.run(30, 0.04, cone=False)
    assert push.changes("silence")[0] == ("raised", "caution")


def test_a_stop_and_a_start_do_not_break_the_rate_band(push):
    for _ in range(5):
        push.run(20)
        push.run(6, 0.0, qc=3000.0)
    assert push.changes("rate") == []


def test_staleness_comes_from_the_clock_without_any_message(push):
    push.run(5)
    cone = push.guard.signals.streams[StreamKind.CONE]
    limits = {"fresh": SETUP.fresh, "stale": SETUP.stale}
    ages = [cone.state(push.time + dt, None, **limits).freshness for dt in (0.5, 5, 20)]
    assert ages == [Freshness.FRESH, Freshness.LATE, Freshness.STALE]
    events = push.guard.tick(push.time + 20)
    assert {e.rule for e in events} >= {"silence", "depth-silence"}


def test_a_laptop_that_slept_sees_its_readings_as_old(push):
    push.run(5)
    events = push.guard.tick(push.time + 0.1, push.wall + push.time + 60)
    assert "silence" in {e.rule for e in events}
    # A clock set back makes nothing young or old.
    push.run(5)
    push.events.clear()
    push.wall -= 3600
    push.tick()
    assert "silence" not in {e.rule for e in push.events}


def test_no_alarm_while_the_string_is_open_but_at_once_when_the_push_goes_on_deaf(push):
    push.run(50)
    push.run(30, 0.0, cone=False)
    assert push.changes("silence") == []
    push.run(6, 0.02, cone=False)
    assert push.changes("silence") == [("raised", "caution")]


def test_without_capacity_or_water_level_nothing_is_guessed(make_push):
    push = make_push(Guard(Setup(depth=DepthSettings(metres_per_count=0.0005))))
    push.run(60, qc=120_000.0, u2=0.5)
    assert push.events == []
    assert "qc_share" not in push.guard.signals.values


def test_the_class_ordered_sets_the_interval():
    guard = Guard(Setup(interval=0.02))
    assert guard.rules["interval"].bounds[0].high == pytest.approx(0.022)
    assert Guard(Setup()).rules["interval"].bounds[0].high == 0.05


def test_duplicates_and_late_packets_are_not_lost_ones(push):
    push.run(100)
    received = push.guard.signals.streams[StreamKind.CONE].order.received
    for n in (98, 97, 99, 100):
        values = {"qc": 5000.0, "link_level": 30.0}
        push.send(Reading(StreamKind.CONE, push.time, push.time, values, sequence=n))
    order = push.guard.signals.streams[StreamKind.CONE].order
    assert (order.received, order.duplicate, order.lost) == (received, 4, 0)
    # Two packets swapped: nothing is lost in the end.
    push.cone_number += 2
    push.cone()
    assert order.lost == 1
    push.cone_number -= 1
    push.cone()
    push.cone_number += 1
    assert (order.lost, order.late) == (0, 1)
    assert push.guard.signals.values["loss"] == 0.0


def test_an_unknown_rule_cannot_be_acknowledged(push):
    with pytest.raises(ValueError, match="no rule 'speed'"):
        push.guard.acknowledge("speed")


ACTS = st.lists(
    st.sampled_from(sorted(k for k in CASES if k != "rod-tally")), min_size=1, max_size=4
)


class Tape:
    """Keeps what a push would have sent."""

    def __init__(self):
        self.inputs = []
        self.signals = None

    def message(self, message):
        self.inputs.append(("message", message))

    def tick(self, monotonic, wall):
        self.inputs.append(("tick", monotonic, wall))

    def observe(self, signal, value, monotonic):
        self.inputs.append(("observe", signal, value, monotonic))
        return []


@settings(max_examples=15, deadline=None)
@given(acts=ACTS, cuts=st.lists(st.integers(0, 3000), max_size=3))
def test_in_pieces_as_whole(make_push_class, acts, cuts):
    """A guard saved and read back between pieces raises the same alarms."""
    tape = Tape()
    push = make_push_class(tape)
    push.run(30)
    for act in acts:
        for part in CASES[act]:
            if part is not None:
                part(push)
    whole = Guard(SETUP)
    expected = [repr(e) for i in tape.inputs for e in getattr(whole, i[0])(*i[1:])]
    guard, events = Guard(SETUP), []
    for n, item in enumerate(tape.inputs):
        if n in cuts:
            guard = pickle.loads(pickle.dumps(guard))
        events += [repr(e) for e in getattr(guard, item[0])(*item[1:])]
    assert events == expected
    assert guard.alarms() == whole.alarms()


def shelved(guard, rule="battery"):
    return next((a.shelved for a in guard.alarms() if a.rule == rule), None)


def battery(seconds, volts):
    return Reading(StreamKind.CONE, seconds, seconds, {"battery": volts})


def test_an_alarm_is_put_aside_for_a_while_and_comes_back():
    guard = Guard()
    for second in (0.0, 6.0):
        guard.message(battery(second, 3.4))
    [event] = guard.shelve("battery", 60.0)
    assert (event.change, event.value, event.unit) == (Change.SHELVED, 60.0, "s")
    assert event.text.endswith("shelved for 1 min")
    assert shelved(guard) == 60.0
    assert not guard.alarms()[0].sounds
    assert guard.message(battery(36.0, 3.4)) == []
    assert shelved(guard) == 30.0
    [event] = guard.message(battery(66.0, 3.4))
    assert event.change is Change.BACK
    assert guard.alarms()[0].sounds


def test_an_alarm_that_rises_to_stop_leaves_the_shelf():
    guard = Guard()
    for second in (0.0, 6.0):
        guard.message(battery(second, 3.4))
    guard.shelve("battery", 600.0)
    for second in (7.0, 14.0):
        guard.message(battery(second, 2.0))
    assert guard.alarms()[0].level is Level.STOP
    assert guard.alarms()[0].sounds
    with pytest.raises(ValueError, match=r"at stop.*seconds 9999"):
        guard.shelve("battery", 9999.0)


def test_an_alarm_that_clears_on_the_shelf_is_gone_and_silent_when_it_is_raised_again():
    guard = Guard()
    for second in (0.0, 6.0):
        guard.message(battery(second, 3.4))
    guard.shelve("battery", 600.0)
    for second in (10.0, 30.0, 60.0):
        guard.message(battery(second, 4.0))
    assert guard.alarms() == ()
    for second in (70.0, 80.0):
        guard.message(battery(second, 3.4))
    assert guard.alarms()[0].shelved == pytest.approx(526.0)
    assert not guard.alarms()[0].sounds
    with pytest.raises(ValueError, match="no alarm 'tilt' is up"):
        guard.shelve("tilt", 60.0)

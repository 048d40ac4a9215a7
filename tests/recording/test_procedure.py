"""The steps of a sounding: any order is possible, what is missing is said."""

import math

import pytest

from pushproof.model.sounding import Water, WaterOrigin
from pushproof.model.stream import Advance, Reading, StreamKind
from pushproof.processing.streams.depth import DepthEvent, DepthPoint
from pushproof.recording.procedure import Procedure, Step

WATER = Water(level=1.0, origin=WaterOrigin.MEASURED)


def cone(t, **values):
    values = {"qc": 12.0, "fs": 0.4, "u2": 1.0, "temperature": 11.5, **values}
    return Reading(StreamKind.CONE, 1e9 + t, t, {k: v for k, v in values.items() if v is not None})


def point(t, length, state=Advance.PUSHING):
    return DepthPoint(t, 1e9 + t, length, length, 0.02, state, 1.0, 0, length)


def zeros(procedure, step, start, seconds=61, **values):
    events = procedure.go(step, start, 1e9 + start)
    for i in range(seconds):
        shown = {k: v(i) if callable(v) else v for k, v in values.items()}
        events += procedure.cone(cone(start + i, **shown))
    return events


def test_a_whole_sounding_leaves_no_finding():
    procedure = Procedure(WATER)
    events = zeros(procedure, Step.ZEROS_BEFORE, 0, qc=lambda i: 12 + (-1) ** i)
    assert [e.kind for e in events] == ["step", "zero"]
    assert events[-1].details["qc"] == pytest.approx(12, abs=0.05)
    procedure.go(Step.PUSH, 100, 0)
    zeros(procedure, Step.ZEROS_AFTER, 900)
    procedure.go(Step.CLOSED, 1000, 0)
    assert procedure.findings() == ()
    assert procedure.missing() == ()
    [before, *_] = procedure.zeros_before
    assert (before.channel, before.count, before.seconds) == ("qc", 61, 60.0)
    assert before.spread == pytest.approx(1.0, abs=0.02)
    assert before.temperature == 11.5
    assert before.time.year == 2001
    assert [z.channel for z in procedure.zeros_after] == ["qc", "fs", "u2"]
    assert procedure.step_state().done == ("set up", "zeros before", "push", "zeros after")


def test_a_crew_that_skips_everything_is_not_blocked_and_reads_what_is_missing():
    procedure = Procedure()
    procedure.go(Step.CLOSED, 5, 5)
    assert procedure.step is Step.CLOSED
    ids = [f.id for f in procedure.findings()]
    assert ids == ["zeros-before-missing", "push-missing", "zeros-after-missing"]
    assert procedure.step_state().missing == ("zeros before", "push", "zeros after")


def test_a_zero_cut_short_is_kept_with_its_seconds():
    procedure = Procedure()
    zeros(procedure, Step.ZEROS_BEFORE, 0, seconds=20, temperature=None)
    events = procedure.go(Step.PUSH, 21, 21)
    assert [e.kind for e in events] == ["zero", "step"]
    assert [f.id for f in procedure.findings()] == ["zero-short", "zero-temperature"]
    assert procedure.zeros_before[0].seconds == 19


def test_a_zero_that_drifts_while_it_is_read_is_said():
    procedure = Procedure()
    zeros(procedure, Step.ZEROS_BEFORE, 0, qc=lambda i: 12 + 0.5 * i, fs=lambda i: (-1) ** i)
    found = procedure.findings()
    assert [(f.id, f.channel) for f in found] == [("zero-unsteady", "qc")]
    assert "+20.5 kPa" in found[0].found


def test_a_zero_of_a_dead_cone_is_missing():
    procedure = Procedure()
    procedure.go(Step.ZEROS_BEFORE, 0, 0)
    procedure.go(Step.PUSH, 90, 90)
    assert "zeros-before-missing" in [f.id for f in procedure.findings()]
    assert procedure.zeros_before == ()


def stop(procedure, t, length=6.0, seen=3.0):
    """Push, stop at ``t`` and let the encoder recognise it ``seen`` later."""
    for i in range(20):
        procedure.depth(point(t - 20 + i, length - 0.4 + 0.02 * i), [])
        procedure.cone(cone(t - 20 + i, u2=240.0))
    for i in range(int(seen)):
        procedure.cone(cone(t + 0.5 + i, u2=230.0 - i))
    event = DepthEvent("stop", t, 1e9 + t, length)
    return procedure.depth(point(t + seen, length, Advance.PAUSED), [event])


def test_a_dissipation_starts_at_the_stop_and_holds_what_came_before_the_word():
    procedure = Procedure(WATER, auto_dissipation=None)
    procedure.go(Step.PUSH, 0, 0)
    stop(procedure, 100)
    for i in range(10):
        procedure.cone(cone(104 + i, u2=220.0 - i))
    [event] = procedure.go(Step.DISSIPATION, 114, 114)
    assert event.kind == "dissipation-start"
    assert event.details["stopped"] == 100
    assert event.details["u0"] == pytest.approx(9.81 * 5)
    for i in range(100):
        procedure.cone(cone(115 + i, u2=210.0 - i))
    state = procedure.dissipation_state(215.0)
    assert (state.number, state.depth, state.start) == (1, 6.0, 240.0)
    assert state.elapsed == pytest.approx(115)
    assert state.percent == pytest.approx(100 * (240 - 111) / (240 - 49.05), abs=0.1)
    assert not state.u0_assumed
    go_on = procedure.depth(point(216, 6.0), [DepthEvent("start", 215.5, 0, 6.0)])
    assert [e.kind for e in go_on] == ["dissipation-end"]
    assert procedure.step is Step.PUSH
    [test] = procedure.dissipations
    assert test.readings["time"][:3].tolist() == [0.5, 1.5, 2.5]
    assert [f.id for f in procedure.findings()] == ["zeros-before-missing", "dissipation-schedule"]


def test_a_long_pause_is_logged_by_itself_and_a_rod_change_ends_it():
    procedure = Procedure(WATER, auto_dissipation=30)
    procedure.go(Step.PUSH, 0, 0)
    stop(procedure, 100)
    events = [e for i in range(40) for e in procedure.cone(cone(104 + i, u2=200.0))]
    assert [(e.kind, e.monotonic) for e in events] == [("dissipation-start", 130)]
    ended = procedure.depth(point(150, 6.0, Advance.ROD_CHANGE), [])
    assert [e.kind for e in ended] == ["dissipation-end"]
    # Ended once, the same pause does not start another.
    assert not [e for i in range(40) for e in procedure.cone(cone(151 + i))]


def test_a_pause_without_pore_pressure_or_in_a_rod_change_is_no_dissipation():
    procedure = Procedure(WATER, auto_dissipation=30)
    procedure.go(Step.PUSH, 0, 0)
    stop(procedure, 100)
    assert not [e for i in range(60) for e in procedure.cone(cone(104 + i, u2=None))]
    procedure.depth(point(170, 6.0, Advance.ROD_CHANGE), [])
    assert not [e for i in range(60) for e in procedure.cone(cone(171 + i))]


def test_a_test_called_by_the_crew_outlives_a_released_clamp():
    procedure = Procedure(WATER)
    procedure.go(Step.PUSH, 0, 0)
    stop(procedure, 100)
    procedure.go(Step.DISSIPATION, 110, 110)
    assert procedure.depth(point(120, 6.0, Advance.ROD_CHANGE), []) == []
    assert procedure.test is not None
    assert procedure.go(Step.DISSIPATION, 121, 121)[0].kind == "dissipation-end"
    procedure.end_dissipation(130, 130)
    assert procedure.end_dissipation(131, 131) == []


def test_a_push_that_nobody_announced_is_noticed():
    procedure = Procedure()
    events = [e for i in range(20) for e in procedure.depth(point(i, 0.02 * i), [])]
    assert [e.kind for e in events] == ["step", "note"]
    assert procedure.step is Step.PUSH
    assert procedure.findings()[0].id == "zeros-before-missing"


def test_values_that_are_nan_do_not_enter_a_zero():
    procedure = Procedure()
    zeros(procedure, Step.ZEROS_BEFORE, 0, u2=math.nan)
    assert [z.channel for z in procedure.zeros_before] == ["qc", "fs"]
    state_free = procedure.zero
    assert state_free is None

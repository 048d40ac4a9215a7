"""The live listener on the simulated rig: what screens and record get, with planted faults."""

import json
import threading
import time

import pytest

from pushproof.model.sounding import Water, WaterOrigin
from pushproof.model.stream import Advance, Reading, StreamKind
from pushproof.processing.streams.depth import DepthSettings
from pushproof.recording.guard import AlarmEvent, Change
from pushproof.recording.live import Live, as_json, event_fields
from pushproof.recording.procedure import Step
from pushproof.recording.signals import Setup
from pushproof.recording.snapshot import Freshness
from pushproof.sources.rehearsal import Rehearsal

WORDS = {"zeros-before": "zeros before", "push": "push", "zeros-after": "zeros after"}


def play(point="HM-3", faults="", seed=1, until=1e9, **kw):
    """Play a rehearsal with its crew; return the listener, its events and the rig."""
    rig = Rehearsal(point, faults, seed)
    depth = DepthSettings(
        metres_per_count=rig.encoder.metres_per_count, start=rig.pushed.plan.start
    )
    setup = Setup(depth=depth, cone=rig.cone, rig=rig.rig, rods=rig.rods, interval=0.02)
    events = []
    live = Live(point, setup, water=rig.pushed.plan.water, on_event=events.append, **kw)
    actions, tick = list(rig.actions), 0.0
    for message in rig.messages():
        if message.monotonic > until:
            break
        while actions and actions[0].seconds <= message.monotonic:
            act(live, actions.pop(0).kind)
        live(message)
        if message.monotonic > tick:
            live.tick(message.monotonic, message.arrival)
            tick = message.monotonic + 0.25
    return live, events, rig


def act(live, kind):
    if kind in WORDS:
        live.go(WORDS[kind])
    elif kind == "rod-added":
        live.rod_added()
    elif kind == "closed":
        live.go(Step.CLOSED)


def raised(events):
    return {e.rule for e in events if isinstance(e, AlarmEvent) and e.change is Change.RAISED}


def test_a_good_push_is_followed_from_zeros_to_zeros_without_an_alarm():
    live, events, rig = play("HM-1")
    # The rehearsal pulls its plugs at the end, after the crew has closed.
    assert raised(events) <= {"source"}
    state = live.state()
    assert state.advance.length == pytest.approx(21.5, abs=0.002)
    assert state.advance.depth == pytest.approx(rig.path.depth[-1], abs=0.02)
    assert (state.advance.rods, state.step.name, state.step.missing) == (22, "closed", ())
    assert (state.link.verdict, state.link.joint) == ("", None)
    assert [t.depth for t in live.procedure.dissipations] == pytest.approx([6.5], abs=0.003)
    assert [f.id for f in live.findings()] == ["dissipation-schedule"]
    kinds = [event_fields(e)["kind"] for e in events]
    assert kinds.count("rod-change") == kinds.count("rod-added") == 21
    json.dumps([event_fields(e) for e in events], allow_nan=False)
    json.dumps(as_json(state), allow_nan=False)


@pytest.mark.parametrize(
    ("faults", "rule"),
    [
        ("rate@3=30", "rate"),
        ("tilt=2", "tilt"),
        ("tilt@4=2.5", "tilt-change"),
        ("silence@300=20", "silence"),
        ("unplug@300=20", "source"),
        ("unplug-depth@300=20", "depth-silence"),
        ("loss=0.4", "loss"),
        ("loose-joint@3=24", "level"),
        ("stone@4=57", "qc-capacity"),
        ("stall@4.3=15", "encoder-stalled"),
        ("jump@4=0.3", "encoder-jump"),
        ("slip@1=0.2", "rod-tally"),
        ("battery=3.2", "battery"),
        ("garbage=0.3", "undecoded"),
        ("restart@300", "restart"),
    ],
)
def test_each_planted_fault_raises_its_alarm(faults, rule):
    live, events, _ = play(faults=faults, until=620)
    assert rule in raised(events)
    assert rule in {a.rule for a in live.guard.alarms()}


@pytest.mark.parametrize(
    ("faults", "words"),
    [
        ("loose-joint@6", "joint above rod 6"),
        ("weak=1.2", "steady loss with length"),
        ("noise=20", "rig noise with the engine"),
    ],
)
def test_the_link_watch_names_the_planted_trouble(faults, words):
    live, _, _ = play(faults=faults, until=1000)
    state = live.state().link
    assert state.verdict == words
    assert state.sure > 0.9
    assert state.advice


def test_repeats_and_swaps_do_not_change_what_is_shown():
    clean, _, _ = play(until=500)
    mixed, _, _ = play(faults="swap=0.1,duplicate=0.2", until=500)
    assert mixed.state().cone.duplicate > 30
    assert mixed.state().cone.late > 10
    assert mixed.state().cone.lost <= clean.state().cone.lost + 2
    assert mixed.state().advance.length == clean.state().advance.length
    rows = [row.values["cone_time"] for row in mixed.rows]
    assert rows == sorted(set(rows))


def test_rods_counted_by_the_stroke_agree_with_the_crew():
    rig = Rehearsal("HM-2", "", 3)
    depth = DepthSettings(metres_per_count=rig.encoder.metres_per_count, start=0.4)
    live = Live("HM-2", Setup(depth=depth, rods=rig.rods), count_rods="strokes")
    for message in rig.messages():
        live(message)
    assert live.state().advance.rods == rig.motion.rods.max()


def test_a_measured_stick_up_gives_a_tally_and_a_finding():
    live, events, _ = play(faults="slip@1=0.05", until=800)
    state = live.state()
    tally = live.measure_stick_up(state.advance.rods - (state.advance.length - 0.3))
    assert tally.difference == pytest.approx(-0.3)
    assert live.state().advance.tally_difference == pytest.approx(-0.3)
    assert "rod-tally" in [f.id for f in live.findings()]
    assert "rod-tally" in raised(events)
    assert Live("x").measure_stick_up(0.3) is None


def test_the_words_of_the_crew_are_events_with_their_length():
    live, events, _ = play(until=400)
    live.note("rain")
    live.set_length(5.0)
    live.free_disk(50e6)
    live.acknowledge()
    told = [event_fields(e) for e in events[-6:]]
    note = next(t for t in told if t["kind"] == "note")
    assert (note["text"], note["details"]["length"]) == ("rain", pytest.approx(4.97, abs=0.5))
    assert live.state().advance.length == 5.0
    assert live.state().notes == ("rain",)
    assert live.state().free_disk == 50e6
    assert {"alarm", "reference", "note"} <= {t["kind"] for t in told}
    live.rod_added(-1)
    assert events[-1].kind == "rod-removed"


def test_an_assumed_water_level_is_marked_on_a_running_test():
    water = Water(level=0.5, origin=WaterOrigin.ASSUMED)
    live = Live("A", water=water)
    live.go("push")
    live.go("dissipation")
    live(Reading(StreamKind.CONE, time.time(), time.monotonic(), {"u2": 80.0}))
    state = live.state()
    assert state.dissipation.u0_assumed
    assert state.dissipation.present == 80.0
    live.end_dissipation()
    assert live.state().step.name == "push"


def test_the_real_clock_makes_readings_old_and_a_replay_keeps_its_own():
    live = Live("A")
    now, mono = time.time(), time.monotonic()
    live(Reading(StreamKind.CONE, now - 4, mono - 4, {"qc": 1.0}))
    assert live.state().cone.freshness is Freshness.LATE
    assert live.state().time == pytest.approx(now, abs=5)
    replay = Live("B")
    replay(Reading(StreamKind.CONE, 1e9, 50.0, {"qc": 1.0}))
    assert replay.state().cone.freshness is Freshness.FRESH
    assert replay.state().time == 1e9


def test_screens_ask_while_messages_come():
    live, faults = Live("A", Setup(depth=DepthSettings(metres_per_count=0.001))), []

    def ask():
        try:
            for _ in range(200):
                as_json(live.state())
                live.rows_since(0)
        except Exception as error:
            faults.append(error)

    threads = [threading.Thread(target=ask) for _ in range(3)]
    for thread in threads:
        thread.start()
    for i in range(3000):
        live(Reading(StreamKind.DEPTH, i / 10, i / 10, {"count": 2.0 * i}))
        if i % 10 == 0:
            live(Reading(StreamKind.CONE, i / 10, i / 10, {"qc": 1000.0 + i}, i // 10))
    for thread in threads:
        thread.join()
    assert faults == []
    assert live.state().advance.state is Advance.PUSHING
    assert len(live.rows) == 300
    assert [row.number for row in live.rows_since(290)] == list(range(290, 300))

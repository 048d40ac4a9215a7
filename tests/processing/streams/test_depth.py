"""Encoder counts to length: strokes, resets, pauses, faults, and the same result in pieces."""

import itertools
import math
import pickle
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pushproof.model.stream import Advance, Reading, StreamKind
from pushproof.processing.streams.depth import DepthSettings, DepthTracker

COUNT = 0.0005  # m per count


class Encoder:
    """A head that pushes, opens its clamp, returns and pushes on; counts every 0.1 s."""

    def __init__(self, *, clamp: bool, reset: bool = False, offset: float = 0.0):
        self.clamp, self.reset = clamp, reset
        self.head, self.time, self.length = offset, 0.0, 0.0
        self.readings: list[Reading] = []
        self.note(True)

    def note(self, closed: bool) -> None:
        values = {"count": float(round(self.head / COUNT))}
        if self.clamp:
            values["clamp"] = float(closed)
        n = len(self.readings)
        self.readings.append(
            Reading(StreamKind.DEPTH, 1e9 + self.time, self.time, values, sequence=n)
        )

    def move(self, distance: float, rate: float, *, closed: bool = True) -> None:
        steps = max(round(abs(distance) / rate / 0.1), 1)
        for _ in range(steps):
            self.head += distance / steps
            if closed:
                self.length += distance / steps
            self.time += 0.1
            self.note(closed)

    def wait(self, seconds: float, *, closed: bool = True) -> None:
        for _ in range(round(seconds / 0.1)):
            self.time += 0.1
            self.note(closed)

    def stroke_back(self, distance: float) -> None:
        self.wait(2, closed=False)
        self.move(-distance, 0.25, closed=False)
        if self.reset:
            self.head = 0.0
        self.wait(2, closed=False)

    def rods(self, number: int, rate: float = 0.02) -> "Encoder":
        for _ in range(number):
            self.move(1.0, rate)
            self.stroke_back(1.0)
        return self


def tracked(readings, **kw):
    tracker = DepthTracker(DepthSettings(metres_per_count=COUNT, **kw))
    return tracker, [tracker.push(r) for r in readings]


@pytest.mark.parametrize("clamp", [True, False])
@pytest.mark.parametrize(("reset", "offset"), [(False, 0.0), (True, 0.0), (False, 3.7)])
def test_strokes_add_up_to_the_length_pushed(clamp, reset, offset):
    encoder = Encoder(clamp=clamp, reset=reset, offset=offset).rods(5)
    encoder.move(0.5, 0.02)
    tracker, points = tracked(encoder.readings)
    assert tracker.length == pytest.approx(5.5, abs=0.003)
    assert tracker.strokes == 5
    kinds = [e.kind for e in tracker.events]
    assert kinds.count("rod-change") == 5
    assert kinds.count("start") == 6
    changes = [e for e in tracker.events if e.kind == "rod-change"]
    assert [e.length for e in changes] == pytest.approx([1, 2, 3, 4, 5], abs=0.003)
    assert all(e.duration == pytest.approx(8.0, abs=0.35) for e in changes)
    lengths = [p.length for p in points]
    assert max(lengths) == pytest.approx(5.5, abs=0.003)


@pytest.mark.parametrize("clamp", [True, False])
def test_the_rate_follows_the_push_and_is_zero_in_a_pause(clamp):
    encoder = Encoder(clamp=clamp)
    encoder.move(0.6, 0.02)
    encoder.wait(10)
    encoder.move(0.6, 0.03)
    _, points = tracked(encoder.readings)
    assert points[250].rate == pytest.approx(0.02, abs=0.0005)
    assert points[390].rate == 0.0
    assert points[390].state is Advance.PAUSED
    assert points[-1].rate == pytest.approx(0.03, abs=0.0008)
    assert math.isnan(points[403].rate)
    # Stop and start are dated to the reading, not to when they were recognised.
    tracker, _ = tracked(encoder.readings)
    stop = next(e for e in tracker.events if e.kind == "stop")
    starts = [e for e in tracker.events if e.kind == "start"]
    assert stop.monotonic == pytest.approx(30.0, abs=0.11)
    assert starts[1].monotonic == pytest.approx(40.0, abs=0.15)


def test_the_head_moves_free_while_the_clamp_is_open():
    encoder = Encoder(clamp=True)
    encoder.move(0.5, 0.02)
    encoder.move(-0.3, 0.1, closed=False)
    encoder.move(0.1, 0.02, closed=False)
    encoder.wait(1, closed=False)
    encoder.move(0.2, 0.02)
    tracker, _ = tracked(encoder.readings)
    assert tracker.length == pytest.approx(0.7, abs=0.003)


@pytest.mark.parametrize("clamp", [True, False])
def test_rods_that_spring_back_do_not_add_length(clamp):
    encoder = Encoder(clamp=clamp)
    encoder.move(1.0, 0.02)
    encoder.move(-0.012, 0.02)
    encoder.wait(6)
    encoder.move(0.5, 0.02)
    tracker, _ = tracked(encoder.readings)
    assert tracker.length == pytest.approx(1.488, abs=0.002)
    assert tracker.strokes == 0
    assert "lift" not in [e.kind for e in tracker.events]


def test_lifted_rods_leave_an_event_and_the_ground_is_not_new():
    encoder = Encoder(clamp=True)
    encoder.move(1.0, 0.02)
    encoder.move(-0.2, 0.02)
    encoder.move(0.3, 0.02)
    tracker, points = tracked(encoder.readings)
    assert [e.kind for e in tracker.events].count("lift") == 1
    assert points[600].state is Advance.LIFTING
    assert points[600].deepest == pytest.approx(1.0, abs=0.002)
    assert tracker.length == pytest.approx(1.1, abs=0.002)


def with_count(readings, index, change):
    changed = list(readings)
    values = dict(changed[index].values)
    values["count"] = change(values["count"])
    changed[index] = replace(changed[index], values=values)
    return changed


def test_a_spike_adds_nothing_and_is_reported():
    encoder = Encoder(clamp=False)
    encoder.move(1.0, 0.02)
    tracker, _ = tracked(with_count(encoder.readings, 200, lambda c: c + 90000))
    assert tracker.length == pytest.approx(1.0, abs=0.002)
    assert [e.kind for e in tracker.events].count("encoder-jump") == 1


def test_a_jump_that_stays_adds_nothing():
    encoder = Encoder(clamp=True)
    encoder.move(0.5, 0.02)
    encoder.head += 7.0
    encoder.move(0.5, 0.02)
    tracker, _ = tracked(encoder.readings)
    assert tracker.length == pytest.approx(1.0, abs=0.005)


def test_a_counter_of_sixteen_bits_goes_over_its_end():
    encoder = Encoder(clamp=True, offset=65400 * COUNT)
    encoder.move(0.5, 0.02)
    wrapped = [
        replace(r, values={**r.values, "count": r.values["count"] % 65536})
        for r in encoder.readings
    ]
    tracker, _ = tracked(wrapped)
    assert tracker.length == pytest.approx(0.5, abs=0.002)
    assert [e.kind for e in tracker.events].count("encoder-wrap") == 1


def test_the_laptop_slept_while_the_rig_pushed_on():
    encoder = Encoder(clamp=True)
    encoder.move(3.0, 0.02)
    kept = [
        r if r.monotonic < 40 else replace(r, monotonic=r.monotonic - 60)
        for r in encoder.readings
        if not 40 <= r.monotonic < 100
    ]
    tracker, points = tracked(kept)
    assert tracker.length == pytest.approx(3.0, abs=0.004)
    assert "encoder-silent" in [e.kind for e in tracker.events]
    rates = [p.rate for p in points if not math.isnan(p.rate)]
    assert max(rates) < 0.0225


def test_the_wall_clock_set_back_or_forward_changes_nothing():
    encoder = Encoder(clamp=True).rods(2)
    whole, _ = tracked(encoder.readings)
    for shift in (-3600.0, 3600.0):
        moved = [
            replace(r, arrival=r.arrival + (shift if i > 300 else 0.0))
            for i, r in enumerate(encoder.readings)
        ]
        tracker, _ = tracked(moved)
        assert tracker.length == whole.length
        assert [e.kind for e in tracker.events] == [e.kind for e in whole.events]


def test_repeated_and_late_readings_are_counted_and_not_used():
    encoder = Encoder(clamp=False).rods(2)
    order = list(encoder.readings)
    order.insert(100, order[98])
    order[300], order[301] = order[301], order[300]
    tracker, points = tracked(order)
    assert tracker.length == pytest.approx(2.0, abs=0.003)
    assert (tracker.sequence.duplicate, tracker.sequence.late, tracker.sequence.lost) == (1, 1, 0)
    assert points[100] is None


def test_a_source_that_gives_length_is_followed_and_can_be_lifted():
    readings = [
        Reading(StreamKind.DEPTH, t / 10, t / 10, {"length": x})
        for t, x in enumerate([1.5 + 0.002 * n for n in range(100)] + [1.6, 1.4, 1.5, 1.7])
    ]
    tracker, points = tracked(readings[:100])
    assert points[0].length == 1.5
    assert tracker.length == pytest.approx(1.698)


def test_start_and_reference_set_the_zero_of_depth():
    encoder = Encoder(clamp=True)
    encoder.move(0.4, 0.02)
    tracker, points = tracked(encoder.readings, start=-0.3)
    assert points[0].length == -0.3
    assert tracker.length == pytest.approx(0.1, abs=0.001)
    tracker.reference(1.2)
    encoder.move(0.4, 0.02)
    rates = [tracker.push(r).rate for r in encoder.readings[201:]]
    assert tracker.length == pytest.approx(1.6, abs=0.002)
    assert max(rates) < 0.0215


def test_counts_without_a_calibration_are_refused():
    tracker = DepthTracker()
    with pytest.raises(ValueError, match="metres_per_count"):
        tracker.push(Reading(StreamKind.DEPTH, 0, 0, {"count": 3.0}))
    assert tracker.push(Reading(StreamKind.DEPTH, 0, 0, {"thrust": 3.0})) is None


ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("push"), st.floats(0.002, 0.4), st.floats(0.005, 0.05)),
        st.tuples(st.just("wait"), st.floats(0.1, 6), st.just(0.0)),
        st.tuples(st.just("back"), st.floats(0.01, 1.0), st.just(0.0)),
        st.tuples(st.just("jump"), st.floats(-20, 20), st.just(0.0)),
        st.tuples(st.just("clock"), st.floats(-50, 50), st.just(0.0)),
    ),
    min_size=1,
    max_size=6,
)


def play(acts, clamp, reset):
    encoder = Encoder(clamp=clamp, reset=reset)
    for act, amount, rate in acts:
        if act == "push":
            encoder.move(amount, rate)
        elif act == "wait":
            encoder.wait(amount)
        elif act == "back":
            encoder.stroke_back(amount)
        elif act == "jump":
            encoder.head += amount
        else:
            encoder.time += amount
    return encoder.readings


def outcome(points, tracker):
    # repr, because NaN is not equal to itself
    return repr(points), tracker.events, repr(tracker.last), tracker.sequence


@settings(max_examples=60, deadline=None)
@given(ACTS, st.booleans(), st.booleans(), st.lists(st.integers(0, 400), max_size=4))
def test_in_pieces_as_whole(acts, clamp, reset, cuts):
    """The state saved and read back between pieces changes nothing."""
    readings = play(acts, clamp, reset)
    whole, expected = tracked(readings)
    tracker = DepthTracker(DepthSettings(metres_per_count=COUNT))
    points = []
    edges = sorted({0, len(readings), *(c for c in cuts if c < len(readings))})
    for a, b in itertools.pairwise(edges):
        tracker = pickle.loads(pickle.dumps(tracker))
        points += [tracker.push(r) for r in readings[a:b]]
    assert outcome(points, tracker) == outcome(expected, whole)


@settings(max_examples=60, deadline=None)
@given(ACTS, st.booleans())
def test_the_deepest_never_comes_up_and_the_length_never_passes_it(acts, clamp):
    _, points = tracked(play(acts, clamp, False))
    deepest = [p.deepest for p in points]
    assert deepest == sorted(deepest)
    assert all(p.length <= p.deepest + 1e-9 for p in points)
    assert all(p.since >= 0 for p in points)

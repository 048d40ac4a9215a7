"""Merging under faults: contradictions, silent links and encoders, clocks, other memories.

The simulated rig keeps the truth; what is merged is compared with it.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pushproof.model.findings import Severity
from pushproof.model.series import Origin, Reason
from pushproof.model.sounding import Sounding
from pushproof.model.stream import Reading, StreamKind
from pushproof.processing.streams.depth import DepthSettings
from pushproof.processing.streams.merge import merge
from pushproof.sources.rehearsal import Rehearsal


@cache
def streams(faults="", seed=3, point="HM-2"):
    rig = Rehearsal(point, faults, seed)
    messages = [m for m in rig.messages() if isinstance(m, Reading)]
    cone = [m for m in messages if m.stream is StreamKind.CONE]
    depth = [m for m in messages if m.stream is StreamKind.DEPTH]
    start = rig.pushed.plan.start
    settings = DepthSettings(metres_per_count=rig.encoder.metres_per_count, start=start)
    return rig, cone, depth, settings, list(rig.memory_messages())


def error(rig, merged):
    """Largest difference of the merged length from the truth at the same cone reading [m]."""
    series = merged.series
    known = np.isfinite(series["cone_time"])
    if np.any(np.diff(rig.clock.shown) < 0):
        raise ValueError("the cone clock is not unique")
    when = np.interp(series["cone_time"][known], rig.clock.shown, rig.clock.seconds)
    return float(np.abs(series["length"][known] - rig.length_at(when)).max())


@pytest.mark.parametrize("point", ["HM-1", "HM-2", "HM-3"])
@pytest.mark.parametrize("faults", ["", "loss=0.5,clock=-200,swap=0.1,duplicate=0.1"])
def test_every_reading_is_within_a_centimetre_of_its_true_length(point, faults):
    rig, cone, depth, how, memory = streams(faults, point=point)
    merged = merge(cone, depth, memory, how)
    assert error(rig, merged) < 0.010
    [fit] = merged.report.clock
    assert fit.delay == pytest.approx(0.352, abs=2 * fit.delay_sd)
    assert merged.report.covered == 1.0
    assert [f.id for f in merged.findings] == ["merge", "clock"]


def test_a_contradiction_is_found_and_the_memory_wins():
    _, cone, depth, how, memory = streams()
    off = [
        replace(m, values={**m.values, "qc": m.values["qc"] + 500.0}) if 200 < i < 210 else m
        for i, m in enumerate(cone)
    ]
    merged = merge(off, depth, memory, how)
    [finding] = [f for f in merged.findings if f.id == "memory-disagrees"]
    assert "differ between link and memory, by 0.50" in finding.found
    assert (finding.channel, finding.severity) == ("qc", Severity.CAUTION)
    clean = merge(cone, depth, memory, how)
    np.testing.assert_array_equal(merged.series["qc"], clean.series["qc"])
    differs = merged.origins["qc"] != clean.origins["qc"]
    assert set(merged.origins["qc"][differs]) == {Origin.MEMORY}
    assert set(merged.origins["fs"][differs]) == {Origin.LIVE}
    assert "origin_qc" in merged.series
    assert "origin_fs" not in merged.series


def test_the_memory_of_another_push_is_told():
    _, cone, depth, how, _ = streams()
    other = streams(seed=8)[4]
    shift = streams()[4][0].values["cone_time"] - other[0].values["cone_time"]
    shifted = [
        replace(m, values={**m.values, "cone_time": m.values["cone_time"] + shift}) for m in other
    ]
    merged = merge(cone, depth, shifted, how)
    stops = [f for f in merged.findings if f.severity is Severity.STOP]
    assert {"memory-disagrees"} == {f.id for f in stops}
    assert "qc" in {f.channel for f in stops}


def test_a_link_that_was_dead_leaves_the_memory_and_the_motion():
    rig, _, depth, how, memory = streams(point="HM-3")
    merged = merge([], depth, memory, how)
    assert error(rig, merged) < 0.010
    assert (merged.report.received, merged.report.lost) == (0, 0)
    assert set(merged.series["origin"]) == {Origin.MEMORY}
    assert "motion and rest alone" in merged.findings[-1].found


def test_a_dead_link_and_too_short_a_push_cannot_be_merged():
    _, _, depth, how, memory = streams()
    with pytest.raises(ValueError, match="motion alone does not show"):
        merge([], depth, memory, how)


def test_a_cone_that_started_anew_has_two_runs_and_both_are_placed():
    _, cone, depth, how, memory = streams("restart@300", point="HM-2")
    merged = merge(cone, depth, memory, how)
    assert len(merged.report.clock) == 2
    assert "cone-restarted" in {f.id for f in merged.findings}
    assert merged.report.lost == 0
    series = merged.series
    second = np.flatnonzero(np.diff(series["cone_time"]) < 0)
    assert second.size == 1
    # The gap is the time the cone needed to start: 8 s at 20 mm/s.
    assert merged.report.longest_gap == pytest.approx(0.16, abs=0.03)


def test_an_encoder_that_fell_silent_leaves_readings_without_a_place():
    _, cone, depth, how, memory = streams("unplug-depth@300=20")
    merged = merge(cone, depth, memory, how)
    assert merged.report.unplaced == pytest.approx(40, abs=4)
    assert "readings-unplaced" in {f.id for f in merged.findings}
    assert np.isfinite(merged.series["length"]).all()
    gaps = [f for f in merged.findings if f.id == "gap"]
    assert gaps[0].base - gaps[0].top == pytest.approx(0.4, abs=0.03)


def test_the_wall_clock_set_back_and_a_laptop_asleep_change_no_depth():
    rig, cone, depth, how, memory = streams()
    back = [
        [replace(m, arrival=m.arrival - (3600 if m.monotonic > 300 else 0)) for m in stream]
        for stream in (cone, depth)
    ]
    merged = merge(*back, memory, how)
    assert error(rig, merged) < 0.010
    assert "set by -3600 s" in next(f.found for f in merged.findings if f.id == "surface-clock")
    merged = merge(*asleep(cone, depth, 266, 20), memory, how)
    assert error(rig, merged) < 0.010
    assert "slept for 20 s" in next(f.found for f in merged.findings if f.id == "surface-clock")


def asleep(cone, depth, begin, seconds):
    """What is left of the streams when the laptop sleeps: nothing meanwhile, its clock stands."""
    return [
        [
            replace(m, monotonic=m.monotonic - (seconds if m.monotonic > begin else 0))
            for m in stream
            if not begin < m.monotonic < begin + seconds
        ]
        for stream in (cone, depth)
    ]


def test_a_stroke_that_nobody_saw_is_said_to_be_possible():
    rig, cone, depth, how, memory = streams()
    merged = merge(*asleep(cone, depth, 300, 60), memory, how)
    assert error(rig, merged) > 0.5
    [finding] = [f for f in merged.findings if f.id == "encoder-silent"]
    assert finding.severity is Severity.CAUTION
    assert "a stroke may be missed" in finding.expected


def test_what_the_encoder_did_after_the_push_counts_for_nothing():
    _, cone, depth, how, memory = streams()
    end = depth[-1]
    drawn = [
        replace(
            end,
            arrival=end.arrival + t,
            monotonic=end.monotonic + t,
            sequence=(end.sequence or 0) + i + 1,
            values={**end.values, "clamp": 1.0, "count": end.values["count"] + 100 * t},
        )
        for i, t in enumerate(np.arange(0.1, 60, 0.1).tolist())
    ]
    plain = merge(cone, depth, memory, how)
    merged = merge(cone, [*depth, *drawn], memory, how, until=end.monotonic)
    assert len(merged.series) == len(plain.series)
    assert merge(cone, [*depth, *drawn], memory, how).report.clock[0].pauses >= 0


def test_a_length_that_the_crew_set_holds_from_there_on():
    _, cone, depth, how, memory = streams()
    first = depth[400].monotonic
    merged = merge(cone, depth, memory, how, references=[(first, 1.4)])
    plain = merge(cone, depth, memory, how)
    assert merged.series["length"][-1] == pytest.approx(plain.series["length"][-1] + 1.0, abs=0.005)


def test_a_pause_with_pore_pressure_becomes_a_dissipation_with_every_reading():
    _, cone, depth, how, memory = streams(point="HM-1")
    merged = merge(cone, depth, memory, how)
    [test] = merged.dissipations
    assert test.depth == pytest.approx(6.5, abs=0.002)
    time = test.readings["time"]
    assert time[0] < 1.0
    assert np.median(np.diff(time)) == pytest.approx(0.5, abs=1e-4)
    sounding = merged.sounding(Sounding("HM-1", merged.series))
    assert sounding.dissipations == (test,)
    assert "rod-change" in {e.kind for e in sounding.events}


def test_a_cone_without_a_counter_is_judged_by_its_usual_interval():
    _, cone, depth, how, _ = streams()
    counted = merge(cone[::1], depth, (), how).report
    bare = [replace(m, sequence=None) for m in cone if (m.sequence or 0) % 4]
    merged = merge(bare, depth, (), how)
    assert merged.report.lost / merged.report.expected == pytest.approx(0.25, abs=0.06)
    assert merged.report.expected == pytest.approx(counted.expected, rel=0.05)


@settings(max_examples=12, deadline=None)
@given(
    st.integers(0, 10**6),
    st.floats(0, 0.9),
    st.floats(0, 0.9),
    st.floats(0, 0.1),
)
def test_no_value_is_made_up_and_the_counts_add_up(seed, lose_live, lose_memory, repeat):
    rng = np.random.default_rng(seed)
    _, cone, depth, how, memory = streams()
    cone = [
        m for m in cone if rng.random() >= lose_live for _ in range(1 + (rng.random() < repeat))
    ]
    memory = [m for m in memory if rng.random() >= lose_memory]
    if len({m.sequence for m in cone}) < 2:
        return
    merged = merge(cone, depth, memory, how)
    series, report = merged.series, merged.report
    given_values = {m.values["qc"] for m in cone} | {m.values["qc"] for m in memory}
    qc = series["qc"]
    assert set(qc[np.isfinite(qc)].tolist()) <= given_values
    missing = ~np.isfinite(qc)
    assert missing.sum() == report.lost
    assert (series.reason("qc")[missing] == Reason.LOST_ON_LINK).all()
    assert report.expected == report.received + report.restored + report.lost
    live = (series["origin"] == Origin.LIVE).sum()
    assert live == report.received
    assert np.all(np.diff(series["length"]) >= 0)
    assert 0 <= report.covered <= 1
    assert report.duplicates == len(cone) - len({m.sequence for m in cone})

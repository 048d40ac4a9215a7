"""Merging the streams of a rehearsed push: against the truth that the simulator keeps."""

from dataclasses import replace

import numpy as np
import pytest

from pushproof.model.series import Origin, Reason
from pushproof.model.stream import Reading, StreamKind
from pushproof.processing.streams.depth import DepthSettings
from pushproof.processing.streams.merge import merge
from pushproof.sources.rehearsal import Rehearsal


def streams(faults="", seed=3, point="HM-2"):
    rig = Rehearsal(point, faults, seed)
    messages = [m for m in rig.messages() if isinstance(m, Reading)]
    cone = [m for m in messages if m.stream is StreamKind.CONE]
    depth = [m for m in messages if m.stream is StreamKind.DEPTH]
    settings = DepthSettings(
        metres_per_count=rig.encoder.metres_per_count, start=rig.pushed.plan.start
    )
    return rig, cone, depth, settings


def true_length_error(rig, merged):
    """Largest difference between merged length and the truth at the same cone reading [m]."""
    series = merged.series
    finite = np.isfinite(series["qc"])
    felt = rig.pushed.felt
    shifts = np.linspace(-0.08, 0.08, 81)
    slope = [
        np.corrcoef(
            np.log(np.maximum(series["qc"][finite], 1)),
            np.log(felt.at("qt", series["length"][finite] + shift)),
        )[0, 1]
        for shift in shifts
    ]
    return float(abs(shifts[int(np.argmax(slope))]))


@pytest.mark.parametrize(
    "faults", ["", "loss=0.3", "clock=60ppm", "loose-joint@3", "duplicate=0.1,swap=0.1"]
)
def test_depth_is_right_to_a_few_centimetres_with_memory(faults):
    rig, cone, depth, settings = streams(faults)
    merged = merge(cone, depth, list(rig.memory_messages()), settings)
    assert true_length_error(rig, merged) <= 0.03
    assert merged.report.lost == 0
    assert merged.report.covered > 0.995
    assert (np.diff(merged.series["length"]) >= 0).all()


def test_drift_of_the_cone_clock_is_found():
    rig, cone, depth, settings = streams("clock=40ppm", point="HM-1")
    (fit,) = merge(cone, depth, list(rig.memory_messages()), settings).report.clock
    assert fit.cone_ppm == pytest.approx(40, abs=5)


def test_what_the_link_lost_and_no_memory_holds_stays_a_gap_with_its_reason():
    _rig, cone, depth, settings = streams("loss=0.3")
    merged = merge(cone, depth, (), settings)
    series, report = merged.series, merged.report
    gone = ~np.isfinite(series["qc"])
    assert gone.sum() == report.lost > 20
    assert (series.reason("qc")[gone] == Reason.LOST_ON_LINK).all()
    assert report.expected == report.received + report.lost
    assert report.lost / report.expected == pytest.approx(0.3, abs=0.08)
    assert "readings-lost" in {f.id for f in merged.findings}


def test_every_value_carries_its_origin():
    rig, cone, depth, settings = streams("loss=0.3")
    merged = merge(cone, depth, list(rig.memory_messages()), settings)
    origin = merged.series["origin"]
    assert set(origin) == {Origin.LIVE, Origin.MEMORY}
    assert merged.report.restored > 20
    assert (origin == Origin.LIVE).sum() == merged.report.received


def test_repeated_and_late_packets_count_once():
    _rig, cone, depth, settings = streams("duplicate=0.2,swap=0.2")
    plain = streams("")[1]
    merged = merge(cone, depth, (), settings)
    assert merged.report.duplicates > 10
    assert merged.report.received <= len(plain)


def test_memory_values_win_and_live_ones_stay_where_it_has_none():
    rig, cone, depth, settings = streams("")
    memory = list(rig.memory_messages())
    half = memory[: len(memory) // 2]
    merged = merge(cone, depth, half, settings)
    later = merged.series["length"] > merged.series["length"][-1] * 0.75
    assert (merged.series["origin"][later] == Origin.LIVE).all()
    assert np.isfinite(merged.series["qc"][later]).all()


def test_nothing_to_merge_names_what_is_missing():
    with pytest.raises(ValueError, match="no cone reading; no depth reading"):
        merge([], [])


def without_clock(cone):
    return [
        replace(m, values={key: v for key, v in m.values.items() if key != "cone_time"})
        for m in cone
    ]


@pytest.mark.parametrize("faults", ["", "loss=0.3"])
def test_a_cone_without_a_clock_is_placed_by_arrival(faults):
    rig, cone, depth, settings = streams(faults)
    merged = merge(without_clock(cone), depth, (), settings)
    assert true_length_error(rig, merged) <= 0.03
    assert "cone_time" not in merged.series
    report, known = merged.report, merge(cone, depth, (), settings).report
    assert (report.received, report.lost) == (known.received, known.lost)
    assert report.covered == pytest.approx(known.covered, abs=0.01)
    (said,) = [f for f in merged.findings if f.id == "clock"]
    assert "gives no time of its own" in said.found
    assert "known to 0.5" in said.found


def test_messages_of_a_cone_without_a_clock_that_measure_nothing_are_no_rows():
    _rig, cone, depth, settings = streams("")
    bare = without_clock(cone)
    told = [replace(m, values={"battery": 4.0}, sequence=None) for m in bare]
    merged = merge([*bare, *told], depth, (), settings)
    assert len(merged.series) == len(merge(bare, depth, (), settings).series)
    with pytest.raises(ValueError, match="no cone reading"):
        merge(told, depth, (), settings)

"""A recorded push becomes a sounding: where it ended, lengths the crew set, its dissipations."""

import numpy as np
import pytest

from pushproof.model.stream import Reading, StreamKind
from pushproof.processing.streams.depth import DepthSettings
from pushproof.recording.assemble import Kept, merged, sounding
from pushproof.recording.live import Live, event_fields
from pushproof.recording.recorder import Recorder
from pushproof.recording.session import equip
from pushproof.recording.signals import Setup
from pushproof.sources.rehearsal import Rehearsal
from pushproof.store import Job

WORDS = {"zeros-before": "zeros before", "push": "push", "zeros-after": "zeros after"}


def record(path, point, *, words=WORDS, memory=True, extra=()):
    """Put a rehearsal with its crew into a job, without threads."""
    rig = Rehearsal(point, "", 2)
    start = rig.pushed.plan.start
    depth = DepthSettings(metres_per_count=rig.encoder.metres_per_count, start=start)
    events = []
    live = Live(point, Setup(depth=depth), water=rig.pushed.plan.water, on_event=events.append)
    with Job.create(path) as job, job.writing():
        job.add_sounding(point)
        equip(job, point, encoder=rig.encoder)
        job.add_statement(point, predrilled=start)
        actions = list(rig.actions)
        streams = {StreamKind.CONE: [], StreamKind.DEPTH: []}
        for message in [*rig.messages(), *extra]:
            while actions and actions[0].seconds <= message.monotonic:
                if (kind := actions.pop(0).kind) in words:
                    live.go(words[kind])
            live(message)
            if isinstance(message, Reading):
                streams[message.stream].append(message)
        for kind, readings in streams.items():
            job.append(point, kind, readings)
        if memory:
            job.append(point, StreamKind.MEMORY, list(rig.memory_messages()))
        for event in events:
            job.add_event(sounding=point, **event_fields(event))
    return rig


def drawn(rig):
    """Rods drawn by an encoder box that tells no clamp: each stroke looks like a push."""
    last = rig.seconds + 5
    for n in range(2400):
        along = (n % 600) / 600
        count = round(3000 * (1 - along) if along < 0.5 else 3000 * along)
        at = last + n / 10
        yield Reading(StreamKind.DEPTH, rig.start + at, at, {"count": float(count)}, 900_000 + n)


def test_drawing_the_rods_is_no_push_once_the_crew_said_that_it_was_over(tmp_path):
    rig = Rehearsal("HM-2", "", 2)
    record(tmp_path / "said.job", "HM-2", extra=drawn(rig))
    with Job.open(tmp_path / "said.job") as job:
        report = merged(job, "HM-2").report
    assert (report.covered, report.gaps) == (1.0, ())
    untold = {k: v for k, v in WORDS.items() if k != "zeros-after"}
    record(tmp_path / "untold.job", "HM-2", words=untold, extra=drawn(rig))
    with Job.open(tmp_path / "untold.job") as job:
        [(top, base)] = merged(job, "HM-2").report.gaps
    assert (top, base) == pytest.approx((4.84, 6.05), abs=0.1)


@pytest.mark.parametrize("memory", [True, False])
def test_a_called_dissipation_has_what_link_and_memory_hold(tmp_path, memory):
    record(tmp_path / "a.job", "HM-1", memory=memory)
    with Job.open(tmp_path / "a.job") as job:
        found = sounding(job, "HM-1")
    [test] = found.dissipations
    assert test.depth == pytest.approx(6.5, abs=0.003)
    # The memory reads twice as often as packets come.
    assert len(test.readings) == pytest.approx(3000 if memory else 1500, abs=20)
    assert test.readings["time"][0] < 1.0


def test_a_length_that_the_crew_set_is_used(tmp_path):
    record(tmp_path / "a.job", "HM-2")
    with Job.open(tmp_path / "a.job", write=True) as job:
        plain = merged(job, "HM-2").series["length"][-1]
        with job.writing():
            job.add_event(
                "reference", sounding="HM-2", at=0.0, monotonic=40.0, details={"length": 1.0}
            )
        assert merged(job, "HM-2").series["length"][-1] == pytest.approx(plain + 0.6, abs=0.005)


def test_a_sounding_without_a_reading_is_one_without_rows(tmp_path):
    with Job.create(tmp_path / "a.job") as job:
        with Recorder(job, "A"):
            empty = sounding(job, "A")
            assert len(empty.readings) == 0
            assert [f.id for f in empty.findings] == ["no-readings"]
        job.append("A", "depth", [Reading(StreamKind.DEPTH, 1e9, 1.0, {"count": 0.0})])
        assert [f.id for f in sounding(job, "A").findings] == ["no-readings"]
        job.add_sounding("B")
        job.append("B", "cone", [Reading(StreamKind.CONE, 1e9, 1.0, {"qc": 4000.0})])
        assert [f.id for f in sounding(job, "B").findings] == ["no-depth"]


def test_a_record_that_grows_gives_what_the_whole_gives(tmp_path):
    rig = Rehearsal("HM-2", "loss=0.2,duplicate=0.1", 2)
    messages = [m for m in rig.messages() if isinstance(m, Reading)]
    kept = Kept("A")
    with Job.create(tmp_path / "a.job") as job:
        job.add_sounding("A")
        equip(job, "A", encoder=rig.encoder)
        for part in range(0, len(messages), 1 + len(messages) // 5):
            for kind in (StreamKind.CONE, StreamKind.DEPTH):
                some = messages[part : part + 1 + len(messages) // 5]
                mine = [m for m in some if m.stream is kind]
                job.append("A", kind, mine)
            grown, whole = sounding(job, "A", kept), sounding(job, "A")
            assert grown.findings == whole.findings
            assert set(grown.readings) == set(whole.readings)
            for key in whole.readings:
                np.testing.assert_array_equal(grown.readings[key], whole.readings[key])
        assert len(whole.readings) > 100

"""A session tells what is wrong with it, and stores everything before it complains."""

import time

import pytest

from pushproof.errors import SourceError
from pushproof.model.stream import Reading, SourceState, StreamKind, Undecoded
from pushproof.recording.assemble import sounding
from pushproof.recording.recorder import RecorderAlarm
from pushproof.recording.session import Session, equip
from pushproof.sources import PositionDecoder
from pushproof.sources.rehearsal import Rehearsal
from pushproof.sources.replay import ReplaySource
from pushproof.store import Job, verify

CONE = StreamKind.CONE


class Failing(ReplaySource):
    """Gives its messages, then fails for good."""

    def __iter__(self):
        yield from super().__iter__()
        raise SourceError("no such speed")


def wait_for(holds):
    deadline = time.monotonic() + 10
    while not holds():
        assert time.monotonic() < deadline
        time.sleep(0.01)


def readings(count):
    return [Reading(CONE, 100.0 + i, 10.0 + i, {"qc": float(i)}, i) for i in range(count)]


def test_a_source_that_fails_is_told_after_everything_is_stored(tmp_path):
    with Job.create(tmp_path / "a.job") as job:
        session = Session(job, "A", [Failing(readings(5), speed=0)]).start()
        session.wait()
        with pytest.raises(SourceError, match="no such speed"):
            session.close()
        session.close()
        assert job.last("A", CONE) == 5
        assert any("no such speed" in (e.text or "") for e in job.events("A"))
    assert verify(tmp_path / "a.job").ok


def test_warnings_of_the_record_come_and_go(tmp_path):
    with Job.create(tmp_path / "a.job") as job, Session(job, "A", []) as session:
        assert session.warnings == ()
        session.problems.append(RecorderAlarm("disk-full", True, "the disk is full", 1.0))
        session.problems.append(RecorderAlarm("listener-dropped", True, "one hangs", 1.0))
        assert session.warnings == ("the disk is full", "one hangs")
        session.problems.append(RecorderAlarm("disk-full", False, "there is room again", 2.0))
        assert session.warnings == ("one hangs",)


def test_a_guard_that_cannot_judge_is_told(tmp_path):
    counts = [Reading(StreamKind.DEPTH, 1.0, 1.0, {"count": 5.0})]
    source = ReplaySource(counts, speed=0)
    with Job.create(tmp_path / "a.job") as job, Session(job, "A", [source]) as session:
        wait_for(lambda: session.warnings)
        (text,) = session.warnings
    assert "not guarded" in text
    assert "encoder has no calibration" in text


def test_a_satellite_receiver_gives_the_location(tmp_path):
    rig = Rehearsal("HM-2", "", 4)
    decoder, fixes = PositionDecoder(), []
    line = b"$GPGLL,4916.45,N,12311.12,W,225444,A,*1D\r\n$GPGSV,1*00\r\n"
    for i in range(5):
        fixes += decoder.feed(line, 100.0 + i, 10.0 + i)
    assert {type(m) for m in fixes} == {Reading, Undecoded}
    fixes.append(SourceState(StreamKind.POSITION, 200.0, 20.0, connected=False, text="gone"))
    with Job.create(tmp_path / "a.job") as job:
        job.add_sounding("HM-2")
        equip(job, "HM-2", encoder=rig.encoder)
        sources = [ReplaySource(rig.messages(), speed=0), ReplaySource(fixes, speed=0)]
        with Session(job, "HM-2", sources, waiting=1_000_000) as session:
            session.wait()
            wait_for(lambda: session.state().encoder.received > 0)
            assert session.warnings == ()
        found = sounding(job, "HM-2")
    assert found.location.latitude == pytest.approx(49 + 16.45 / 60)
    assert found.location.longitude == pytest.approx(-(123 + 11.12 / 60))
    assert any("position from 5 fixes" in f.found for f in found.findings)

"""A push through sources, recorder and guard into a job, and out again as a sounding."""

import shutil

import numpy as np
import pytest

from pushproof.errors import RecordError
from pushproof.interpretation import interpret
from pushproof.model.series import Origin
from pushproof.processing import process
from pushproof.recording.assemble import import_memory, merged, sounding
from pushproof.recording.session import Session, equip, setup_of
from pushproof.sources import open_source
from pushproof.sources.rehearsal import Rehearsal, serve_tcp, write_memory
from pushproof.sources.replay import ReplaySource
from pushproof.store import Job, verify


@pytest.fixture(scope="module")
def pushed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("job")
    rig = Rehearsal("HM-2", "loss=0.2", 4)
    with Job.create(folder / "site.job") as job:
        job.add_sounding("HM-2")
        equip(job, "HM-2", cone=rig.cone, rods=rig.rods, rig=rig.rig, encoder=rig.encoder)
        job.add_statement("HM-2", predrilled=rig.pushed.plan.start)
        source = ReplaySource(rig.messages(), speed=0)
        with Session(job, "HM-2", [source], waiting=1_000_000) as session:
            session.note("rods wiped")
            session.wait()
    write_memory(rig, folder / "memory.csv")
    return folder, rig


def test_what_was_sent_is_in_the_record_and_proves_itself(pushed):
    folder, _ = pushed
    assert verify(folder / "site.job").ok
    with Job.open(folder / "site.job") as job:
        kinds = {event.kind for event in job.events("HM-2")}
        assert {"recording-started", "rod-change", "note", "recording-stopped"} <= kinds
        report = merged(job, "HM-2").report
    assert report.lost > 10
    assert report.restored == 0


def test_the_record_becomes_a_sounding_and_the_memory_fills_the_gaps(pushed, tmp_path):
    original, rig = pushed
    folder = tmp_path / "copy"
    shutil.copytree(original, folder)
    with Job.open(folder / "site.job", write=True) as job:
        before = sounding(job, "HM-2")
        assert np.isnan(before.readings["qc"]).sum() > 10
        count = import_memory(job, None, folder / "memory.csv")
        assert count == len(rig.memory())
        with pytest.raises(RecordError, match="was read in before"):
            import_memory(job, "HM-2", folder / "memory.csv")
        after = sounding(job, "HM-2")
    assert np.isfinite(after.readings["qc"]).all()
    assert set(after.readings["origin"]) == {Origin.LIVE, Origin.MEMORY}
    assert after.cone.area_ratio == rig.cone.area_ratio
    changes = [event.depth for event in after.events if event.kind == "rod-change"]
    assert len(changes) == len(set(changes)) > 3
    derived = interpret(process(after))
    truth = rig.pushed.felt
    depth, qt = derived.series["depth"], derived.series["qt"]
    ratio = qt / truth.at("qt", depth)
    assert np.nanmedian(np.abs(ratio - 1)) < 0.03


def test_over_real_sockets(tmp_path):
    rig = Rehearsal("HM-2", "", 2)
    with serve_tcp(rig, speed=200.0) as server, Job.create(tmp_path / "t.job") as job:
        sources = [open_source(address) for address in server.addresses.values()]
        job.add_sounding("HM-2")
        equip(job, "HM-2", cone=rig.cone, encoder=rig.encoder)
        with Session(job, "HM-2", sources) as session:
            assert server.join(30.0)
            stored = session.recorder.state.stored
        assert stored > 3000
    assert verify(tmp_path / "t.job").ok


def test_actions_of_the_crew_are_events(tmp_path):
    rig = Rehearsal("HM-2", "", 2)
    with Job.create(tmp_path / "a.job") as job:
        source = ReplaySource(rig.messages(), speed=0)
        with Session(job, "HM-2", [source], waiting=1_000_000) as session:
            session.zeros()
            session.push()
            session.rod_added()
            session.note("  ")
            session.note("smell of gas, stopped")
            session.acknowledge()
            session.wait()
            assert session.state().sounding == "HM-2"
        events = list(job.events("HM-2"))
    assert [e.text for e in events if e.kind == "note"].count("smell of gas, stopped") == 1
    assert "rod-added" in {e.kind for e in events}
    assert "step" in {e.kind for e in events}


def test_what_was_ordered_reaches_the_guard(tmp_path):
    rig = Rehearsal("HM-2", "", 2)
    with Job.create(tmp_path / "o.job") as job:
        job.add_sounding("HM-2")
        equip(job, "HM-2", cone=rig.cone, order={"interval": 0.02, "reaction": 55.0, "lead": 0.3})
        setup = setup_of(job, "HM-2")
    assert (setup.interval, setup.reaction, setup.lead) == (0.02, 55.0, 0.3)
    assert setup.capacity("qc") == rig.cone.calibration("qc").capacity

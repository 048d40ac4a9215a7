"""A recorded job for the commands that need one."""

from __future__ import annotations

import shutil

import pytest

from pushproof.recording.session import Session, equip
from pushproof.sources.rehearsal import Rehearsal
from pushproof.sources.replay import ReplaySource
from pushproof.store import Job


@pytest.fixture(scope="session")
def _rehearsed(tmp_path_factory):
    path = tmp_path_factory.mktemp("rehearsed") / "site.job"
    rig = Rehearsal("HM-2", "", 4)
    with Job.create(path, project="Heronmere Sluice (invented)", place="invented") as job:
        job.add_sounding("HM-2")
        equip(job, "HM-2", cone=rig.cone, rods=rig.rods, rig=rig.rig, encoder=rig.encoder)
        job.add_statement("HM-2", predrilled=rig.pushed.plan.start)
        source = ReplaySource(rig.messages(), speed=0)
        with Session(job, "HM-2", [source], waiting=1_000_000) as session:
            session.note("rods wiped")
            session.wait()
    return path


@pytest.fixture
def recorded(_rehearsed, tmp_path):
    """Path of a job of its own with one recorded sounding, and the name of the sounding."""
    path = tmp_path / "site.job"
    shutil.copy(_rehearsed, path)
    return path, "HM-2"

"""A recorded job for the commands that need one, and a way to run them."""

from __future__ import annotations

import shutil

import pytest
from typer.testing import CliRunner

from pushproof.cli.app import app
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


@pytest.fixture
def run():
    """Run a command in this process; a fault of ours comes out as it is."""

    def call(*words):
        result = CliRunner().invoke(app, [str(word) for word in words])
        if result.exception and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return call

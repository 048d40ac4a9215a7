"""Whether a sounding is being recorded now is told by its marks and by the lock."""

import os
import signal
import subprocess
import sys

import pytest

from pushproof.recording.recorder import Recorder
from pushproof.recording.underway import Underway, underway
from pushproof.store import Job
from pushproof.testing.killing import SOUNDING

CHILD = """
import sys
from pathlib import Path
from pushproof.testing.killing import record
record(Path(sys.argv[1]), Path(sys.argv[2]))
"""


def now(path, sounding=SOUNDING):
    with Job.open(path) as job:
        return underway(job, sounding)


def test_a_recording_runs_and_ends(tmp_path):
    path = tmp_path / "a.job"
    with Job.create(path) as job:
        job.add_sounding("imported")
        assert now(path, "imported") is Underway.NONE
        with Recorder(job, "A"):
            assert now(path, "A") is Underway.RUNNING
        assert now(path, "A") is Underway.ENDED
        with Recorder(job, "A"):
            assert now(path, "A") is Underway.RUNNING
    assert now(path, "A") is Underway.ENDED


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_a_killed_recording_is_interrupted_whoever_writes_later(tmp_path):
    path, given = tmp_path / "a.job", tmp_path / "given"
    with subprocess.Popen([sys.executable, "-c", CHILD, str(path), str(given)]) as child:
        try:
            while not given.exists() or given.stat().st_size < 200:
                assert child.poll() is None
            assert now(path) is Underway.RUNNING
        finally:
            child.send_signal(signal.SIGKILL)
    assert now(path) is Underway.INTERRUPTED
    with Job.open(path, write=True, purpose="save a decision") as job:
        assert now(path) is Underway.INTERRUPTED
        with Recorder(job, "another"):
            assert now(path) is Underway.INTERRUPTED
            assert now(path, "another") is Underway.RUNNING
        with Recorder(job, SOUNDING):
            assert now(path) is Underway.RUNNING

"""Faults on purpose: killed, disk full, port pulled. In processes of their own."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
import textwrap
import time

import pytest

from pushproof.recording.recorder import Recorder
from pushproof.sources import Pump, open_source
from pushproof.store import Job, verify

tty = pytest.importorskip("tty")
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs fork and file-size limits")


def wait_for(condition, timeout: float = 10.0) -> None:
    end = time.monotonic() + timeout
    while not condition():
        assert time.monotonic() < end, "it did not come to pass in time"
        time.sleep(0.01)


@pytest.mark.slow
def test_nothing_that_was_given_is_lost_when_killed_200_times(tmp_path):
    command = [sys.executable, "-m", "pushproof.testing.killing", str(tmp_path), "--runs", "200"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=110)
    assert done.stderr == ""
    report = json.loads(done.stdout)
    assert report["faults"] == []
    assert report["runs"] == 200
    # The kills must have hit recording, not only starting.
    assert report["early"] < 150
    assert report["given"] > 2000
    assert report["interrupted"] > 50


def test_the_check_after_a_kill_finds_what_is_missing(tmp_path):
    from pushproof.model.stream import StreamKind
    from pushproof.testing import killing

    path, given = tmp_path / "0.job", tmp_path / "given"
    with Job.create(path) as job:
        job.add_sounding(killing.SOUNDING)
        readings = [killing.reading(StreamKind.CONE, number) for number in (1, 2, 3)]
        job.append(killing.SOUNDING, StreamKind.CONE, readings)
    report = killing.KillReport()
    given.write_bytes(b"".join(killing._GIVEN.pack(0, number, 1) for number in (1, 2, 3)))
    killing._check(path, given, 0, report)
    assert report.faults == []
    given.write_bytes(killing._GIVEN.pack(0, 4, 1))
    killing._check(path, given, 0, report)
    assert report.faults == ["0.job: cone [4] given, but not stored"]
    path.unlink()
    killing._check(path, given, 0, report)
    assert "there is no job" in report.faults[1]


FULL = textwrap.dedent(
    """
    import resource, sys, threading, time
    from pathlib import Path
    from pushproof.model.stream import Reading, StreamKind
    from pushproof.recording.recorder import Recorder
    from pushproof.store import Job, verify

    path, how = Path(sys.argv[1]), sys.argv[2]
    job = Job.create(path)
    recorder = Recorder(job, "A").start()
    given, told, over = [], threading.Event(), threading.Event()
    recorder.follow(given.append, depth=10**6)

    def alarm(raised):
        print(raised.kind, raised.raised, flush=True)
        (told if raised.raised else over).set()

    recorder.on_alarm(alarm)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    ballast = path.with_name("ballast")
    if how == "limit":
        resource.setrlimit(resource.RLIMIT_FSIZE, (800_000, hard))
    else:
        ballast.write_bytes(bytes(3_000_000))
    number = 0

    def put(raw):
        global number
        number += 1
        recorder(Reading(StreamKind.CONE, 1.0, float(number), {"qc": number * 0.1}, number, raw))

    while not told.is_set():
        put(b"%d" % number * 20)
        time.sleep(0.0005)
    for _ in range(100):
        put(b"")
    time.sleep(1.2)
    with Job.open(path) as reader:
        assert reader.last("A", "cone") >= len(given) > 0
    if how == "limit":
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    else:
        ballast.unlink()
    assert over.wait(10)
    recorder.close()
    job.close()
    assert len(given) == number
    with Job.open(path) as job:
        found = [one.message.sequence for one in job.messages("A", "cone")]
        assert found == list(range(1, number + 1))
        alarms = [event.details for event in job.events("A", kind="alarm")]
    assert [(one["alarm"], one["raised"]) for one in alarms] == [
        ("disk-full", True),
        ("disk-full", False),
    ]
    report = verify(path)
    assert report.ok, report.problems
    print("whole", number > 200, flush=True)
    """
)
EXPECTED = ["disk-full True", "disk-full False", "whole True"]


def test_a_file_size_limit_is_told_at_once_and_recording_resumes(tmp_path):
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(tmp_path / "full.job"), "limit"],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.stdout.splitlines() == EXPECTED, done.stderr


def test_a_full_disk_is_told_at_once_and_recording_resumes(tmp_path):
    disk = tmp_path / "disk"
    disk.mkdir()
    inside = f"mount -t tmpfs -o size=4m tmpfs {shlex.quote(str(disk))} && "
    own = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c"]
    try:
        subprocess.run([*own, inside + "true"], check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("this system does not let a program mount a small disk of its own")
    python = shlex.join([sys.executable, "-c", FULL, str(disk / "full.job"), "ballast"])
    done = subprocess.run([*own, inside + python], capture_output=True, text=True, timeout=60)
    assert done.stdout.splitlines() == EXPECTED, done.stderr


def test_a_pulled_port_loses_nothing_that_came_through(tmp_path):
    ends = os.openpty()
    tty.setraw(ends[1])
    plug = tmp_path / "port"
    plug.symlink_to(os.ttyname(ends[1]))
    with Job.create(tmp_path / "a.job") as job, Recorder(job, "A") as recorder:
        given = []
        recorder.follow(given.append)
        with Pump(open_source(f"serial:{plug}", decoder="json-cone"), recorder):
            wait_for(lambda: job.events("A", kind="source-connected"))
            os.write(ends[0], b'{"n": 1, "clock_s": 0.5, "qc_MPa": 1.5}\n')
            wait_for(lambda: len(given) == 1)
            os.write(ends[0], b'{"n": 2, "clock_s": 1.5, "qc_')  # pulled in the middle of a line
            time.sleep(0.3)
            plug.unlink()
            for end in ends:
                os.close(end)
            wait_for(lambda: job.events("A", kind="source-lost"))
            ends = os.openpty()
            tty.setraw(ends[1])
            plug.symlink_to(os.ttyname(ends[1]))
            wait_for(lambda: len(job.events("A", kind="source-connected")) == 2)
            os.write(ends[0], b'{"n": 3, "clock_s": 2.5, "qc_MPa": 1.7}\n')
            wait_for(lambda: len(given) == 2)
    with Job.open(tmp_path / "a.job") as job:
        assert [one.message.sequence for one in job.messages("A", "cone")] == [1, 3]
        assert [one.raw for one in job.undecoded("A", "cone")] == [b'{"n": 2, "clock_s": 1.5, "qc_']
    assert verify(tmp_path / "a.job").ok
    for end in ends:
        os.close(end)

"""Two programs at one job: the second reads, it does not write."""

from __future__ import annotations

import os
import shlex
import signal
import subprocess
import sys
import textwrap
import threading
import time

import pytest

from pushproof.errors import RecordBusyError
from pushproof.store import Job
from pushproof.store.lock import WriterLock, held, lock_path

from .conftest import cone_reading


def other_program(path, tmp_path) -> subprocess.Popen[str]:
    """Start a program that holds the job for writing until its input ends."""
    script = tmp_path / "holder.py"
    script.write_text(
        textwrap.dedent(
            """
            import sys
            from pushproof.store import Job
            job = Job.open(sys.argv[1], write=True, purpose="the other push")
            print("open", flush=True)
            sys.stdin.read()
            job.close()
            """
        )
    )
    program = subprocess.Popen(
        [sys.executable, str(script), str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert program.stdout is not None
    assert program.stdout.readline() == "open\n"
    return program


@pytest.fixture
def job_path(tmp_path):
    path = tmp_path / "a.job"
    with Job.create(path) as job:
        job.add_sounding("A")
        job.append("A", "cone", [cone_reading(1)])
    return path


def test_the_second_program_reads_and_is_told_who_writes(job_path, tmp_path):
    with other_program(job_path, tmp_path) as program:
        try:
            with pytest.raises(RecordBusyError) as told:
                Job.open(job_path, write=True)
            assert f"the other push (process {program.pid} on" in str(told.value)
            with Job.open(job_path) as reader:
                assert len(reader.readings("A", "cone")) == 1
        finally:
            program.communicate("")
    assert program.returncode == 0
    with Job.open(job_path, write=True) as job:
        assert job.writable
    assert not lock_path(job_path).exists()


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_the_lock_dies_with_the_program(job_path, tmp_path):
    with other_program(job_path, tmp_path) as program:
        program.send_signal(signal.SIGKILL)
        program.wait()
    assert lock_path(job_path).exists()  # left behind, but nobody holds it
    with Job.open(job_path, write=True) as job:
        kinds = [event.kind for event in job.events()]
    assert kinds == [
        "job-opened",
        "job-closed",
        "job-opened",
        "job-interrupted",
        "job-opened",
    ]
    assert not lock_path(job_path).exists()


def test_one_program_opens_a_job_for_writing_once(job_path):
    with Job.open(job_path, write=True), pytest.raises(RecordBusyError):
        Job.open(job_path, write=True)


def test_a_lock_file_without_sense_is_still_a_lock(job_path):
    lock = WriterLock(job_path)
    lock_path(job_path).write_text("{")
    with pytest.raises(RecordBusyError, match="another program has the job open"):
        WriterLock(job_path)
    lock.release()
    lock.release()
    WriterLock(job_path).release()


def test_opening_fails_cleanly_where_the_job_is_no_job(tmp_path):
    path = tmp_path / "a.job"
    path.write_bytes(b"no job" * 1000)
    with pytest.raises(Exception, match="not a job"):
        Job.open(path, write=True)
    WriterLock(path).release()  # the lock was given back


def test_a_job_on_a_disk_that_cannot_be_written_is_read_and_proved(job_path, tmp_path):
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = (
        f"mount -t tmpfs tmpfs {disk} && cp {job_path}* {disk} && mount -o remount,ro {disk} && "
    )
    own = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c"]
    try:
        subprocess.run([*own, mount + "true"], check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("this system does not let a program mount a small disk of its own")
    script = textwrap.dedent(
        """
        import sys
        from pushproof.errors import RecordError
        from pushproof.store import Job, verify
        with Job.open(sys.argv[1]) as job:
            print(len(job.readings("A", "cone")), verify(sys.argv[1]).sealed)
        try:
            Job.open(sys.argv[1], write=True)
        except RecordError as error:
            print(str(error).split(", ")[1])
        """
    )
    python = shlex.join([sys.executable, "-c", script, str(disk / job_path.name)])
    done = subprocess.run([*own, mount + python], capture_output=True, text=True)
    assert done.stdout.splitlines() == [
        "1 True",
        "Read-only file system. Open it for reading",
    ], done.stderr


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_a_lock_is_held_as_long_as_its_program_lives(job_path, tmp_path):
    assert not held(job_path)
    with other_program(job_path, tmp_path) as program:
        assert held(job_path)
        program.send_signal(signal.SIGKILL)
        program.wait()
    assert lock_path(job_path).exists()
    assert not held(job_path)
    with Job.open(job_path, write=True):
        assert held(job_path)
    assert not held(job_path)


def test_looking_at_a_lock_keeps_nobody_from_taking_it(job_path):
    lock_path(job_path).touch()
    done = threading.Event()
    looked = []

    def look():
        while not done.is_set():
            looked.append(held(job_path))
            time.sleep(0.002)

    lookers = [threading.Thread(target=look) for _ in range(3)]
    for looker in lookers:
        looker.start()
    try:
        for _ in range(50):
            lock = WriterLock(job_path)
            assert held(job_path)
            lock.release()
            lock_path(job_path).touch()
    finally:
        done.set()
        for looker in lookers:
            looker.join()
    assert looked

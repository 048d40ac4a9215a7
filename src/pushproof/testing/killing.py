"""Killing a program while it records, at random moments, and looking at what is left.

Run as a program (``python -m pushproof.testing.killing FOLDER --runs 200``) it starts one
recording child after another, kills each with SIGKILL after a random time, and checks that

- the job proves itself,
- every reading that a listener had been given is in it, with the content it was given with,
- the next start continues the same sounding with the next number and says so.

Needs ``fork`` (Linux, macOS): the children start from a process that has everything loaded, so
that hundreds of runs take seconds. A killed process is not a power cut: what the disk itself
does with a commit is up to the disk.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import struct
import sys
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

from pushproof.model.stream import Reading, StreamKind, Undecoded
from pushproof.recording.recorder import Recorder
from pushproof.store import Job, Stored, verify
from pushproof.store.lock import lock_path

_GIVEN = struct.Struct("<BqH")
_STREAMS = (StreamKind.CONE, StreamKind.DEPTH)
SOUNDING = "CPT-01"


@dataclass
class KillReport:
    """What came of the kills.

    Parameters
    ----------
    runs
        Children that were killed.
    early
        Of these, killed before the first reading was given to the listener.
    given, stored
        Readings that listeners had been given, and that are in the jobs.
    interrupted
        Starts that found the one before them interrupted.
    faults
        What did not hold, in words; empty if all is well.
    """

    runs: int = 0
    early: int = 0
    given: int = 0
    stored: int = 0
    interrupted: int = 0
    faults: list[str] = field(default_factory=list)


def reading(stream: StreamKind, number: int) -> Reading:
    """Return the reading that belongs to a number: its content can be checked later."""
    values = {"cone_time": number * 1.0, "qc": (number * 7919) % 30_000 + 0.5, "u2": -1.0 * number}
    return Reading(stream, 1.75e9 + number, 1.0 * number, values, number, b"$C,%d\r\n" % number)


def record(path: Path, given: Path) -> None:
    """Record as fast as it goes, and note each reading that the listener gets, until killed."""
    note = os.open(given, os.O_WRONLY | os.O_CREAT | os.O_APPEND)

    def take(stored: Stored) -> None:
        where = _STREAMS.index(stored.message.stream)
        os.write(note, _GIVEN.pack(where, stored.number, os.getpid() & 0xFFFF))

    job = Job.open(path, write=True) if path.exists() else Job.create(path)
    recorder = Recorder(job, SOUNDING).start()
    recorder.follow(take, depth=100_000)

    def pump(stream: StreamKind, rest: float) -> None:
        number = job.last(SOUNDING, stream)
        while True:
            number += 1
            recorder(reading(stream, number))
            if number % 50 == 0:
                recorder(Undecoded(stream, 1.75e9, 1.0, b"\x00\xff$C,", "half a line"))
            time.sleep(rest)

    threading.Thread(target=pump, args=(StreamKind.DEPTH, 0.0005), daemon=True).start()
    pump(StreamKind.CONE, 0.001)


def kill_many(folder: Path, runs: int, *, longest: float = 0.3, seed: int = 1) -> KillReport:
    """Kill recording children and check what each leaves.

    Parameters
    ----------
    folder
        An empty folder for the jobs.
    runs
        How many children.
    longest
        Each lives for a random time up to this [s]; more if most die before they record.
    seed
        Of the random times.
    """
    chance = random.Random(seed)
    report = KillReport()
    for run in range(runs):
        if run % 10 == 0:  # a new job now and then, so that making one is killed too
            path = folder / f"{run}.job"
            starts = 0
        given = folder / f"{run}.given"
        _run_child(path, given, chance.random() * longest)
        starts = _check(path, given, starts, report)
        if run % 10 == 9 and report.early > report.runs // 2:
            longest *= 1.3  # a slow computer: most children die before they record anything
        given.unlink(missing_ok=True)
    return report


def _run_child(path: Path, given: Path, life: float) -> None:
    child = os.fork()
    if child == 0:
        try:
            record(path, given)
        except BaseException as error:
            sys.stderr.write(f"child: {error!r}\n")
        finally:
            os._exit(3)
    time.sleep(life)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    if not os.WIFSIGNALED(status):
        raise RuntimeError("the child ended by itself before it was killed")


def _check(path: Path, given: Path, starts: int, report: KillReport) -> int:
    """Check one job after a kill; return how many starts of recording are in it."""
    report.runs += 1
    content = given.read_bytes() if given.exists() else b""
    noted = [_GIVEN.unpack_from(content, at) for at in range(0, len(content), _GIVEN.size)]
    report.given += len(noted)
    report.early += not noted
    if not path.exists():
        if noted:
            report.faults.append(f"{path.name}: readings were given, but there is no job")
        return 0
    proof = verify(path)
    if not proof.ok:
        report.faults.append(f"{path.name}: {proof}")
        return starts
    with Job.open(path) as job:
        if SOUNDING not in job.soundings():
            return 0
        for where, stream in enumerate(_STREAMS):
            stored = {one.number: one.message for one in job.messages(SOUNDING, stream)}
            report.stored += len(stored)
            gone = [number for at, number, _ in noted if at == where and number not in stored]
            wrong = [n for n, message in stored.items() if message != reading(stream, n)]
            if gone:
                report.faults.append(f"{path.name}: {stream} {gone[:5]} given, but not stored")
            if wrong or list(stored) != list(range(1, len(stored) + 1)):
                report.faults.append(f"{path.name}: {stream} does not go on as it should")
        marks = [e for e in job.events(SOUNDING) if e.kind in ("recording-started", "resumed")]
        report.interrupted += len(marks) > starts and marks[-1].kind == "resumed"
        if any(not mark.details.get("interrupted") for mark in marks[1:]):
            report.faults.append(f"{path.name}: a start did not know that it was interrupted")
    return len(marks)


def main() -> int:
    """Kill as asked, print the report as JSON, return 1 if anything did not hold."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--runs", type=int, default=200)
    parser.add_argument("--longest", type=float, default=0.3)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    report = kill_many(asked.folder, asked.runs, longest=asked.longest, seed=asked.seed)
    left = [str(path.name) for path in asked.folder.glob("*.job.lock")]
    held = [name for name in left if not _can_be_taken(asked.folder / name.removesuffix(".lock"))]
    report.faults += [f"{name} is held by nobody, but cannot be taken" for name in held]
    sys.stdout.write(json.dumps(report.__dict__) + "\n")
    return 1 if report.faults else 0


def _can_be_taken(path: Path) -> bool:
    if path.exists():
        with Job.open(path, write=True) as job:
            return job.writable
    return lock_path(path).exists()


if __name__ == "__main__":
    raise SystemExit(main())

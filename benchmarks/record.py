"""Recording: readings per second, bytes written, file size, opening and proving a day's file.

Baseline: a bare sqlite3 loop that inserts the same JSON lines, unchained, with the same number of
readings in each commit and the same settings (WAL, synchronous FULL).
Run: python benchmarks/record.py [folder on the disk to be measured]
"""

from __future__ import annotations

import json
import sqlite3
import sys
import tempfile
import threading
import time
from pathlib import Path

import numpy as np
from guard import messages as push_messages
from guard import setup

from pushproof.model.stream import Message, Reading, StreamKind
from pushproof.recording.guard import Guard
from pushproof.recording.recorder import Recorder
from pushproof.store import Job, verify
from pushproof.store.content import pack_readings
from pushproof.store.engine import PAGE_SIZE


def written() -> int:
    """Return the bytes that this process has given to the system to write (Linux)."""
    try:
        lines = Path("/proc/self/io").read_text().splitlines()
    except OSError:
        return 0
    return next(int(line.split()[1]) for line in lines if line.startswith("wchar"))


def raw(message: Message) -> Reading:
    """Return a reading with the line of text that a rig would have sent."""
    assert isinstance(message, Reading)
    text = ",".join(f"{value:.2f}" for value in message.values.values())
    line = f"$P,{message.sequence},{text}*5A\r\n".encode()
    return Reading(
        message.stream,
        message.arrival,
        message.monotonic,
        message.values,
        message.sequence,
        line,
    )


def rig(seconds: float) -> list[Reading]:
    """Return what a cordless rig gives: the cone once a second, the encoder ten times."""
    return [raw(message) for message in push_messages(seconds, 1.0, 10.0)]


def bare(path: Path, readings: list[Reading], in_commit: int) -> tuple[float, int, int]:
    """Insert JSON lines with sqlite3 alone; return seconds, bytes written and file size."""
    database = sqlite3.connect(path, isolation_level=None)
    database.execute(f"PRAGMA page_size = {PAGE_SIZE}")
    database.execute("PRAGMA journal_mode = WAL")
    database.execute("PRAGMA synchronous = FULL")
    database.execute("CREATE TABLE reading (number INTEGER PRIMARY KEY, line TEXT NOT NULL)")
    start, before = time.perf_counter(), written()
    for first in range(0, len(readings), in_commit):
        database.execute("BEGIN IMMEDIATE")
        for reading in readings[first : first + in_commit]:
            line = {
                "a": reading.arrival,
                "m": reading.monotonic,
                "n": reading.sequence,
                "v": dict(reading.values),
                "r": reading.raw.decode("latin-1"),
            }
            database.execute("INSERT INTO reading (line) VALUES (?)", (json.dumps(line),))
        database.execute("COMMIT")
    took = time.perf_counter() - start
    database.close()
    return took, written() - before, path.stat().st_size


def ours(path: Path, readings: list[Reading], in_commit: int) -> tuple[float, int, int]:
    """Append with the job file; return seconds, bytes written and file size."""
    with Job.create(path) as job:
        job.add_sounding("A")
        start, before = time.perf_counter(), written()
        for first in range(0, len(readings), in_commit):
            with job.writing():
                some = readings[first : first + in_commit]
                for stream in (StreamKind.CONE, StreamKind.DEPTH):
                    mine = [one for one in some if one.stream is stream]
                    if mine:
                        job.append("A", stream, mine)
        took, wrote = time.perf_counter() - start, written() - before
    return took, wrote, path.stat().st_size


def commits(folder: Path) -> None:
    """Compare with the bare loop at several numbers of readings in a commit."""
    print("Storing, against a bare sqlite3 loop with the same commits")
    print("readings/commit   bare [1/s]   ours [1/s]   ratio   written/reading bare, ours [B]")
    for in_commit, count in ((1, 3000), (5, 8000), (20, 20000), (100, 40000)):
        readings = rig(count / 11)
        n, runs = len(readings), []
        for run in range(5):  # in turn, and the median: other programs use the disk too
            a = bare(folder / f"bare{in_commit}-{run}.db", readings, in_commit)
            b = ours(folder / f"ours{in_commit}-{run}.job", readings, in_commit)
            runs.append((n / a[0], n / b[0], b[0] / a[0], a[1] / n, b[1] / n))
        first, second, ratio, wrote, wrote_ours = np.median(np.array(runs), axis=0)
        print(
            f"{in_commit:15d}   {first:10.0f}   {second:10.0f}   {ratio:5.2f}"
            f"   {wrote:21.0f}, {wrote_ours:.0f}"
        )


def sustained(folder: Path, rate: float, guarded: bool, seconds: float = 10.0) -> None:
    """Put readings in at a rate through the whole recorder and tell what came out, and when."""
    readings = [raw(m) for m in push_messages(seconds, rate * 0.1, rate * 0.9)]
    path = folder / f"rate{rate:.0f}-{guarded}.job"
    guard = Guard(setup()) if guarded else None
    put: dict[tuple[StreamKind, int], float] = {}
    delays: list[float] = []

    def take(message: Message) -> None:
        if guard is not None:
            guard.message(message)
        if isinstance(message, Reading) and message.sequence is not None:
            delays.append(time.perf_counter() - put[message.stream, message.sequence])

    with Job.create(path) as job:
        with Recorder(job, "A") as recorder:
            recorder.listen(take, depth=100_000)
            begun, cpu = time.perf_counter(), time.process_time()
            for index, reading in enumerate(readings):
                due = begun + index / rate
                now = time.perf_counter()
                if due > now:
                    time.sleep(due - now)
                put[reading.stream, reading.sequence or 0] = time.perf_counter()
                recorder(reading)
            waiting = recorder.state.waiting
            took = time.perf_counter() - begun
        used = time.process_time() - cpu
        stored = job.last("A", "cone") + job.last("A", "depth")
    p50, p99 = np.percentile(np.array(delays) * 1000, [50, 99])
    print(
        f"{rate:10.0f}   {'yes' if guarded else 'no':5s}   {stored / took:10.0f}   {waiting:7d}"
        f"   {100 * used / took:6.0f}   {p50:8.2f}   {p99:8.2f}"
    )


def flat_out(folder: Path, guarded: bool, count: int = 60_000) -> None:
    """Put readings in as fast as four threads can."""
    readings = [raw(m) for m in push_messages(count / 1000, 100, 900)]
    guard = Guard(setup()) if guarded else None
    path = folder / f"flat-{guarded}.job"
    with Job.create(path) as job:
        begun = time.perf_counter()
        with Recorder(job, "A") as recorder:
            recorder.listen(guard.message if guard else id, depth=10**6)
            parts = [readings[start::4] for start in range(4)]
            threads = [
                threading.Thread(target=lambda p=part: [recorder(m) for m in p]) for part in parts
            ]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
        took = time.perf_counter() - begun
        stored = job.last("A", "cone") + job.last("A", "depth")
    assert stored == len(readings)
    print(f"flat out, guard {'on ' if guarded else 'off'}: {stored / took:.0f} readings/s")


def day(folder: Path, hours: float = 10.0) -> None:
    """Record ten hours of a cordless rig, one reading in each commit, then open and prove it."""
    readings = rig(hours * 3600)
    path = folder / "day.job"
    before = written()
    with Job.create(path) as job:
        job.add_sounding("A")
        begun = time.perf_counter()
        for reading in readings:
            job.append("A", reading.stream, [reading])
        took = time.perf_counter() - begun
    size, wrote = path.stat().st_size, written() - before
    content = sum(len(json.dumps(dict(r.values))) + len(r.raw) + 40 for r in readings)
    print(f"\nTen hours: cone 1/s, encoder 10/s, every reading a commit ({len(readings)} readings)")
    print(f"storing it took            {took:8.1f} s  ({len(readings) / took:.0f} readings/s)")
    print(f"file size                  {size / 1e6:8.1f} MB ({size / 1e6 / hours:.1f} MB an hour)")
    print(f"written to the system      {wrote / size:8.1f} times the file, ", end="")
    print(f"{wrote / content:.1f} times what the rig sent")
    for text, work in (
        ("open for reading", lambda: Job.open(path).close()),
        ("open for writing, close", lambda: Job.open(path, write=True).close()),
        ("prove", lambda: verify(path)),
        ("read all as arrays", lambda: _read(path)),
        ("read the last minute", lambda: _read(path, after=len(readings) * 10 // 11 - 600)),
    ):
        begun = time.perf_counter()
        work()
        print(f"{text:26s} {time.perf_counter() - begun:8.2f} s")
    report = verify(path)
    assert report.ok
    assert report.links > len(readings)


def _read(path: Path, after: int = 0) -> None:
    with Job.open(path) as job:
        job.readings("A", "depth", after=after)
        job.readings("A", "cone", after=after // 10)


def contents() -> None:
    """Compare ways to write the content of a block, in bytes a reading."""
    import struct
    import zlib

    print("\nContent of a block [B/reading]: packed JSON lines, packed columns")
    readings = [one for one in rig(1200) if one.stream is StreamKind.CONE]
    for rows in (1, 5, 10, 100, 1000):
        some = readings[:rows]
        keys = list(some[0].values)
        columns = [[r.arrival for r in some], [r.monotonic for r in some]]
        columns += [[r.values[key] for r in some] for key in keys]
        packed = json.dumps([rows, keys]).encode()
        packed += b"".join(struct.pack(f"<{rows}d", *column) for column in columns)
        packed += struct.pack(f"<{rows}q", *[r.sequence or 0 for r in some])
        packed += struct.pack(f"<{rows}I", *[len(r.raw) for r in some])
        packed += b"".join(r.raw for r in some)
        lines = len(pack_readings(some, [0] * rows)) / rows
        print(f"{rows:6d} rows   {lines:6.0f}   {len(zlib.compress(packed, 1)) / rows:6.0f}")


def main() -> None:
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if sys.argv[1:] else None) as name:
        folder = Path(name)
        commits(folder)
        print("\nThrough the recorder, from a source putting it in to the listener having it")
        print("put in/s   guard   stored [1/s]   waiting   CPU [%]   p50 [ms]   p99 [ms]")
        for rate in (11.0, 100.0, 1000.0, 3000.0):
            for guarded in (False, True):
                sustained(folder, rate, guarded)
        for guarded in (False, True):
            flat_out(folder, guarded)
        day(folder)
        contents()


if __name__ == "__main__":
    main()

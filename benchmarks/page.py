"""The push page in a real browser, served by the real command: first page, latency, load, memory.

usage: python benchmarks/page.py [--hours H] [--speed S]

Needs Chromium and playwright. Cone and encoder are TCP servers in this process, the server is a
process of its own that records from them. Twenty thousand rows of history stand in the record
first, then ten rows a second come. Latency is from the moment the bytes of a reading are handed to
the socket of the source to the first frame with its row among those that the page draws; all
clocks are those of one machine. With ``--hours`` the rehearsal rig is pushed at so many times its
pace, sounding after sounding, with one page open, and the memory of server and page is told after
each. The page's memory is its JavaScript heap after a collection.
"""

# ruff: noqa: E402
from __future__ import annotations

import argparse
import os
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

import httpx
from playwright.sync_api import Page, sync_playwright

from pushproof.sources.decoder import Decoder
from pushproof.sources.description import load_description
from web.conftest import FLAGS
from web.pushing import PER_COUNT, Feeder, job_at, until

HISTORY = 20_000
SOUNDING = "B-1"
WATCH = """() => {
  window.firstTrack = window.firstRows = null;
  window.watching = true;
  window.shownAt = new Map();
  const look = () => {
    const page = window.pushPage;
    if (window.firstTrack === null && document.querySelector("canvas")) {
      window.firstTrack = performance.now();
    }
    if (page && page.stream.last > 0) {
      if (window.firstRows === null) window.firstRows = performance.now();
      if (!window.shownAt.has(page.stream.last)) window.shownAt.set(page.stream.last, Date.now());
    }
    if (window.watching) requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}"""


class Box:
    """A box of the rig: a TCP server that sends sentences to whoever is connected."""

    def __init__(self, decoder: str) -> None:
        self.decoder = Decoder(load_description(decoder))
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.peer: socket.socket | None = None
        self.name = decoder
        threading.Thread(target=self._accept, daemon=True).start()

    @property
    def address(self) -> str:
        return f"tcp://127.0.0.1:{self.listener.getsockname()[1]}?decoder={self.name}"

    def _accept(self) -> None:
        while True:
            self.peer, _ = self.listener.accept()
            self.peer.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    def send(self, values: dict[str, float], sequence: int | None = None) -> float:
        """Send a sentence and return when it was handed over [ms]."""
        assert self.peer is not None
        sentence = self.decoder.encode(values, sequence)
        at = time.time() * 1000
        self.peer.sendall(sentence)
        return at


class Rig:
    """Pushes at 20 mm/s: ten cone readings and ten depths a second."""

    def __init__(self, length: float, sequence: int) -> None:
        self.cone, self.depth = Box("link-box"), Box("depth-box")
        self.length, self.sequence = length, sequence
        self.sent: dict[int, float] = {}
        self.on = threading.Event()

    def begin(self) -> None:
        threading.Thread(target=self._push, daemon=True).start()

    def _push(self) -> None:
        begun, step = time.monotonic(), 0
        while not self.on.is_set():
            step += 1
            self.length += 0.002
            self.sequence += 1
            self.depth.send({"count": self.length / PER_COUNT, "clamp": 1, "thrust": 20.0})
            values = {"cone_time": step * 0.1, "qc": 4000.0 + 100 * (step % 7), "fs": 35.0}
            values |= {"u2": 90.0, "tilt_x": 0.6, "tilt_y": 0.8, "temperature": 12.0}
            values |= {"link_level": 48.0, "battery": 4.0}
            self.sent[self.sequence] = self.cone.send(values, self.sequence)
            time.sleep(max(begun + 0.1 * step - time.monotonic(), 0))


class Server:
    """``pushproof serve`` as a process, and what it costs."""

    def __init__(self, path: Path, *options: str) -> None:
        began = time.perf_counter()
        command = [sys.executable, "-m", "pushproof", "serve", str(path), "--port", "0", *options]
        env = os.environ | {"PYTHONUNBUFFERED": "1"}
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env)
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        found = re.search(r"http://[^ ]*?:\d+", line)
        if found is None:
            raise SystemExit(f"the server did not start: {line}")
        self.url = found.group()
        self.started = time.perf_counter() - began

    def cpu(self) -> float:
        """Return the time spent so far [s]."""
        stat = Path(f"/proc/{self.process.pid}/stat").read_text().rsplit(") ", 1)[1].split()
        return (int(stat[11]) + int(stat[12])) / os.sysconf("SC_CLK_TCK")

    def share(self, seconds: float) -> float:
        """Return the share of one core over a while."""
        before, start = self.cpu(), time.perf_counter()
        time.sleep(seconds)
        return (self.cpu() - before) / (time.perf_counter() - start)

    def memory(self) -> float:
        """Return the memory that stands in the machine [MB]."""
        status = Path(f"/proc/{self.process.pid}/status").read_text()
        found = re.search(r"VmRSS:\s+(\d+) kB", status)
        assert found is not None
        return int(found.group(1)) / 1000

    def stop(self) -> None:
        self.process.terminate()
        self.process.wait(20)


@contextmanager
def a_page() -> Iterator[Page]:
    """Open a page of the system's browser."""
    path = shutil.which("chromium") or shutil.which("google-chrome")
    if path is None:
        raise SystemExit("no Chromium on this machine")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser.new_page(viewport={"width": 1280, "height": 800}, bypass_csp=True)
        browser.close()


def history(path: Path) -> tuple[float, int]:
    """Write the record of a push of so many rows; return its length and last packet."""
    feeder = Feeder(job_at(path))
    feeder.station.start(SOUNDING)
    session = feeder.station.session
    assert session is not None
    session.push()
    parts = HISTORY // 1000
    for part in range(1, parts + 1):  # in parts, so that the guard keeps up
        feeder.push(10.0, end=5.0 + 500.0 * (parts - part))
        while len(session.live.rows) < 1000 * part:
            time.sleep(0.1)
    feeder.station.stop()
    return feeder.length, feeder.sequence


def first_page(page: Page, url: str) -> tuple[float, float, float, float]:
    """Return bytes of the page and of the history [KiB], time to the tracks and their rows [s]."""
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    stream: set[str] = set()
    size = {"page": 0.0, "stream": 0.0}
    session.on(
        "Network.requestWillBeSent",
        lambda e: stream.add(e["requestId"]) if "/stream" in e["request"]["url"] else None,
    )

    def received(event: dict[str, object]) -> None:
        which = "stream" if event["requestId"] in stream else "page"
        size[which] += max(float(str(event["encodedDataLength"])), 0.0)

    session.on("Network.dataReceived", received)
    page.add_init_script(f"({WATCH})()")
    page.goto(f"{url}/push", wait_until="commit")
    until(lambda: page.evaluate("window.firstRows"), 20.0, "rows on the page")
    tracks, rows = page.evaluate("[window.firstTrack / 1000, window.firstRows / 1000]")
    page.wait_for_timeout(500)
    return size["page"] / 1024, size["stream"] / 1024, tracks, rows


def main_thread(page: Page, seconds: float) -> float:
    """Return the share of the main thread that is busy."""
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable")

    def busy() -> float:
        found = session.send("Performance.getMetrics")["metrics"]
        return next(float(m["value"]) for m in found if m["name"] == "TaskDuration")

    before, start = busy(), time.perf_counter()
    page.wait_for_timeout(1000 * seconds)
    return (busy() - before) / (time.perf_counter() - start)


def latencies(page: Page, rig: Rig, seconds: float) -> list[float]:
    """Return the times from the socket of the source to the frame with the row [ms]."""
    page.evaluate("window.shownAt.clear()")
    page.wait_for_timeout(1000 * seconds)
    frames = sorted((int(last), at) for last, at in page.evaluate("[...window.shownAt]"))
    numbers = range(frames[0][0] + 1, frames[-1][0] + 1)  # in the record as in the packets
    return [next(at for last, at in frames if last >= n) - rig.sent[n] for n in numbers]


def _watch(url: str, gone: threading.Event) -> None:
    with (
        httpx.Client(base_url=url, timeout=60) as client,
        client.stream("GET", "/api/push/stream", params={"client": "v", "after": HISTORY}) as got,
    ):
        for _ in got.iter_lines():
            if gone.is_set():
                return


def push(folder: Path) -> None:
    """Print what a push costs."""
    path = folder / "page.job"
    rig = Rig(*history(path))
    sources = ("--source", rig.cone.address, "--depth-source", rig.depth.address)
    equipment = folder / "equipment.toml"
    equipment.write_text(f"[encoder]\nmetres_per_count = {PER_COUNT}\n")
    server = Server(path, *sources, "--sounding", SOUNDING, "--equipment", str(equipment))
    client = httpx.Client(base_url=server.url, headers={"x-client": "bench"}, timeout=60)
    until(lambda: rig.cone.peer and rig.depth.peer, 20.0, "the server at both boxes")
    rig.begin()
    client.post("/api/push/start", json={"by": "bench"})
    client.delete("/api/push/control")
    until(lambda: client.get("/api/push/state").json()["row"] > HISTORY, 20.0, "new rows")
    with a_page() as page:
        kib, rows_kib, tracks, rows = first_page(page, server.url)
        page.wait_for_timeout(2000)
        times = latencies(page, rig, 40)
        page.evaluate("window.watching = false")  # a loop of ours: it draws each frame
        share = main_thread(page, 20)
        one = server.share(20)
        gone = threading.Event()
        for _ in range(9):
            threading.Thread(target=_watch, args=(server.url, gone), daemon=True).start()
        time.sleep(2)
        ten = server.share(20)
        gone.set()
        count = client.get("/api/push/state").json()["row"]
        rig.on.set()
        page.locator("#stale", has_text="No cone reading").wait_for()
        silence = time.time() - max(rig.sent.values()) / 1000
    client.close()
    server.stop()
    cut = statistics.quantiles(times, n=100)
    print(f"start of the server          {server.started:.1f} s, with {HISTORY} rows to read")
    print(f"first page on the wire       {kib:.0f} KiB (goal 300), and {rows_kib:.0f} KiB of rows")
    print(f"first track                  {tracks:.2f} s (goal 0.5), its rows at {rows:.2f} s")
    print(
        f"socket to frame, {len(times)} rows   p50 {cut[49]:.0f} ms, p99 {cut[98]:.0f} ms, "
        f"most {max(times):.0f} ms (goal p99 150)"
    )
    print(f"silence of the cone told     after {silence:.2f} s (goal 2)")
    print(f"main thread, 10 rows/s       {share:.1%} with {count} rows (goal 5 %)")
    print(f"server, 1 and 10 viewers     {one:.1%} and {ten:.1%} of a core")


def hours(folder: Path, rig_hours: float, speed: float) -> None:
    """Print the memory of server and page while the rig is pushed for hours."""
    path = job_at(folder / "hours.job")
    server = Server(path, "--source", f"rehearsal:HM-1?speed={speed:g}")
    client = httpx.Client(base_url=server.url, headers={"x-client": "bench"}, timeout=60)
    passed, number = 0.0, 0
    with a_page() as page:
        session = page.context.new_cdp_session(page)
        session.send("HeapProfiler.enable")
        session.send("Performance.enable")
        page.goto(f"{server.url}/push")
        print(f"{'rig [h]':>8} {'sounding':>9} {'rows':>6} {'server [MB]':>12} {'page [MB]':>10}")
        while passed < 3600 * rig_hours:
            number += 1
            client.post("/api/push/record", json={"by": "bench", "sounding": f"M-{number}"})
            client.post("/api/push/start", json={"by": "bench"})
            begun, row = time.monotonic(), -1
            while True:
                page.wait_for_timeout(5000)
                now = client.get("/api/push/state").json()["row"]
                if now == row and now > 0:
                    break
                row = now
            passed += (time.monotonic() - begun - 5) * speed
            client.post("/api/push/stop", json={"by": "bench"})
            page.wait_for_timeout(3000)
            session.send("HeapProfiler.collectGarbage")
            found = session.send("Performance.getMetrics")["metrics"]
            heap = next(float(m["value"]) for m in found if m["name"] == "JSHeapUsedSize")
            print(
                f"{passed / 3600:>8.2f} {f'M-{number}':>9} {row:>6} {server.memory():>12.0f} "
                f"{heap / 1e6:>10.1f}",
                flush=True,
            )
    client.close()
    server.stop()


def main() -> None:
    """Print what was measured."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=0.0, help="of rig time, for the memory")
    parser.add_argument("--speed", type=float, default=30.0, help="times the pace of the rig")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        if options.hours:
            hours(Path(folder), options.hours, options.speed)
        else:
            push(Path(folder))


if __name__ == "__main__":
    main()

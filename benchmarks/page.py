"""The push page in a real browser: first page, latency, main thread, viewers, memory.

usage: python benchmarks/page.py [--minutes N]

Needs Chromium and playwright. Twenty thousand rows of history are pushed first, then ten rows a
second come. Latency is from the moment a reading is handed to the recorder to the frame after its
depth stands on the page, with the clocks of one machine.
"""

# ruff: noqa: E402
from __future__ import annotations

import argparse
import resource
import shutil
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

import httpx
from playwright.sync_api import Page, sync_playwright

from pushproof.web.access import Access
from pushproof.web.app import create_app
from web.conftest import FLAGS, serve_app
from web.pushing import Feeder, job_at


def chromium() -> str:
    """Return the browser of the machine."""
    found = shutil.which("chromium") or shutil.which("google-chrome")
    if found is None:
        raise SystemExit("no Chromium on this machine")
    return found


def first_page(page: Page, url: str) -> tuple[float, float]:
    """Return bytes of the first load [KiB] and time until numbers stand [s]."""
    sizes: list[int] = []
    page.on("response", lambda answer: sizes.append(_size(answer)))
    start = time.perf_counter()
    page.goto(f"{url}/push", wait_until="commit")
    page.locator("canvas").first.wait_for()
    return sum(sizes) / 1024, time.perf_counter() - start


def _size(answer: object) -> int:
    try:
        return int(answer.headers.get("content-length", "0"))  # type: ignore[attr-defined]
    except ValueError:
        return 0


def main_thread(page: Page, seconds: float) -> float:
    """Return the share of the main thread that is busy."""
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable")

    def busy() -> float:
        found = session.send("Performance.getMetrics")["metrics"]
        return next(m["value"] for m in found if m["name"] == "TaskDuration")

    before, start = busy(), time.perf_counter()
    time.sleep(seconds)
    return (busy() - before) / (time.perf_counter() - start)


def latencies(page: Page, feeder: Feeder, count: int) -> list[float]:
    """Return the times from a reading to the frame that shows its depth [ms]."""
    page.evaluate(
        """() => {
          window.shownAt = [];
          const place = document.body;
          new MutationObserver(() => requestAnimationFrame(() => {
            window.shownAt.push(Date.now());
          })).observe(place, {subtree: true, childList: true, characterData: true});
        }"""
    )
    found = []
    for _ in range(count):
        given = time.time() * 1000
        feeder.push(0.02)
        time.sleep(0.45)
        shown = page.evaluate("at => window.shownAt.find((t) => t >= at)", given)
        if shown:
            found.append(shown - given)
    return found


def main() -> None:
    """Print what was measured."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=1.0, help="of streaming for the memory")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        path = job_at(Path(folder) / "page.job")
        feeder = Feeder(path)
        served = serve_app(create_app(path, station=feeder.station, access=Access()))
        browser = playwright.chromium.launch(executable_path=chromium(), args=FLAGS)
        page = browser.new_page(viewport={"width": 1280, "height": 800}, bypass_csp=True)
        client = httpx.Client(base_url=served.url, headers={"x-client": "bench"}, timeout=30)
        client.post("/api/push/record", json={"by": "bench", "sounding": "B-1"})
        client.post("/api/push/start", json={"by": "bench"})
        for step in range(1, 21):  # in parts, so that the guard keeps up
            feeder.push(10.0)
            while client.get("/api/push/state").json()["row"] < 1000 * step:
                time.sleep(0.2)
        kib, first = first_page(page, served.url)
        times = latencies(page, feeder, 60)
        stop = threading.Event()

        def ten_a_second() -> None:
            while not stop.is_set():
                feeder.push(0.01)
                time.sleep(0.1)

        threading.Thread(target=ten_a_second, daemon=True).start()
        share = main_thread(page, 10)
        one = _cpu(6)
        gone = threading.Event()
        for _ in range(9):
            threading.Thread(target=_watch, args=(served.url, gone), daemon=True).start()
        time.sleep(2)
        ten = _cpu(6)
        gone.set()
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        time.sleep(60 * options.minutes)
        after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        stop.set()
        rows = client.get("/api/push/state").json()["row"]
        browser.close()
        served.stop()
        feeder.station.stop()
    cut = statistics.quantiles(times, n=100)
    print(f"rows of history              {rows}")
    print(f"first page                   {kib:.0f} KiB (goal 300), {first:.2f} s to the tracks")
    print(f"reading to frame             p50 {cut[49]:.0f} ms, p99 {cut[98]:.0f} ms (goal 150)")
    print(f"main thread, 10 rows/s       {share:.1%} (goal 5 %)")
    print(f"process, 1 viewer            {one:.0%} of a core, 10 viewers {ten:.0%}")
    print(f"peak memory over {options.minutes:g} min       {before:.0f} to {after:.0f} MB")


def _cpu(seconds: float) -> float:
    before, start = time.process_time(), time.perf_counter()
    time.sleep(seconds)
    return (time.process_time() - before) / (time.perf_counter() - start)


def _watch(url: str, gone: threading.Event) -> None:
    with (
        httpx.Client(base_url=url, timeout=60) as client,
        client.stream("GET", "/api/push/stream", params={"client": "v"}) as answer,
    ):
        for _ in answer.iter_lines():
            if gone.is_set():
                return


if __name__ == "__main__":
    main()

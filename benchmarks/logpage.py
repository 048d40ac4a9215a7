"""The log page: what goes over the wire, what a redraw costs, and the share of the main thread.

Run it with ``python benchmarks/logpage.py``. The server side is measured against sending every row
of every column as plain JSON, the browser side against drawing every row of every curve at every
change, which is what a plain canvas or a plotting stack does. It needs a Chromium for the second
part and says so where there is none.
"""

from __future__ import annotations

import gzip
import json
import shutil
import statistics
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from pushproof.model.recipe import Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding
from pushproof.web.logdocument import Log, make_log
from pushproof.web.logtracks import page_tracks
from pushproof.web.logwindow import log_window
from pushproof.web.numbers import dumps

STATIC = Path(__file__).parents[1] / "src/pushproof/web/static"
ROWS = 15_000
TRACKS = ("cone", "sleeve", "ratio", "pore", "blows", "soil")
PIXELS = 700
HISTORY = 20_000
PAGE = """<!doctype html><meta charset="utf-8"><link rel="stylesheet"
href="/static/tracks/tracks.css"><style>main { position: absolute; inset: 0; }</style><main></main>
<script type="module">
import { DepthTracks } from "/static/tracks/depth-tracks.js";
import { Rows } from "/static/tracks/rows.js";
const keys = ["qc", "fs", "u2", "tilt", "rate", "link_level"];
const view = new DepthTracks(document.querySelector("main"), { words: (key) => key });
view.setTracks(keys.map((key) => ({ name: key, title: key, unit: "-", kind: "curves",
  scale: { low: 0, high: 100, step: 20 },
  curves: [{ key, column: key, text: key, look: "measured", width: 1.8 }] })));
const rows = new Rows(keys);
const block = (from, count, step) => { const made = { depth: [] };
  for (const key of keys) made[key] = [];
  for (let k = 0; k < count; k += 1) { const z = from + step * (k + 1); made.depth.push(z);
    keys.forEach((key, j) => made[key].push(50 + 40 * Math.sin(z * (3 + j)) + 4 * Math.random()));
  } return made; };
view.setSource({ strip: (top, base, perPixel) => rows.strip(top, base, perPixel) });
Object.assign(window, { view, rows, block, keys, ready: true });
</script>"""
NAIVE = """() => { const { axis } = view; const ctx = view.canvas.getContext("2d");
  const begun = performance.now(); const n = rows.length;
  ctx.setTransform(view.density, 0, 0, view.density, 0, 0);
  ctx.fillStyle = "#fff"; ctx.fillRect(0, 0, view.canvas.width, view.canvas.height);
  ctx.strokeStyle = "#12436b"; ctx.lineWidth = 1.8;
  for (const track of view.tracks) { const values = rows.values.get(track.name); ctx.beginPath();
    for (let k = 0; k < n; k += 1) ctx.lineTo(
      track.scale.place(values[k], track.box.left, track.box.right), axis.y(rows.depth[k]));
    ctx.stroke(); }
  ctx.getImageData(0, 0, 1, 1); return performance.now() - begun; }"""
OURS = """() => { const begun = performance.now(); view.dirty = null; window.paint(view, null);
  view.canvas.getContext("2d").getImageData(0, 0, 1, 1); return performance.now() - begun; }"""


def long_log() -> Log:
    """Return the log of an invented sounding of many rows."""
    rng = np.random.default_rng(5)
    z = np.arange(1, ROWS + 1) * 0.004
    soft = 0.5 + 0.5 * np.sin(z / 2.3)
    columns = {
        "length": z,
        "qc": 600 + 9000 * soft**3 + rng.normal(0, 60, ROWS),
        "fs": 15 + 60 * soft**2 + rng.normal(0, 1.5, ROWS),
        "u2": 9.8 * z + 200 * (1 - soft) + rng.normal(0, 4, ROWS),
    }
    return make_log(Sounding("LONG", Series(columns)), Recipe(area_ratio=0.8, water_level=1.0))


def median(work: Callable[[], Any], repeats: int = 9) -> float:
    """Return the median time of a call [ms]."""
    taken = []
    for _ in range(repeats):
        begun = time.perf_counter()
        work()
        taken.append(1000 * (time.perf_counter() - begun))
    return statistics.median(taken)


def server() -> None:
    """Time and size of one window, against all rows as they are."""
    log = long_log()
    columns = {k: v for t in page_tracks(log.interpretation, TRACKS) for k, v in t.columns.items()}

    def full() -> bytes:
        plain = {k: [None if np.isnan(x) else x for x in v.tolist()] for k, v in columns.items()}
        return json.dumps(plain | {"depth": log.depth.tolist()}).encode()

    def part(top: float, base: float) -> bytes:
        return dumps(log_window(log, TRACKS, top, base, PIXELS))

    print(f"server: {ROWS} rows, {len(columns)} curves and the soil column, {PIXELS} pixel rows")
    print(f"{'':34}{'time':>10}{'bytes':>12}{'gzip':>12}{'ratio':>9}")
    naive = full()
    rows = [("every row as JSON (baseline)", median(full, 5), naive)]
    low, high = log.ends
    for words, top, base in (
        ("whole sounding", low, high),
        ("a tenth of it", 20.0, 20.0 + (high - low) / 10),
        ("one metre", 20.0, 21.0),
    ):
        rows.append((words, median(lambda t=top, b=base: part(t, b)), part(top, base)))
    for words, taken, body in rows:
        ratio = len(naive) / len(body)
        zipped = len(gzip.compress(body, 5))
        print(f"{words:34}{taken:8.1f} ms{len(body):12,}{zipped:12,}{ratio:8.1f}x")


def browser() -> None:
    """Time of a redraw, and share of the main thread while rows stream in."""
    path = next((p for n in ("chromium", "google-chrome") if (p := shutil.which(n))), None)
    if path is None:
        print("browser: no Chromium on this machine; not measured")
        return
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        page = running.new_page(viewport={"width": 1280, "height": 800})
        page.route("**/*", _serve)
        page.goto("http://tracks.test/")
        page.wait_for_function("window.ready === true")
        page.evaluate(
            "async () => { window.paint = (await import('/static/tracks/paint.js')).paintBody; }"
        )
        _redraws(page)
        _streaming(page)
        running.close()


def _serve(route: Any) -> None:
    path = route.request.url.removeprefix("http://tracks.test")
    if path == "/":
        route.fulfill(body=PAGE, content_type="text/html")
        return
    file = STATIC / path.removeprefix("/static/")
    kind = "text/css" if file.suffix == ".css" else "text/javascript"
    route.fulfill(**({"path": file, "content_type": kind} if file.is_file() else {"status": 204}))


def _redraws(page: Any) -> None:
    page.evaluate(
        f"rows.append(block(0, {ROWS}, 0.004)); view.axis.setEnds(0, {ROWS * 0.004});"
        "view.axis.showAll();"
    )
    page.wait_for_timeout(300)
    naive = statistics.median(page.evaluate(NAIVE) for _ in range(9))
    whole = statistics.median(page.evaluate(OURS) for _ in range(9))
    page.evaluate("view.axis.show(20, 26)")
    page.wait_for_timeout(200)
    tenth = statistics.median(page.evaluate(OURS) for _ in range(9))
    print(f"\nbrowser: one redraw of {ROWS} rows in 6 tracks at 1280 x 800, with the drawing done")
    print(f"{'every row (baseline)':34}{naive:8.1f} ms")
    print(f"{'whole sounding':34}{whole:8.1f} ms{naive / whole:8.1f}x")
    print(f"{'a tenth of it':34}{tenth:8.1f} ms{naive / tenth:8.1f}x")


def _streaming(page: Any) -> None:
    """Add ten rows a second to a long history, and read the CPU time of the main thread."""
    add = "rows.append(block(rows.last, 1, 0.002))"
    print(
        f"\nbrowser: CPU share of the main thread at 10 rows/s, 6 tracks, {HISTORY} rows of history"
    )
    page.evaluate(
        f"rows.append(block(rows.last, {HISTORY - ROWS}, 0.004));"
        "view.axis.setEnds(0, 90); view.axis.show(0, 90);"
    )
    shares = {}
    for words, script in (
        ("nothing added (idle)", "() => 0"),
        ("every row (baseline)", f"() => {{ {add}; requestAnimationFrame(window.naive); }}"),
        ("whole redraw by these tracks", f"() => {{ {add}; view.invalidate(); }}"),
        ("only the new strip", f"() => view.extend({add})"),
    ):
        page.evaluate(f"window.naive = {NAIVE.replace('ctx.getImageData(0, 0, 1, 1);', '')}")
        shares[words] = _share(page, script)
    base = shares["every row (baseline)"]
    for words, share in shares.items():
        print(f"{words:34}{100 * share:8.2f} %{base / max(share, 1e-6):8.1f}x")


def _share(page: Any, script: str, seconds: float = 6.0) -> float:
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable", {"timeDomain": "threadTicks"})

    def busy() -> float:
        found = session.send("Performance.getMetrics")["metrics"]
        return float(next(one["value"] for one in found if one["name"] == "TaskDuration"))

    page.evaluate(f"() => {{ window.timer = setInterval({script}, 100); }}")
    page.wait_for_timeout(500)
    before, begun = busy(), time.perf_counter()
    page.wait_for_timeout(1000 * seconds)
    share = (busy() - before) / (time.perf_counter() - begun)
    page.evaluate("clearInterval(window.timer)")
    return share


if __name__ == "__main__":
    server()
    browser()

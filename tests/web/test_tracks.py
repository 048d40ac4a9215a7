"""The depth tracks in a real browser, alone: no server, no other page."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pushproof.report import looks, scales, soil
from pushproof.testing.samples import sample
from web.tracks import Bare, Log, log_data, make

ROOT = Path(__file__).parents[2]
STATIC = ROOT / "src/pushproof/web/static/tracks"

browser_test = pytest.mark.browser


@pytest.fixture
def bare(browser: Any) -> Iterator[Bare]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, has_touch=True)
    made = Bare(context.new_page())
    yield made
    assert made.errors == []
    assert made.refused == [], "a request to the outside"
    context.close()


@pytest.fixture(scope="module")
def log() -> Log:
    return make(sample("clay-over-sand"))


LIVE = [
    {
        "name": name,
        "title": name,
        "unit": "kPa",
        "scale": {"low": 0, "high": 100, "step": 20},
        "curves": [{"key": name, "column": name, "text": name, "look": "measured", "width": 1.8}],
    }
    for name in ("qc", "fs", "u2", "tilt", "rate", "link_level")
]
KEYS = [track["name"] for track in LIVE]


def block(start: float, count: int, step: float = 0.02) -> dict[str, list[float]]:
    depth = start + step * np.arange(1, count + 1)
    made = {key: (50 + 40 * np.sin(depth * (3 + k))).tolist() for k, key in enumerate(KEYS)}
    return {"depth": depth.tolist(), **made}


def pixels(bare: Bare) -> Any:
    """Return the canvas as one number for each pixel."""
    return bare.page.evaluate(
        """() => { const c = view.canvas; const d = c.getContext('2d')
        .getImageData(0, 0, c.width, c.height).data; return Array.from(new Uint32Array(d.buffer));
        }"""
    )


def test_the_ramp_of_the_page_is_that_of_the_sheets() -> None:
    sys.path.insert(0, str(ROOT / "scripts"))
    try:
        import make_soil_ramp
    finally:
        sys.path.pop(0)
    assert (STATIC / "soil-ramp.js").read_text(encoding="utf-8") == make_soil_ramp.module()
    assert soil.soil_hex(soil.IC_LOW) in make_soil_ramp.module()


def test_the_light_theme_has_the_colours_of_the_sheets() -> None:
    light = (STATIC / "tracks.css").read_text(encoding="utf-8").split('[data-theme="dark"]')[0]
    wanted = {
        "ink": looks.INK,
        "soft-ink": looks.SOFT_INK,
        "measured": looks.MEASURED,
        "measured-fill": looks.MEASURED_FILL,
        "ratio": looks.RATIO,
        "pore": looks.PORE,
        "water": looks.WATER,
        "caution": looks.CAUTION,
        "stop": looks.STOP,
        "grid": looks.GRID,
    }
    for name, colour in wanted.items():
        assert f"--track-{name}: {colour.lower()};" in light


def _contrast(one: str, other: str) -> float:
    """Contrast of two colours by WCAG 2.1 (relative luminance, verified)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("theme", [0, 1])
def test_text_on_the_tracks_has_contrast(theme: int) -> None:
    text = (STATIC / "tracks.css").read_text(encoding="utf-8").split('[data-theme="dark"]')[theme]
    colours = dict(re.findall(r"--track-([a-z-]+): (#[0-9a-f]{6});", text))
    assert _contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)
    for name in ("ink", "soft-ink", "measured", "ratio", "pore", "blows", "water", "caution"):
        assert _contrast(colours[name], colours["paper"]) >= 4.5, name
    for name in ("stop", "info", "overlay"):
        assert _contrast(colours[name], colours["paper"]) >= 4.5, name


def test_no_track_file_asks_for_anything_outside() -> None:
    files = sorted(STATIC.glob("*.js"))
    assert len(files) > 8
    for file in files:
        text = file.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http" not in text, file.name
        assert len(text.splitlines()) <= 500, file.name


@browser_test
def test_a_log_is_drawn_in_both_themes(bare: Bare, log: Log) -> None:
    bare.show(log_data(log))
    light = pixels(bare)
    assert len(set(light)) > 60, "hardly anything was drawn"
    heads = bare.page.locator(".track-title").all_inner_texts()
    assert "Cone resistance" in heads
    assert "Soil behaviour" in heads
    bare.theme("dark")
    dark = pixels(bare)
    changed = sum(a != b for a, b in zip(light, dark, strict=True))
    assert changed > 0.9 * len(light)


@browser_test
def test_axes_end_where_those_of_the_sheets_end(bare: Bare) -> None:
    values = [0.3, 0.7, 1.0, 1.2, 4.1, 7.3, 17.2, 31.0, 99.9, 100.0, 240.0, 0.0, 8.0]
    found = bare.page.evaluate(
        """async (values) => { const m = await import('/static/tracks/value-axis.js');
        return values.map((v) => { const a = m.axisFor(v); return [a.high, a.step]; }); }""",
        values,
    )
    for value, (high, step) in zip(values, found, strict=True):
        wanted = scales.positive_scale([np.array([value])], least=1e-9)
        end = scales.axis_end(value)
        assert high == pytest.approx(end)
        if value > 0:
            assert (high, step) == pytest.approx((wanted.high, wanted.step))


@browser_test
def test_rows_that_stream_in_give_the_same_picture_as_rows_at_once(bare: Bare) -> None:
    bare.page.evaluate("([t, k]) => startLive(t, k, 10)", [LIVE, KEYS])
    for start in np.arange(0, 6, 0.2):
        bare.page.evaluate("b => addRows(b)", block(float(start), 10))
        bare.settle()
    strips = bare.page.evaluate("view.stats.strips")
    assert strips >= 25, "new rows should draw only their own strip"
    streamed = pixels(bare)
    bare.page.evaluate("view.invalidate()")
    bare.settle()
    whole = pixels(bare)
    different = sum(a != b for a, b in zip(streamed, whole, strict=True))
    assert different < 0.002 * len(whole), f"{different} pixels differ"


@browser_test
def test_a_missing_stretch_is_not_bridged(bare: Bare) -> None:
    rows = block(0.0, 400)
    rows["qc"] = [None if 3 < z < 5 else v for z, v in zip(rows["depth"], rows["qc"], strict=True)]
    bare.page.evaluate("([t, k]) => startLive(t, k, 8)", [LIVE[:1], KEYS[:1]])
    bare.page.evaluate(
        "b => addRows({ ...b, qc: b.qc.map((v) => v === null ? NaN : v) })",
        {"depth": rows["depth"], "qc": rows["qc"]},
    )
    bare.settle()
    inked = bare.page.evaluate(
        """() => { const { left, right } = view.tracks[0].box; const d = view.density;
        const c = view.canvas.getContext('2d');
        const count = (z0, z1) => { const y = Math.round(view.axis.y(z0) * d);
          const h = Math.round(view.axis.y(z1) * d) - y;
          const p = c.getImageData((left + 2) * d, y, (right - left - 4) * d, h).data;
          let n = 0; for (let k = 0; k < p.length; k += 4) if (p[k] < 60 && p[k + 2] > 80) n += 1;
          return n; };
        return [count(1, 2.8), count(3.1, 4.9)]; }"""
    )
    assert inked[0] > 200
    assert inked[1] == 0


@browser_test
def test_zoom_keeps_the_depth_under_the_pointer(bare: Bare, log: Log) -> None:
    bare.show(log_data(log))
    box = bare.page.locator(".track-cursor").bounding_box()
    bare.page.mouse.move(box["x"] + 300, box["y"] + 200)
    before = bare.page.evaluate("view.axis.depth(200)")
    bare.page.keyboard.down("Control")
    bare.page.mouse.wheel(0, -240)
    bare.page.keyboard.up("Control")
    bare.settle()
    assert bare.page.evaluate("view.axis.depth(200)") == pytest.approx(before, abs=0.02)
    span = bare.page.evaluate("view.axis.span")
    assert span < 15
    bare.page.mouse.wheel(0, 120)
    bare.settle()
    after = bare.page.evaluate("[view.axis.depth(200), view.axis.span]")
    assert after[0] > before
    assert after[1] == pytest.approx(span)


@browser_test
def test_keys_move_the_cursor_and_the_window(bare: Bare, log: Log) -> None:
    bare.page.evaluate("window.readAt = (z) => ({ depth: z, values: {}, says: `at ${z}` })")
    bare.show(log_data(log))
    cursor = bare.page.locator(".track-cursor")
    cursor.focus()
    bare.page.keyboard.press("Home")
    bare.settle()
    assert float(cursor.get_attribute("aria-valuenow")) == pytest.approx(0, abs=0.01)
    bare.page.keyboard.press("ArrowDown")
    bare.settle()
    assert float(cursor.get_attribute("aria-valuenow")) > 0.01
    assert cursor.get_attribute("aria-valuetext").startswith("at ")
    whole = bare.page.evaluate("view.axis.span")
    for _ in range(4):
        bare.page.keyboard.press("+")
    bare.settle()
    assert bare.page.evaluate("view.axis.span") < whole / 2
    bare.page.keyboard.press("PageDown")
    bare.settle()
    assert bare.page.evaluate("view.axis.top") > 0
    bare.page.keyboard.press("0")
    bare.settle()
    assert bare.page.evaluate("view.axis.span") == pytest.approx(whole, rel=0.01)


def _touch(session: Any, kind: str, *points: tuple[float, float]) -> None:
    session.send(
        "Input.dispatchTouchEvent",
        {
            "type": kind,
            "touchPoints": [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(points)],
        },
    )


@browser_test
def test_two_fingers_zoom_and_one_pans(bare: Bare, log: Log) -> None:
    bare.show(log_data(log))
    bare.page.evaluate("view.axis.show(5, 15)")
    bare.settle()
    box = bare.page.locator(".track-cursor").bounding_box()
    x, y = box["x"] + 400, box["y"] + 300
    session = bare.page.context.new_cdp_session(bare.page)
    _touch(session, "touchStart", (x, y - 40), (x, y + 40))
    for spread in (60, 80, 100, 120):
        _touch(session, "touchMove", (x, y - spread), (x, y + spread))
    _touch(session, "touchEnd")
    bare.settle()
    assert bare.page.evaluate("view.axis.span") == pytest.approx(10 / 3, rel=0.1)
    top = bare.page.evaluate("view.axis.top")
    _touch(session, "touchStart", (x, y))
    for down in (20, 60, 100):
        _touch(session, "touchMove", (x, y - down))
    _touch(session, "touchEnd")
    bare.settle()
    moved = bare.page.evaluate("view.axis.top") - top
    assert moved == pytest.approx(100 * bare.page.evaluate("view.axis.perPixel"), rel=0.1)


def _streaming(bare: Bare) -> None:
    """Show boundaries, and let rows stream in all the while."""
    bare.page.evaluate("([t, k]) => startLive(t, k, 10)", [LIVE, KEYS])
    bare.page.evaluate("b => addRows(b)", block(0.0, 200))
    bare.page.evaluate("view.setBoundaries([2, 4, 6.5])")
    bare.page.evaluate(
        """() => { let z = 4; window.streamed = 0; setInterval(() => { z += 0.01;
        addRows({ depth: [z], qc: [40], fs: [30], u2: [20], tilt: [1], rate: [20],
        link_level: [50] }); window.streamed += 1; }, 20); }"""
    )
    bare.settle()


def _grip(bare: Bare, index: int) -> tuple[float, float]:
    box = bare.page.locator(".boundary").nth(index).bounding_box()
    assert box["height"] >= 44
    assert box["width"] >= 44
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


@browser_test
def test_a_boundary_is_dragged_by_mouse_while_rows_stream(bare: Bare) -> None:
    _streaming(bare)
    x, y = _grip(bare, 1)
    bare.page.mouse.move(x, y)
    bare.page.mouse.down()
    for step in range(1, 11):
        bare.page.mouse.move(x, y + 6 * step)
        bare.page.wait_for_timeout(15)
    bare.page.mouse.up()
    ((index, before, after),) = bare.page.evaluate("told.boundaries")
    assert (index, before) == (1, 4)
    assert after == pytest.approx(4 + 60 * bare.page.evaluate("view.axis.perPixel"), abs=0.02)
    assert bare.page.evaluate("window.streamed") > 5


@browser_test
@pytest.mark.parametrize("off", [0, 12, -12])
def test_a_boundary_is_dragged_by_a_finger_that_lands_beside_it(bare: Bare, off: int) -> None:
    _streaming(bare)
    x, y = _grip(bare, 1)
    session = bare.page.context.new_cdp_session(bare.page)
    _touch(session, "touchStart", (x, y + off))
    for step in range(1, 9):
        _touch(session, "touchMove", (x, y + off - 5 * step))
        bare.page.wait_for_timeout(15)
    _touch(session, "touchEnd")
    bare.settle()
    ((index, before, after),) = bare.page.evaluate("told.boundaries")
    assert (index, before) == (1, 4)
    assert after == pytest.approx(4 - 40 * bare.page.evaluate("view.axis.perPixel"), abs=0.02)


@browser_test
def test_a_boundary_stops_at_its_neighbour_and_moves_by_keys(bare: Bare) -> None:
    _streaming(bare)
    handle = bare.page.locator(".boundary").nth(1)
    handle.focus()
    bare.page.keyboard.press("ArrowDown")
    bare.page.keyboard.press("Shift+ArrowDown")
    assert handle.get_attribute("aria-valuenow") == "4.11"
    bare.page.keyboard.press("PageDown")
    assert handle.get_attribute("aria-valuenow") == "4.61"
    x, y = _grip(bare, 1)
    bare.page.mouse.move(x, y)
    bare.page.mouse.down()
    bare.page.mouse.move(x, y - 500, steps=5)
    bare.page.mouse.up()
    assert handle.get_attribute("aria-valuenow") == "2.02"
    assert [k for k, _, _ in bare.page.evaluate("told.boundaries")] == [1, 1, 1, 1]


@browser_test
def test_the_window_follows_the_tip_until_it_is_held(bare: Bare) -> None:
    bare.page.evaluate("([t, k]) => startLive(t, k, 5)", [LIVE, KEYS])
    bare.page.evaluate("view.axis.show(0, 3); view.follow(true, 0)")
    for start in np.arange(0, 8, 0.5):
        bare.page.evaluate("b => addRows(b)", block(float(start), 25))
    bare.settle()
    top, base = bare.page.evaluate("[view.axis.top, view.axis.base]")
    assert top < 8 <= base
    box = bare.page.locator(".track-cursor").bounding_box()
    bare.page.mouse.move(box["x"] + 300, box["y"] + 300)
    bare.page.mouse.wheel(0, -200)
    bare.page.evaluate("b => addRows(b)", block(8.0, 200))
    bare.settle()
    assert bare.page.evaluate("view.axis.base") < base
    assert bare.page.evaluate("told.follow.at(-1)") is False


@browser_test
def test_an_interval_is_marked_by_dragging(bare: Bare, log: Log) -> None:
    bare.show(log_data(log))
    bare.page.evaluate("view.axis.show(0, 20); view.mark(true)")
    bare.settle()
    box = bare.page.locator(".track-cursor").bounding_box()
    top, base = bare.page.evaluate("[view.axis.y(4), view.axis.y(6)]")
    bare.page.mouse.move(box["x"] + 300, box["y"] + base)
    bare.page.mouse.down()
    bare.page.mouse.move(box["x"] + 300, box["y"] + top, steps=4)
    bare.page.mouse.up()
    ((a, b),) = bare.page.evaluate("told.marks")
    assert (a, b) == pytest.approx((4, 6), abs=0.05)
    assert bare.page.evaluate("view.axis.top") == pytest.approx(0, abs=0.1), "it must not pan"


@browser_test
def test_a_finding_on_the_rail_is_picked_by_its_sign(bare: Bare, log: Log) -> None:
    data = log_data(log)
    bare.show(data)
    y = bare.page.evaluate(
        """() => import('/static/tracks/rail.js').then((m) =>
        m.signs(view.layout.rail.findings, view.axis)[0].y)"""
    )
    box = bare.page.locator(".track-cursor").bounding_box()
    bare.page.mouse.click(box["x"] + 46 + 44, box["y"] + y)
    (numbers,) = bare.page.evaluate("told.findings")
    placed = {f["number"] for f in data["document"]["rail"]["findings"] if f["top"] is not None}
    assert set(numbers) <= placed
    assert numbers

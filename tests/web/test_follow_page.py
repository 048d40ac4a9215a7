"""Pages that look at a sounding while it is pushed, in a real browser."""

from __future__ import annotations

import os
import re
import time
from pathlib import Path
from typing import Any

import pytest

from web.fingers import Fingers
from web.pushing import Feeder, Recording, job_at, rehearsal, until

pytestmark = pytest.mark.browser


@pytest.fixture
def feeder(tmp_path: Path) -> Feeder:
    return Feeder(job_at(tmp_path / "site.job"))


def pushing(serve: Any, feeder: Feeder, sounding: str = "A-1") -> Any:
    """Serve a push that has begun."""
    served = serve(feeder.station.path, station=feeder.station)
    client = served.client(headers={"x-client": "cab"})
    for key, body in (("record", {"sounding": sounding}), ("start", {})):
        assert client.post(f"/api/push/{key}", json=body).status_code == 200
    return served


def test_the_start_page_tells_a_push_from_its_first_moment(
    serve: Any, feeder: Feeder, page: Any
) -> None:
    from playwright.sync_api import expect

    served = pushing(serve, feeder)
    page.goto(f"{served.url}/")
    state = page.locator("#soundings .state")
    expect(state).to_have_text("being pushed, no readings yet")
    expect(page.locator("#soundings .depth")).to_have_text("–")
    feeder.push(0.5, end=0.1)
    expect(page.locator("#soundings .depth")).to_have_text(re.compile(r"0\.(4|5)\d"), timeout=9000)
    expect(state).to_contain_text("being pushed")
    expect(state).not_to_contain_text("no readings yet")
    served.client(headers={"x-client": "cab"}).post("/api/push/stop", json={})
    expect(state).not_to_contain_text("being pushed", timeout=9000)


SPEED = 12.0
"""How much faster than in truth the rehearsals are pushed: a metre in some four seconds."""


@pytest.fixture
def rig(serve: Any, tmp_path: Path) -> Any:
    """A server that pushes a rehearsal of twenty metres."""
    station = rehearsal(job_at(tmp_path / "site.job"), "HM-1", speed=SPEED)
    served = serve(station.path, station=station)
    client = served.client(headers={"x-client": "cab"})
    for key, body in (("record", {"sounding": "A-1"}), ("start", {})):
        assert client.post(f"/api/push/{key}", json=body).status_code == 200
    return served


class LogPage:
    """The log page of what is being pushed."""

    def __init__(self, page: Any, served: Any, sounding: str = "A-1") -> None:
        self.page = page
        page.goto(f"{served.url}/log?s={sounding}")
        page.locator("body[data-ready=true]").wait_for()
        page.evaluate("window.same = true")

    def ask(self, words: str) -> Any:
        return self.page.evaluate(words)

    @property
    def rows(self) -> int:
        """Rows that the log has."""
        return int(self.ask("logPage.log.rows"))

    @property
    def drawn(self) -> float:
        """The deepest row that the tracks draw [m]."""
        return float(self.ask("(logPage.source.have?.strip.depth ?? [0]).at(-1) ?? 0"))

    @property
    def window(self) -> list[float]:
        found = self.ask("[logPage.view.axis.top, logPage.view.axis.base]")
        return [float(one) for one in found]

    @property
    def handle(self) -> float:
        """Depth of the first boundary [m]."""
        return float(self.page.locator(".boundary").first.get_attribute("aria-valuenow"))

    def until(self, true: Any, seconds: float = 30.0) -> Any:
        end = time.monotonic() + seconds
        while not (found := true()):
            assert time.monotonic() < end, f"not within {seconds} s"
            self.page.wait_for_timeout(100)
        return found

    def grows(self, times: int = 2, *, in_sight: bool = True) -> None:
        """Wait until the page took in what is new so often, and drew it if it is in sight."""
        for _ in range(times):
            rows, drawn = self.rows, self.drawn
            self.until(lambda: self.rows > rows and (self.drawn > drawn or not in_sight))  # noqa: B023


def test_a_log_is_seen_to_grow_without_a_reload(rig: Any, page: Any) -> None:
    from playwright.sync_api import expect

    log = LogPage(page, rig)
    live = page.locator("#live")
    expect(live).to_contain_text("Being pushed")
    log.grows(3)
    expect(live).to_contain_text(re.compile(r"Being pushed to \d+\.\d\d m, as of \d+:\d\d:\d\d"))
    assert page.locator("#follow").get_attribute("aria-pressed") == "true"
    top, base = log.window
    assert top < log.drawn < base, "the tip is in sight"
    assert log.ask("logPage.view.layout.marks.end.words").startswith("tip at ")
    assert log.ask("window.same") is True, "the page was not loaded again"
    rig.client(headers={"x-client": "cab"}).post("/api/push/stop", json={})
    expect(live).to_contain_text("The push has ended at", timeout=12000)
    expect(page.locator("#follow")).to_be_hidden()
    log.until(lambda: log.ask("logPage.view.layout.marks.end.words").startswith("End of sounding"))


@pytest.mark.parametrize("hand", ["mouse", "finger", "finger 12 px beside"])
def test_a_boundary_is_dragged_while_rows_stream(rig: Any, browser: Any, hand: str) -> None:
    from web.conftest import opened

    size = {"width": 1280, "height": 800}
    with opened(browser, viewport=size, has_touch=hand != "mouse") as page:
        log = LogPage(page, rig)
        log.until(lambda: page.locator(".boundary:visible").count() > 0, 60.0)
        fingers = Fingers(page)
        off = 12 if "beside" in hand else 0
        box = page.locator(".boundary").first.bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2 + off
        if hand == "mouse":
            page.mouse.move(x, y)
            page.mouse.down()
        else:
            fingers.down((x, y))
        assert log.ask("logPage.view.busy") is True
        from_, window, rows, drawn = log.handle, log.window, log.rows, log.drawn
        per_pixel = (window[1] - window[0]) / log.ask("logPage.view.axis.height")
        steps = 0

        def drag() -> None:
            nonlocal steps
            steps += 1
            down = 40 * min(steps / 40, 1.0) + steps % 2
            if hand == "mouse":
                page.mouse.move(x, y + down)
            else:
                fingers.move((x, y + down))
            page.wait_for_timeout(30)  # fingers are told once a frame, and not for the first pixels
            if down > 20:
                assert log.handle == pytest.approx(from_ + down * per_pixel, abs=0.03)
            assert log.window == window, "the window stays under a hand"

        def grown() -> bool:
            drag()
            return steps > 40 and log.rows > rows and log.drawn > drawn

        log.until(grown)
        moved = log.handle
        assert log.ask("logPage.draft.dirty") is False
        if hand == "mouse":
            page.mouse.up()
        else:
            fingers.up()
        log.until(lambda: log.ask("logPage.draft.dirty && !logPage.working"))
        depths = "logPage.draft.document.layers.boundaries.map((one) => one.depth)"
        assert moved in log.ask(depths)
        log.grows()
        assert log.handle == moved
        assert log.ask("logPage.draft.changed.length") == 1
        page.watched.expected = ()


def test_what_a_reader_does_stays_while_the_log_grows(rig: Any, page: Any) -> None:
    log = LogPage(page, rig)
    log.until(lambda: log.drawn > 2 and page.locator(".boundary").count() > 0, 60.0)
    box = page.locator(".track-cursor").bounding_box()
    page.mouse.move(box["x"] + 300, box["y"] + 200)
    page.keyboard.down("Control")
    page.mouse.wheel(0, -200)
    page.keyboard.up("Control")
    assert page.locator("#follow").get_attribute("aria-pressed") == "false"
    page.fill("#cursor-depth", "1.20")
    page.keyboard.press("Enter")
    page.click("#tab-edits")
    page.fill("#setting-water_level", "2.5")
    page.keyboard.press("Tab")
    log.until(lambda: log.ask("logPage.draft.dirty && !logPage.working"))
    page.fill("#blank-reason", "half a thou")
    page.click("#tab-layers")
    edge = page.locator(".log-edge input:enabled").first
    edge.focus()
    page.keyboard.type("7")
    typed, edge = edge.input_value(), page.locator(f"#{log.ask('document.activeElement.id')}")
    assert "7" in typed
    window, recipe = log.window, log.ask("logPage.draft.recipe")
    depth = log.ask("logPage.view.reading.depth")
    log.grows(3, in_sight=False)
    assert log.window == window
    assert log.ask("logPage.view.reading.depth") == pytest.approx(depth, abs=0.02)
    assert log.ask("logPage.draft.recipe") == recipe
    assert page.locator("#blank-reason").input_value() == "half a thou"
    assert edge.input_value() == typed
    assert edge.evaluate("one => one === document.activeElement")
    assert log.ask("logPage.log.recipe") == recipe, "what grows is the draft"


def test_the_window_follows_the_tip_or_is_held(rig: Any, page: Any) -> None:
    log = LogPage(page, rig)
    follow = page.locator("#follow")
    log.until(lambda: log.drawn > 1.5)
    for _ in range(3):
        page.click("#zoom-in")
    assert follow.get_attribute("aria-pressed") == "true", "a key that zooms lets nothing go"
    span = log.window[1] - log.window[0]
    log.until(lambda: log.window[0] < log.drawn < log.window[1])
    first = log.window
    log.until(lambda: log.window[0] > first[0], 40.0)
    assert log.window[1] - log.window[0] == pytest.approx(span, rel=0.01)
    follow.click()
    assert follow.get_attribute("aria-pressed") == "false"
    held = log.window
    log.until(lambda: log.ask("logPage.log.high") > held[1] + 0.2, 40.0)
    assert log.window == held
    follow.click()
    log.until(lambda: log.window[0] < log.drawn < log.window[1])
    page.locator(".track-cursor").focus()
    page.keyboard.press("f")
    assert follow.get_attribute("aria-pressed") == "false"


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_a_push_of_another_program_is_followed_until_it_is_killed(
    serve: Any, page: Any, tmp_path: Path
) -> None:
    from playwright.sync_api import expect

    path = job_at(tmp_path / "site.job")
    served = serve(path)
    with Recording(path, speed=SPEED) as other:
        client = served.client()
        until(lambda: client.get("/api/soundings/B-1/log").status_code == 200)
        log = LogPage(page, served, "B-1")
        expect(page.locator("#live")).to_contain_text("recorded by another program")
        log.grows()
        other.kill()
        expect(page.locator("#live")).to_contain_text("The recording broke off at", timeout=5000)
    page.goto(f"{served.url}/")
    expect(page.locator("#soundings .state")).to_contain_text("recording broke off")


def test_a_log_that_is_not_refreshed_says_so(rig: Any, page: Any) -> None:
    from playwright.sync_api import expect

    page.watched.expected = ("ERR_", "Failed to load")
    log = LogPage(page, rig)
    log.grows()
    page.context.set_offline(True)
    live = page.locator("#live")
    expect(live).to_have_attribute("data-state", "old", timeout=8000)
    expect(live).to_contain_text(re.compile(r"Not refreshed to \d+\.\d\d m, for \d+ s"))
    page.context.set_offline(False)
    expect(live).to_have_attribute("data-state", "here", timeout=12000)
    log.grows()

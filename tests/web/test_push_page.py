"""A push through the page in a real browser: from the first zero to the end of the record.

What is drawn is compared with what is in the record: a page that lost its server, its network or
itself has each row of the record once and in order, as one that watched all the time.
"""

from __future__ import annotations

import re
import time
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from pushproof.store import Job, verify
from web.conftest import watch
from web.pushing import Feeder, job_at, rehearsal, until

pytestmark = pytest.mark.browser

DRAWN = """() => {
  if (!window.pushPage) return { last: -1 };
  const { stream, tracks } = window.pushPage;
  return {
    last: stream.last,
    gaps: stream.gaps,
    numbers: window.shownNumbers,
    depth: Array.from(tracks.rows.depth.slice(0, tracks.rows.length)),
  };
}"""
KEEP = """() => {
  const { stream } = window.pushPage;
  const rows = stream.told.rows;
  window.shownNumbers = [];
  stream.told.rows = (block) => { window.shownNumbers.push(...block.number); rows(block); };
}"""


class Push:
    """A served push, fed by hand."""

    def __init__(self, serve: Any, path: Path) -> None:
        self.serve, self.path = serve, job_at(path)
        self.feeder = Feeder(path)
        self.served = serve(path, station=self.feeder.station)
        self.client = self.served.client(headers={"x-client": "test"})

    @property
    def url(self) -> str:
        return f"{self.served.url}/push"

    def record(self, sounding: str = "A-1") -> None:
        """Record from the call, and leave control to whoever asks."""
        body = {"sounding": sounding, "by": "test"}
        assert self.client.post("/api/push/record", json=body).status_code == 200
        assert self.client.post("/api/push/start", json={"by": "test"}).status_code == 200
        self.client.delete("/api/push/control")

    def push(self, metres: float) -> None:
        self.feeder.push(metres)
        self.feeder.say()

    def again(self) -> None:
        """End the server, with its recording, and start it at the same port."""
        port = self.served.port
        self.served.stop()
        self.served = self.serve(self.path, station=self.feeder.station, port=port)
        self.client = self.served.client(headers={"x-client": "test"})

    def rows(self) -> dict[str, Any]:
        """All rows that the server gives."""
        found: dict[str, Any] = self.client.get("/api/push/rows", params={"most": 2000}).json()
        assert not found["more"]
        return found

    def stored(self) -> list[int]:
        with Job.open(self.path) as job:
            return [one.number for one in job.messages("A-1", "cone")]


@pytest.fixture
def push(serve: Any, tmp_path: Path) -> Push:
    return Push(serve, tmp_path / "site.job")


def drawn(page: Any, rows: int) -> Any:
    """Wait until a page has the row of a number."""
    until(lambda: page.evaluate(DRAWN)["last"] >= rows, 12.0, f"row {rows} on the page")
    return page.evaluate(DRAWN)


def key(page: Any, name: str) -> Any:
    return page.locator(f"[data-key={name}]")


def kinds(path: Path, sounding: str) -> list[str]:
    with Job.open(path) as job:
        return [event.kind for event in job.events(sounding)]


def test_a_rehearsal_is_pushed_through_the_page(serve: Any, tmp_path: Path, page: Any) -> None:
    path = job_at(tmp_path / "site.job")
    served = serve(path, station=rehearsal(path))
    page.goto(f"{served.url}/push")
    page.get_by_label("Record the sounding").fill("HM-2")
    page.get_by_role("button", name="Record", exact=True).click()
    expect(page.locator("#sounding")).to_have_text("HM-2")
    expect(page.locator("#recording")).to_have_text("recording")
    expect(page.locator("#control")).to_contain_text("You control")
    key(page, "zeros").click()
    expect(page.locator("#work")).to_contain_text("Zeros before")
    key(page, "start").click()
    expect(page.locator("#step")).to_have_text("push")
    depth = page.locator("[data-cell=depth] .cell-value")
    expect(depth).to_have_text(re.compile(r"^[1-9]\d*\.\d\d$"), timeout=30_000)
    key(page, "rod").click()
    expect(page.locator("#said")).to_have_text("Rods counted.")
    key(page, "note").click()
    page.locator("#note-text").fill("gravel heard")
    page.locator("#note-dialog button[value=yes]").click()
    expect(page.locator("#said")).to_have_text("Note kept in the record.")
    tip = page.locator("[data-cell=tip] .cell-value")
    expect(tip).to_have_text(re.compile(r"\d"))
    key(page, "stop").click()
    page.locator("#ask-yes").click()
    expect(page.locator("#recording")).to_have_text("recording ended")
    found = kinds(path, "HM-2")
    for kind in ("step", "rod-added", "note", "recording-stopped"):
        assert kind in found
    with Job.open(path) as job:
        stored = [one.number for one in job.messages("HM-2", "cone")]
    seen = drawn(page, stored[-1])
    assert (seen["last"], seen["gaps"]) == (stored[-1], 0)
    assert len(seen["depth"]) > 20
    assert verify(path).ok


def test_a_page_that_is_loaded_again_has_each_row(push: Push, page: Any) -> None:
    push.record()
    push.push(0.6)
    page.goto(push.url)
    drawn(page, 61)
    page.reload()
    push.push(0.4)
    seen = drawn(page, 102)
    whole = push.rows()
    assert whole["number"] == push.stored() == list(range(1, 103))
    pushed = [d for d, one in zip(whole["depth"], whole["pushing"], strict=True) if one]
    assert seen["depth"] == pytest.approx(pushed)
    assert seen["gaps"] == 0


def test_a_server_that_starts_again_leaves_no_gap(push: Push, page: Any) -> None:
    page.watched.expected = ("ERR_CONNECTION_REFUSED", "ERR_INCOMPLETE_CHUNKED", "ERR_EMPTY")
    push.record()
    page.goto(push.url)
    page.locator("[data-cell=depth]").wait_for()
    push.push(0.6)
    seen = drawn(page, 61)
    page.evaluate(KEEP)
    push.again()
    push.record()
    push.push(0.4)
    seen = drawn(page, 102)
    expect(page.locator("#recording")).to_have_text("recording")
    assert seen["numbers"] == list(range(62, 103))
    assert push.stored() == list(range(1, 103))
    whole = push.rows()
    pushed = [d for d, one in zip(whole["depth"], whole["pushing"], strict=True) if one]
    assert seen["depth"] == pytest.approx(pushed)


def test_a_lost_network_is_told_and_leaves_no_gap(push: Push, page: Any) -> None:
    page.watched.expected = ("ERR_INTERNET_DISCONNECTED", "ERR_NETWORK_CHANGED", "ERR_FAILED")
    push.record()
    page.goto(push.url)
    page.locator("[data-cell=depth]").wait_for()
    push.push(0.6)
    drawn(page, 61)
    page.evaluate(KEEP)
    # a network that goes away cuts what is open: the browser's switch only stops what is new
    page.context.set_offline(True)
    page.evaluate("() => window.pushPage.stream.open()")
    begun = time.monotonic()
    stale = page.locator("#stale")
    expect(stale).to_contain_text("No connection to the server", timeout=8000)
    assert time.monotonic() - begun < 3.5, "silence is told too late"
    expect(page.locator("[data-cell=depth] .cell-value")).to_have_text("\u2013\u2013")
    expect(key(page, "note")).to_have_attribute("aria-disabled", "true")
    push.push(0.4)
    until(lambda: len(push.stored()) == 102, what="recording goes on without the page")
    assert page.evaluate(DRAWN)["last"] == 61
    page.context.set_offline(False)
    seen = drawn(page, 102)
    assert seen["numbers"] == list(range(62, 103))
    expect(stale).not_to_contain_text("No connection")


def test_one_page_controls_and_the_other_watches(push: Push, page: Any, browser: Any) -> None:
    page.watched.expected = ("423",)
    push.record()
    push.push(0.4)
    page.goto(push.url)
    context = browser.new_context(viewport={"width": 800, "height": 1280})
    other = context.new_page()
    seen = watch(other)
    seen.expected = ("423",)
    other.goto(push.url)
    key(page, "rod").click()
    expect(page.locator("#control")).to_contain_text("You control")
    expect(other.locator("#control")).to_contain_text("controls")
    expect(other.locator("#control")).not_to_contain_text("You")
    # the other is asked first, and "no" changes nothing
    key(other, "rod").click()
    other.locator("#ask-no").click()
    expect(page.locator("#control")).to_contain_text("You control")
    assert kinds(push.path, "A-1").count("rod-added") == 1
    key(other, "rod").click()
    other.locator("#ask-yes").click()
    expect(other.locator("#control")).to_contain_text("You control")
    expect(page.locator("#control")).not_to_contain_text("You")
    until(lambda: kinds(push.path, "A-1").count("rod-added") == 2)
    push.push(0.3)
    first, second = drawn(page, 72), drawn(other, 72)
    assert first["depth"] == second["depth"]
    context.close()
    assert not seen.outside
    assert [one for one in seen.errors if "423" not in one] == []


def test_the_keyboard_alone_is_enough(push: Push, page: Any) -> None:
    press = page.keyboard.press
    page.goto(push.url)
    field = page.get_by_label("Record the sounding")
    field.wait_for()
    for _ in range(30):
        if field.evaluate("one => one === document.activeElement"):
            break
        press("Tab")
    page.keyboard.type("A-1")
    press("Enter")
    expect(page.locator("#recording")).to_have_text("recording")
    push.feeder.say()
    press("Escape")
    page.evaluate("() => document.activeElement.blur()")
    said = page.locator("#said")
    press("z")
    expect(said).to_have_text("Zero reading begun: leave the cone free and still.")
    press("Space")
    expect(page.locator("#step")).to_have_text("push")
    push.push(0.5)
    press("r")
    expect(said).to_have_text("Rods counted.")
    press("n")
    expect(page.locator("#note-text")).to_be_focused()
    page.keyboard.type("by keyboard")
    press("Tab")
    press("Enter")
    expect(said).to_have_text("Note kept in the record.")
    press("p")
    expect(page.locator("#pause-text")).to_be_focused()
    page.keyboard.type("lunch")
    press("Enter")
    expect(page.locator("#step")).to_contain_text("lunch")
    press("d")
    expect(key(page, "dissipation")).to_contain_text("End dissipation")
    press("d")
    expect(key(page, "dissipation")).not_to_contain_text("End")
    press("q")
    expect(page.locator("#ask-no")).to_be_focused()
    press("Shift+Tab")
    expect(page.locator("#ask-yes")).to_be_focused()
    press("Enter")
    expect(page.locator("#recording")).to_have_text("recording ended")
    found = kinds(push.path, "A-1")
    for kind in ("rod-added", "note", "pause-called", "dissipation-end", "recording-stopped"):
        assert kind in found


def test_an_old_reading_is_told_within_two_seconds(push: Push, page: Any) -> None:
    push.record()
    page.goto(push.url)
    push.push(0.4)
    drawn(page, 41)
    begun = time.monotonic()
    stale = page.locator("#stale")
    expect(stale).to_contain_text("No cone reading for", timeout=8000)
    expect(stale).to_have_attribute("data-level", re.compile("caution|stop"))
    assert time.monotonic() - begun < 3.5
    # and then the number itself goes: an old value is never shown as one of now
    expect(page.locator("[data-cell=tip] .cell-value")).to_have_text("\u2013\u2013", timeout=15_000)
    push.feeder.say()
    expect(stale).to_be_hidden()
    expect(page.locator("[data-cell=tip] .cell-value")).to_have_text(re.compile(r"\d"))


def test_a_key_pressed_while_another_is_on_its_way_is_not_lost(push: Push, page: Any) -> None:
    push.record()
    push.push(0.4)
    page.goto(push.url)
    drawn(page, 41)

    def slow(route: Any) -> None:
        page.wait_for_timeout(400)
        route.continue_()

    page.route("**/api/push/start", slow)
    page.keyboard.press("Space")
    page.keyboard.press("r")
    page.keyboard.press("r")  # the same key before its answer: a glove that trembled
    until(lambda: page.evaluate("document.body.dataset.busy") == "no", what="both are done")
    assert kinds(push.path, "A-1").count("rod-added") == 1

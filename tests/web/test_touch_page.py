"""The log page under fingers: pan, pinch, tap, and boundaries that a glove can take."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from pushproof import write
from pushproof.store import Job, import_file
from pushproof.testing import sample
from web.fingers import Fingers

pytestmark = pytest.mark.browser


@pytest.fixture
def log(serve: Any, tablet: Any, tmp_path: Path) -> Any:
    """The log of a sounding on a tablet."""
    path, file = tmp_path / "site.job", tmp_path / "HM-1.json"
    with Job.create(path) as job:
        write(sample("clay-over-sand"), file, "json")
        import_file(job, file)
    tablet.goto(f"{serve(path).url}/log?s=HM-1")
    tablet.locator("body[data-ready=true]").wait_for()
    tablet.locator(".boundary:visible").first.wait_for()
    return tablet


def window(page: Any) -> tuple[float, float]:
    top, base = page.evaluate("[logPage.view.axis.top, logPage.view.axis.base]")
    return top, base


def middle(page: Any) -> tuple[float, float]:
    box = page.locator(".track-cursor").bounding_box()
    return box["x"] + 250, box["y"] + box["height"] / 2


def per_pixel(page: Any) -> float:
    return float(page.evaluate("logPage.view.axis.perPixel"))


def test_one_finger_pans_and_puts_no_cursor(log: Any) -> None:
    log.evaluate("logPage.view.axis.show(6, 12)")
    x, y = middle(log)
    before, step = window(log), per_pixel(log)
    fingers = Fingers(log)
    fingers.down((x, y))
    for up in (30, 60, 90, 120):
        fingers.move((x, y - up))
    fingers.up()
    after = window(log)
    assert after[0] - before[0] == pytest.approx(120 * step, rel=0.1)
    assert after[1] - after[0] == pytest.approx(6, rel=0.01)
    assert log.evaluate("logPage.view.cursorDepth") is None
    assert log.evaluate("scrollY") == 0, "the page itself must not scroll"


def test_two_fingers_zoom_about_the_place_between_them(log: Any) -> None:
    log.evaluate("logPage.view.axis.show(4, 16)")
    x, y = middle(log)
    at = "y => logPage.view.axis.depth(y - document.querySelector('.track-cursor').getBoundingClientRect().top)"  # noqa: E501
    still = log.evaluate(at, y)
    fingers = Fingers(log)
    fingers.down((x, y - 40), (x, y + 40))
    for apart in (60, 80, 100, 120):
        fingers.move((x, y - apart), (x, y + apart))
    fingers.up()
    top, base = window(log)
    assert base - top == pytest.approx(4, rel=0.1)
    assert log.evaluate(at, y) == pytest.approx(still, abs=0.15)
    fingers.down((x, y - 120), (x, y + 120))
    for apart in (90, 60):
        fingers.move((x, y - apart), (x, y + apart))
    fingers.up()
    assert window(log)[1] - window(log)[0] == pytest.approx(8, rel=0.1)


def test_a_tap_reads_the_values_and_the_cursor_stays(log: Any) -> None:
    from playwright.sync_api import expect

    x, y = middle(log)
    wanted = log.evaluate(
        "y => logPage.view.axis.depth(y)", y - log.locator(".track-cursor").bounding_box()["y"]
    )
    Fingers(log).tap((x, y))
    expect(log.locator("#panels")).to_contain_text(re.compile(r"\d+\.\d{3} m, row \d+"))
    assert log.evaluate("logPage.view.reading.depth") == pytest.approx(wanted, abs=0.05)
    log.wait_for_timeout(300)
    assert log.evaluate("logPage.view.cursorDepth") is not None, "lifting the finger keeps it"


@pytest.mark.parametrize("off", [0, 12, -12])
def test_a_boundary_is_dragged_by_a_finger(log: Any, off: int) -> None:
    depth = float(log.locator(".boundary").first.get_attribute("aria-valuenow"))
    log.evaluate("z => logPage.view.axis.show(z - 1, z + 2)", depth)  # so that no grip is near
    log.wait_for_timeout(200)
    handle = log.locator(".boundary").first
    box = handle.bounding_box()
    assert min(box["width"], box["height"]) >= 44
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2 + off
    before, step, shown = float(handle.get_attribute("aria-valuenow")), per_pixel(log), window(log)
    fingers = Fingers(log)
    fingers.down((x, y))
    for down in range(4, 44, 4):
        fingers.move((x, y + down))
        log.wait_for_timeout(20)
    fingers.up()
    log.locator("#save:enabled").wait_for()
    after = float(handle.get_attribute("aria-valuenow"))
    assert after == pytest.approx(before + 40 * step, abs=0.02)
    assert window(log) == shown
    boundaries = log.evaluate("logPage.draft.document.layers.boundaries.map((one) => one.depth)")
    assert after in boundaries
    log.locator("#undo").tap()
    log.locator("#save:disabled").wait_for()
    log.locator("body:not([data-working])").wait_for()
    assert float(handle.get_attribute("aria-valuenow")) == pytest.approx(before, abs=0.005)


def test_keys_and_tabs_are_tapped(log: Any) -> None:
    log.locator("#zoom-in").tap()
    top, base = window(log)
    log.locator("#whole").tap()
    assert window(log)[1] - window(log)[0] > base - top
    log.locator("#tab-layers").tap()
    log.locator(".log-edge input").first.wait_for()
    for key in ("#zoom-in", "#whole", "#tab-layers"):
        box = log.locator(key).bounding_box()
        assert min(box["width"], box["height"]) >= 44, key

"""Pages much enlarged, on paper, and in colours of the reader's own choosing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from pushproof import write
from pushproof.store import Job, import_file
from pushproof.testing import sample

pytestmark = pytest.mark.browser

READY = {
    "/": "#plan svg",
    "/log?s=HM-1": "body[data-ready=true]",
    "/proof?s=HM-1": ".verdict",
    "/dissipation?s=HM-1": ".test",
    "/equipment?s=HM-1": ".cards",
    "/report?s=HM-1": ".cards",
    "/plan": ".verdict",
    "/login": "#password",
}


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path, file = tmp_path / "site.job", tmp_path / "HM-1.json"
    with Job.create(path) as made:
        write(sample("clay-over-sand"), file, "json")
        import_file(made, file)
    return path


@pytest.mark.parametrize("address", READY)
def test_at_twice_the_size_nothing_is_lost_at_the_side(
    serve: Any, job: Path, page: Any, address: str
) -> None:
    page.set_viewport_size({"width": 640, "height": 400})  # 1280 x 800 at 200 %
    page.goto(f"{serve(job).url}{address}")
    page.wait_for_selector(READY[address])
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    # the page itself scrolls, so that what does not fit is below
    assert page.evaluate("getComputedStyle(document.body).overflowY") == "visible"
    if "log" in address and "login" not in address:
        assert page.locator(".track-body").bounding_box()["height"] > 250
        page.locator("#cursor-depth").scroll_into_view_if_needed()
        expect(page.locator("#cursor-depth")).to_be_in_viewport(ratio=1)


def test_on_paper_stands_the_content_in_light_colours(serve: Any, job: Path, page: Any) -> None:
    page.add_init_script("localStorage.setItem('theme', 'dark')")
    page.goto(f"{serve(job).url}/proof?s=HM-1")
    page.wait_for_selector(".verdict")
    page.emulate_media(media="print")
    for hidden in (".page-head", ".sounding-links a", "form"):
        expect(page.locator(hidden).first).to_be_hidden()
    expect(page.locator(".sounding-name")).to_have_text("HM-1")
    expect(page.locator(".sounding-name")).to_be_visible()
    expect(page.locator("body")).to_have_css("background-color", "rgb(255, 255, 255)")
    expect(page.locator("body")).to_have_css("color", "rgb(21, 34, 44)")


def test_own_colours_leave_what_is_chosen_in_sight(serve: Any, job: Path, page: Any) -> None:
    page.emulate_media(forced_colors="active")
    page.goto(f"{serve(job).url}/log?s=HM-1")
    page.wait_for_selector("body[data-ready=true]")
    line = "one => getComputedStyle(one).borderBottomColor"
    here = page.locator(".page-links [aria-current=page]").evaluate(line)
    other = page.locator(".page-links a:not([aria-current])").first.evaluate(line)
    assert here != other
    page.click("#bands")
    look = "one => getComputedStyle(one).backgroundColor"
    assert page.locator("#bands").evaluate(look) != page.locator("#whole").evaluate(look)
    # the lines of the boundaries stand over the canvas in its own palette
    ground = page.locator(".depth-tracks").evaluate(look)
    assert page.locator(".boundary-line").first.evaluate(look) != ground

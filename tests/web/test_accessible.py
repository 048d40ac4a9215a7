"""Every page can be used with a keyboard, a screen reader, gloves and bad light.

The check is our own and looks at the page as the browser laid it out. Its limits are those of the
Web Content Accessibility Guidelines 2.2 (W3C): text against its ground 4.5:1, large text 3:1
(1.4.3); a name for every control (4.1.2) and every picture (1.1.1). Targets are 44 px or more, as
in its 2.5.5; a link within a line of text may be smaller, as there.
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest

from pushproof import write
from pushproof.store import Job, import_file
from pushproof.testing import sample
from web.pushing import Feeder, until

pytestmark = pytest.mark.browser

PAGES = ("/", "/log", "/proof", "/dissipation", "/equipment", "/report", "/push", "/plan", "/login")
CHECK = (Path(__file__).parent / "accessible.js").read_text("utf-8")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """One server for all pages, with a push that runs and an alarm that is up."""
    from pushproof.web.access import Access
    from pushproof.web.app import create_app
    from web.conftest import serve_app

    folder = tmp_path_factory.mktemp("accessible")
    path, file = folder / "site.job", folder / "HM-1.json"
    with Job.create(path) as job:
        write(sample("clay-over-sand"), file, "json")
        import_file(job, file)
    feeder = Feeder(path)
    served = serve_app(create_app(path, station=feeder.station, access=Access()))
    client = served.client(headers={"x-client": "test"})
    assert client.post("/api/push/record", json={"sounding": "A-1"}).status_code == 200
    assert client.post("/api/push/start", json={}).status_code == 200
    feeder.push(0.6, battery=3.4)
    until(lambda: client.get("/api/push/state").json()["alarms"])
    client.delete("/api/push/control")
    yield served
    served.stop()


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("address", PAGES)
def test_a_page_can_be_used_by_everybody(site: Any, page: Any, address: str, theme: str) -> None:
    # a sounding that was pushed for half a metre only has no plan and no summary yet
    page.watched.expected = ("409",)
    page.add_init_script(f"localStorage.setItem('theme', '{theme}')")
    own = "" if address in ("/", "/push", "/login") else "?s=HM-1"
    page.goto(f"{site.url}{address}{own}")
    page.locator("h1:visible").first.wait_for()
    page.wait_for_load_state("load")
    page.wait_for_timeout(500)
    shown = page.evaluate("document.documentElement.dataset.theme")
    assert (shown == "dark") == (theme == "dark"), shown
    end = time.monotonic() + 6
    while (found := page.evaluate(CHECK))["faults"] and time.monotonic() < end:
        page.wait_for_timeout(300)  # a page that still fills itself
    assert found["looked"]["texts"] > 3, "the check saw no text"
    assert found["looked"]["controls"] > 0, "the check saw no control"
    assert not found["faults"], "\n".join(found["faults"])


def test_the_check_finds_what_is_wrong(browser: Any) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.set_content(
        """<html lang="en"><title>x</title><style>* { margin: 0; padding: 0 }</style>
        <main><h1>One</h1><h3>Three</h3><button></button><canvas></canvas><input>
        <p style="color: #999; background: #fff">pale</p><img src="data:,">
        <button style="width: 20px; height: 20px" aria-label="small"></button></main>
        <main></main>"""
    )
    faults = "\n".join(page.evaluate(CHECK)["faults"])
    context.close()
    for part in ("no name: button", "no name: input", "no name: canvas", "no name: img"):
        assert part in faults
    for part in ("2 main", "h3 after h1", "contrast 2.8", "target 20 x 20"):
        assert part in faults

"""Pages that look at a sounding while it is pushed, in a real browser."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from web.pushing import Feeder, job_at

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

"""The start page: its table beside the plan at every size, and names that keep clear."""

from typing import Any

import pytest

from pushproof import write
from pushproof.store import Job, import_file
from pushproof.testing import sample

pytestmark = pytest.mark.browser

OVERLAPS = """() => {
  const boxes = (which) => [...document.querySelectorAll(which)].map((one) =>
    one.getBoundingClientRect());
  const [names, marks] = [boxes("#plan a text"), boxes("#plan .place")];
  const over = (a, b) =>
    a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
  let found = 0;
  names.forEach((a, k) => {
    found += [...names.slice(k + 1), ...marks].filter((b) => over(a, b)).length;
  });
  return { names: names.length, found };
}"""


@pytest.fixture
def job(tmp_path: Any) -> Any:
    """A job of three soundings that have positions."""
    path = tmp_path / "site.job"
    with Job.create(path) as made:
        for name in ("clay-over-sand", "refusal", "desaturated"):
            file = tmp_path / f"{name}.json"
            write(sample(name), file, "json")
            import_file(made, file)
    return path


@pytest.mark.parametrize("size", [(1920, 1080), (1280, 800), (800, 1280), (640, 800)])
def test_nothing_lies_over_another(serve: Any, job: Any, page: Any, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(serve(job).url)
    page.wait_for_selector("#plan svg")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    table = page.locator("#soundings").bounding_box()
    for link in page.locator("#soundings a").all():
        box = link.bounding_box()
        assert box["x"] + box["width"] <= table["x"] + table["width"] + 0.5
    plan = page.locator("#plan").bounding_box()
    apart = table["x"] + table["width"] <= plan["x"] or table["y"] + table["height"] <= plan["y"]
    assert apart, "the table lies over the plan"
    assert page.evaluate(OVERLAPS) == {"names": 3, "found": 0}
    for mark in page.locator("#plan .reach").all():
        assert mark.bounding_box()["width"] > 47.5, "a mark is smaller than a finger"

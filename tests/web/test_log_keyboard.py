"""The whole way through the log page without a mouse: from the first Tab to the saved decision."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pushproof.interpretation import interpret
from pushproof.interpretation.layers import layers
from pushproof.processing import process
from pushproof.sources.rehearsal.export import export_text
from pushproof.store import Job, import_file
from pushproof.testing.samples import sample
from web.test_log_page import open_log, until

pytestmark = pytest.mark.browser

FOCUSED = """() => { const one = document.activeElement; return {
  id: one.id, kind: one.className, words: (one.textContent || one.value || "").trim(),
  value: one.getAttribute("aria-valuetext") ?? "" }; }"""

# whatever is focused shows it: a line around it, or around the grip of a boundary
SHOWN = """() => { const lines = [document.activeElement, ...document.activeElement.children];
  return lines.some((one) => { const style = getComputedStyle(one);
    return style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2; }); }"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path, file = tmp_path / "site.job", tmp_path / "HM-1.csv"
    export_text(sample("clay-over-sand"), file)
    with Job.create(path) as made:
        import_file(made, file)
    return path


def walk(page: Any, what: str, key: str = "Tab") -> dict[str, str]:
    """Press Tab until what has the focus matches a selector; every stop on the way shows itself."""
    for _ in range(120):
        page.keyboard.press(key)
        if page.evaluate("document.activeElement === document.body"):
            continue
        assert page.evaluate(SHOWN), f"no sign of the focus: {page.evaluate(FOCUSED)}"
        if page.evaluate("what => document.activeElement.matches(what)", what):
            found: dict[str, str] = page.evaluate(FOCUSED)
            return found
    raise AssertionError(f"the {key} key never comes to {what}")


def typed(page: Any, words: str) -> None:
    page.keyboard.press("Control+a")
    page.keyboard.type(words)


def test_the_keyboard_goes_the_whole_way(serve: Any, page: Any, job: Path) -> None:
    press = page.keyboard.press
    open_log(page, serve(job).url)
    with Job.open(job) as opened:
        profile = process(opened.sounding("HM-1"), opened.recipe("HM-1"))
    before = interpret(profile)
    edges = [one.depth for one in layers(before).edges if one.origin != "record"]

    # the first stop skips the head of the page
    press("Tab")
    assert page.evaluate(FOCUSED)["kind"] == "skip-link"
    press("Enter")
    assert page.evaluate(FOCUSED)["id"] == "main"

    # a track more, from the sheet of tracks; the focus comes back to its key
    walk(page, "#choose-tracks")
    press("Enter")
    walk(page, "#tracks-sheet input[value=su]")
    press("Space")
    until(page, "logPage.view.tracks.some((one) => one.name === 'su')")
    press("Escape")
    assert page.evaluate(FOCUSED)["id"] == "choose-tracks"

    # the cursor: one row down from the top, then to a track, and what stands there explained
    walk(page, ".track-cursor")
    press("Home")
    press("Shift+ArrowDown")
    press("ArrowDown")
    until(page, "logPage.view.reading !== null && !logPage.view.asking")
    press("+")
    assert page.evaluate("logPage.view.axis.span") < page.evaluate("logPage.view.axis.high")
    press("0")
    press("ArrowRight")
    press("ArrowRight")
    assert page.evaluate(FOCUSED)["value"].startswith("Sleeve friction; ")
    press("ArrowLeft")
    assert page.evaluate(FOCUSED)["value"].startswith("Cone resistance; ")
    typed_depth = 5.0
    walk(page, "#cursor-depth")
    typed(page, f"{typed_depth}")
    press("Enter")
    until(page, f"Math.abs((logPage.view.reading?.depth ?? 0) - {typed_depth}) < 0.02")
    until(page, "!logPage.view.asking")
    walk(page, ".track-cursor", "Shift+Tab")
    press("Enter")
    page.wait_for_selector(".log-explained")
    row = int(np.argmin(np.abs(before.series["depth"] - typed_depth)))
    told = page.locator(".log-big").inner_text()
    assert told == f"{before.series['qt'][row] / 1000:.3f} MPa"
    assert page.evaluate(FOCUSED)["words"] == "Back to the values"
    walk(page, ".log-steps summary")
    press("Enter")
    assert page.locator(".log-steps details[open]").count() == 1
    walk(page, ".log-panel > div > button", "Shift+Tab")
    press("Enter")
    assert page.evaluate(FOCUSED)["id"] == "cursor-depth"

    # a boundary: moved, then typed, then undone, and moved again
    walk(page, ".boundary", "Shift+Tab")
    index = len(edges) - 1  # the walk back meets the lowest first
    press("ArrowDown")
    press("ArrowDown")
    until(page, "logPage.draft.dirty && !document.body.dataset.working")
    press("Enter")
    assert page.evaluate(FOCUSED)["id"].startswith("edge-")
    target = round(edges[index] + 0.4, 2)
    typed(page, f"{target:.2f}")
    press("Tab")
    at = f"logPage.draft.document.layers.boundaries[{index}].depth"
    until(page, f"{at} === {target} && !document.body.dataset.working")
    walk(page, "#undo", "Shift+Tab")
    press("Enter")
    # moves of one boundary in a row are taken back together
    until(page, "!logPage.draft.dirty && !document.body.dataset.working")
    walk(page, ".boundary")
    for _ in range(index):
        walk(page, ".boundary")
    press("Shift+ArrowDown")
    until(page, f"logPage.draft.dirty && {at} > {edges[index]:.2f}")
    until(page, "!document.body.dataset.working")
    moved = page.evaluate(at)

    # an interval left out, with its reason
    walk(page, "[role=tab][aria-selected=true]")
    for _ in range(2):
        press("ArrowRight")
    assert page.evaluate(FOCUSED)["id"] == "tab-edits"
    walk(page, "#blank-top")
    page.keyboard.type("4")
    walk(page, "#blank-base")
    page.keyboard.type("4.5")
    walk(page, "input[value=u2]")
    press("Space")
    walk(page, "#blank-reason")
    page.keyboard.type("filter was dry")
    press("Enter")
    until(page, "document.querySelector('.log-blanked').textContent.includes('filter was dry')")
    until(page, "!document.body.dataset.working")

    # the decision
    walk(page, "#save", "Shift+Tab")
    press("Enter")
    until(page, "document.activeElement.id === 'author'")
    page.keyboard.type("C. Clay")
    walk(page, "#reason")
    page.keyboard.type("seen in the trial pit")
    walk(page, "#save-form button.primary")
    press("Enter")
    until(page, "logPage.draft.version === 1 && !document.getElementById('save-sheet').open")
    with Job.open(job) as opened:
        found = opened.recipe("HM-1")
        decision = opened.decisions("recipe", "HM-1")[-1]
    assert (decision.author, decision.reason) == ("C. Clay", "seen in the trial pit")
    assert found.layers.boundaries[index].depth == pytest.approx(moved)
    (blanked,) = found.blanked
    assert (blanked.top, blanked.base, blanked.channels) == (4.0, 4.5, ("u2",))
    assert blanked.reason == "filter was dry"

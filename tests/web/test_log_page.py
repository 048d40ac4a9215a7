"""The log page in a real browser, against a real server: what it shows, and every edit."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pushproof.interpretation import explain, interpret
from pushproof.interpretation.layers import layers
from pushproof.model.profile import Interpretation
from pushproof.processing import process
from pushproof.sources.rehearsal.export import export_text
from pushproof.store import Job, import_file
from pushproof.store.observations import keep_observations
from pushproof.testing.samples import sample

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def export(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("exports")
    made = []
    for name in ("clay-over-sand", "refusal"):
        made.append(folder / f"{sample(name).name}.csv")
        export_text(sample(name), made[-1])
    return made


@pytest.fixture
def job(export: list[Path], tmp_path: Path) -> Path:
    path = tmp_path / "site.job"
    with Job.create(path) as made:
        for one in export:
            import_file(made, one)
    return path


def derived(job: Path) -> Interpretation:
    with Job.open(job) as found:
        name = found.soundings()[0]
        return interpret(process(found.sounding(name), found.recipe(name)))


def recipe(job: Path) -> Any:
    with Job.open(job) as found:
        return found.recipe(found.soundings()[0])


def until(page: Any, script: str, *, seconds: float = 10.0) -> Any:
    """Wait until a script gives something true; the policy of the page forbids the usual way."""
    end = time.monotonic() + seconds
    while True:
        found = page.evaluate(script)
        if found:
            return found
        assert time.monotonic() < end, f"never true: {script}"
        page.wait_for_timeout(30)


def open_log(page: Any, url: str) -> None:
    page.goto(f"{url}/log")
    page.wait_for_selector("body[data-ready=true]")
    until(page, "logPage.source.have !== null")
    settle(page)


def settle(page: Any) -> None:
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def point(page: Any, depth: float) -> tuple[float, float]:
    """Return where on the screen a depth is, in the first track."""
    box = page.locator(".track-cursor").bounding_box()
    x, y = page.evaluate(
        "z => [(logPage.view.tracks[0].box.left + logPage.view.tracks[0].box.right) / 2,"
        " logPage.view.axis.y(z)]",
        depth,
    )
    return box["x"] + x, box["y"] + y


def grip(page: Any, index: int) -> tuple[float, float]:
    box = page.locator(".boundary-grip").nth(index).bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def save(page: Any, author: str, reason: str) -> None:
    page.click("#save")
    page.fill("#author", author)
    page.fill("#reason", reason)
    page.click("#save-form button.primary")


def test_the_cursor_reads_what_the_library_says(serve: Any, page: Any, job: Path) -> None:
    open_log(page, serve(job).url)
    series = derived(job).series
    for depth in (3.3, 9.0, 16.4):
        page.mouse.move(*point(page, depth))
        until(page, f"Math.abs((logPage.view.reading?.depth ?? 99) - {depth}) < 0.05")
        until(page, "!logPage.view.asking")
        at = page.evaluate("logPage.view.reading.depth")
        row = int(np.flatnonzero(series["depth"] == at)[0])
        cell = "//tr[.//span[@class='soft' and text()='{}']]//span[@class='log-number']"
        for name, key, text in (
            ("corrected cone resistance", "qt", f"{series['qt'][row] / 1000:.3f} MPa"),
            ("sleeve friction", "fs", f"{series['fs'][row]:.1f} kPa"),
            ("soil behaviour type index", "Ic", f"{series['Ic'][row]:.2f}"),
        ):
            shown = page.locator(f"xpath={cell.format(name)}").inner_text()
            assert shown == text, key
        said = page.locator(".track-cursor").get_attribute("aria-valuetext")
        assert f"qt {series['qt'][row] / 1000:.3f} MPa" in said


def test_a_click_explains_the_value_with_its_source(serve: Any, page: Any, job: Path) -> None:
    open_log(page, serve(job).url)
    page.mouse.click(*point(page, 5.0))
    page.wait_for_selector(".log-explained")
    series = derived(job).series
    at = page.evaluate("logPage.view.reading.depth")
    row = int(np.flatnonzero(series["depth"] == at)[0])
    assert page.locator(".log-big").inner_text() == f"{series['qt'][row] / 1000:.3f} MPa"
    assert "qt = qc + (1 − a) u2" in page.locator(".log-steps").inner_text()
    page.click("text=Numbers and source")
    source = explain(derived(job), "qt", at).links[-1].source
    assert source in page.locator(".log-steps").inner_text()
    page.click("text=Back to the values")
    assert page.locator(".log-values").is_visible()


def _by_mouse(page: Any, x: float, y: float, down: float) -> None:
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + down, steps=6)
    page.mouse.up()


def _by_finger(page: Any, x: float, y: float, down: float, beside: float = 0.0) -> None:
    session = page.context.new_cdp_session(page)

    def touch(kind: str, *points: float) -> None:
        places = [{"x": x, "y": at, "id": 0} for at in points]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": places})

    touch("touchStart", y + beside)
    for step in range(1, 7):
        touch("touchMove", y + beside + down * step / 6)
    touch("touchEnd")


def _beside(page: Any, x: float, y: float, down: float) -> None:
    _by_finger(page, x, y, down, beside=12.0)


@pytest.mark.parametrize("drag", [_by_mouse, _by_finger, _beside])
def test_a_boundary_is_dragged_and_saved(
    serve: Any, page: Any, job: Path, drag: Callable[..., None]
) -> None:
    open_log(page, serve(job).url)
    before = [e.depth for e in layers(derived(job)).edges if e.origin != "record"]
    # one that stands alone
    index = before.index(max(before))
    x, y = grip(page, index)
    drag(page, x, y, -30.0)
    until(page, "logPage.draft.dirty")
    wanted = before[index] - 30 * page.evaluate("logPage.view.axis.perPixel")
    save(page, "R. Sand", "boring B-2")
    until(page, "logPage.draft.version === 1 && !document.getElementById('save-sheet').open")
    found = recipe(job).layers.boundaries
    assert [b.depth for b in found[:-1]] == pytest.approx(before[:-1], abs=1e-3)
    assert found[-1].depth == pytest.approx(wanted, abs=0.06)
    assert (found[-1].author, found[-1].reason) == ("R. Sand", "boring B-2")
    assert found[0].reason == "found by the search"


def test_an_edit_with_the_keyboard_alone(serve: Any, page: Any, job: Path) -> None:
    open_log(page, serve(job).url)
    before = [e.depth for e in layers(derived(job)).edges if e.origin != "record"]
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.className") == "boundary":
            break
    assert page.evaluate("document.activeElement.getAttribute('aria-valuenow')") == (
        f"{before[0]:.2f}"
    )
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    until(page, "logPage.draft.dirty")
    page.keyboard.press("Enter")
    typed = until(page, "document.activeElement.id")
    assert typed.startswith("edge-"), "Enter asks to type the depth"
    page.keyboard.press("Control+a")
    page.keyboard.type(f"{before[0] + 0.3:.2f}")
    page.keyboard.press("Tab")
    until(page, f"logPage.draft.document.layers.boundaries[0].depth === {before[0] + 0.3:.2f}")
    until(page, "!document.body.dataset.working && !document.getElementById('save').disabled")
    page.focus("#save")
    page.keyboard.press("Enter")
    page.keyboard.type("C. Clay")
    page.keyboard.press("Tab")
    page.keyboard.type("seen in the trial pit")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    until(page, "logPage.draft.version === 1")
    assert recipe(job).layers.boundaries[0].depth == pytest.approx(before[0] + 0.3, abs=0.006)


def test_undo_takes_moves_of_one_boundary_back_together(serve: Any, page: Any, job: Path) -> None:
    open_log(page, serve(job).url)
    handle = page.locator(".boundary").nth(2)
    before = handle.get_attribute("aria-valuenow")
    handle.focus()
    for _ in range(3):
        page.keyboard.press("ArrowUp")
    until(page, "logPage.draft.past.length === 1 && logPage.draft.dirty")
    page.click("#undo")
    until(page, "!logPage.draft.dirty")
    until(page, f"document.querySelectorAll('.boundary')[2].ariaValueNow === '{before}'")


def test_a_choice_of_relation_shows_its_effect_and_saves_nothing(
    serve: Any, page: Any, job: Path
) -> None:
    open_log(page, serve(job).url)
    page.click("#tab-methods")
    page.select_option("#method-su", "su_ndu")
    until(page, "logPage.draft.dirty")
    until(page, "logPage.view.tracks.some((one) => one.name === 'su')")
    until(page, "logPage.source.have?.strip.columns.has('su') && !logPage.source.stale")
    shown, saved = page.evaluate(
        """async () => { const read = async (more) => (await (await fetch(
        `/api/soundings/${logPage.id}/at?depth=5&${more}`)).json()).values.su.value;
        return [await read(`recipe=${logPage.draft.recipe}`), await read('')]; }"""
    )
    series = derived(job).series
    row = int(np.argmin(np.abs(series["depth"] - 5)))
    assert saved == series["su"][row]
    assert shown != saved
    assert page.evaluate("logPage.view.overlay !== null"), "the saved version stays to compare with"
    page.click("#discard")
    until(page, "!logPage.draft.dirty")
    assert recipe(job).methods.su == "su_nkt"


def test_an_interval_is_marked_and_left_out_with_a_reason(serve: Any, page: Any, job: Path) -> None:
    open_log(page, serve(job).url)
    page.click("#tab-edits")
    page.click("#mark")
    x, y = point(page, 4.0)
    _by_mouse(page, x, y, point(page, 5.0)[1] - y)
    assert float(page.input_value("#blank-top")) == pytest.approx(4.0, abs=0.05)
    page.check("input[value=u2]")
    page.fill("#blank-reason", "filter was dry")
    page.click("text=Leave out >> nth=-1")
    until(page, "document.querySelector('.log-blanked').textContent.includes('filter was dry')")
    save(page, "R. Sand", "dry filter in the crust")
    until(page, "logPage.draft.version === 1")
    (blanked,) = recipe(job).blanked
    assert blanked.channels == ("u2",)
    series = derived(job).series
    inside = (series["depth"] > 4.1) & (series["depth"] < 4.9)
    assert np.isnan(series["u2"][inside]).all()
    assert np.isfinite(series["qc"][inside]).all()


def test_the_second_of_two_editors_is_told_and_both_edits_stay(
    serve: Any, page: Any, job: Path, browser: Any
) -> None:
    url = serve(job).url
    open_log(page, url)
    page.watched.expected = ("409",)
    other = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    open_log(other, url)
    for one in (page, other):
        one.click("#tab-edits")
    page.fill("#setting-water_level", "2.5")
    page.keyboard.press("Tab")
    until(page, "logPage.draft.dirty")
    other.fill("#setting-predrilled", "1.2")
    other.keyboard.press("Tab")
    until(other, "logPage.draft.dirty")
    save(other, "C. Clay", "inspection pit")
    until(other, "logPage.draft.version === 1")
    save(page, "R. Sand", "standpipe")
    page.wait_for_selector("#notice:not([hidden])")
    told = page.locator("#notice").inner_text()
    assert "C. Clay" in told
    assert "inspection pit" in told
    assert recipe(job).water_level is None
    page.click("text=Put my draft onto it")
    until(page, "logPage.draft.version === 1 && logPage.draft.dirty")
    save(page, "R. Sand", "standpipe")
    until(page, "logPage.draft.version === 2")
    found = recipe(job)
    assert (found.water_level, found.predrilled) == (2.5, 1.2)
    until(other, "logPage.draft.version === 2", seconds=12)
    until(other, "document.getElementById('notice').textContent.includes('R. Sand')")
    other.context.close()


def test_going_back_is_a_decision_too(serve: Any, page: Any, job: Path) -> None:
    open_log(page, serve(job).url)
    page.click("#tab-edits")
    page.fill("#setting-water_level", "2.5")
    page.keyboard.press("Tab")
    until(page, "logPage.draft.dirty")
    save(page, "R. Sand", "standpipe")
    until(page, "logPage.draft.version === 1")
    page.click("#tab-decisions")
    page.click("text=Take this again")
    page.click("#save-form button.primary")
    until(page, "logPage.draft.version === 2")
    assert recipe(job).water_level is None
    until(page, "document.querySelector('.log-decisions').textContent.includes('to version 0')")


def test_a_finding_jumps_to_its_depth(serve: Any, page: Any, job: Path) -> None:
    open_log(page, serve(job).url)
    page.click("#tab-findings")
    for _ in range(6):
        page.click("#zoom-in")
    button = page.locator("button.log-finding").first
    number = int(button.locator(".log-sign").inner_text().split()[-1])
    top = page.evaluate("n => logPage.log.findings.find((f) => f.number === n).top", number)
    button.click()
    until(page, "logPage.view.reading")
    assert page.evaluate("logPage.view.axis.top") <= top <= page.evaluate("logPage.view.axis.base")
    assert page.evaluate("logPage.view.reading.depth") == pytest.approx(top, abs=0.15)


RING = """() => {
  const { view } = logPage;
  const track = view.tracks.find((one) => one.name === "blows");
  const x = track.scale.place(14, track.box.left, track.box.right);
  const y = view.axis.y(15.15);
  const pixel = (dx) => {
    const at = [(x + dx) * view.density, y * view.density].map(Math.round);
    return [...view.canvas.getContext("2d").getImageData(...at, 1, 1).data].slice(0, 3);
  };
  return [pixel(0), pixel(4.5), getComputedStyle(view.root).getPropertyValue("--track-paper")];
}"""


def test_observations_of_the_job_are_drawn_and_told(
    serve: Any, page: Any, job: Path, tmp_path: Path
) -> None:
    table = tmp_path / "BH-2.csv"
    rows = ("kind,top,base,value,words,test,source", "N60,15,15.3,14,,SPT,BH-2")
    more = ("layer,1.9,8.5,,soft grey clay,,BH-2", "water,0,,1.30,,standpipe,BH-2")
    table.write_text("\n".join((*rows, *more)), encoding="utf-8")
    with Job.open(job, write=True) as opened:
        (name, _) = opened.soundings()
        keep_observations(opened, table, soundings=[name], author="R. Viewer")
    open_log(page, serve(job).url)
    page.evaluate("logPage.names = ['cone', 'pore', 'soil', 'blows']; logPage.showTracks()")
    until(page, "logPage.view.tracks.length === 4")
    settle(page)
    inside, edge, paper = page.evaluate(RING)
    assert inside == [int(paper.strip()[k : k + 2], 16) for k in (1, 3, 5)]
    assert sum(abs(a - b) for a, b in zip(inside, edge, strict=True)) > 200
    page.click("#tab-findings")
    told = page.locator(".log-observed")
    assert [one.split("\n")[1:] for one in told.all_inner_texts()] == [
        ["N60 14", "at 15.00 to 15.30 m", "SPT, BH-2"],
        ["Logged as soft grey clay", "at 1.90 to 8.50 m", "BH-2"],
        ["Water level 1.3 m", "standpipe, BH-2"],
    ]
    for _ in range(5):
        page.click("#zoom-in")
    told.nth(2).click()
    until(page, "logPage.view.reading")
    assert page.evaluate("logPage.view.axis.top") < 1.3 < page.evaluate("logPage.view.axis.base")


def test_another_sounding_is_drawn_over_the_curves(serve: Any, page: Any, job: Path) -> None:
    open_log(page, serve(job).url)
    ask = """() => { const t = logPage.view.tracks[0].box; const d = logPage.view.density;
      const p = logPage.view.canvas.getContext('2d').getImageData(t.left * d, 0,
      (t.right - t.left) * d, logPage.view.canvas.height).data; let n = 0;
      for (let k = 0; k < p.length; k += 4) if (p[k] > 150 && p[k + 1] < 60) n += 1; return n; }"""
    settle(page)
    assert page.evaluate(ask) == 0
    page.select_option("#other", index=1)
    until(page, "logPage.view.overlay?.source.have")
    settle(page)
    assert page.evaluate(ask) > 50


def test_a_lost_server_is_told_and_the_draft_is_kept(serve: Any, page: Any, job: Path) -> None:
    first = serve(job)
    open_log(page, first.url)
    page.watched.expected = ("ERR_CONNECTION",)
    page.click("#tab-edits")
    page.fill("#setting-water_level", "2.5")
    page.keyboard.press("Tab")
    until(page, "logPage.draft.dirty && !document.body.dataset.working")
    first.stop()
    page.fill("#setting-predrilled", "1.2")
    page.keyboard.press("Tab")
    until(page, "document.getElementById('notice').textContent.includes('no connection')")
    assert page.evaluate("logPage.draft.document.water_level") == 2.5
    serve(job, port=first.port)
    page.fill("#setting-predrilled", "1.3")
    page.keyboard.press("Tab")
    until(page, "logPage.draft.document.predrilled === 1.3 && !document.body.dataset.working")
    until(page, "document.getElementById('notice').hidden")
    save(page, "R. Sand", "standpipe and pit")
    until(page, "logPage.draft.version === 1")
    assert (recipe(job).water_level, recipe(job).predrilled) == (2.5, 1.3)


def test_one_who_only_watches_cannot_edit(serve: Any, page: Any, job: Path) -> None:
    open_log(page, serve(job, read_only=True).url)
    assert not page.locator("#draft").is_visible()
    handle = page.locator(".boundary").nth(1)
    before = handle.get_attribute("aria-valuenow")
    handle.focus()
    page.keyboard.press("ArrowDown")
    _by_mouse(page, *grip(page, 1), 40.0)
    assert handle.get_attribute("aria-valuenow") == before
    assert not page.evaluate("logPage.draft.dirty")


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (1920, 1080), (800, 1280)])
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_page_fits_and_every_control_has_a_name(
    serve: Any, page: Any, job: Path, width: int, height: int, theme: str
) -> None:
    page.set_viewport_size({"width": width, "height": height})
    page.emulate_media(color_scheme=theme)
    open_log(page, serve(job).url)
    page.evaluate(
        "async () => { logPage.names = [...logPage.log.usual, 'su', 'phi', 'OCR'];"
        " await logPage.showTracks(); }"
    )
    settle(page)
    found = page.evaluate(
        """() => { const seen = (e) => e.getClientRects().length > 0;
        const name = (e) => e.getAttribute('aria-label') || e.textContent.trim()
          || (e.labels && [...e.labels].map((l) => l.textContent.trim()).join(''))
          || (e.getAttribute('aria-labelledby') ?? '');
        const controls = [...document.querySelectorAll('button, select, input, [role=slider]')]
          .filter(seen);
        const ids = [...document.querySelectorAll('[id]')].map((e) => e.id);
        return {
          nameless: controls.filter((e) => !name(e)).map((e) => e.outerHTML.slice(0, 80)),
          small: controls.filter((e) => { const b = e.getBoundingClientRect();
            return e.type !== 'checkbox' && (b.height < 44 || b.width < 40); })
            .map((e) => e.outerHTML.slice(0, 80)),
          twice: ids.filter((id, k) => ids.indexOf(id) !== k),
          wide: document.documentElement.scrollWidth - innerWidth,
          tall: document.documentElement.scrollHeight - innerHeight,
          tracks: document.querySelector('.track-body').clientHeight,
          cut: [...document.querySelectorAll('.boundary-grip')].filter((e) =>
            e.getBoundingClientRect().right > document.querySelector('.track-body')
              .getBoundingClientRect().right + 1).length,
          heads: [...document.querySelectorAll('.track-axis')].map((axis) => {
            const ticks = [...axis.children].map((t) => t.getBoundingClientRect());
            return ticks.some((a, k) => k && a.left < ticks[k - 1].right + 1); }),
        }; }"""
    )
    assert found["nameless"] == []
    assert found["small"] == []
    assert found["twice"] == []
    assert found["wide"] <= 0
    assert found["tall"] <= 0
    assert found["tracks"] > 400
    assert found["cut"] == 0
    assert not any(found["heads"]), "numbers of an axis run into each other"

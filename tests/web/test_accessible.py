"""Every page can be used with a keyboard, a screen reader, gloves and bad light.

Each page is brought into the states that matter and looked at in both themes, twice. axe-core (the
copy in the package ``axe-playwright-python``) applies its rules for the Web Content Accessibility
Guidelines 2.2 (W3C), levels A and AA, and its best practices: no finding is left, whatever its
impact. Our own check looks at the page as the browser laid it out and at what axe-core leaves to a
person: the contrast of text in pictures, names of canvases, and targets of 48 px (DESIGN, Looks;
2.5.5 of the guidelines asks for 44). A link within a line of text may be smaller, as in 2.5.8.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from pushproof import write
from pushproof.sources.rehearsal.export import export_text
from pushproof.store import Job, import_file
from pushproof.testing import sample
from web.pushing import Feeder, until

pytestmark = pytest.mark.browser

CHECK = (Path(__file__).parent / "accessible.js").read_text("utf-8")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
AXE = """async (rules) => {
  const found = await axe.run(document, { runOnly: rules, resultTypes: ["violations"] });
  return {
    passed: found.passes.length,
    faults: found.violations.flatMap((one) => one.nodes.map((node) =>
      `${one.impact}: ${one.id}: ${node.target.join(" ")}: ${node.failureSummary}`)),
  };
}"""


def axe(page: Any) -> Any:
    """What axe-core finds; the policy of the page stands, the browser itself runs the script."""
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text("utf-8"))
    return page.evaluate(AXE, RULES)


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


def _nothing(page: Any) -> None:
    pass


def _log(page: Any) -> None:
    page.wait_for_selector("body[data-ready=true]")


def _tab(name: str) -> Callable[[Any], None]:
    def show(page: Any) -> None:
        _log(page)
        page.click(f"#tab-{name}")

    return show


def _cursor(page: Any) -> None:
    _log(page)
    page.fill("#cursor-depth", "5")
    page.keyboard.press("Enter")
    page.wait_for_selector(".log-values tr")


def _explanation(page: Any) -> None:
    _cursor(page)
    page.locator(".log-value:enabled").filter(has_text="corrected cone resistance").first.click()
    page.wait_for_selector(".log-explained")
    page.locator(".log-steps summary").first.click()


def _track_sheet(page: Any) -> None:
    _log(page)
    page.click("#choose-tracks")


def _save_sheet(page: Any) -> None:
    _tab("edits")(page)
    page.fill("#setting-water_level", "2.5")
    page.keyboard.press("Tab")
    page.wait_for_selector("#save:enabled")
    page.click("#save")
    page.wait_for_selector("#save-sheet[open]")


def _picks(page: Any) -> None:
    page.get_by_role("slider", name="in-situ pore pressure").focus()
    page.keyboard.press("ArrowUp")
    page.get_by_role("button", name="Save the picks").wait_for()


def _details(page: Any) -> None:
    page.locator("summary").first.wait_for()
    for one in page.locator("summary").all():
        one.click()


def _typed_layers(page: Any) -> None:
    boxes = page.locator("fieldset input[type=checkbox]")
    boxes.first.wait_for()
    for box in boxes.all():  # the sounding that is being pushed may have a log by now
        if box.is_enabled():
            box.uncheck()
    page.get_by_label("cone resistance of layer 2 in MPa").wait_for()


def _intake(page: Any) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "new.csv"
        export_text(sample("over-water"), path)
        page.locator("input[type=file]").set_input_files(path)
        page.get_by_role("button", name="Keep it").wait_for()
        page.locator("#intake summary").first.click()


def _doubt(page: Any) -> None:
    page.get_by_role("button", name="Doubt or note").first.click()
    page.wait_for_selector(".tick-why")


def _dialog(key: str, dialog: str) -> Callable[[Any], None]:
    def show(page: Any) -> None:
        page.wait_for_selector("#alarms li")
        page.locator("body").press(key)
        page.wait_for_selector(f"#{dialog}[open]")

    return show


def _shelve(page: Any) -> None:
    page.wait_for_selector("#alarms li")
    page.get_by_role("button", name="Shelve").first.click()
    page.wait_for_selector("#shelve-dialog[open]")


def _alarm(page: Any) -> None:
    page.wait_for_selector("#alarms li")


STATES: dict[str, tuple[str, Callable[[Any], None]]] = {
    "start": ("/", lambda page: page.wait_for_selector("#plan > *")),
    "start, a file on trial": ("/", _intake),
    "log": ("/log?s=HM-1", _log),
    "log, cursor": ("/log?s=HM-1", _cursor),
    "log, explanation": ("/log?s=HM-1", _explanation),
    "log, findings": ("/log?s=HM-1", _tab("findings")),
    "log, layers": ("/log?s=HM-1", _tab("layers")),
    "log, methods": ("/log?s=HM-1", _tab("methods")),
    "log, edits": ("/log?s=HM-1", _tab("edits")),
    "log, decisions": ("/log?s=HM-1", _tab("decisions")),
    "log, choice of tracks": ("/log?s=HM-1", _track_sheet),
    "log, saving": ("/log?s=HM-1", _save_sheet),
    "proof": ("/proof?s=HM-1", lambda page: page.wait_for_selector(".verdict")),
    "proof of nothing": ("/proof?s=none", lambda page: page.get_by_role("alert").wait_for()),
    "dissipation": ("/dissipation?s=HM-1", lambda page: page.wait_for_selector(".test")),
    "dissipation, picks": ("/dissipation?s=HM-1", _picks),
    "equipment": ("/equipment?s=HM-1", lambda page: page.wait_for_selector(".cards")),
    "report": ("/report?s=HM-1", _details),
    "plan": ("/plan", lambda page: page.wait_for_selector(".verdict")),
    "plan, typed layers": ("/plan", _typed_layers),
    "checklist": ("/field?part=checklist&s=HM-1", lambda page: page.wait_for_selector(".tick")),
    "checklist, doubt": ("/field?part=checklist&s=HM-1", _doubt),
    "closing a hole": ("/field?part=closing&s=HM-1", _details),
    "day": ("/field?part=day", lambda page: page.wait_for_selector(".day-strip")),
    "push": ("/push", _alarm),
    "push, note": ("/push", _dialog("n", "note-dialog")),
    "push, pause": ("/push", _dialog("p", "pause-dialog")),
    "push, stop": ("/push", _dialog("q", "ask-dialog")),
    "push, shelve": ("/push", _shelve),
    "login": ("/login", _nothing),
}


def look(page: Any) -> None:
    """Nothing is wrong on the page as it stands."""
    end = time.monotonic() + 6
    while (found := page.evaluate(CHECK))["faults"] and time.monotonic() < end:
        page.wait_for_timeout(300)  # a page that still fills itself
    assert found["looked"]["texts"] > 3, "the check saw no text"
    assert found["looked"]["controls"] > 0, "the check saw no control"
    assert not found["faults"], "\n".join(found["faults"])
    found = axe(page)
    assert found["passed"] > 10, "axe-core did not look"
    assert not found["faults"], "\n".join(found["faults"])


@pytest.mark.parametrize("state", STATES)
def test_a_page_can_be_used_by_everybody(site: Any, page: Any, state: str) -> None:
    page.watched.expected = ("404",) if "nothing" in state else ()
    address, bring = STATES[state]
    page.add_init_script("localStorage.getItem('theme') ?? localStorage.setItem('theme', 'light')")
    page.goto(f"{site.url}{address}")
    page.locator("h1:visible").first.wait_for()
    page.wait_for_load_state("load")
    bring(page)
    for theme in ("light", "dark"):
        assert page.evaluate("document.documentElement.dataset.theme") == theme
        look(page)
        # a dialog keeps the key from a finger, not from the script
        page.evaluate("document.querySelector('.theme-key').click()")


@pytest.mark.parametrize("address", ["/", "/log", "/report", "/plan", "/push"])
def test_a_page_with_nothing_on_it_yet_says_so(
    serve: Any, tmp_path: Path, page: Any, address: str
) -> None:
    page.goto(f"{serve(tmp_path).url}{address}")
    page.locator(":is(.message, .verdict, #nothing-text):visible").first.wait_for()
    look(page)
    for key in ("#save", "#zoom-in"):  # no key stands there that can do nothing
        assert not page.locator(key).is_visible()


def test_both_checks_find_what_is_wrong(browser: Any) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.set_content(
        """<html lang="en"><title>x</title><style>* { margin: 0; padding: 0 }</style>
        <main><h1>One</h1><h3>Three</h3><button></button><canvas></canvas><input>
        <p style="color: #999; background: #fff">pale</p><img src="data:,">
        <svg aria-label="plot" role="img"><text y="20" fill="#aaa">tick</text></svg>
        <button style="width: 46px; height: 46px" aria-label="small"></button></main>
        <main></main>"""
    )
    faults = "\n".join(page.evaluate(CHECK)["faults"])
    others = "\n".join(axe(page)["faults"])
    context.close()
    for part in ("no name: button", "no name: input", "no name: canvas", "no name: img"):
        assert part in faults
    for part in ("2 main", "h3 after h1", "contrast 2.8", "contrast 2.3", "target 46 x 46"):
        assert part in faults
    for part in ("critical: button-name", "serious: color-contrast", "moderate: heading-order"):
        assert part in others

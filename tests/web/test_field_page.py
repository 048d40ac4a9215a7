"""The field page in a real browser: fill, record, reload; by keyboard, by touch, and watching."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from pushproof.sources.rehearsal.export import export_text
from pushproof.store import Job
from pushproof.testing import sample
from web.conftest import watch
from web.fieldjob import DAY, field_job
from web.pushing import Feeder, job_at, until

pytestmark = pytest.mark.browser


@pytest.fixture
def job(tmp_path):
    return field_job(tmp_path / "site.job")


def item(page, key):
    return page.locator(f"[data-item={key}]")


def test_a_tick_is_kept_and_shown_again(serve, job, page):
    served = serve(job)
    page.watched.expected = ("422",)
    page.goto(f"{served.url}/field?part=checklist&s=HM-1")
    done = page.get_by_role("button", name="Done: buried services cleared")
    done.click()
    expect(page.get_by_role("status").filter(has_text="initials")).to_be_visible()
    expect(page.get_by_label("Your initials")).to_be_focused()
    page.get_by_label("Your initials").fill("RV")
    done.click()
    expect(item(page, "services").locator(".tick-state")).to_contain_text("done, RV")
    page.get_by_role("button", name="Doubt or note: filter new").click()
    page.get_by_role("button", name="Keep as a doubt").click()
    expect(page.locator(".said")).to_contain_text("a doubt says why")
    page.get_by_label("What was seen: filter new").fill("bubble seen")
    page.get_by_role("button", name="Keep as a doubt").click()
    expect(item(page, "filter").locator(".tick-state")).to_contain_text("in doubt, RV")
    page.reload()
    expect(item(page, "services").locator(".tick-state")).to_contain_text("done, RV")
    expect(item(page, "filter").locator(".tick-state")).to_contain_text("bubble seen")
    expect(page.locator(".verdict")).to_contain_text("1 in doubt")
    expect(page.get_by_label("Your initials")).to_have_value("RV")
    with Job.open(job) as opened:
        assert [one.author for one in opened.events("HM-1", kind="checked")] == ["RV", "RV"]


def test_the_list_of_a_new_sounding_by_the_keyboard_alone(serve, job, page):
    served = serve(job)
    page.goto(f"{served.url}/field?part=checklist")
    page.get_by_label("Sounding", exact=True).wait_for()
    focus(page, "#field-sounding")
    page.keyboard.press("End")  # a new sounding
    page.keyboard.type("HM-7")
    page.keyboard.press("Enter")
    page.get_by_text("10 of 10 open before the push").wait_for()
    focus(page, "#checklist-by")
    page.keyboard.type("RV")
    page.keyboard.press("Tab")
    for key in ("site", "services", "overhead"):  # the focus goes on to the next open item
        expect(item(page, key).locator("[data-does=done]")).to_be_focused()
        page.keyboard.press("Enter")
        expect(item(page, key)).to_have_attribute("data-state", "done")
    page.get_by_text("7 of 10 open before the push").wait_for()
    assert "s=HM-7" in page.url
    with Job.open(job) as opened:
        assert [one.details["item"] for one in opened.events("HM-7")] == [
            "site", "services", "overhead",
        ]  # fmt: skip


def focus(page, which):
    """Press Tab until something has the focus."""
    for _ in range(40):
        if page.evaluate("(which) => document.activeElement?.matches(which)", which):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{which} cannot be reached with Tab")


def test_a_hole_is_planned_closed_and_shown_again(serve, job, page):
    served = serve(job)
    page.goto(f"{served.url}/field?s=HM-1")  # it was pushed and not closed: that is what is next
    expect(page.locator("[aria-current=page]", has_text="Close the hole")).to_be_visible()
    expect(page.get_by_text("no record says that the hole was closed")).to_be_visible()
    grout = page.locator("[data-number=planned]")
    before = grout.text_content()
    page.get_by_label("Friction reducer across [mm]").fill("50")
    expect(grout).not_to_have_text(before)
    page.get_by_label("pour").check()
    expect(page.locator(".grout .verdict")).to_have_attribute("data-level", "stop")
    page.get_by_label("tremie").check()
    expect(page.locator(".grout .verdict")).to_have_attribute("data-level", "caution")
    page.get_by_label("Friction reducer across [mm]").fill("5000")
    page.watched.expected = ("422",)
    expect(page.locator(".said.level-stop").first).to_contain_text("reducer")
    page.get_by_label("Friction reducer across [mm]").fill("50")
    expect(page.locator(".said.level-stop").first).to_be_empty()
    record = page.get_by_role("button", name="Record: hole closed")
    record.click()
    expect(page.get_by_label("Grout that went in [L]")).to_be_focused()
    page.get_by_label("Grout that went in [L]").fill("61")
    page.get_by_label("Placed from, depth [m]").fill("20.5")
    page.get_by_label("Permit").fill("14-22")
    page.get_by_label("Closed by").fill("KM")
    record.click()
    expect(page.locator(".verdict").first).to_contain_text("Hole closed by tremie: 61 L")
    with page.expect_download() as sheet:
        page.get_by_role("button", name="Record of the hole (PDF)").click()
    assert sheet.value.suggested_filename == "HM-1-hole.pdf"
    page.reload()
    page.goto(f"{served.url}/field?part=closing&s=HM-1")
    expect(page.locator(".verdict").first).to_contain_text("Hole closed by tremie: 61 L")
    expect(page.get_by_label("Friction reducer across [mm]")).to_have_value("50")
    expect(page.locator(".recorded")).to_contain_text("14-22")
    with Job.open(job) as opened:
        [event] = opened.events("HM-1", kind="closing")
    assert event.details["order"]["reducer"] == 0.05


def test_the_day_is_shown_and_words_are_kept(serve, job, page):
    served = serve(job)
    page.goto(f"{served.url}/field?part=day")
    expect(page.locator(".verdict")).to_contain_text("1 sounding, 21.50 m in 1.6 hours")
    expect(page.locator(".day-strip .stood").first).to_be_visible()
    expect(page.locator(".diary li").nth(1)).to_contain_text("service clearance")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator(".said")).to_contain_text("first")
    page.get_by_label("Weather").fill("dry, 14 degC")
    page.get_by_label("Crew").fill("KM, JS")
    page.get_by_label("Your initials").fill("KM")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator(".day-word").first).to_contain_text("dry, 14 degC (KM)")
    page.reload()
    expect(page.locator(".day-word").first).to_contain_text("dry, 14 degC (KM)")
    with page.expect_download() as sheet:
        page.get_by_role("link", name="Report (PDF)").click()
    assert sheet.value.suggested_filename == f"day-{DAY}.pdf"
    page.get_by_role("button", name="Earlier").click()  # today
    expect(page.get_by_text("A day of standing has a report")).to_be_visible()
    page.get_by_label("Weather").fill("storm")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator(".verdict")).to_contain_text("Nothing was pushed")


def test_fingers_reach_every_key(serve, job, browser):
    served = serve(job)
    context = browser.new_context(viewport={"width": 800, "height": 1280}, has_touch=True)
    page = context.new_page()
    seen = watch(page)
    page.add_init_script("localStorage.setItem('initials', 'RV')")
    page.goto(f"{served.url}/field?part=checklist&s=HM-1")
    for key in ("site", "cone", "left"):
        box = item(page, key).locator("[data-does=done]")
        box.scroll_into_view_if_needed()
        size = box.bounding_box()
        assert size["height"] >= 72
        # 12 px off the middle, as a glove does
        page.touchscreen.tap(
            size["x"] + size["width"] / 2 + 12, size["y"] + size["height"] / 2 - 12
        )
        expect(item(page, key)).to_have_attribute("data-state", "done")
    for part in ("checklist", "closing", "day"):
        page.goto(f"{served.url}/field?part={part}&s=HM-1")
        page.locator(".verdict").first.wait_for()
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= 800, f"{part} is {wide} px wide"
    context.close()
    assert not seen.errors


def test_who_watches_may_not_record(serve, job, page):
    served = serve(job, read_only=True)
    page.goto(f"{served.url}/field?part=checklist&s=HM-1")
    item(page, "site").wait_for()
    expect(page.locator(".tick button")).to_have_count(0)
    page.goto(f"{served.url}/field?part=closing&s=HM-1")
    page.get_by_label("Friction reducer across [mm]").fill("50")  # planning is free
    expect(page.locator("[data-number=planned]")).to_be_visible()
    expect(page.get_by_label("Grout that went in [L]")).to_have_count(0)
    page.goto(f"{served.url}/field?part=day")
    page.locator(".verdict").wait_for()
    expect(page.locator("form")).to_have_count(0)


def test_a_loose_file_says_why_it_takes_no_record(serve, tmp_path, page):
    export_text(sample("clay-over-sand"), tmp_path / "HM-1.csv")
    served = serve(tmp_path)
    page.goto(f"{served.url}/field?part=closing&s=HM-1")
    expect(page.get_by_text("Import it into a job first")).to_be_visible()
    page.watched.expected = ("422",)
    page.goto(f"{served.url}/field?part=day")
    expect(page.get_by_role("alert")).to_contain_text("no job file is served")


def told(path):
    """How deep the events of a push tell that it went."""
    with Job.open(path) as opened:
        return max((one.details.get("length") or 0 for one in opened.events("A/1")), default=0)


def test_the_end_of_a_push_leads_to_its_hole(serve, tmp_path, page):
    path = job_at(tmp_path / "site.job")
    feeder = Feeder(path)
    served = serve(path, station=feeder.station)
    client = served.client(headers={"x-client": "test"})
    assert client.post("/api/push/record", json={"sounding": "A/1"}).status_code == 200
    assert client.post("/api/push/start", json={}).status_code == 200
    feeder.push(0.6)
    until(lambda: told(path) > 0.59)  # the record itself tells how deep, without a merge
    [one] = client.get("/api/field").json()["soundings"]
    assert (one["recording"], one["hole_open"], one["waiting"]) == (True, False, False)
    ticked = {"by": "RV", "done": ["zeros-before"]}  # the recorder has the job: it writes
    assert client.post("/api/soundings/A-1/checklist", json=ticked).status_code == 200
    page.goto(f"{served.url}/push")
    expect(page.locator("#close-hole")).to_be_hidden()
    assert client.post("/api/push/stop", json={}).status_code == 200
    page.locator("#close-hole").click()
    expect(page.get_by_label("Sounding", exact=True)).to_have_value("A-1")
    expect(page.get_by_text("no record says that the hole was closed")).to_be_visible()
    expect(page.get_by_label("Depth [m]", exact=True)).to_have_attribute("placeholder", "0.60")


def test_an_open_hole_is_told_on_the_start_page(serve, job, page):
    served = serve(job)
    ticked = {"sounding": "HM-7", "by": "RV", "done": ["site"]}
    assert served.client().post("/api/checklist", json=ticked).status_code == 200
    page.goto(served.url)
    waits = page.locator("tr[data-id=HM-7]")
    expect(waits).to_contain_text("not pushed yet, 9 open on the checklist")
    expect(waits.get_by_role("link", name="Checklist of HM-7")).to_be_visible()
    expect(waits.get_by_role("link")).to_have_count(2)  # it has no log, no proof, no report yet
    link = page.get_by_role("link", name="hole not closed")
    link.click()
    expect(page.locator("[data-number=planned]")).to_be_visible()
    assert "part=closing" in page.url

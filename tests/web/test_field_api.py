"""The calls of the field page do what the commands do, and say what is wrong with a value."""

from __future__ import annotations

import io

import openpyxl
import pytest

from pushproof.planning.closing import GroutOrder
from pushproof.planning.grouting import hole_of, plan_grout
from pushproof.recording.daybook import daybook
from pushproof.recording.ticks import ticks
from pushproof.sources.rehearsal.export import export_text
from pushproof.store import Job, verify
from pushproof.testing import sample
from web.fieldjob import DAY, field_job
from web.pushing import Feeder, job_at

BASE = "/api/soundings/HM-1"


@pytest.fixture
def job(tmp_path):
    return field_job(tmp_path / "site.job")


@pytest.fixture
def client(serve, job):
    return serve(job).client()


def test_a_tick_is_the_fact_that_the_command_keeps(client, job):
    before = client.get(f"{BASE}/checklist").json()
    assert {line["state"] for line in before["lines"]} == {"open"}
    assert "permit" in before["local"]
    done = client.post(f"{BASE}/checklist", json={"by": "RV", "done": ["services", "link"]})
    assert done.status_code == 200
    doubt = {"by": "KL", "doubt": ["link"], "note": "microphone loose"}
    lines = {
        one["item"]: one for one in client.post(f"{BASE}/checklist", json=doubt).json()["lines"]
    }
    assert (lines["services"]["state"], lines["services"]["by"]) == ("done", "RV")
    assert (lines["link"]["state"], lines["link"]["note"]) == ("in doubt", "microphone loose")
    with Job.open(job) as opened:
        kept = ticks(opened, "HM-1")
        assert [(one.item, one.done, one.by) for one in kept] == [
            ("services", True, "RV"), ("link", True, "RV"), ("link", False, "KL"),
        ]  # fmt: skip
    assert verify(job).ok


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ({"done": ["link"]}, "by: expected initials"),
        ({"by": "RV", "doubt": ["link"]}, "note: a doubt says why"),
        ({"by": "RV", "done": ["link", "tea"]}, "no item 'tea' on the checklist; items: site"),
        ({"by": "RV"}, "done, doubt: name at least one"),
        ({"by": "RV", "done": ["link"], "at": 0}, "at: Extra inputs"),
        ({"by": "RV", "done": "link"}, "done: Input should be a valid list"),
    ],
)
def test_a_wrong_tick_is_refused_in_words_and_nothing_is_kept(client, job, body, told):
    answer = client.post(f"{BASE}/checklist", json=body)
    assert answer.status_code == 422
    assert told in answer.json()["error"]
    with Job.open(job) as opened:
        assert ticks(opened, "HM-1") == []


def test_the_list_of_a_sounding_begins_before_it_is_pushed(client, job):
    assert {one["state"] for one in client.get("/api/checklist").json()["lines"]} == {"open"}
    assert client.get("/api/soundings/HM-7/checklist").status_code == 404
    body = {"sounding": " HM/7 ", "by": "RV", "done": ["site"]}
    begun = client.post("/api/checklist", json=body).json()
    assert (begun["id"], begun["sounding"]) == ("HM-7", "HM/7")
    assert client.get("/api/soundings/HM-7/checklist").json() == begun
    waits = {one["name"]: one["waiting"] for one in client.get("/api/site").json()["soundings"]}
    assert waits == {"HM-1": False, "HM/7": True}
    for wrong in ({**body, "sounding": "  "}, {**body, "by": ""}, {"by": "RV", "done": ["site"]}):
        assert client.post("/api/checklist", json=wrong).status_code == 422
    hole = client.get("/api/soundings/HM-7/closing").json()
    assert (hole["plan"], hole["hole"]["depth"]) == (None, None)
    asked = client.post("/api/soundings/HM-7/closing/plan", json={})
    assert asked.status_code == 422
    assert "give the depth of the hole" in asked.json()["error"]


def test_a_sounding_is_begun_while_another_is_recorded(serve, tmp_path):
    path = job_at(tmp_path / "site.job")
    client = serve(path, station=Feeder(path).station).client(headers={"x-client": "test"})
    assert client.get("/api/site").json()["soundings"] == []
    assert client.post("/api/push/record", json={"sounding": "A-1"}).status_code == 200
    body = {"sounding": "A-2", "by": "RV", "done": ["site"]}
    assert client.post("/api/checklist", json=body).json()["id"] == "A-2"
    found = {one["name"]: one for one in client.get("/api/field").json()["soundings"]}
    assert (found["A-1"]["recording"], found["A-2"]["waiting"]) == (True, True)


def test_what_is_left_in_the_field(client):
    [one] = client.get("/api/field").json()["soundings"]
    assert (one["pushed"], one["hole_open"], one["recording"]) == (True, True, False)
    client.post(f"{BASE}/checklist", json={"by": "RV", "done": ["site"], "note": ""})
    client.post(f"{BASE}/closing", json={"take": {"take": 40, "by": "KM"}})
    [after] = client.get("/api/field").json()["soundings"]
    assert after["open_before"] == one["open_before"] - 1
    assert (after["hole_open"], after["closed"][:11]) == (False, "hole closed")


def test_the_grout_is_what_the_library_works_out(client):
    found = client.get(f"{BASE}/closing").json()
    expected = plan_grout(GroutOrder(), hole_of(sample("clay-over-sand"))).grouting
    assert found["plan"]["hole_volume"] == pytest.approx(expected.hole_volume)
    assert (found["plan"]["cement_bags"], found["plan"]["bentonite_bags"]) == expected.bags
    assert "local law" in found["local"]
    order = {"depth": 20, "tip_area": 0.0015, "method": "pour", "artesian": True}
    plan = client.post(f"{BASE}/closing/plan", json=order).json()
    assert plan["hole_volume"] == pytest.approx(30.0, abs=0.05)  # 1.50 L per metre
    assert plan["level"] == "stop"
    assert {"grout-pour", "grout-artesian", "grout-needed"} <= {f["id"] for f in plan["findings"]}


@pytest.mark.parametrize(
    ("order", "told"),
    [
        ({"reducer": 50}, "reducer: Input should be less than or equal to 0.5"),
        ({"depth": -1}, "depth: Input should be greater than 0"),
        ({"loss": 0.5}, "loss: Input should be greater than or equal to 1"),
        ({"casing_depth": 5}, "casing is 5 m deep but has no diameter"),
        ({"mix": "mud"}, "mix 'mud': known are cement-bentonite-firm"),
        ({"method": "hope"}, "'retraction', 're-entry', 'tremie' or 'pour'"),
        ({"dept": 5}, "dept: Extra inputs"),
    ],
)
def test_a_wrong_measure_is_named(client, order, told):
    answer = client.post(f"{BASE}/closing/plan", json=order)
    assert answer.status_code == 422
    assert told in answer.json()["error"]


def test_a_closing_is_the_event_that_the_command_keeps(client, job):
    body = {
        "order": {"reducer": 0.05},
        "take": {
            "take": 61, "lowest": 20.5, "density": 1.29, "permit": "14-22", "by": "KM",
            "remark": "topped up by hand",
        },
    }  # fmt: skip
    found = client.post(f"{BASE}/closing", json=body)
    assert found.status_code == 200
    [kept] = found.json()["closings"]
    assert (kept["closing"]["take"], kept["closing"]["permit"]) == (61, "14-22")
    assert found.json()["order"]["reducer"] == 0.05  # what it was planned from stands
    assert found.json()["plan"]["hole_volume"] == kept["closing"]["hole_volume"]
    with Job.open(job) as opened:
        [event] = opened.events("HM-1", kind="closing")
    assert (event.author, event.details["lowest"]) == ("KM", 20.5)
    assert verify(job).ok
    again = {"order": {"reducer": 0.05}, "take": {"take": 20, "by": "KM"}}
    later = client.post(f"{BASE}/closing", json=again).json()["closings"]
    assert [one["closing"]["take"] for one in later] == [61, 20]
    assert later[-1]["findings"][0]["id"] == "grout-short"
    sheet = client.post(f"{BASE}/closing/sheet.pdf", json={})
    assert sheet.content.startswith(b"%PDF")
    assert sheet.headers["content-disposition"] == 'attachment; filename="HM-1-hole.pdf"'


@pytest.mark.parametrize(
    ("take", "told"),
    [
        ({"take": 61}, "take.by: Field required"),
        ({"take": 61, "by": ""}, "take.by: String should have at least 1 character"),
        ({"take": -1, "by": "KM"}, "take.take: Input should be greater than or equal to 0"),
        ({"take": 61, "by": "KM", "density": 1290}, "take.density: Input should be less than 2.5"),
    ],
)
def test_a_wrong_record_is_refused_and_nothing_is_kept(client, job, take, told):
    answer = client.post(f"{BASE}/closing", json={"take": take})
    assert answer.status_code == 422
    assert told in answer.json()["error"]
    with Job.open(job) as opened:
        assert not opened.events("HM-1", kind="closing")


def test_the_day_is_what_the_command_tells(client, job):
    days = client.get("/api/days").json()
    assert (days["job"], days["days"]) == ("site.job", [DAY])
    day = client.get(f"/api/days/{DAY}").json()
    with Job.open(job) as opened:
        book = daybook(opened)
    [one] = day["soundings"]
    [expected] = book.soundings
    assert (one["metres"], one["standing"], one["testing"]) == (21.5, 900.0, 1200.0)
    assert (one["first_clock"], one["rate"]) == ("08:00", expected.rate)
    assert [stop["tested"] for stop in one["stops"]] == [False, True]
    assert [(line["clock"], line["kind"]) for line in day["diary"]] == [
        ("08:00", "began"), ("08:25", "stop"), ("09:15", "test"), ("09:20", "note"),
        ("09:35", "ended"),
    ]  # fmt: skip
    assert client.get(f"/api/days/{DAY}/sheet.pdf").content.startswith(b"%PDF")
    answer = client.get(f"/api/days/{DAY}/book.xlsx")
    assert "soundings" in openpyxl.load_workbook(io.BytesIO(answer.content)).sheetnames


def test_words_of_a_day_are_kept_also_when_nothing_was_pushed(client, job):
    said = client.post(f"/api/days/{DAY}", json={"by": "KM", "weather": "dry", "crew": "KM, JS"})
    assert [one["text"] for one in said.json()["weather"]] == ["dry (KM)"]
    storm = "2031-05-14"
    assert client.get(f"/api/days/{storm}").status_code == 409
    assert client.post(f"/api/days/{storm}", json={"weather": "storm"}).status_code == 200
    assert client.get(f"/api/days/{storm}").json()["head"] == "Nothing was pushed"
    assert client.get("/api/days").json()["days"] == [DAY, storm]
    empty = client.post(f"/api/days/{DAY}", json={"by": "KM", "note": "  "})
    assert (empty.status_code, empty.json()["error"]) == (
        422, "weather, crew, note: say at least one of them",
    )  # fmt: skip
    assert client.get("/api/days/yesterday").status_code == 422
    assert verify(job).ok


def test_those_who_watch_read_and_plan_but_record_nothing(serve, job):
    client = serve(job, read_only=True).client()
    for address in ("/api/field", f"{BASE}/checklist", f"{BASE}/closing", f"/api/days/{DAY}"):
        assert client.get(address).status_code == 200
    assert client.post(f"{BASE}/closing/plan", json={}).status_code == 200
    for address, body in (
        (f"{BASE}/checklist", {"by": "RV", "done": ["site"]}),
        ("/api/checklist", {"sounding": "N", "by": "RV", "done": ["site"]}),
        (f"{BASE}/closing", {"take": {"take": 1, "by": "RV"}}),
        (f"/api/days/{DAY}", {"note": "x"}),
    ):
        refused = client.post(address, json=body)
        assert refused.status_code == 403
        assert "you may only watch" in refused.json()["error"]


def test_a_job_that_another_program_writes_says_so(client, job):
    with Job.open(job, write=True, purpose="import"):
        busy = client.post(f"{BASE}/checklist", json={"by": "RV", "done": ["site"]})
    assert busy.status_code == 423


def test_loose_files_have_a_hole_but_no_record(serve, tmp_path):
    export_text(sample("clay-over-sand"), tmp_path / "HM-1.csv")
    client = serve(tmp_path).client()
    assert client.get("/api/field").json() == {"takes_new": False, "soundings": []}
    found = client.get(f"{BASE}/closing").json()
    assert (found["in_job"], found["plan"]["level"]) == (False, "caution")
    assert not client.get(f"{BASE}/checklist").json()["in_job"]
    for address, body in (
        (f"{BASE}/checklist", {"by": "RV", "done": ["site"]}),
        (f"{BASE}/closing", {"take": {"take": 1, "by": "RV"}}),
    ):
        refused = client.post(address, json=body)
        assert refused.status_code == 422
        assert "import it" in refused.json()["error"]
    day = "/api/days/2031-05-13"
    for refused in (client.get(day), client.post(day, json={"note": "x"})):
        assert "no job file is served" in refused.json()["error"]
    assert client.post("/api/checklist", json={"sounding": "N", "by": "R"}).status_code == 422


def test_a_folder_of_jobs_asks_which(serve, tmp_path):
    for name in ("a", "b"):
        field_job(tmp_path / f"{name}.job")
    client = serve(tmp_path).client()
    assert "name the job: a.job, b.job" in client.get("/api/days").json()["error"]
    assert client.get("/api/days?job=b.job").json()["job"] == "b.job"
    assert client.get(f"/api/days/{DAY}?job=b.job").json()["soundings"][0]["id"] != "HM-1"
    for wrong in ("c.job", "../b.job", "/etc/passwd"):
        assert client.get("/api/days", params={"job": wrong}).status_code == 404

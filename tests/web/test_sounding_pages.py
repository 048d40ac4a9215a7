"""The pages of one sounding: proof, equipment, dissipation, report and files, and bringing in."""

import io
import json
import zipfile

import openpyxl
import pytest
from playwright.sync_api import expect

import pushproof as pp
from pushproof.quality import assess
from pushproof.sources.rehearsal.export import export_text
from pushproof.store import Job, import_file
from pushproof.store.observations import keep_observations
from pushproof.testing import sample


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "site.job"
    files = tmp_path / "files"
    files.mkdir()
    with Job.create(path) as made:
        for name in ("clay-over-sand", "refusal"):
            source = files / f"{name}.json"
            pp.write(sample(name), source, "json")
            import_file(made, source)
    return path


@pytest.fixture
def loose(tmp_path):
    path = tmp_path / "loose"
    path.mkdir()
    export_text(sample("clay-over-sand"), path / "HM-1.csv")
    return path


def test_the_proof_says_what_the_checks_say(serve, job):
    proof = serve(job).client().get("/api/soundings/HM-1/proof").json()
    (found,) = [one for one in pp.read_all(job) if one.name == "HM-1"]
    expected = assess(pp.process(found))
    assert [one["text"] for one in proof["classes"]] == [one.text for one in expected.classes]
    known = {one.found for one in expected.findings}
    assert known <= {one["found"] for one in proof["findings"]}
    assert proof["counts"]["stop"] == sum(f.severity.word == "stop" for f in expected.findings)
    assert proof["rate"]["inside"] == pytest.approx(1.0, abs=0.1)
    assert proof["sign_off"] is None


def test_a_sounding_is_signed_on_what_was_looked_at(serve, job):
    client = serve(job).client()
    wrong = client.post("/api/soundings/HM-1/sign", json={"author": "R. Viewer", "based_on": 7})
    assert wrong.status_code == 422
    assert "look again" in wrong.json()["error"]
    done = client.post("/api/soundings/HM-1/sign", json={"author": "R. Viewer", "based_on": 0})
    assert "Signed by R. Viewer" in done.json()["line"]
    assert client.get("/api/soundings/HM-1/proof").json()["sign_off"]["changed"] == []
    decision = {
        "document": {"water_level": 3.0}, "author": "R. Viewer", "reason": "pipe", "based_on": 0,
    }  # fmt: skip
    assert client.put("/api/soundings/HM-1/recipe", json=decision).status_code == 200
    changed = client.get("/api/soundings/HM-1/proof").json()["sign_off"]["changed"]
    assert any("water_level" in text for text in changed)
    with Job.open(job) as opened:
        assert opened.decisions("sign-off", "HM-1")[-1].author == "R. Viewer"


def test_a_loose_file_cannot_be_signed_on_the_page(serve, loose):
    client = serve(loose).client()
    assert "sign_off" not in client.get("/api/soundings/HM-1/proof").json()
    answer = client.post("/api/soundings/HM-1/sign", json={"author": "R. Viewer", "based_on": 0})
    assert answer.status_code == 422
    assert "import it" in answer.json()["error"]


def test_a_calibration_is_added_and_what_was_known_stays(serve, job):
    client = serve(job).client()
    before = client.get("/api/soundings/HM-1/equipment").json()
    given = {"channel": "qc", "date": "2031-05-01", "capacity": 50000.0, "uncertainty": 20.0}
    assert client.post("/api/soundings/HM-1/calibrations", json=given).status_code == 204
    after = client.get("/api/soundings/HM-1/equipment").json()
    assert len(after["calibrations"]) == len(before["calibrations"]) + 1
    newest = next(one for one in after["calibrations"] if one["date"] == "2031-05-01")
    assert newest["age_at_push"] == 12  # pushed on 13 May
    assert after["cone"] == before["cone"]
    wrong = client.post("/api/soundings/HM-1/calibrations", json={"channel": "qc", "date": "May"})
    assert wrong.status_code == 422
    strange = {"channel": "q c", "date": "2031-05-01"}
    refused = client.post("/api/soundings/HM-1/calibrations", json=strange)
    assert refused.status_code == 422
    assert "unknown quantity 'q c'" in refused.json()["error"]


def test_those_who_watch_change_nothing(serve, job):
    client = serve(job, read_only=True).client()
    assert client.get("/api/soundings/HM-1/proof").status_code == 200
    for path, body in (
        ("sign", {"author": "R. Viewer", "based_on": 0}),
        ("calibrations", {"channel": "qc", "date": "2031-05-01"}),
    ):
        assert client.post(f"/api/soundings/HM-1/{path}", json=body).status_code == 403
    assert client.post("/api/intake/upload?name=a.csv", content=b"x").status_code == 403


def test_picks_are_tried_and_saved_as_a_decision(serve, job):
    client = serve(job).client()
    document = client.get("/api/soundings/HM-1/dissipations").json()
    if not document["tests"]:
        pytest.fail("the sample lost its dissipation test")
    (test,) = document["tests"]
    tried = client.post("/api/soundings/HM-1/dissipations/1/try", json={"Ir": 200}).json()
    # ch grows with the root of the rigidity index (Teh and Houlsby 1991)
    assert tried["chosen"]["ch"] / test["chosen"]["ch"] == pytest.approx(2**0.5, rel=1e-4)
    picks = {"choice": {"Ir": 200}, "author": "R. Viewer", "reason": "triaxial", "based_on": 0}
    assert client.put("/api/soundings/HM-1/dissipations/1", json=picks).json()["version"] == 1
    again = client.put("/api/soundings/HM-1/dissipations/1", json=picks)
    assert again.status_code == 409
    (saved,) = client.get("/api/soundings/HM-1/dissipations").json()["tests"]
    assert saved["Ir"] == 200
    assert client.post("/api/soundings/HM-1/dissipations/9/try", json={}).status_code == 404


def test_log_report_and_tables_come_as_files(serve, job):
    client = serve(job).client()
    log = client.get("/api/soundings/HM-1/log.pdf")
    assert log.content.startswith(b"%PDF")
    assert log.headers["content-disposition"] == 'attachment; filename="HM-1.pdf"'
    report = client.post("/api/report", json={"soundings": ["HM-1", "HM-2"]})
    assert report.content.startswith(b"%PDF")
    book = openpyxl.load_workbook(
        io.BytesIO(client.get("/api/soundings/HM-1/table/xlsx").content), read_only=True
    )
    assert len(book.sheetnames) > 1
    assert client.post("/api/report", json={"soundings": ["none"]}).status_code == 404
    assert client.post("/api/report", json={"soundings": []}).status_code == 422
    traversal = {"soundings": ["HM-1"], "scheme": "../../etc/passwd"}
    assert client.post("/api/report", json=traversal).status_code == 422


def test_log_and_report_tell_the_observations_that_the_job_holds(serve, job, tmp_path, pdf_text):
    client = serve(job).client()
    table = tmp_path / "BH-2.csv"
    table.write_text("kind,top,base,words\nlayer,1.9,4.5,soft grey clay\n", encoding="utf-8")
    with Job.open(job, write=True) as opened:
        keep_observations(opened, table, soundings=["HM-1"], author="R. Viewer")
    assert "soft grey clay" in pdf_text(client.get("/api/soundings/HM-1/log.pdf").content)
    assert "soft grey clay" not in pdf_text(client.get("/api/soundings/HM-2/log.pdf").content)
    report = client.post("/api/report", json={"soundings": ["HM-1", "HM-2"]})
    assert pdf_text(report.content).count("soft grey clay") == 1


def test_exchange_says_what_is_lost_and_asks_before_it_writes(serve, job, tmp_path):
    client = serve(job).client()
    names = {one["name"] for one in client.get("/api/formats").json()}
    assert {"ags4", "gef"} <= names
    base = "/api/soundings/HM-1/export/ags4"
    told = client.post(f"{base}/check", json={}).json()
    needed = [one["field"] for one in told["missing"] if one["required"]]
    assert needed
    assert told["losses"]
    refused = client.post(base, json={})
    assert refused.status_code == 422
    assert needed[0] in refused.json()["error"]
    fields = dict.fromkeys(needed, "1")
    done = client.post(base, json={"fields": fields})
    assert done.status_code == 200, done.text
    path = tmp_path / "back.ags"
    path.write_bytes(done.content)
    assert pp.read(path).name == "HM-1"
    for wrong in ({"overwrite": "1"}, {"path": "x.ags"}):
        assert client.post(base, json={"fields": wrong}).status_code == 422


def test_several_exchange_files_come_in_one_archive(serve, job):
    client = serve(job).client()
    told = client.post("/api/soundings/HM-1/export/gef/check", json={}).json()
    fields = {one["field"]: "1" for one in told["missing"] if one["required"]}
    done = client.post("/api/soundings/HM-1/export/gef", json={"fields": fields})
    assert done.status_code == 200, done.text
    with zipfile.ZipFile(io.BytesIO(done.content)) as archive:
        assert len(archive.namelist()) == 2  # the sounding and its dissipation test


def test_a_file_is_looked_at_before_it_is_kept(serve, job):
    client = serve(job).client()
    text = b"d;tip;sleeve\n" + b"".join(b"%.2f;1.5;20\n" % (0.02 * k) for k in range(1, 60))
    look = client.post("/api/intake/upload?name=../../plain.csv", content=text).json()
    assert look["name"] == "plain.csv"
    assert look["head"][0] == "d;tip;sleeve"
    token = look["token"]
    named = client.post(
        f"/api/intake/{token}/preview", json={"columns": "depth=1:m, qc=2:MPa, fs=3:kPa"}
    ).json()
    assert named["fault"] == ""
    columns = {one["key"]: one for one in named["soundings"][0]["columns"]}
    assert columns["qc"]["high"] == pytest.approx(1500.0)
    kept = client.post(
        f"/api/intake/{token}/keep", json={"columns": "depth=1:m, qc=2:MPa, fs=3:kPa"}
    ).json()
    listed = [one["name"] for one in client.get("/api/site").json()["soundings"]]
    assert kept["soundings"][0] in listed
    with Job.open(job) as opened:
        link = opened.originals()[-1]
        assert opened.original_bytes(link.link) == text
    assert client.post(f"/api/intake/{token}/keep", json={}).status_code == 404
    path = client.post("/api/intake/upload?name=b.csv", content=text).json()["token"]
    sly = client.post(f"/api/intake/{path}/preview", json={"columns": "/etc/passwd"})
    assert sly.status_code == 422


def test_a_file_that_cannot_be_read_says_why_and_is_kept_by_nobody(serve, loose):
    client = serve(loose).client()
    look = client.post("/api/intake/upload?name=x.gef", content=b"#GEFID = 1,1,0\n#EOH=\n1 2\n")
    assert look.json()["fault"]
    assert str(loose) not in look.text
    assert client.post(f"/api/intake/{look.json()['token']}/keep", json={}).status_code == 422
    assert [path.name for path in loose.iterdir()] == ["HM-1.csv"]
    assert client.post("/api/intake/upload?name=x.gef", content=b"").status_code == 422
    same = (loose / "HM-1.csv").read_bytes()
    token = client.post("/api/intake/upload?name=HM-1.csv", content=same).json()["token"]
    answer = client.post(f"/api/intake/{token}/keep", json={})
    assert answer.status_code == 422
    assert "in the folder already" in answer.json()["error"]


@pytest.mark.browser
def test_every_page_of_a_sounding_opens_without_a_fault(serve, job, page):
    served = serve(job)
    page.goto(served.url)
    page.wait_for_selector("#plan svg")
    assert page.locator("tr[data-id=HM-1] .depth").inner_text() == "21.48"
    for name in ("proof", "equipment", "dissipation", "report"):
        page.goto(f"{served.url}/{name}?s=HM-1")
        page.wait_for_selector(".sounding-links [aria-current=page]")
        page.locator(f"#{name} > *").first.wait_for()
        assert "HM-1" in page.title()
    page.watched.expected = ("404",)
    page.goto(f"{served.url}/proof?s=none")
    page.get_by_role("alert").wait_for()


@pytest.mark.browser
def test_a_pick_is_dragged_and_saved(serve, job, page):
    served = serve(job)
    page.goto(f"{served.url}/dissipation?s=HM-1")
    grip = page.get_by_role("slider", name="in-situ pore pressure")
    box = grip.locator(".pick-grip").bounding_box()
    ways = page.locator("section.test table tbody tr").first
    before = ways.text_content()
    x, y = box["x"] + box["width"] / 2 + 12, box["y"] + box["height"] / 2  # 12 px off the middle
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 20, steps=4)
    page.mouse.up()
    expect(ways).not_to_have_text(before)
    page.get_by_label("Who decides").fill("R. Viewer")
    page.get_by_label("Why").fill("standpipe read")
    page.get_by_role("button", name="Save the picks").click()
    page.get_by_text("saved as version 1").wait_for()
    with Job.open(job) as opened:
        (decision,) = opened.decisions("recipe", "HM-1")
    assert decision.reason == "standpipe read"
    (picked,) = decision.document["dissipations"]
    assert picked["u0"] > 55  # hydrostatic at 6.5 m under a level of 1.1 m is 53 kPa
    grip = page.get_by_role("slider", name="in-situ pore pressure")
    grip.focus()
    page.keyboard.press("ArrowUp")
    page.get_by_role("button", name="Save the picks").wait_for()


@pytest.mark.browser
def test_a_number_typed_for_a_dissipation_keeps_the_focus(serve, job, page):
    page.goto(f"{serve(job).url}/dissipation?s=HM-1")
    page.get_by_label("in-situ pore pressure [kPa]").fill("60")
    page.keyboard.press("Tab")
    page.get_by_role("button", name="Save the picks").wait_for()  # drawn anew
    expect(page.get_by_label("rigidity index")).to_be_focused()
    page.keyboard.type("150")
    page.keyboard.press("Enter")
    expect(page.locator("section.test")).to_contain_text("Rigidity index 150, given")


@pytest.mark.browser
def test_a_file_is_brought_in_on_the_start_page(serve, job, page, tmp_path):
    served = serve(job)
    page.goto(served.url)
    new = tmp_path / "new.csv"
    export_text(sample("over-water"), new)
    page.locator("input[type=file]").set_input_files(new)
    page.get_by_role("button", name="Keep it").click()
    page.get_by_text("Kept:").wait_for()
    expect(page.locator("#soundings tbody tr")).to_have_count(3)


@pytest.mark.browser
def test_the_report_is_downloaded(serve, job, page):
    served = serve(job)
    page.goto(f"{served.url}/report?s=HM-1")
    with page.expect_download() as download:
        page.get_by_role("button", name="Build the report").click()
    assert download.value.suggested_filename == "report.pdf"
    assert json.dumps(page.watched.outside) == "[]"

"""The plan page: what the planning library says, at once, while a slider moves."""

import pytest
from playwright.sync_api import expect

from pushproof.planning.document import plan_from
from pushproof.planning.outlook import ground_of, work_out
from pushproof.sources.rehearsal.export import export_text
from pushproof.testing import sample

PLAN = {
    "target": 12.0,
    "rig": {"mass": 6000.0, "thrust": 100.0, "free_length": 1.0},
    "layers": [
        {"top": 0, "base": 8, "soil": "clay", "qc": 800.0},
        {"top": 8, "base": 15, "soil": "sand", "qc": 20000.0},
    ],
}


@pytest.fixture
def folder(tmp_path):
    export_text(sample("clay-over-sand"), tmp_path / "HM-1.csv")
    return tmp_path


def test_the_page_says_what_the_library_says(serve, folder):
    found = serve(folder).client().post("/api/plan", json={"plan": PLAN}).json()
    plan = plan_from(PLAN)
    expected = work_out(plan, ground_of(plan))
    assert found["probability_of_target"] == pytest.approx(expected.refusal.reached, abs=1e-4)
    assert found["available_kN"] == pytest.approx(expected.limits.least[1], rel=1e-4)
    assert found["along"][-1]["depth_m"] == pytest.approx(12.0, abs=0.1)


def test_a_plan_of_the_page_names_no_files(serve, folder):
    client = serve(folder).client()
    for name, value in (("profile", "/etc/passwd"), ("near", ["../x.gef"])):
        refused = client.post("/api/plan", json={"plan": {**PLAN, "layers": [], name: value}})
        assert refused.status_code == 422
        assert "names no files" in refused.json()["error"]
    wrong = client.post("/api/plan", json={"plan": {**PLAN, "target": -1}})
    assert "target" in wrong.json()["error"]
    nowhere = client.post("/api/plan", json={"plan": {**PLAN, "layers": []}, "near": ["none"]})
    assert nowhere.status_code == 404
    sheet = client.post("/api/plan/sheet.pdf", json={"plan": PLAN})
    assert sheet.content.startswith(b"%PDF")


@pytest.mark.browser
def test_a_slider_moves_the_forecast_and_layers_can_be_typed(serve, folder, page):
    page.goto(f"{serve(folder).url}/plan")
    verdict = page.locator(".verdict")
    verdict.wait_for()
    before = verdict.text_content()
    page.get_by_label("free length of rod").fill("0.3")
    expect(verdict).not_to_have_text(before)
    page.get_by_label("HM-1").uncheck()
    page.get_by_label("cone resistance of layer 2 in MPa").wait_for()
    light = verdict.text_content()
    page.get_by_label("cone resistance of layer 2 in MPa").fill("45")
    page.keyboard.press("Enter")
    expect(verdict).not_to_have_text(light)
    page.get_by_label("depth to reach").focus()
    page.keyboard.press("ArrowRight")  # by the keyboard alone
    expect(verdict).to_contain_text("20.5 m")
    with page.expect_download() as sheet:
        page.get_by_role("button", name="Sheet (PDF)").click()
    assert sheet.value.suggested_filename == "plan.pdf"

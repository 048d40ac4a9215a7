"""The page and the call that prove the record say what the store proves, and find a change."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

import pushproof as pp
from pushproof.sources.rehearsal.export import export_text
from pushproof.store import Job, import_file, verify
from pushproof.testing import sample
from pushproof.web.app import create_app
from web.asgi import Client


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path, source = tmp_path / "site" / "site.job", tmp_path / "HM-1.json"
    path.parent.mkdir()
    pp.write(sample("short"), source, "json")
    with Job.create(path) as made:
        import_file(made, source)
    return path


def proved(path: Path, **body: Any) -> Any:
    return Client(create_app(path)).post("/api/record/verify", json=body)


def alter(job: Path) -> None:
    """Change one byte of the file that was imported, as somebody with a database tool could."""
    with sqlite3.connect(job) as database:
        for (name,) in database.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute(
            "UPDATE event SET text = 'changed' WHERE link = (SELECT MAX(link) FROM event)"
        )
    database.close()


def test_a_whole_record_proves_itself_with_the_links_of_the_store(job: Path) -> None:
    expected = verify(job)
    (found,) = proved(job).json()["jobs"]
    assert found["whole"]
    assert (found["file"], found["links"]) == ("site.job", expected.links)
    assert found["head"] == str(expected.head)
    assert found["problems"] == []
    again = proved(job, head=found["head"]).json()["jobs"][0]
    assert again["whole"]
    lost = proved(job, head="1:" + "00" * 32).json()["jobs"][0]
    assert not lost["whole"]
    assert "not in this chain" in lost["problems"][0]["text"]
    assert proved(job, head="nonsense").status_code == 422


def test_a_change_is_found_and_named(job: Path) -> None:
    alter(job)
    (found,) = proved(job).json()["jobs"]
    assert not found["whole"]
    assert [one.text for one in verify(job).problems] == [one["text"] for one in found["problems"]]
    assert any("altered" in one["text"] for one in found["problems"])


def test_a_folder_proves_every_job_and_a_loose_file_none(job: Path, tmp_path: Path) -> None:
    second = job.with_name("second.job")
    second.write_bytes(job.read_bytes())
    alter(second)
    answer = proved(job.parent)
    assert {one["file"]: one["whole"] for one in answer.json()["jobs"]} == {
        "second.job": False, "site.job": True,
    }  # fmt: skip
    assert proved(job.parent, head="1:" + "00" * 32).status_code == 422
    export_text(sample("short"), tmp_path / "S-1.csv")
    loose = proved(tmp_path / "S-1.csv")
    assert loose.status_code == 404
    assert "no chain to prove" in loose.json()["error"]


def test_a_decision_after_the_sign_off_is_told(job: Path) -> None:
    client = Client(create_app(job))
    (entry,) = client.get("/api/site").json()["soundings"]
    base = f"/api/soundings/{entry['id']}"
    assert client.post(f"{base}/sign", json={"author": "R. Sand", "based_on": 0}).status_code == 200
    (found,) = proved(job).json()["jobs"]
    assert found["whole"]
    assert [one["changed"] for one in found["sign_offs"]] == [[]]
    decision = {"document": {"water_level": 2.0}, "based_on": 0, "author": "R. Sand",
                "reason": "standpipe"}  # fmt: skip
    assert client.put(f"{base}/recipe", json=decision).status_code == 200
    (found,) = proved(job).json()["jobs"]
    assert not found["whole"]
    assert found["problems"] == []
    assert "water_level" in found["sign_offs"][0]["changed"][0]


@pytest.mark.browser
def test_the_start_page_verifies_when_asked(serve: Any, page: Any, job: Path) -> None:
    page.goto(serve(job).url)
    button = page.get_by_role("button", name="Verify the record")
    expect(button).to_be_visible()
    links = verify(job).links
    button.click()
    told = page.locator("#proved")
    expect(told).to_contain_text(f"site.job: record verified, {links} links, chain unbroken.")
    assert button.evaluate("(it) => it === document.activeElement")
    alter(job)
    button.click()
    expect(told).to_contain_text("does not prove itself")
    expect(told).to_contain_text("altered")
    expect(told.locator(".level-stop")).to_be_visible()


@pytest.mark.browser
def test_a_loose_file_offers_no_proof(serve: Any, page: Any, tmp_path: Path) -> None:
    export_text(sample("short"), tmp_path / "S-1.csv")
    page.goto(serve(tmp_path / "S-1.csv").url)
    expect(page.get_by_role("link", name="Log of")).to_be_visible()
    expect(page.locator("#verify")).to_be_hidden()

"""The memory of the cone on the proof page: what the link lost is restored from its read-out."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import expect

from pushproof.model.series import Origin
from pushproof.recording.assemble import sounding
from pushproof.recording.session import Session, equip_from, rehearsed
from pushproof.sources.rehearsal import Rehearsal, write_memory
from pushproof.sources.replay import ReplaySource
from pushproof.store import Job, import_file, verify
from pushproof.testing import sample


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A push with a fifth of its packets lost, the memory of its cone, and an imported file."""
    from pushproof import write

    folder = tmp_path_factory.mktemp("memory")
    rig = Rehearsal("HM-2", "loss=0.2", 4)
    with Job.create(folder / "site.job") as job:
        equip_from(job, "HM-2", rehearsed(rig))
        with Session(job, "HM-2", [ReplaySource(rig.messages(), speed=0)], waiting=10**6) as push:
            push.wait()
        write(sample("clay-over-sand"), folder / "HM-1.json", "json")
        import_file(job, folder / "HM-1.json")
    write_memory(rig, folder / "memory.csv")
    return folder


@pytest.fixture
def folder(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path / "site")
    return tmp_path / "site"


def sent(client: Any, path: Path) -> str:
    answer = client.post(
        "/api/intake/upload", params={"name": path.name}, content=path.read_bytes()
    )
    token: str = answer.json()["token"]
    return token


def test_a_read_out_restores_what_the_link_lost(serve: Any, folder: Path) -> None:
    path = folder / "site.job"
    client = serve(path).client()
    before = client.get("/api/soundings/HM-2/memory").json()
    assert before["lost"] > 10
    assert (before["restored"], before["readings"]) == (0, None)
    token = sent(client, folder / "memory.csv")
    after = client.post("/api/soundings/HM-2/memory", json={"token": token}).json()
    assert after["restored"] == before["lost"]
    assert after["lost"] == 0
    assert after["readings"] == len(Rehearsal("HM-2", "loss=0.2", 4).memory())
    with Job.open(path) as job:
        origins = set(sounding(job, "HM-2").readings["origin"])
    assert origins == {Origin.LIVE, Origin.MEMORY}
    assert verify(path).ok
    # the proof is that of the merged push at once
    origin = client.get("/api/soundings/HM-2/proof").json()["origin"]
    assert "cone memory" in {one["trace"] for one in origin}


def test_what_cannot_be_brought_in_is_told(serve: Any, folder: Path) -> None:
    served = serve(folder / "site.job")
    client = served.client()
    address = "/api/soundings/HM-2/memory"
    assert client.post(address, json={"token": "nothing"}).status_code == 404
    wrong = folder / "wrong.csv"
    wrong.write_text("depth [m],qc [MPa]\n1.0,2.0\n1.02,2.1\n")
    refused = client.post(address, json={"token": sent(client, wrong)})
    assert refused.status_code == 422
    assert "time" in refused.json()["error"]
    token = sent(client, folder / "memory.csv")
    assert client.post(address, json={"token": token}).status_code == 200
    again = client.post(address, json={"token": sent(client, folder / "memory.csv")})
    assert again.status_code == 409
    assert "was read in before" in again.json()["error"]
    # an imported file has no packets
    assert client.get("/api/soundings/HM-1/memory").status_code == 409


def test_who_only_watches_brings_nothing_in(serve: Any, folder: Path) -> None:
    served = serve(folder / "site.job", password="rods and cones", view_password="only to watch")
    headers = {"authorization": "Bearer only to watch"}
    client = served.client(headers=headers)
    assert client.get("/api/soundings/HM-2/memory").status_code == 200
    answer = client.post("/api/soundings/HM-2/memory", json={"token": "any"})
    assert answer.status_code == 403


@pytest.mark.browser
def test_the_crew_brings_the_memory_in_on_the_page(serve: Any, page: Any, folder: Path) -> None:
    served = serve(folder / "site.job")
    page.goto(f"{served.url}/proof?s=HM-2")
    card = page.locator(".card", has=page.locator("h2", has_text="Memory of the cone"))
    expect(card).to_contain_text(re.compile(r"restored by the memory\s*0"))
    card.get_by_label("Read-out, a text table").set_input_files(folder / "memory.csv")
    card.get_by_role("button", name="Bring it in").press("Enter")
    expect(card.get_by_role("status").last).to_contain_text("packets are restored", timeout=20_000)
    expect(card).to_contain_text(re.compile(r"lost\s*0"))
    with Job.open(folder / "site.job") as job:
        assert np.isfinite(sounding(job, "HM-2").readings["qc"]).all()
    page.goto(f"{served.url}/proof?s=HM-1")
    page.locator(".verdict").wait_for()
    assert page.locator("h2", has_text="Memory of the cone").count() == 0

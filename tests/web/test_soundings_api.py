"""The routes of the log page: they say what the library says, and no decision is lost."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from pushproof.interpretation import interpret
from pushproof.model.recipe import Methods, Recipe
from pushproof.model.sounding import Sounding
from pushproof.processing import process
from pushproof.sources.rehearsal.export import export_text
from pushproof.store import Job, import_file
from pushproof.testing.samples import sample
from pushproof.web.access import Access
from pushproof.web.app import create_app
from pushproof.web.desk import Desk
from pushproof.web.site import Site
from web.asgi import Client

JSON = "application/json"


def serving(path: Path, **more: Any) -> Client:
    return Client(create_app(path, **more))


@pytest.fixture(scope="module")
def export(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("export") / "HM-1.csv"
    export_text(sample("clay-over-sand"), path)
    return path


@pytest.fixture
def loose(export: Path, tmp_path: Path) -> Path:
    path = tmp_path / "HM-1.csv"
    path.write_bytes(export.read_bytes())
    return path


@pytest.fixture
def job(loose: Path, tmp_path: Path) -> Path:
    path = tmp_path / "site.job"
    with Job.create(path) as made:
        import_file(made, loose)
    return path


@pytest.fixture(params=["file", "job"])
def client(request: pytest.FixtureRequest, loose: Path, job: Path) -> Client:
    path = loose if request.param == "file" else job
    return serving(path)


def id_of(client: Client) -> str:
    (one,) = client.get("/api/site").json()["soundings"]
    return str(one["id"])


def facts(path: Path) -> Sounding:
    from pushproof.formats import read

    return read(path)


def get(client: Client, route: str, **query: Any) -> Any:
    answer = client.get(f"/api/soundings/{id_of(client)}/{route}", params=query)
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_the_cursor_reads_what_the_library_says(client: Client, loose: Path) -> None:
    derived = interpret(process(facts(loose)))
    depth = derived.series["depth"]
    for row in (5, 300, 700, len(depth) - 1):
        found = get(client, "at", depth=float(depth[row]) + 0.004)
        assert found["row"] == row
        assert found["depth"] == depth[row]
        for key in ("qc", "qt", "u2", "Ic", "su", "phi", "zone"):
            value = derived.series[key][row]
            told = found["values"][key]
            if np.isfinite(value):
                assert told["value"] == value
                assert told["reason"] == ""
            else:
                assert told["value"] is None
                assert told["text"] == "–"
                assert told["reason"]
    assert found["values"]["qt"]["unit"] == "MPa"
    assert found["values"]["qt"]["shown"] == pytest.approx(derived.series["qt"][row] / 1000)


def test_beyond_the_rows_there_is_no_value(client: Client) -> None:
    found = get(client, "at", depth=300.0)
    assert found["row"] is None
    assert found["values"] == {}


def test_a_window_holds_the_rows_of_the_library(client: Client, loose: Path) -> None:
    derived = interpret(process(facts(loose)))
    found = get(client, "window", top=4, base=6, pixels=900, names="cone,soil")
    assert not found["reduced"]
    depth = np.array(found["depth"])
    rows = np.searchsorted(derived.series["depth"], depth - 1e-4)
    qt = np.array(found["columns"]["qt"])
    assert qt == pytest.approx(derived.series["qt"][rows] / 1000, rel=1e-4)
    assert found["soil"]["stretches"]
    small = get(client, "window", top=0, base=22, pixels=60, names="cone")
    assert small["reduced"]
    high = max(v for v in small["columns"]["qt"]["max"] if v is not None)
    assert high == pytest.approx(np.nanmax(derived.series["qt"]) / 1000, rel=1e-4)
    assert small["soil"] is None


def test_the_log_tells_rail_findings_classes_and_tracks(client: Client) -> None:
    found = get(client, "log")
    assert found["rail"]["spans"]
    numbers = [one["number"] for one in found["findings"]]
    assert numbers == sorted(numbers)
    assert found["classes"]
    assert found["usual"][0] == "cone"
    assert "su" in {one["name"] for one in found["choices"]}
    tracks = get(client, "tracks", names="cone,su,unheard-of")
    assert [one["name"] for one in tracks] == ["cone", "su"]
    assert tracks[0]["scale"]["high"] > 0


def test_bands_come_with_the_curves_they_belong_to(client: Client) -> None:
    found = get(client, "window", top=3, base=8, pixels=900, names="su", bands=True)
    low, mid, high = (
        np.array([np.nan if v is None else v for v in found["columns"][key]], dtype=float)
        for key in ("su.p10", "su", "su.p90")
    )
    known = np.isfinite(mid)
    assert known.sum() > 100
    assert (low[known] < mid[known]).all()
    assert (mid[known] < high[known]).all()


def test_a_value_is_explained_with_numbers_and_source(client: Client, loose: Path) -> None:
    found = get(client, "explain", key="su", depth=5.0)
    derived = interpret(process(facts(loose)))
    assert found["value"] == derived.series["su"][found["row"]]
    assert found["links"][-1]["source"]
    assert found["band"]["p10"] < found["value"] < found["band"]["p90"]
    refused = client.get(
        f"/api/soundings/{id_of(client)}/explain", params={"key": "nonsense", "depth": 5}
    )
    assert refused.status_code == 422
    assert "no column 'nonsense' to explain" in refused.json()["error"]


def test_a_draft_shows_its_effect_and_saves_nothing(client: Client) -> None:
    before = get(client, "at", depth=5.0)["values"]["su"]
    sketch = {"document": {"methods": {"su": "su_ndu"}}}
    answer = client.post(f"/api/soundings/{id_of(client)}/preview", json=sketch).json()
    assert answer["changed"] == [{"field": "methods.su", "before": "su_nkt", "after": "su_ndu"}]
    after = get(client, "at", depth=5.0, recipe=answer["recipe"])["values"]["su"]
    assert after["value"] != before["value"]
    assert after["origin"] != before["origin"]
    assert get(client, "at", depth=5.0)["values"]["su"] == before
    assert get(client, "recipe")["version"] == 0


def save(client: Client, based_on: int, author: str = "R. Sand", **document: Any) -> Any:
    return client.put(
        f"/api/soundings/{id_of(client)}/recipe",
        json={
            "document": document,
            "author": author,
            "reason": "standpipe read in May",
            "based_on": based_on,
        },
    )


def test_a_saved_decision_is_used_and_told(client: Client) -> None:
    assert save(client, 0, water_level=2.5).json()["version"] == 1
    assert get(client, "log")["marks"]["water"]["level"] == 2.5
    found = get(client, "recipe")
    assert found["document"] == {"water_level": 2.5}
    last = found["versions"][-1]
    assert (last["author"], last["reason"]) == ("R. Sand", "standpipe read in May")
    assert last["time"]
    assert last["changed"] == [{"field": "water_level", "before": None, "after": 2.5}]


def test_the_second_of_two_editors_is_told_and_nothing_is_lost(client: Client) -> None:
    save(client, 0, water_level=2.5)
    blank = {"top": 2.0, "base": 2.5, "channels": ["u2"], "reason": "filter dry"}
    refused = save(client, 0, author="C. Clay", blanked=[blank])
    assert refused.status_code == 409
    told = refused.json()
    assert (told["author"], told["based_on"], told["newest"]) == ("R. Sand", 0, 1)
    assert told["changed"] == [{"field": "water_level", "before": None, "after": 2.5}]
    assert get(client, "recipe")["document"] == {"water_level": 2.5}
    both = save(client, 1, author="C. Clay", water_level=2.5, blanked=[blank])
    assert both.json()["version"] == 2
    value = get(client, "at", depth=2.2)["values"]["u2"]
    assert (value["value"], value["reason"]) == (None, "blanked by a decision")


def test_undo_is_a_new_version(client: Client) -> None:
    save(client, 0, water_level=2.5)
    back = {"to": 0, "author": "C. Clay", "based_on": 1}
    answer = client.post(f"/api/soundings/{id_of(client)}/undo", json=back)
    assert answer.json() == {"version": 2, "document": {}}
    versions = get(client, "recipe")["versions"]
    assert [one["author"] for one in versions] == ["", "R. Sand", "C. Clay"]
    assert versions[-1]["reason"] == "back to version 0"


@pytest.mark.parametrize(
    ("document", "words"),
    [
        ({"water_levle": 1.0}, "unknown field"),
        ({"methods": {"su": "guess"}}, "methods.su"),
        ({"blanked": [{"top": 1, "base": 2, "reason": ""}]}, "reason"),
    ],
)
def test_a_bad_recipe_is_named_and_not_saved(
    client: Client, document: dict[str, Any], words: str
) -> None:
    refused = save(client, 0, **document)
    assert refused.status_code == 422
    assert words in refused.json()["error"]
    assert get(client, "recipe")["version"] == 0


def test_errors_are_words_with_the_right_status(client: Client) -> None:
    lost = client.get("/api/soundings/nowhere/log")
    assert lost.status_code == 404
    assert "nowhere" in lost.json()["error"]
    base = f"/api/soundings/{id_of(client)}"
    turned = client.get(f"{base}/window", params={"top": 3, "base": 2, "pixels": 100})
    assert turned.status_code == 422
    assert "is not below" in turned.json()["error"]
    assert client.get(f"{base}/log", params={"recipe": "f" * 64}).status_code == 410
    assert client.get(f"{base}/at", params={"depth": "nan"}).status_code == 422
    for torn in (b"\xe8\tk\x17", b'{"document": ', b"\x00"):
        answer = client.post(f"{base}/preview", content=torn, headers={"content-type": JSON})
        assert answer.status_code == 422
        assert answer.json()["error"].startswith("the body cannot be read; expected JSON")
    assert client.get("/api/soundings/..%2F..%2Fetc/log").status_code == 404


def test_a_job_that_another_program_records_refuses_in_words(job: Path) -> None:
    client = serving(job)
    with Job.open(job, write=True):
        refused = save(client, 0, water_level=2.5)
        assert refused.status_code == 423
        assert get(client, "log")["rows"] > 0


def test_a_recorder_in_this_process_lends_its_job(job: Path) -> None:
    with Job.open(job, write=True) as open_job:
        client = serving(job, session=SimpleNamespace(job=open_job))
        assert save(client, 0, water_level=2.5).status_code == 200
    with Job.open(job) as read:
        (name,) = read.soundings()
        assert read.recipe(name).water_level == 2.5


def test_a_folder_gives_each_sounding_an_id_of_its_own(loose: Path, job: Path) -> None:
    site = Site(loose.parent)
    ids = [one.id for one in site.entries()]
    assert len(ids) == len(set(ids)) == 2
    desk = Desk(site)
    assert desk.log(ids[0]).series["qc"].size == desk.log(ids[1]).series["qc"].size


def test_results_are_computed_once(loose: Path) -> None:
    site = Site(loose)
    desk = Desk(site)
    (entry,) = site.entries()
    assert desk.log(entry.id) is desk.log(entry.id)
    other = desk.log(entry.id, Recipe(methods=Methods(su="su_nke")))
    assert other is not desk.log(entry.id)
    before = desk.log(entry.id)
    loose.write_text(loose.read_text() + "\n")
    assert desk.log(entry.id) is not before


def test_one_who_only_watches_can_look_and_not_decide(job: Path) -> None:
    client = serving(job, access=Access(read_only=True))
    assert get(client, "log")["rows"] > 0
    base = f"/api/soundings/{id_of(client)}"
    assert client.post(f"{base}/preview", json={"document": {}}).status_code == 200
    assert save(client, 0, water_level=2.5).status_code == 403
    back = {"to": 0, "author": "C. Clay", "based_on": 0}
    assert client.post(f"{base}/undo", json=back).status_code == 403
    assert get(client, "recipe")["version"] == 0


def test_a_stranger_sees_nothing(job: Path) -> None:
    client = serving(job, access=Access("correct horse battery"))
    assert client.get("/api/soundings/HM-1/log").status_code == 401

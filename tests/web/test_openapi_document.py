"""The OpenAPI document is whole, and every answer is what it says, for good and odd soundings.

The client of these tests holds each answer against the document (:mod:`web.conforming`), so a
call that is made here is a call that is checked.
"""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import pushproof as pp
from pushproof.sources.rehearsal.export import export_text
from pushproof.store import Job, import_file
from pushproof.testing import sample
from pushproof.web.app import create_app
from pushproof.web.openapi import TAGS
from report.test_odd_soundings import odd
from web import conforming
from web.asgi import Client

SAMPLES = ("clay-over-sand", "refusal", "desaturated", "no-u2", "no-fs", "over-water", "short")
READS = (
    "log", "tracks", "window?top=0&base=9&pixels=100", "window?top=1&base=2&pixels=900&bands=true",
    "window?top=0&base=30&pixels=200&names=cone,soil,su,Ic&bands=true", "at?depth=2.5",
    "at?depth=900", "explain?depth=2.5&key=qt", "explain?depth=2.5&key=su",
    "explain?depth=6&key=phi", "layers", "recipe", "summary", "proof", "equipment", "dissipations",
)  # fmt: skip
PLAN: dict[str, Any] = {
    "target": 20.0,
    "rig": {"mass": 9000, "thrust": 100},
    "layers": [{"top": 0, "base": 12, "soil": "clay", "qc": 800},
               {"top": 12, "base": 22, "soil": "sand", "qc": 14000}],
    "anchors": {"count": 2, "torque": 3.0},
    "cone": {"serial": "C1", "tip_area": 0.001},
    "data": {"battery": 8.0, "level": 60.0, "loss_per_metre": 0.4, "noise": 5.0},
}  # fmt: skip


def operations() -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, methods in conforming.described()["paths"].items():
        for method, operation in methods.items():
            yield method, path, operation


EVERY = [pytest.param(*one, id=f"{one[0]} {one[1]}") for one in operations()]


@pytest.mark.parametrize(("method", "path", "operation"), EVERY)
def test_a_call_says_all_that_a_caller_needs(method: str, path: str, operation: Any) -> None:
    assert len(operation["summary"].split()) >= 3, "a sentence, not the name of a function"
    assert operation["tags"]
    assert set(operation["tags"]) <= set(TAGS)
    assert operation["x-right"] in ("none", "view", "edit", "control")
    answers = operation["responses"]
    good = [status for status in answers if status.startswith("2")]
    assert len(good) == 1
    for status, said in answers.items():
        assert said["description"] not in ("", "Successful Response"), status
        for kind, content in said.get("content", {}).items():
            assert content.get("schema"), f"{status} {kind}: no schema"
    assert good == ["204"] or answers[good[0]]["content"]
    refused = set(answers) - set(good)
    needed = {"421"} | (set() if operation["x-right"] == "none" else {"401"})
    needed |= set() if method == "get" else {"403", "413"}
    needed |= {"422"} if operation.get("parameters") or "requestBody" in operation else set()
    needed |= {"404"} if "{id}" in path else set()
    assert needed <= refused
    for status in refused:
        assert "Problem" in str(answers[status]["content"]["application/json"]["schema"]), status


def test_names_of_calls_are_their_own() -> None:
    names = [operation["operationId"] for _, _, operation in operations()]
    assert len(names) == len(set(names))
    assert all(re.fullmatch(r"[a-z][a-z0-9-]+", name) for name in names), names


def test_every_reference_of_the_document_points_somewhere() -> None:
    document = conforming.described()
    targets = set(re.findall(r"'\$ref': '#/components/schemas/(\w+)'", str(document)))
    assert targets <= set(document["components"]["schemas"])
    assert {"Problem", "Recipe", "Plan", "LogDocument"} <= targets


PLAIN = {
    "low", "high", "step", "first", "min", "max", "last", "ic", "p10", "p50", "p90", "mean",
    "before", "after", "shift", "values", "value",
}  # fmt: skip
"""Numbers whose unit stands beside them in the same document, or that the class tells of."""


def test_every_number_of_an_answer_says_its_unit_or_what_it_is() -> None:
    from pushproof.web import answers

    seen, bare = 0, []
    for found in pkgutil.iter_modules(answers.__path__):
        module = importlib.import_module(f"{answers.__name__}.{found.name}")
        for model in vars(module).values():
            if getattr(model, "__module__", "") != module.__name__ or not isinstance(model, type):
                continue
            for name, field in model.model_fields.items():
                if name not in vars(model)["__annotations__"] or "float" not in str(
                    field.annotation
                ):
                    continue
                seen += 1
                named = re.search(r"_(kN|kPa|MPa|m)$", name) or name in PLAIN
                if not (field.description or named):
                    bare.append(f"{model.__name__}.{name}")
    assert seen > 100
    assert bare == []


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("job")
    path = folder / "site.job"
    with Job.create(path) as made:
        for name in SAMPLES:
            pp.write(sample(name), folder / f"{name}.json", "json")
            import_file(made, folder / f"{name}.json")
    return path


def ids(client: Client) -> list[str]:
    return [one["id"] for one in client.get("/api/site").json()["soundings"]]


def test_every_reading_call_answers_as_described(job: Path) -> None:
    client = Client(create_app(job))
    for id in ids(client):
        for read in READS:
            answer = client.get(f"/api/soundings/{id}/{read}")
            # a sounding without a channel has no column to explain, and says so
            refused = read.startswith("explain") and answer.status_code == 422
            assert answer.status_code == 200 or refused, answer.text


@pytest.mark.parametrize("seeds", [range(6), range(6, 12), range(12, 18), range(18, 24)])
def test_odd_soundings_are_answered_as_described(tmp_path: Path, seeds: range) -> None:
    for seed in seeds:
        pp.write(odd(seed), tmp_path / f"odd-{seed}.json", "json")
    client = Client(create_app(tmp_path))
    assert len(ids(client)) == len(seeds)
    seen = []
    for id in ids(client):
        for read in READS:
            answer = client.get(f"/api/soundings/{id}/{read}")
            assert answer.status_code in (200, 422), answer.text
            seen.append(answer.status_code)
    assert seen.count(200) > 0.8 * len(seen)


def test_every_call_that_decides_or_makes_answers_as_described(job: Path, tmp_path: Path) -> None:
    path = tmp_path / "site.job"
    path.write_bytes(job.read_bytes())
    client = Client(create_app(path))
    base, by = "/api/soundings/HM-1", {"author": "R. Sand", "reason": "standpipe read"}
    blank = {"top": 2.0, "base": 2.5, "channels": ["u2"], "reason": "filter dry"}
    steps = [{"depth": 4.0, "reason": "boring"}, {"depth": 12.0, "reason": "boring"}]
    document = {"water_level": 2.5, "blanked": [blank], "layers": {"boundaries": steps},
                "corrections": [{"kind": "despike", "channel": "qc", "reason": "spikes"}],
                "class_ordered": {"name": "2"}, "factors": {"Nkt": 15}}  # fmt: skip
    done = client.post(f"{base}/preview", json={"document": document})
    assert done.status_code == 200, done.text
    for read in READS[:11]:
        more = "&" if "?" in read else "?"
        assert client.get(f"{base}/{read}{more}recipe={done.json()['recipe']}").status_code == 200
    one = {"document": document, "based_on": 0} | by
    assert client.put(f"{base}/recipe", json=one).status_code == 200
    assert client.put(f"{base}/recipe", json=one).status_code == 409
    two = {"to": 0, "author": "C. Clay", "based_on": 0}
    assert client.post(f"{base}/undo", json=two).status_code == 409
    assert client.post(f"{base}/undo", json=two | {"based_on": 1}).status_code == 200
    for method in ("direct", "root-time", "curve-fit"):
        picks = {"method": method, "Ir": 80}
        tried = client.post(f"{base}/dissipations/1/try", json=picks)
        assert tried.status_code == 200, tried.text
    saved = {"choice": {"method": "direct"}, "based_on": 2} | by
    assert client.put(f"{base}/dissipations/1", json=saved).status_code == 200
    assert client.put(f"{base}/dissipations/1", json=saved).status_code == 409
    assert client.put(f"{base}/dissipations/7", json=saved).status_code == 404
    given = {"channel": "qc", "date": "2031-05-01", "capacity": 50000.0}
    assert client.post(f"{base}/calibrations", json=given).status_code == 204
    signature = {"author": "R. Sand", "based_on": 3}
    assert client.post(f"{base}/sign", json=signature).status_code == 200
    assert client.post(f"{base}/sign", json=signature | {"based_on": 1}).status_code == 422
    assert client.get(f"{base}/proof").json()["sign_off"]["changed"] == []
    for read in READS:
        assert client.get(f"{base}/{read}").status_code == 200


def test_every_file_comes_as_described(job: Path) -> None:
    client = Client(create_app(job))
    base = "/api/soundings/HM-1"
    assert client.get(f"{base}/log.pdf").content.startswith(b"%PDF")
    for kind in ("csv", "xlsx", "json", "parquet"):
        assert client.get(f"{base}/table/{kind}").status_code in (200, 422)
    assert client.get(f"{base}/table/docx").status_code == 422
    whole = client.post("/api/report", json={"soundings": ["HM-1"], "signed": False})
    assert whole.status_code == 200
    formats = client.get("/api/formats").json()
    assert len(formats) > 3
    for one in formats:
        fields = {"fields": {}}
        checked = client.post(f"{base}/export/{one['name']}/check", json=fields).json()
        assert checked["losses"] or checked["missing"] or one["name"] == "json"
        asked = {field["field"]: "x" for field in checked["missing"] if field["required"]}
        made = client.post(f"{base}/export/{one['name']}", json={"fields": asked})
        assert made.status_code in (200, 422), made.text
    assert client.post(f"{base}/export/nothing", json={"fields": {}}).status_code == 404


def test_every_call_of_intake_and_plan_answers_as_described(job: Path, tmp_path: Path) -> None:
    path = tmp_path / "site.job"
    path.write_bytes(job.read_bytes())
    client = Client(create_app(path))
    export_text(sample("short"), tmp_path / "NEW-1.csv")
    table = b"z,a,b\n1.0,2.0,30\n1.02,2.1,31\n1.04,2.2,30\n1.06,2.2,30\n"
    for name, content in (("t.csv", table), ("NEW-1.csv", (tmp_path / "NEW-1.csv").read_bytes())):
        sent = client.post("/api/intake/upload", params={"name": name}, content=content)
        assert sent.status_code == 200
        token = sent.json()["token"]
        columns = {"columns": "" if name != "t.csv" else "depth=1:m, qc=2:MPa, fs=3:kPa"}
        assert client.post(f"/api/intake/{token}/preview", json=columns).json()["fault"] == ""
        kept = client.post(f"/api/intake/{token}/keep", json=columns)
        assert kept.status_code == 200, kept.text
        assert client.post(f"/api/intake/{token}/preview", json=columns).status_code == 404
    assert client.post("/api/intake/upload", params={"name": "e"}, content=b"").status_code == 422
    assert client.request("DELETE", "/api/intake/gone").status_code == 204
    assert client.post("/api/plan", json={"plan": PLAN}).status_code == 200
    near = {"plan": PLAN | {"layers": [], "anchors": None}, "near": ["HM-1"]}
    assert client.post("/api/plan", json=near).status_code == 200
    least = {"plan": {"target": 5.0, "rig": {"mass": 500}, "layers": PLAN["layers"]}}
    assert client.post("/api/plan", json=least).status_code == 200
    assert client.post("/api/plan", json={"plan": {}}).status_code == 422
    assert client.post("/api/plan/sheet.pdf", json={"plan": PLAN}).content[:4] == b"%PDF"


def test_what_the_gate_refuses_is_as_described(job: Path) -> None:
    from pushproof.web.access import Access

    client = Client(create_app(job, access=Access("correct horse battery", "just looking on")))
    assert client.get("/api/site").status_code == 401
    assert client.get("/api/me", headers={"host": "elsewhere.example"}).status_code == 421
    assert client.post("/api/login", json={"password": "no"}).status_code == 403
    watch = {"authorization": "Bearer just looking on"}
    assert client.get("/api/site", headers=watch).status_code == 200
    sign = {"author": "R. Sand", "based_on": 0}
    answer = client.post("/api/soundings/HM-1/sign", json=sign, headers=watch)
    assert answer.status_code == 403
    foreign = watch | {"origin": "http://elsewhere.example"}
    answer = client.post("/api/plan", json={"plan": PLAN}, headers=foreign)
    assert answer.status_code == 403
    large = {"plan": {"name": "x" * 1_100_000}}
    assert client.post("/api/plan", json=large, headers=watch).status_code == 413
    for _ in range(9):
        last = client.post("/api/login", json={"password": "no"})
    assert last.status_code == 429

"""The page on the calls: its example runs, its tables hold what server and commands hold."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

import pushproof as pp
from pushproof.cli.app import app as commands
from pushproof.store import Job, import_file
from pushproof.testing import sample
from pushproof.web.answers.problems import WORDS
from web import conforming
from web.pushing import Feeder

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "reference" / "calls.md").read_text(encoding="utf-8")
EXAMPLE, FOLLOW = re.findall(r"^```python\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
PASSWORD = "correct horse battery"


def rows_of(heading: str) -> list[list[str]]:
    """Return the rows of the table under a heading, without its head."""
    part = PAGE.split(f"## {heading}\n", 1)[1].split("\n## ", 1)[0]
    found = [line.strip("|").split("|") for line in part.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in row] for row in found[2:]]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path, source = tmp_path / "site.job", tmp_path / "S-1.json"
    pp.write(sample("short"), source, "json")
    with Job.create(path) as made:
        import_file(made, source)
    return path


def test_the_example_runs(
    serve: Any, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    served = serve(job, password=PASSWORD)
    assert "http://127.0.0.1:8765" in EXAMPLE
    assert f"Bearer {PASSWORD}" in EXAMPLE
    monkeypatch.chdir(tmp_path)
    names: dict[str, Any] = {}
    exec(EXAMPLE.replace("http://127.0.0.1:8765", served.url), names)
    names["site"].close()
    told = capsys.readouterr().out
    assert "SHORT-1 3.1" in told
    assert re.search(r"^\d+ kPa \w", told, re.MULTILINE)
    assert re.search(r"record verified: True, \d+ links, head \d+:[0-9a-f]{64}", told)
    assert names["version"] == 1
    with Job.open(job) as opened:
        (name,) = opened.soundings()
        assert opened.recipe(name).water_level == 1.4
    assert (tmp_path / "table.csv").stat().st_size > 10_000
    assert (tmp_path / "log.pdf").read_bytes().startswith(b"%PDF")


def test_the_example_says_who_was_faster(serve: Any, job: Path, tmp_path: Path) -> None:
    served = serve(job, password=PASSWORD)
    names: dict[str, Any] = {}
    head = EXAMPLE.split("for one in call", 1)[0]
    exec(head.replace("http://127.0.0.1:8765", served.url), names)
    one = {"document": {}, "author": "R. Sand", "reason": "as it was", "based_on": 0}
    with names["site"]:
        names["call"]("PUT", "/api/soundings/SHORT-1/recipe", json=one)
        with pytest.raises(RuntimeError, match=r"409: .*R\. Sand saved version 1"):
            names["call"]("PUT", "/api/soundings/SHORT-1/recipe", json=one)


def test_the_follower_goes_on_after_a_break_without_a_gap(
    serve: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "site.job"
    Job.create(path).close()
    feeder = Feeder(path)
    served = serve(path, station=feeder.station)
    client, pad = served.client(), {"x-client": "pad"}
    for call, body in (("control", {}), ("record", {"sounding": "CPT-1"}), ("start", {})):
        done = client.post(f"/api/push/{call}", json=body, headers=pad)
        assert done.status_code == 200, done.text
    feeder.push(0.4)
    plain = httpx.Response.iter_lines
    breaks = []

    def torn(self: httpx.Response) -> Iterator[str]:
        for line in plain(self):
            yield line
            if line.startswith("data:") and '"number":' in line and not breaks:
                breaks.append(line)
                raise httpx.ReadError("the network is gone")

    monkeypatch.setattr(httpx.Response, "iter_lines", torn)
    names: dict[str, Any] = {"httpx": httpx}
    exec(FOLLOW, names)
    blocks = names["rows"](client)
    first = next(blocks)
    assert first["number"]
    feeder.push(0.4)
    second = next(blocks)
    assert breaks, "the connection was not torn"
    assert second["after"] == first["last"]
    assert second["number"][0] > first["number"][-1]
    blocks.close()
    whole = client.get("/api/push/rows").json()["number"]
    got = first["number"] + second["number"]
    assert got == whole[: len(got)]


def test_every_status_of_the_page_is_one_of_the_server() -> None:
    told = {int(row[0]): row[1] for row in rows_of("Refusals")}
    assert set(told) == set(WORDS)
    assert all(told.values())


def test_every_command_has_its_call_or_a_reason() -> None:
    rows = rows_of("Commands and calls")
    told = {row[0].strip("`"): row for row in rows}
    assert len(told) == len(rows)
    assert set(told) == {str(one.name) for one in commands.registered_commands}
    known = {
        f"{method.upper()} {path}"
        for path, methods in conforming.described()["paths"].items()
        for method in methods
    }
    for name, (_, calls, why) in told.items():
        named = re.findall(r"`([^`]+)`", calls)
        assert set(named) <= known, name
        assert named or len(why.split()) > 3, f"{name}: neither a call nor a reason"


def test_the_page_of_answers_names_every_call_and_document(tmp_path: Path) -> None:
    code = (
        "import runpy, sys, pathlib; made = runpy.run_path(sys.argv[1])['answers'];"
        "pathlib.Path(sys.argv[2]).write_text(made(), encoding='utf-8')"
    )
    target = tmp_path / "answers.md"
    subprocess.run([sys.executable, "-c", code, ROOT / "scripts" / "reference", target], check=True)
    text = target.read_text(encoding="utf-8")
    document = conforming.described()
    for path, methods in document["paths"].items():
        assert all(f"## {method.upper()} `{path}`" in text for method in methods)
    assert all(f"### {name}\n" in text for name in document["components"]["schemas"])
    assert "| `based_on` | integer | version that the decision was made from |" in text
    assert "| `level` | number | depth below ground level [m] |" in text

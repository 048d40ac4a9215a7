"""A sounding in mid-push: its state at every moment, and its log made once for all who look."""

from __future__ import annotations

import os
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from pushproof import write
from pushproof.store import Job, import_file
from pushproof.testing import sample
from pushproof.web import desk as desks
from pushproof.web.app import create_app
from web.asgi import Client
from web.pushing import Feeder, Recording, job_at, until

ROUTES = (
    "summary",
    "growth",
    "log",
    "tracks",
    "window?top=0&base=1&pixels=100",
    "at?depth=0.1",
    "layers",
    "recipe",
    "proof",
    "equipment",
    "dissipations",
)


class Push:
    """A server that records a push fed by hand."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.feeder = Feeder(path)
        self.app = create_app(path, station=self.feeder.station)
        self.client = Client(self.app, **{"x-client": "one"})

    def do(self, key: str, **body: Any) -> None:
        assert self.client.post(f"/api/push/{key}", json=body).status_code == 200

    def get(self, route: str) -> Any:
        answer = self.client.get(f"/api/soundings/A-1/{route}")
        assert answer.status_code == 200, f"{route}: {answer.status_code} {answer.text}"
        return answer.json()

    def rows(self) -> int:
        return int(self.get("log")["rows"])


@pytest.fixture
def push(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setattr(desks, "_LOOK", 0.0)
    monkeypatch.setattr(desks, "_FRESH", 0.2)
    monkeypatch.setattr(desks, "_SHARE", 0.0)
    made = Push(job_at(tmp_path / "site.job"))
    yield made
    made.feeder.station.stop()


def test_every_call_answers_at_every_moment_of_a_push(push: Push) -> None:
    push.do("record", sounding="A-1")
    for route in ROUTES:
        push.get(route)
    summary = push.get("summary")
    assert (summary["recording"], summary["empty"]) == ("here", True)
    assert (summary["depth"], summary["worst"]) == (None, None)
    push.do("start")
    push.feeder.depth(time.monotonic() - 60.0)  # the encoder alone
    until(lambda: push.get("growth")["newest"] > 0)
    for route in ROUTES:
        push.get(route)
    push.feeder.push(0.5, end=0.2)  # half a metre of a cone that has no clock
    until(lambda: push.rows() > 40)
    for route in ROUTES:
        push.get(route)
    summary = push.get("summary")
    assert (summary["recording"], summary["empty"]) == ("here", False)
    assert summary["depth"] == pytest.approx(0.5, abs=0.03)
    push.do("stop")
    until(lambda: push.get("summary")["recording"] == "ended")


def test_a_log_says_whether_it_is_all_there_is(push: Push) -> None:
    push.do("record", sounding="A-1")
    push.do("start")
    push.feeder.push(0.3, end=10.0)
    until(lambda: push.rows() > 20)
    until(lambda: push.get("log")["newest"] == push.get("growth")["newest"])
    before, rows = push.get("growth"), push.rows()
    assert before["recording"] == "here"
    push.feeder.push(0.2, end=0.1)
    until(lambda: push.get("growth")["newest"] > before["newest"])
    until(lambda: push.rows() > rows)


def test_many_who_look_at_once_make_one_log(push: Push, monkeypatch: pytest.MonkeyPatch) -> None:
    push.do("record", sounding="A-1")
    push.do("start")
    push.feeder.push(0.3, end=0.2)
    until(lambda: push.rows() > 20)
    made: list[int] = []
    real = desks.make_log

    def counted(*given: Any) -> Any:
        made.append(1)
        time.sleep(0.1)
        return real(*given)

    monkeypatch.setattr(desks, "make_log", counted)
    monkeypatch.setattr(desks, "_FRESH", 60.0)
    push.feeder.say()
    until(lambda: push.get("growth")["newest"] > push.get("log")["newest"])
    desk = push.app.state.desk
    desk.forget("A-1")
    lookers = [threading.Thread(target=desk.log, args=("A-1",)) for _ in range(8)]
    for looker in lookers:
        looker.start()
    for looker in lookers:
        looker.join()
    assert len(made) == 1
    push.feeder.say()  # more has come, but nobody makes the log anew before its time
    desk.log("A-1")
    assert len(made) == 1


def test_a_record_that_takes_long_is_read_less_often() -> None:
    assert desks._Read((0.0, 1), 0.0, {}, 0.1).pace == 2.0
    assert desks._Read((0.0, 1), 0.0, {}, 1.5).pace == 6.0


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_a_push_of_another_program_is_seen_to_grow_and_to_break_off(tmp_path: Path) -> None:
    path = job_at(tmp_path / "site.job")
    client = Client(create_app(path))
    growth = lambda: client.get("/api/soundings/B-1/growth").json()  # noqa: E731
    assert client.get("/api/soundings/B-1/growth").status_code == 404
    with Recording(path) as other:
        names = lambda: [one["id"] for one in client.get("/api/site").json()["soundings"]]  # noqa: E731
        until(lambda: names() == ["B-1"])
        until(lambda: growth()["recording"] == "elsewhere")
        before = growth()["newest"]
        until(lambda: growth()["newest"] > before)
        other.kill()
    until(lambda: growth()["recording"] == "interrupted", 3.0)
    assert client.get("/api/soundings/B-1/summary").json()["recording"] == "interrupted"


def test_a_sounding_that_nobody_pushed_is_not_recorded(tmp_path: Path) -> None:
    path = job_at(tmp_path / "site.job")
    file = tmp_path / "HM-1.json"
    with Job.open(path, write=True) as job:
        write(sample("clay-over-sand"), file, "json")
        import_file(job, file)
    for served, newest in ((path, True), (file, False)):
        found = Client(create_app(served)).get("/api/soundings/HM-1/growth").json()
        assert found["recording"] == "none"
        assert (found["newest"] > 0) is newest

"""The calls of the push page: what they do to the record, who may, and streams without a gap."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from pushproof.recording.session import Session
from pushproof.store import Job, verify
from pushproof.store.lock import lock_path
from pushproof.web.push.lease import ControlledElsewhereError, Lease
from web.pushing import Feeder, Recording, job_at, until


class Desk:
    """A served push and what a test does with it."""

    def __init__(self, served: Any, feeder: Feeder, path: Path) -> None:
        self.served, self.feeder, self.path = served, feeder, path
        self.client = served.client(headers={"x-client": "one"})
        self.other = served.client(headers={"x-client": "two"})

    def do(self, name: str, **body: Any) -> Any:
        answer = self.client.post(f"/api/push/{name}", json={"by": "cab", **body})
        assert answer.status_code == 200, answer.text
        return answer.json()

    def state(self) -> Any:
        return self.client.get("/api/push/state").json()

    def events(self) -> list[Any]:
        with Job.open(self.path) as job:
            return list(job.events("A-1"))


@pytest.fixture
def desk(serve: Any, tmp_path: Path) -> Desk:
    path = job_at(tmp_path / "site.job")
    feeder = Feeder(path)
    return Desk(serve(path, station=feeder.station), feeder, path)


def events_of(lines: Iterator[str]) -> Iterator[tuple[str, Any]]:
    kind = ""
    for line in lines:
        if line.startswith("event: "):
            kind = line[7:]
        elif line.startswith("data: "):
            yield kind, json.loads(line[6:])


def rows_of(desk: Desk, count: int, **asked: Any) -> list[int]:
    """Follow the stream until so many rows came; return their numbers."""
    numbers: list[int] = []
    headers = asked.pop("headers", {})
    with desk.client.stream("GET", "/api/push/stream", params=asked, headers=headers) as answer:
        assert answer.headers["content-type"].startswith("text/event-stream")
        for kind, data in events_of(answer.iter_lines()):
            if kind == "rows":
                assert data["after"] == (numbers[-1] if numbers else data["after"])
                numbers += data["number"]
            if kind == "state" and len(numbers) >= count:
                return numbers
    raise AssertionError("the stream ended")


def test_without_a_push_it_says_so(desk: Desk) -> None:
    found = desk.client.get("/api/push").json()
    assert (found["recording"], found["can_record"], found["state"]) == ("none", True, None)
    assert desk.client.get("/api/push/state").status_code == 404
    refused = desk.client.post("/api/push/note", json={"text": "x"})
    assert (refused.status_code, refused.json()["error"]) == (
        409,
        "no push is recorded by this server",
    )


def test_every_key_is_in_the_record(desk: Desk) -> None:
    assert desk.do("record", sounding="A-1")["recording"] == "here"
    desk.feeder.say()
    assert desk.do("zeros")["zero"]["which"] == "before"
    assert desk.do("start")["step"]["name"] == "push"
    desk.feeder.push(0.5)
    until(lambda: desk.state()["advance"]["length"] == 0.5)
    desk.do("rod", change=1)
    desk.do("rod", change=-1)
    assert desk.do("pause", text="obstruction")["pause"] == "obstruction"
    assert desk.do("note", text="  gravel heard ")["notes"] == ["gravel heard"]
    assert desk.do("dissipation")["dissipation"]["number"] == 1
    assert desk.do("dissipation")["dissipation"] is None
    desk.do("length", metres=0.75)
    assert desk.state()["advance"]["length"] == 0.75
    assert desk.do("acknowledge")["recording"] == "here"
    assert desk.do("stop")["recording"] == "ended"
    kinds = [event.kind for event in desk.events()]
    wanted = ["step", "rod-added", "rod-removed", "pause-called", "note", "dissipation-start"]
    for kind in [*wanted, "dissipation-end", "reference", "recording-stopped"]:
        assert kind in kinds
    assert verify(desk.path).ok
    # what is over can still be looked at, and nothing more is done to it
    assert desk.state()["advance"]["length"] == 0.75
    refused = desk.client.post("/api/push/start", json={})
    assert refused.status_code == 409


def test_rows_are_numbered_as_in_the_record(desk: Desk) -> None:
    desk.do("record", sounding="A-1")
    desk.feeder.push(2.0)
    until(lambda: desk.state()["row"] == 200)
    first = desk.client.get("/api/push/rows", params={"most": 150}).json()
    assert (first["more"], first["last"]) == (True, first["number"][-1])
    rest = desk.client.get("/api/push/rows", params={"after": first["last"]}).json()
    assert (rest["more"], rest["after"]) == (False, first["last"])
    with Job.open(desk.path) as job:
        stored = [one.number for one in job.messages("A-1", "cone")]
    assert first["number"] + rest["number"] == stored
    assert first["columns"]["qc"][:3] == [4.1, 4.2, 4.3]
    assert first["columns"]["tilt"][0] == 1.0


def test_a_stream_goes_on_where_it_was_left(desk: Desk) -> None:
    desk.do("record", sounding="A-1")
    desk.feeder.push(1.0)
    seen = rows_of(desk, 100)
    desk.feeder.push(0.5)
    asked = {"after": seen[-1], "sounding": "A-1"}
    more = rows_of(desk, 50, **asked)
    desk.feeder.push(0.5)
    asked = {"sounding": "A-1", "headers": {"last-event-id": str(more[-1])}}
    last = rows_of(desk, 50, **asked)
    assert seen + more + last == list(range(1, 201))
    # the number of another sounding means nothing here
    assert rows_of(desk, 200, after=150, sounding="B-9") == list(range(1, 201))


def test_a_server_that_restarts_goes_on_with_the_numbers(
    desk: Desk, serve: Any, tmp_path: Path
) -> None:
    desk.do("record", sounding="A-1")
    desk.feeder.push(1.0)
    seen = rows_of(desk, 100)
    there = desk.state()["advance"]["length"]
    desk.served.stop()
    again = Desk(serve(desk.path, station=desk.feeder.station), desk.feeder, desk.path)
    # nobody began to record again: the record itself is followed
    assert again.state()["recording"] == "ended"
    again.do("record", sounding="A-1")
    assert there > 0.9
    assert again.state()["advance"]["length"] == there
    again.feeder.push(0.5)
    more = rows_of(again, 50, after=seen[-1], sounding="A-1")
    assert seen + more == list(range(1, 151))


def test_the_rail_grows_by_parts(desk: Desk) -> None:
    desk.do("record", sounding="A-1")
    desk.do("start")
    desk.feeder.push(0.6)
    until(lambda: desk.state()["row"] == 60)
    rail: dict[str, list[Any]] = {"spans": [], "rate": [], "marks": [], "findings": []}
    parts = 0
    with desk.client.stream("GET", "/api/push/stream") as answer:
        for kind, data in events_of(answer.iter_lines()):
            if kind != "rail":
                continue
            parts += 1
            for begin, (name, held) in zip(data["begins"], rail.items(), strict=True):
                rail[name] = held[:begin] + data[name]
            if parts == 1:
                desk.feeder.push(0.3, heard=False)
                desk.feeder.push(0.4)
            if rail["spans"][-1]["base"] >= 1.29:
                break
    whole = desk.client.get("/api/push/rail").json()
    assert rail == {name: whole[name] for name in rail}
    assert [span["trace"] for span in rail["spans"]] == ["live", "missing", "live"]


def test_one_controls_and_the_others_are_told_who(desk: Desk) -> None:
    desk.do("record", sounding="A-1")
    refused = desk.other.post("/api/push/note", json={"text": "me too", "by": "office"})
    assert refused.status_code == 423
    assert refused.json()["error"] == "cab controls this push; take over first"
    refused = desk.other.post("/api/push/control", json={"by": "office"})
    assert refused.status_code == 423
    taken = desk.other.post("/api/push/control", json={"by": "office", "over": True}).json()
    assert taken["holder"] == "office"
    assert desk.other.post("/api/push/note", json={"text": "mine"}).status_code == 200
    assert desk.client.post("/api/push/note", json={"text": "no"}).status_code == 423
    given = desk.other.delete("/api/push/control").json()
    assert given["holder"] == ""
    desk.do("note", text="mine again")
    notes = [event.text for event in desk.events() if event.kind == "note"]
    assert notes == ["mine", "mine again"]


def test_control_of_a_page_that_is_gone_is_free(monkeypatch: pytest.MonkeyPatch) -> None:
    lease = Lease()
    lease.watches(1, "a")
    lease.act("a", "cab")
    with pytest.raises(ControlledElsewhereError, match="cab controls"):
        lease.act("b", "office")
    lease.left(1)
    now = time.monotonic()
    monkeypatch.setattr(time, "monotonic", lambda: now + 10)
    assert not lease.free
    monkeypatch.setattr(time, "monotonic", lambda: now + 16)
    lease.act("b", "office")
    assert (lease.holder, lease.name) == ("b", "office")
    lease.release("a")
    assert lease.name == "office"


def test_alarms_are_judged_here_acknowledged_and_shelved(desk: Desk) -> None:
    desk.do("record", sounding="A-1")
    desk.do("start")
    desk.feeder.push(0.6, battery=3.4)
    up = until(lambda: {a["rule"]: a for a in desk.state()["alarms"]}.get("battery"))
    assert (up["level"], up["sounds"], desk.state()["sound"]) == ("caution", True, "caution")
    desk.do("shelve", rule="battery", minutes=5)
    up = {a["rule"]: a for a in desk.state()["alarms"]}["battery"]
    assert 200 < up["shelved"] <= 300
    assert not up["sounds"]
    refused = desk.client.post("/api/push/shelve", json={"rule": "battery", "minutes": 31})
    assert refused.status_code == 422
    refused = desk.client.post("/api/push/shelve", json={"rule": "tilt", "minutes": 3})
    assert refused.status_code == 422
    assert "no alarm 'tilt' is up" in refused.json()["error"]
    changes = [e.details.get("change") for e in desk.events() if e.kind == "alarm"]
    assert "shelved" in changes


def test_staleness_is_told_by_the_server(desk: Desk) -> None:
    desk.do("record", sounding="A-1")
    desk.do("start")
    desk.feeder.push(0.5, end=3.0)
    until(lambda: desk.state()["row"] == 50)
    state = desk.state()
    assert state["cone"]["freshness"] == "late"
    assert not state["cone"]["old"]
    later = until(lambda: (s := desk.state())["cone"]["old"] and s, 5.0)
    assert later["cone"]["freshness"] == "stale"


def test_who_may_only_watch_can_press_no_key(serve: Any, tmp_path: Path) -> None:
    path = job_at(tmp_path / "site.job")
    feeder = Feeder(path)
    feeder.station.path = path
    served = serve(path, station=feeder.station, read_only=True)
    client = served.client()
    assert client.get("/api/push").status_code == 200
    document = client.get("/api/openapi.json").json()
    keys = [
        (method, at.replace("/api", "", 1))
        for at, calls in document["paths"].items()
        for method in calls
        if at.startswith("/api/push") and method != "get"
    ]
    assert len(keys) >= 14
    for method, at in keys:
        body = {"text": "x", "sounding": "A", "rule": "r", "minutes": 1, "metres": 1}
        answer = client.request(method, f"/api{at}", json=body)
        assert answer.status_code == 403, at


def test_a_page_of_another_site_presses_no_key(desk: Desk) -> None:
    desk.do("record", sounding="A-1")
    evil = {"origin": "http://evil.example", "x-client": "one"}
    answer = desk.client.post("/api/push/stop", json={}, headers=evil)
    assert answer.status_code == 403
    answer = desk.client.post("/api/push/stop", content=b"x" * 2_000_000)
    assert answer.status_code == 413
    # a form of another site can only send these kinds, and none is taken for JSON
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data"):
        answer = desk.client.post(
            "/api/push/stop", content=b'{"by": "x"}', headers={"content-type": kind}
        )
        assert answer.status_code in (415, 422), kind
    assert desk.state()["recording"] == "here"


def test_a_push_of_another_program_is_followed(serve: Any, tmp_path: Path) -> None:
    path = job_at(tmp_path / "site.job")
    feeder = Feeder(tmp_path / "unused.job")
    served = serve(path)
    with Job.open(path, write=True) as job:
        from pushproof.recording.session import equip_from

        equip_from(job, "A-1", feeder.station._given)
        with Session(job, "A-1", feeder._open()) as session:
            session.push()
            feeder.push(1.0, battery=3.4)
            session.note("from the terminal")
            client = served.client(headers={"x-client": "one"})
            until(lambda: client.get("/api/push").json()["recording"] == "elsewhere")
            until(lambda: client.get("/api/push/state").json()["row"] == 100)

            def agreed() -> Any:
                """Both say the same in the end; alarms of silence come while the hand rests."""
                session.acknowledge()
                told, mine = client.get("/api/push/state").json(), session.state()
                rules = {a["rule"] for a in told["alarms"]} == {a.rule for a in mine.alarms}
                same = told["advance"]["length"] == mine.advance.length and rules
                return same and all(a["acknowledged"] for a in told["alarms"]) and told

            state = until(agreed)
            assert state["alarms"], "an empty battery raises an alarm"
            assert state["notes"] == ["from the terminal"]
            assert state["step"]["name"] == "push"
            refused = client.post("/api/push/note", json={"text": "x"})
            assert refused.status_code == 409
            assert "another program records this push" in refused.json()["error"]
            feeder.push(0.5)
            until(lambda: client.get("/api/push/state").json()["row"] == 150)
    until(lambda: client.get("/api/push/state").json()["recording"] == "ended")


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that cannot be caught")
def test_a_recorder_that_was_killed_is_told_as_interrupted(serve: Any, tmp_path: Path) -> None:
    path = job_at(tmp_path / "site.job")
    client = serve(path).client(headers={"x-client": "one"})
    recording = lambda: client.get("/api/push").json()["recording"]  # noqa: E731
    with Recording(path) as other:
        until(lambda: recording() == "elsewhere")
        until(lambda: client.get("/api/push/state").json()["row"] > 20)
        other.kill()
        assert lock_path(path).exists(), "a killed program leaves its file behind"
        begun = time.monotonic()
        until(lambda: recording() == "interrupted", 5.0)
        assert time.monotonic() - begun < 3.0
    # a program that writes to the job for another reason does not record
    with Job.open(path, write=True, purpose="save a decision"):
        time.sleep(1.2)
        assert recording() == "interrupted"
    with Recording(path) as other:
        until(lambda: recording() == "elsewhere")
        other.stop()
        until(lambda: recording() == "ended")


def test_many_viewers_share_one_state(desk: Desk) -> None:
    import threading

    desk.do("record", sounding="A-1")
    desk.feeder.push(1.0)
    until(lambda: desk.state()["row"] == 100)
    fan = desk.served.app.state.fan
    found: list[int] = []

    def watch() -> None:
        with (
            httpx.Client(base_url=desk.served.url, timeout=20) as client,
            client.stream("GET", "/api/push/stream", params={"client": "v"}) as answer,
        ):
            states = rows = 0
            for kind, data in events_of(answer.iter_lines()):
                states += kind == "state"
                rows += len(data["number"]) if kind == "rows" else 0
                if states >= 8:
                    break
            found.append(rows)

    before = fan.made
    threads = [threading.Thread(target=watch) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(15)
    assert found == [100] * 8
    assert fan.made - before < 40, "a state for each viewer, not one for all"
    until(lambda: desk.served.app.state.push.lease.viewers == 0)
    until(lambda: fan._task.done(), what="nobody watches: it rests")


PLAN = """
name = "Hollow Mill 1"
target = 20
[[layers]]
top = 0
base = 20
soil = "clay"
qc = 900
[rig]
mass = 9000
free_length = 1.0
"""


def test_a_plan_given_to_the_server_tells_what_lies_ahead(serve: Any, tmp_path: Path) -> None:
    from pushproof.cli.serve_command import _station

    path, plan = tmp_path / "site.job", tmp_path / "plan.toml"
    plan.write_text(PLAN, "utf-8")
    station = _station(path, "rehearsal:HM-1?speed=60", None, None, plan=plan)
    client = serve(path, station=station).client(headers={"x-client": "test"})
    assert client.post("/api/push/record", json={"sounding": "HM-1"}).status_code == 200
    assert client.post("/api/push/start", json={}).status_code == 200
    ahead = until(lambda: client.get("/api/push/state").json()["forecast"], 30.0, "a forecast")
    assert ahead["target"] == 20
    assert 0 <= ahead["reached"] <= 100
    assert ahead["limit"] > 0
    with Job.open(path) as job:
        assert job.equipment("HM-1")["plan"]["plan"]["target"] == 20


def test_a_satellite_receiver_given_to_the_server_is_a_source(tmp_path: Path) -> None:
    from pushproof.cli.serve_command import _station

    place = "tcp://127.0.0.1:9"
    station = _station(tmp_path / "site.job", place, place, None, "serial:COM9")
    assert station is not None
    assert station.addresses == (place, place, "serial:COM9")

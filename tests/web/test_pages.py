"""What a page loads: told ahead in full, small on the wire, and nothing of it twice."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from pushproof.store import Job
from pushproof.web.pages import PAGES, modules

LIMIT = 300 * 1024
"""What the first load of a page may be on the wire [bytes]."""


@pytest.fixture
def served(serve: Any, tmp_path: Path) -> Any:
    path = tmp_path / "site.job"
    Job.create(path).close()
    return serve(path)


def test_modules_are_found_through_what_they_import(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "a.js").write_text(
        'import { b } from "./b.js";\nimport "/static/c.js";\n'
        'export function send() { fetch("x", { method: "POST" }); }\n'
    )
    (tmp_path / "a" / "b.js").write_text('export {\n  one,\n  two,\n} from "../c.js";\n')
    (tmp_path / "c.js").write_text('export const one = "two"; // import x from "no.js"\n')
    html = '<script type="module" src="/static/a/a.js"></script>'
    assert modules(html, tmp_path) == ["a/a.js", "a/b.js", "c.js"]


@pytest.mark.parametrize("address", PAGES)
def test_a_page_is_small_on_the_wire(served: Any, address: str) -> None:
    client = served.client()
    page = client.get(address)
    names = re.findall(r"<(/[^>]+)>", page.headers["link"])
    names += re.findall(r'(?:href|src)="(/static/[^"]+)"', page.text)
    size = 0
    for name in set(names):
        answer = client.get(name)
        assert answer.status_code == 200, name
        size += answer.num_bytes_downloaded
        if name.endswith((".js", ".css")) and len(answer.content) > 1500:
            assert answer.headers["content-encoding"] == "gzip", name
            assert answer.num_bytes_downloaded < len(answer.content) / 2, name
    assert 0 < size < LIMIT


@pytest.mark.browser
@pytest.mark.parametrize("address", PAGES)
def test_what_is_told_ahead_is_what_the_page_asks_for(served: Any, page: Any, address: str) -> None:
    asked: list[str] = []
    page.on("request", lambda one: asked.append(one.url.removeprefix(served.url)))
    warned: list[str] = []
    page.on("console", lambda one: warned.append(one.text) if one.type == "warning" else None)
    page.watched.expected = ("404", "409", "401")
    link = served.client().get(address).headers["link"]
    ahead = set(re.findall(r"<(/[^>]+)>", link))
    page.goto(f"{served.url}{address}")
    page.wait_for_load_state("load")
    page.wait_for_timeout(500)
    loaded = [one for one in asked if one.endswith((".js", ".otf"))]
    assert set(loaded) == ahead
    assert len(loaded) == len(set(loaded)), "something is loaded twice"
    assert not [one for one in warned if "preload" in one], warned


def test_small_packets_do_not_wait_for_each_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # asyncio turns their delay off only where the socket names its protocol
    import socket

    from pushproof.web import server

    path = tmp_path / "site.job"
    Job.create(path).close()
    seen: list[int] = []

    class Watched:
        def run(self, sockets: list[socket.socket]) -> None:
            seen.extend(one.proto for one in sockets)

    monkeypatch.setattr(server, "server", lambda _: Watched())
    server.run(path)
    assert seen == [socket.IPPROTO_TCP]


def test_a_file_is_sent_once_and_told_by_its_mark(served: Any) -> None:
    client = served.client()
    first = client.get("/static/shell.js")
    assert first.headers["content-type"].startswith("text/javascript")
    again = client.get("/static/shell.js", headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    plain = client.get("/static/shell.js", headers={"accept-encoding": "identity"})
    assert "content-encoding" not in plain.headers
    assert plain.content == first.content
    assert client.get("/static/nothing.js").status_code == 404
    assert client.get("/static/").status_code == 404

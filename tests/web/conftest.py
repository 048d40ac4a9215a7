"""A real server on a free port, and a real browser that reports what it should not do."""

import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
import pytest
import uvicorn
from fastapi import FastAPI

from pushproof.web.access import Access
from pushproof.web.app import create_app
from pushproof.web.server import server
from web import conforming

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
]


@dataclass
class Served:
    """One running server."""

    app: FastAPI
    port: int
    running: uvicorn.Server
    thread: threading.Thread
    clients: list[httpx.Client] = field(default_factory=list)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def client(self, **options: Any) -> httpx.Client:
        hooks = {"response": [as_described]}
        client = httpx.Client(base_url=self.url, timeout=20.0, event_hooks=hooks, **options)
        self.clients.append(client)
        return self.clients[-1]

    def stop(self) -> None:
        if not self.thread.is_alive():
            return
        for client in self.clients:
            client.close()
        self.running.should_exit = True
        self.thread.join(10.0)
        assert not self.thread.is_alive(), "the server did not end"


def as_described(answer: httpx.Response) -> None:
    """Hold an answer against the OpenAPI document, unless it does not end."""
    if not answer.headers.get("content-type", "").startswith("text/event-stream"):
        answer.read()
        faults = conforming.faults(answer.request.method, answer.request.url.path, answer)
        assert not faults, "\n".join(faults)


def serve_app(app: FastAPI, port: int = 0) -> Served:
    import socket

    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listener.bind(("127.0.0.1", port))
    listener.listen(64)
    running = server(app)

    def work() -> None:
        with listener:
            running.run(sockets=[listener])

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    end = time.monotonic() + 10
    while not running.started and time.monotonic() < end:
        time.sleep(0.01)
    assert running.started, "the server did not start"
    return Served(app, listener.getsockname()[1], running, thread)


@pytest.fixture
def serve() -> Iterator[Any]:
    """Serve a path; every server is stopped at the end."""
    running: list[Served] = []

    def start(
        path: Path, *, session: Any = None, station: Any = None, port: int = 0, **access: Any
    ) -> Served:
        app = create_app(path, session=session, station=station, access=Access(**access))
        running.append(serve_app(app, port))
        return running[-1]

    yield start
    for one in running:
        one.stop()


def chromium() -> str | None:
    names = ("chromium", "chromium-browser", "google-chrome")
    return next((found for name in names if (found := shutil.which(name))), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """The system's Chromium, without a window."""
    path = chromium()
    if path is None:
        pytest.skip("no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=path, headless=True, args=FLAGS)
        yield running
        running.close()


@dataclass
class Watched:
    """What a page asked for elsewhere, and what went wrong in it."""

    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    expected: tuple[str, ...] = ()


def watch(page: Any, own: str = "http://127.0.0.1") -> Watched:
    seen = Watched()

    def asked(request: Any) -> None:
        if not request.url.startswith((own, "blob:", "data:")):
            seen.outside.append(request.url)

    def said(message: Any) -> None:
        if message.type == "error":
            seen.errors.append(f"{message.text} {message.location.get('url', '')}")

    page.on("request", asked)
    page.on("console", said)
    page.on("pageerror", lambda error: seen.errors.append(str(error)))
    return seen


@contextmanager
def opened(browser: Any, **context: Any) -> Iterator[Any]:
    """Open a page; a request to elsewhere or an error in it fails the test.

    A test that provokes errors lists parts of their text in ``page.watched.expected``.
    """
    around = browser.new_context(**context)
    page = around.new_page()
    page.watched = watch(page)
    yield page
    around.close()
    seen = page.watched
    assert not seen.outside, seen.outside
    left = [one for one in seen.errors if not any(part in one for part in seen.expected)]
    assert not left, left


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    """A page of its own on a desk."""
    with opened(browser, viewport={"width": 1280, "height": 800}) as found:
        yield found


@pytest.fixture
def tablet(browser: Any) -> Iterator[Any]:
    """A page of its own on a tablet, upright, that is touched."""
    with opened(browser, viewport={"width": 800, "height": 1280}, has_touch=True) as found:
        yield found

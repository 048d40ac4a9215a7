"""Fixture of the bare tracks: a Chromium with the static files, and no server at all."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from pushproof.model.sounding import Sounding
from pushproof.web.logdocument import Log, make_log
from pushproof.web.logtracks import page_tracks
from pushproof.web.reduce import Reduced, Window, window

HERE = Path(__file__).parent
STATIC = Path(__file__).parents[2] / "src/pushproof/web/static"
ORIGIN = "http://tracks.test"
TYPES = {".js": "text/javascript", ".css": "text/css", ".html": "text/html"}


def log_data(log: Log, names: list[str] | None = None, pixels: int = 700) -> dict[str, Any]:
    """Return everything that the bare page shows of a sounding."""
    tracks = page_tracks(log.interpretation, names)
    low, high = log.ends
    span = high - low
    top, base = low - 0.04 * span, high + 0.04 * span
    columns = {key: values for track in tracks for key, values in track.columns.items()}
    found = window(log.depth, columns, top=top, base=base, pixels=pixels, gap=log.gap)
    return plain(
        {
            "document": log.document(),
            "tracks": [track.as_json() for track in tracks],
            "window": window_data(found, log.gap),
            "soil": log.soil(top, base, pixels),
        }
    )


def window_data(found: Window, gap: float) -> dict[str, Any]:
    return {
        "top": found.top,
        "base": found.base,
        "gap": gap,
        "reduced": found.is_reduced,
        "depth": found.depth,
        "join": found.join.astype(int),
        "columns": {
            key: {"first": one.first, "min": one.low, "max": one.high, "last": one.last}
            if isinstance(one, Reduced)
            else one
            for key, one in found.columns.items()
        },
    }


def plain(value: Any) -> Any:
    """Return arrays as lists and NaN as None."""
    if isinstance(value, dict):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    if isinstance(value, np.ndarray):
        return [plain(one) for one in value.tolist()]
    if isinstance(value, float) and not np.isfinite(value):
        return None
    return value


def make(sounding: Sounding) -> Log:
    from pushproof.model.recipe import Recipe

    return make_log(sounding, Recipe())


class Bare:
    """One page with the component alone."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.refused: list[str] = []
        self.errors: list[str] = []
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("console", self._console)
        page.route("**/*", self._serve)
        page.goto(f"{ORIGIN}/")
        page.wait_for_function("window.ready === true")

    def _console(self, message: Any) -> None:
        if message.type == "error":
            self.errors.append(message.text)

    def _serve(self, route: Any) -> None:
        url = route.request.url
        if not url.startswith(ORIGIN):
            self.refused.append(url)
            route.abort()
            return
        path = url.removeprefix(ORIGIN).split("?")[0]
        file = HERE / "tracks_page.html" if path == "/" else HERE / path.lstrip("/")
        if path.startswith("/static/"):
            file = STATIC / path.removeprefix("/static/")
        if not file.is_file():
            route.fulfill(status=404 if path != "/favicon.ico" else 204)
            return
        route.fulfill(body=file.read_bytes(), content_type=TYPES.get(file.suffix, "text/plain"))

    def show(self, data: dict[str, Any]) -> None:
        self.page.evaluate("data => window.showLog(data)", data)
        self.settle()

    def settle(self) -> None:
        """Wait for two frames, so that what was asked for is drawn."""
        self.page.evaluate(
            "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"
        )

    def theme(self, name: str) -> None:
        self.page.evaluate(
            "name => { document.documentElement.dataset.theme = name; view.refreshTheme(); }", name
        )
        self.settle()

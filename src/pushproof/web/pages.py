"""The pages and what they load: files of ``static``, told ahead so that they come at once.

A page names its module, that one its modules, and so on: a browser that finds them one after
another waits for each row of them. So the answer with a page lists in ``Link`` (RFC 8288,
``rel=modulepreload`` of the HTML standard) all that its modules import.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from string import Template

from fastapi import FastAPI
from fastapi.responses import HTMLResponse

from pushproof.web.heldfiles import held_files

STATIC = Path(str(resources.files("pushproof.web") / "static"))
FONTS = Path(str(resources.files("pushproof.report") / "fonts"))
SKELETON = "page.html"
"""The page of those whose module draws all of it: ``/NAME`` loads ``NAME/NAME.js``, with
``NAME/NAME.css`` if there is one, and is titled by ``NAME.title`` of the catalogue."""
PAGES = {
    "/": "index.html",
    "/login": "login.html",
    "/log": "log.html",
    "/push": "push.html",
    "/proof": SKELETON,
    "/dissipation": SKELETON,
    "/equipment": SKELETON,
    "/report": SKELETON,
    "/plan": SKELETON,
    "/field": SKELETON,
}
"""Address of each page to its file in ``static``."""
TEXT_FONTS = ("B612-Regular.otf", "B612-Bold.otf")
"""Fonts that every page shows text in."""

_MODULE = re.compile(r'<script type="module" src="/static/([^"]+)">')
_IMPORT = re.compile(r'^\s*(?:import|export)\b(?:[^;"(]*?\bfrom)?\s*"([^"]+)"', re.MULTILINE)


def add_pages(app: FastAPI) -> None:
    """Add every page, its static files and the fonts."""
    for address, file in PAGES.items():
        app.add_api_route(address, _page(_text(address, file)), include_in_schema=False)
    for address, folder in (("/static", STATIC), ("/fonts", FONTS)):
        app.add_api_route(
            address + "/{path:path}",
            held_files(folder).answer,
            methods=["GET", "HEAD"],
            include_in_schema=False,
        )


def modules(html: str, static: Path = STATIC) -> list[str]:
    """Return the modules that a page loads, in ``static``, each before what it imports.

    Parameters
    ----------
    html
        Text of the page.
    static
        Folder of the modules.
    """
    found: list[str] = []
    waiting = _MODULE.findall(html)
    while waiting:
        module = waiting.pop(0)
        if module in found:
            continue
        found.append(module)
        text = (static / module).read_text("utf-8")
        waiting += [_named(name, module) for name in _IMPORT.findall(text)]
    return found


def _named(name: str, module: str) -> str:
    """Return a module that another one imports, by its place in ``static``."""
    if name.startswith("/static/"):
        return name.removeprefix("/static/")
    return posixpath.normpath(posixpath.join(posixpath.dirname(module), name))


def _text(address: str, file: str) -> str:
    """Return the text of a page; the skeleton is filled."""
    text = (STATIC / file).read_text("utf-8")
    if file != SKELETON:
        return text
    name = address[1:]
    style = f"{name}/{name}.css"
    link = f'<link rel="stylesheet" href="/static/{style}">' if (STATIC / style).is_file() else ""
    return Template(text).substitute(page=name, style=link)


def _page(text: str) -> Callable[[], HTMLResponse]:
    """Return what answers with a page."""
    ahead = [f"</static/{name}>; rel=modulepreload" for name in modules(text)]
    ahead += [
        f"</fonts/{name}>; rel=preload; as=font; type=font/otf; crossorigin" for name in TEXT_FONTS
    ]

    def page() -> HTMLResponse:
        return HTMLResponse(text, headers={"link": ", ".join(ahead)})

    return page

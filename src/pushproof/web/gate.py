"""The gate: every request passes here before anything else sees it.

It refuses a foreign Host (a name that an attacker's page made point at this machine), a foreign
Origin (a page of another site that would steer the rig), a body that is too large and a role that
is too low, and it puts the headers on every answer that keep a page from loading anything from
elsewhere. It is plain ASGI, so that streams pass through it as they come.
"""

from __future__ import annotations

import json
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pushproof.web.access import COOKIE, Access, Role

BODY = 1_000_000
"""Largest body of a request [bytes]."""
UPLOAD = 64_000_000
"""Largest body of an upload [bytes]; uploads go to paths that end in ``/upload``."""
OPEN = ("/login", "/api/login", "/api/me", "/static/", "/fonts/", "/favicon.ico")
"""Paths that need no role: what the page of the password itself needs."""
POLICY = (
    "default-src 'self'; img-src 'self' blob:; object-src 'none'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}
SAFE = ("GET", "HEAD", "OPTIONS")


class _TooLarge(Exception):
    """The body grew beyond its bound."""


class Gate:
    """ASGI middleware that lets through only what may pass; see the module."""

    def __init__(self, app: ASGIApp, access: Access) -> None:
        self.app = app
        self.access = access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Take a request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":  # no other kind is spoken here
            await send({"type": "websocket.close", "code": 1008})
            return
        headers = Headers(scope=scope)
        refused = self._refuse(scope, headers)
        if refused is not None:
            await _answer(send, *refused)
            return
        limit = UPLOAD if scope["path"].endswith("/upload") else BODY
        taken, begun = 0, False

        async def bounded() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > limit:
                raise _TooLarge
            return message

        async def guarded(message: Message) -> None:
            nonlocal begun
            if taken > limit and not begun:
                raise _TooLarge  # whatever the application makes of it, this is the answer
            if message["type"] == "http.response.start":
                begun = True
                out = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    out[name] = value
                if "cache-control" not in out:
                    out["cache-control"] = "no-cache"
            await send(message)

        try:
            await self.app(scope, bounded, guarded)
        except _TooLarge:
            if not begun:
                await _answer(send, 413, _too_large(limit))

    def _refuse(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        """Return status and reason if a request may not pass; put its role on the scope."""
        host = headers.get("host", "")
        if not self._known(host):
            return 421, f"this page is not served under the name {host[:80]!r}"
        if scope["method"] not in SAFE:
            origin, site = headers.get("origin"), headers.get("sec-fetch-site")
            if origin is not None and urlsplit(origin).netloc != host:
                return 403, "a page of another site may not do this"
            if site is not None and site not in ("same-origin", "none"):
                return 403, "a page of another site may not do this"
        size = headers.get("content-length", "0")
        limit = UPLOAD if scope["path"].endswith("/upload") else BODY
        if not size.isdigit() or int(size) > limit:
            return 413, _too_large(limit)
        bearer = headers.get("authorization", "")
        token = bearer[7:] if bearer[:7].lower() == "bearer " else None
        session = cookie_parser(headers.get("cookie", "")).get(COOKIE)
        role = self.access.role(session, token)
        scope.setdefault("state", {})["role"] = role
        if role is Role.NONE and not scope["path"].startswith(OPEN):
            return 401, "a password is needed: open /login"
        return None

    def _known(self, host: str) -> bool:
        name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
        return "*" in self.access.hosts or name.lower() in self.access.hosts


def _too_large(limit: int) -> str:
    return f"too large: at most {limit / 1e6:g} MB can be sent here"


async def _answer(send: Send, status: int, text: str) -> None:
    body = json.dumps({"error": text}).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", b"%d" % len(body))]
    headers += [(name.encode(), value.encode()) for name, value in HEADERS.items()]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})

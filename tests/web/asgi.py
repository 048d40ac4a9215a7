"""A client that calls an app in this process, without a port.

Every answer is held against the OpenAPI document.
"""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import httpx

from web import conforming


class Client:
    """Requests to an ASGI app, one after the other."""

    def __init__(self, app: Any, base_url: str = "http://127.0.0.1", **headers: str) -> None:
        self.app, self.base_url, self.headers = app, base_url, headers

    def request(self, method: str, url: str, **more: Any) -> httpx.Response:
        async def send() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app)
            async with httpx.AsyncClient(
                transport=transport, base_url=self.base_url, headers=self.headers
            ) as client:
                return await client.request(method, url, **more)

        # a thread of its own: a browser of another test may keep a loop running in this one
        with ThreadPoolExecutor(1) as thread:
            answer = thread.submit(lambda: asyncio.run(send())).result()
        faults = conforming.faults(method, httpx.URL(url).path, answer)
        assert not faults, "\n".join(faults)
        return answer

    def get(self, url: str, **more: Any) -> httpx.Response:
        return self.request("GET", url, **more)

    def post(self, url: str, **more: Any) -> httpx.Response:
        return self.request("POST", url, **more)

    def put(self, url: str, **more: Any) -> httpx.Response:
        return self.request("PUT", url, **more)

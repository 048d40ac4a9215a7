"""The application: pages, calls, static files and the gate before them."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, JSONResponse, Response
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

from pushproof import __version__
from pushproof.errors import (
    ConfigurationError,
    FormatError,
    PushproofError,
    RecordBusyError,
    RecordError,
    RecordFullError,
    SourceError,
)
from pushproof.web.access import Access
from pushproof.web.api import (
    closings,
    days,
    dissipations,
    field,
    growth,
    intake,
    memory,
    plans,
    products,
    proof,
    record,
    soundings,
)
from pushproof.web.api import push as push_calls
from pushproof.web.api import session as session_calls
from pushproof.web.desk import Desk
from pushproof.web.gate import Gate
from pushproof.web.intake import Intake
from pushproof.web.openapi import PREFIX, document, operation_id
from pushproof.web.pages import STATIC, add_pages
from pushproof.web.push.desk import PushDesk
from pushproof.web.push.fan import Fan
from pushproof.web.push.station import Station
from pushproof.web.site import Site

if TYPE_CHECKING:
    from pushproof.recording.session import Session

_log = logging.getLogger("pushproof.web")

ROUTERS: tuple[APIRouter, ...] = (
    session_calls.router,
    soundings.router,
    growth.router,
    proof.router,
    record.router,
    memory.router,
    dissipations.router,
    products.router,
    intake.router,
    push_calls.router,
    plans.router,
    field.router,
    closings.router,
    days.router,
)
"""The calls, one router for each area."""
STATUS: tuple[tuple[type[Exception], int], ...] = (
    (RecordBusyError, 423),
    (RecordFullError, 507),
    (RecordError, 409),
    (FormatError, 422),
    (ConfigurationError, 422),
    (SourceError, 503),
    (PushproofError, 422),
    (PermissionError, 429),
    (LookupError, 404),
    (ValueError, 422),
)
"""Status of each kind of error; the first that fits counts."""


class Application(FastAPI):
    """The application; its OpenAPI document says also what holds for all calls."""

    def openapi(self) -> dict[str, Any]:
        """Return the OpenAPI document."""
        if self.openapi_schema is None:
            self.openapi_schema = document(self, ROUTERS)
        return self.openapi_schema


def create_app(
    path: Path,
    *,
    session: Session | None = None,
    access: Access | None = None,
    station: Station | None = None,
) -> FastAPI:
    """Return the application.

    Parameters
    ----------
    path
        A job file, a sounding file or a folder; all that is read and written lies there.
    session
        The push that this process records, if any.
    access
        Who may do what; on loopback everybody by default.
    station
        The sources that this process can record from; its push ends when the application ends.

    Raises
    ------
    ConfigurationError
        If there is nothing at the path.
    """
    app = Application(
        title="Pushproof",
        version=__version__,
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
        lifespan=_life,
        generate_unique_id_function=operation_id,
    )
    app.state.site = Site(path, session)
    app.state.desk = Desk(app.state.site)
    app.state.intake = Intake()
    app.state.push = PushDesk(app.state.site, station)
    app.state.fan = Fan(app.state.push)
    app.state.access = access or Access()
    for router in ROUTERS:
        app.include_router(router, prefix=PREFIX)
    add_pages(app)
    app.add_api_route("/favicon.ico", _icon, include_in_schema=False)
    for kind, status in STATUS:
        app.add_exception_handler(kind, _handler(status))
    app.add_exception_handler(HTTPException, _refused)
    app.add_exception_handler(RequestValidationError, _invalid)
    app.add_exception_handler(Exception, _unexpected)
    app.add_middleware(GZipMiddleware, minimum_size=1024, compresslevel=5)
    app.add_middleware(Gate, access=app.state.access)
    return app


@asynccontextmanager
async def _life(app: FastAPI) -> AsyncIterator[None]:
    """Leave nothing behind when the server ends."""
    yield
    app.state.intake.close()
    await asyncio.to_thread(app.state.push.close)


def _icon() -> FileResponse:
    return FileResponse(STATIC / "icon.svg")


def _handler(status: int) -> Callable[[Request, Exception], Response]:
    def answer(request: Request, error: Exception) -> Response:
        site: Site = request.app.state.site
        text = str(error.args[0]) if isinstance(error, LookupError) and error.args else str(error)
        return JSONResponse({"error": site.hide(" ".join(text.split()))}, status)

    return answer


def _refused(request: Request, error: Exception) -> Response:  # noqa: ARG001
    assert isinstance(error, HTTPException)
    if error.status_code == 400:  # what the framework makes of a body that is no text at all
        return JSONResponse({"error": "the body cannot be read; expected JSON in UTF-8"}, 422)
    return JSONResponse({"error": str(error.detail)}, error.status_code)


def _invalid(request: Request, error: Exception) -> Response:  # noqa: ARG001
    assert isinstance(error, RequestValidationError)
    faults = [_fault(one) for one in error.errors()]
    return JSONResponse({"error": "; ".join(faults)[:2000]}, 422)


def _fault(one: dict[str, Any]) -> str:
    """Return where in what was sent something is no good, and what."""
    where = ".".join(map(str, one["loc"][1:]))
    if one["type"] == "json_invalid":
        return f"the body cannot be read; expected JSON: character {where}, {one['ctx']['error']}"
    return f"{where}: {one['msg']}" if where else f"the body: {one['msg']}"


def _unexpected(request: Request, error: Exception) -> Response:
    _log.error("%s %s failed", request.method, request.url.path, exc_info=error)
    text = "a fault of the server itself; its log says more, and the record is not touched"
    return JSONResponse({"error": text}, 500)

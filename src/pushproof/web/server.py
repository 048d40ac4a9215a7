"""Running the application: one process, one port, until it is told to end."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import uvicorn

from pushproof.errors import ConfigurationError
from pushproof.web.access import Access
from pushproof.web.app import create_app

if TYPE_CHECKING:
    from pushproof.recording.session import Session
    from pushproof.web.push.station import Station


def run(
    path: Path,
    *,
    session: Session | None = None,
    access: Access | None = None,
    station: Station | None = None,
    host: str = "127.0.0.1",
    port: int = 0,
    ready: Callable[[str], object] = lambda address: None,  # noqa: ARG005
) -> None:
    """Serve until interrupted.

    Parameters
    ----------
    ready
        Called with the address as soon as the port is open.

    Raises
    ------
    ConfigurationError
        If the port cannot be opened, or there is nothing at the path.
    """
    app = create_app(path, session=session, access=access, station=station)
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # with its protocol named, or asyncio leaves the delay of small packets (RFC 896) on
    with socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP) as listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((host, port))
        except OSError as error:
            raise ConfigurationError(
                f"{host}:{port} cannot be opened: {error.strerror}; is another page served there? "
                "choose another with --port"
            ) from error
        listener.listen(64)
        shown = f"[{host}]" if ":" in host else host
        ready(f"http://{shown}:{listener.getsockname()[1]}/")
        server(app).run(sockets=[listener])


def server(app: object) -> uvicorn.Server:
    """Return a server for the application, quiet, and quick to end open streams."""
    config = uvicorn.Config(
        app,  # type: ignore[arg-type]
        log_level="warning",
        access_log=False,
        timeout_graceful_shutdown=2,
        server_header=False,
        h11_max_incomplete_event_size=16_384,
    )
    return uvicorn.Server(config)

"""Ports of the rehearsal: real TCP sockets and real serial ports that can be unplugged."""

from __future__ import annotations

import contextlib
import os
import socket
import threading
from pathlib import Path
from typing import Protocol

from pushproof.errors import SourceError


class Port(Protocol):
    """A way out for bytes."""

    @property
    def address(self) -> str:
        """How a source finds it."""
        ...

    @property
    def heard(self) -> bool:
        """Whether somebody listens, as far as can be known."""
        ...

    def send(self, data: bytes) -> None:
        """Send to whoever listens; what nobody takes is lost, as on a real port."""
        ...

    def unplug(self) -> None:
        """Take the port away."""
        ...

    def plug(self) -> None:
        """Bring it back."""
        ...

    def close(self) -> None:
        """Take it away for good."""
        ...


class TcpPort:
    """A TCP server on this machine; every client gets every byte from when it connects.

    Raises
    ------
    SourceError
        If the port cannot be had.
    """

    def __init__(self, port: int = 0, host: str = "127.0.0.1") -> None:
        self.host, self.port = host, port
        self._clients: list[socket.socket] = []
        self._lock = threading.Lock()
        self._server: socket.socket | None = None
        self.plug()

    @property
    def address(self) -> str:
        """Address of the server."""
        return f"tcp://{self.host}:{self.port}"

    @property
    def heard(self) -> bool:
        """Whether a client is connected."""
        with self._lock:
            return bool(self._clients)

    def plug(self) -> None:
        """Listen, on the same port as before."""
        if self._server is not None:
            return
        try:
            self._server = socket.create_server((self.host, self.port))
        except (OSError, OverflowError) as error:
            raise SourceError(
                f"rehearsal cannot listen on {self.host}:{self.port}: {error}; give another port"
            ) from error
        self.port = self._server.getsockname()[1]
        threading.Thread(target=self._accept, args=(self._server,), daemon=True).start()

    def _accept(self, server: socket.socket) -> None:
        server.settimeout(0.1)
        while server is self._server:
            try:
                client, _ = server.accept()
            except TimeoutError:
                continue
            except OSError:
                return
            client.settimeout(1.0)
            with self._lock:
                if server is self._server:
                    self._clients.append(client)
                    continue
            client.close()

    def send(self, data: bytes) -> None:
        """Send; a client that went away or takes nothing for a second is dropped."""
        with self._lock:
            for client in tuple(self._clients):
                try:
                    client.sendall(data)
                except OSError:
                    self._clients.remove(client)
                    client.close()

    def unplug(self) -> None:
        """Close the server and every connection."""
        with self._lock:
            server, self._server = self._server, None
            clients, self._clients = self._clients, []
        if server is not None:
            server.close()
        for client in clients:
            client.close()

    def close(self) -> None:
        """Close for good."""
        self.unplug()


class SerialPort:
    """A serial port made of a pair of pseudo terminals, under a fixed name.

    Parameters
    ----------
    path
        Name of the port, a link that is made anew when it is plugged in again.

    Raises
    ------
    SourceError
        Where the system has no pseudo terminals (Windows), or the name is taken.
    """

    heard = True

    def __init__(self, path: Path) -> None:
        self.path = path
        self.overrun = 0
        self._ends: tuple[int, int] | None = None
        self.plug()

    @property
    def address(self) -> str:
        """Address of the port."""
        return f"serial:{self.path}"

    def plug(self) -> None:
        """Make the pair and point the name at it."""
        if self._ends is not None:
            return
        try:
            import tty
        except ImportError:
            raise SourceError(
                "this system has no pseudo terminals: rehearse over TCP instead"
            ) from None
        near, far = os.openpty()
        tty.setraw(far)
        os.set_blocking(near, False)
        try:
            self.path.symlink_to(os.ttyname(far))
        except OSError as error:
            os.close(near)
            os.close(far)
            raise SourceError(f"rehearsal cannot make the port {self.path}: {error}") from error
        self._ends = near, far

    def send(self, data: bytes) -> None:
        """Send; what nobody read before is thrown away when the buffer is full."""
        if self._ends is None:
            return
        import termios

        near, far = self._ends
        while data:
            try:
                data = data[os.write(near, data) :]
            except BlockingIOError:
                self.overrun += 1
                termios.tcflush(far, termios.TCIFLUSH)

    def unplug(self) -> None:
        """Hang up and take the name away."""
        if self._ends is None:
            return
        near, far = self._ends
        self._ends = None
        with contextlib.suppress(FileNotFoundError):
            self.path.unlink()
        os.close(near)
        os.close(far)

    def close(self) -> None:
        """Close for good."""
        self.unplug()

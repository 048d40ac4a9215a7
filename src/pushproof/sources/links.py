"""Sources over a serial port, TCP, UDP and a growing file: each opens its link, nothing more."""

from __future__ import annotations

import os
import socket
import time
from pathlib import Path

from pushproof.errors import SourceError
from pushproof.sources.contract import Link, LinkSource
from pushproof.sources.decoder import Decoder

CHUNK = 65536


class _SerialLink:
    def __init__(self, port: str, baud: int):
        import serial

        try:
            self._port = serial.Serial(port, baud, timeout=0.1, exclusive=None)
        except serial.SerialException as error:
            raise OSError(error.errno or 0, str(error)) from error

    def receive(self, timeout: float) -> bytes:
        import serial

        try:
            self._port.timeout = timeout
            first = self._port.read(1)
            return first + self._port.read(self._port.in_waiting) if first else b""
        except (serial.SerialException, TypeError) as error:
            raise OSError(0, str(error)) from error

    def close(self) -> None:
        self._port.close()


class SerialSource(LinkSource):
    """Reads a serial port; finds it again after an unplug."""

    def __init__(self, decoder: Decoder, port: str, baud: int = 9600, *, reconnect: bool = True):
        super().__init__(decoder, reconnect=reconnect)
        self.port, self.baud = port, baud

    @property
    def address(self) -> str:
        """Port and speed."""
        return f"serial port {self.port} at {self.baud} baud"

    def open_link(self) -> Link:
        """Open the port."""
        return _SerialLink(self.port, self.baud)


class _SocketLink:
    def __init__(self, link: socket.socket):
        self._socket = link

    def receive(self, timeout: float) -> bytes:
        self._socket.settimeout(timeout)
        try:
            data = self._socket.recv(CHUNK)
        except TimeoutError:
            return b""
        if not data:
            raise EOFError("the other side closed the connection")
        return data

    def close(self) -> None:
        self._socket.close()


class TcpSource(LinkSource):
    """Connects to a server and reads; connects again when the server comes back."""

    def __init__(self, decoder: Decoder, host: str, port: int, *, reconnect: bool = True):
        super().__init__(decoder, reconnect=reconnect)
        self.host, self.port = host, port

    @property
    def address(self) -> str:
        """Host and port."""
        return f"tcp {self.host}:{self.port}"

    def open_link(self) -> Link:
        """Connect."""
        return _SocketLink(socket.create_connection((self.host, self.port), timeout=2.0))


class TcpListenSource(LinkSource):
    """Listens on a port and reads from one sender after another.

    The port is bound when the source is made, so ``port`` 0 gives a free one at once.
    """

    def __init__(self, decoder: Decoder, host: str, port: int, *, reconnect: bool = True):
        super().__init__(decoder, reconnect=reconnect)
        try:
            self._server = socket.create_server((host, port))
        except OSError as error:
            raise SourceError(f"cannot listen on {host}:{port}: {error.strerror}") from error
        self._server.settimeout(0.1)
        self.host, self.port = self._server.getsockname()[:2]

    @property
    def address(self) -> str:
        """Host and port."""
        return f"tcp listener {self.host}:{self.port}"

    def open_link(self) -> Link:
        """Wait for a sender."""
        while not self._stopped.is_set():
            try:
                link, _ = self._server.accept()
                return _SocketLink(link)
            except TimeoutError:
                continue
        raise OSError(0, "stopped")

    def stop(self) -> None:
        """End and free the port."""
        super().stop()
        self._server.close()


class _UdpLink:
    def __init__(self, link: socket.socket):
        self._socket = link

    def receive(self, timeout: float) -> bytes:
        self._socket.settimeout(timeout)
        try:
            data = self._socket.recv(CHUNK)
        except TimeoutError:
            return b""
        # a datagram is whole by itself, whether or not its sender ends the line
        return data if data.endswith((b"\n", b"\r")) else data + b"\n"

    def close(self) -> None:
        """The socket stays bound between links, so that no datagram is refused."""


class UdpSource(LinkSource):
    """Reads datagrams sent to a port."""

    def __init__(self, decoder: Decoder, host: str, port: int):
        super().__init__(decoder, reconnect=True)
        self._socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        try:
            self._socket.bind((host, port))
        except OSError as error:
            self._socket.close()
            raise SourceError(f"cannot listen on udp {host}:{port}: {error.strerror}") from error
        self.host, self.port = self._socket.getsockname()[:2]

    @property
    def address(self) -> str:
        """Host and port."""
        return f"udp {self.host}:{self.port}"

    def open_link(self) -> Link:
        """Use the bound socket."""
        return _UdpLink(self._socket)

    def stop(self) -> None:
        """End and free the port."""
        super().stop()
        self._socket.close()


class _TailLink:
    def __init__(self, path: Path, start: int):
        self._path = path
        self._file = path.open("rb")
        self._inode = os.fstat(self._file.fileno()).st_ino
        self._file.seek(start)

    def receive(self, timeout: float) -> bytes:
        data = self._file.read(CHUNK)
        if data:
            return data
        try:
            now = self._path.stat()
        except FileNotFoundError:
            raise EOFError("the file was removed") from None
        if now.st_ino != self._inode or now.st_size < self._file.tell():
            raise EOFError("the file was replaced or cut")
        time.sleep(min(timeout, 0.02))
        return b""

    def close(self) -> None:
        self._file.close()


class TailSource(LinkSource):
    """Follows a growing file, over rotation and truncation.

    ``from_start`` reads what is there already; otherwise only what is added.
    """

    def __init__(self, decoder: Decoder, path: str | Path, *, from_start: bool = True):
        super().__init__(decoder, reconnect=True)
        self.path = Path(path)
        self._start_at_end = not from_start

    @property
    def address(self) -> str:
        """The file."""
        return f"file {self.path}"

    def open_link(self) -> Link:
        """Open the file; after the first time always from its start."""
        start = self.path.stat().st_size if self._start_at_end else 0
        self._start_at_end = False
        return _TailLink(self.path, start)

"""Sources over a serial port, TCP, UDP and a growing file: each opens its link, nothing more."""

from __future__ import annotations

import errno
import os
import re
import select
import socket
import time
from pathlib import Path

from pushproof.errors import SourceError
from pushproof.sources.contract import Link, LinkSource
from pushproof.sources.lines import LineDecoder

CHUNK = 65536
TAKE_OVER = 3.0
"""A listener lets a new sender take over when the old one was silent for so long [s]."""
_FRAME = re.compile(r"([5678])([NEOMS])(1|1\.5|2)")


class _SerialLink:
    def __init__(self, port: str, baud: int, frame: tuple[int, str, float]):
        import serial

        bits, parity, stop = frame
        try:
            # exclusive: two programs at one port would each get half of the bytes
            self._port = serial.Serial(port, baud, bits, parity, stop, 0.1, exclusive=True)
        except (ValueError, OverflowError) as error:
            raise SourceError(f"serial port {port} cannot be set up: {error}") from error
        except serial.SerialException as error:
            taken = error.errno in (errno.EAGAIN, errno.EACCES, errno.EBUSY)
            hint = "; another program may hold it" if taken else ""
            raise OSError(error.errno or 0, f"{error}{hint}") from error

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
    """Reads a serial port; finds it again after an unplug.

    Parameters
    ----------
    decoder, reconnect
        See :class:`LinkSource`.
    port, baud
        Name and speed of the port.
    frame
        Data bits, parity (N, E, O, M, S) and stop bits.

    Raises
    ------
    ValueError
        If the frame cannot be understood.
    """

    def __init__(
        self,
        decoder: LineDecoder,
        port: str,
        baud: int = 9600,
        frame: str = "8N1",
        *,
        reconnect: bool = True,
    ):
        super().__init__(decoder, reconnect=reconnect)
        parts = _FRAME.fullmatch(frame.upper())
        if parts is None:
            raise ValueError(f"frame {frame!r}, expected data bits, parity and stop bits as 8N1")
        self.port, self.baud, self.frame = port, baud, frame.upper()
        self._frame = int(parts[1]), parts[2], float(parts[3])

    @property
    def address(self) -> str:
        """Port, speed and frame."""
        return f"serial port {self.port} at {self.baud} baud {self.frame}"

    def open_link(self) -> Link:
        """Open the port."""
        return _SerialLink(self.port, self.baud, self._frame)


class _SocketLink:
    def __init__(self, link: socket.socket):
        self._socket = link
        _notice_dead_peers(link)

    def receive(self, timeout: float) -> bytes:
        self._socket.settimeout(timeout)
        try:
            data = self._socket.recv(CHUNK)
        except (TimeoutError, BlockingIOError):
            return b""
        if not data:
            raise EOFError("the other side closed the connection")
        return data

    def close(self) -> None:
        self._socket.close()


def _notice_dead_peers(link: socket.socket) -> None:
    """Have the system ask a silent peer whether it lives: a pulled cable says nothing by itself."""
    link.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
    for name, value in (("TCP_KEEPIDLE", 5), ("TCP_KEEPINTVL", 2), ("TCP_KEEPCNT", 3)):
        if hasattr(socket, name):
            link.setsockopt(socket.IPPROTO_TCP, getattr(socket, name), value)


class TcpSource(LinkSource):
    """Connects to a server and reads; connects again when the server comes back."""

    def __init__(self, decoder: LineDecoder, host: str, port: int, *, reconnect: bool = True):
        super().__init__(decoder, reconnect=reconnect)
        self.host, self.port = host, port

    @property
    def address(self) -> str:
        """Host and port."""
        return f"tcp {self.host}:{self.port}"

    def open_link(self) -> Link:
        """Connect."""
        return _SocketLink(socket.create_connection((self.host, self.port), timeout=2.0))


class _AcceptedLink(_SocketLink):
    """A connection that yields to a newer one once it is silent.

    A box that lost its power does not say goodbye; when it is back it connects anew, and the old
    connection would keep it waiting.
    """

    def __init__(self, link: socket.socket, server: socket.socket, take_over: float):
        super().__init__(link)
        self._server, self._take_over = server, take_over
        self._heard = time.monotonic()

    def receive(self, timeout: float) -> bytes:
        silent = time.monotonic() - self._heard
        watched = [self._socket, self._server] if silent > self._take_over else [self._socket]
        ready, _, _ = select.select(watched, [], [], timeout)
        if self._socket in ready:
            self._heard = time.monotonic()
            return super().receive(timeout)
        if ready:
            raise EOFError(f"silent for {silent:.0f} s, and another sender has connected")
        return b""


class TcpListenSource(LinkSource):
    """Listens on a port and reads from one sender after another.

    The port is bound when the source is made, so ``port`` 0 gives a free one at once. An empty
    host listens on every network of this computer.
    """

    longest_wait = 0.0  # accepting waits by itself

    def __init__(
        self,
        decoder: LineDecoder,
        host: str,
        port: int,
        *,
        reconnect: bool = True,
        take_over: float = TAKE_OVER,
    ):
        super().__init__(decoder, reconnect=reconnect)
        try:
            self._server = socket.create_server((host, port))
        except OSError as error:
            raise SourceError(f"cannot listen on {host}:{port}: {error.strerror}") from error
        self._server.settimeout(0.1)
        self._take_over = take_over
        self.host, self.port = self._server.getsockname()[:2]

    @property
    def address(self) -> str:
        """Host and port."""
        return f"tcp listener {self.host}:{self.port}"

    def open_link(self) -> Link:
        """Wait a moment for a sender."""
        try:
            link, _ = self._server.accept()
        except TimeoutError:
            raise OSError(errno.ETIMEDOUT, "no sender has connected") from None
        return _AcceptedLink(link, self._server, self._take_over)

    def release(self) -> None:
        """Free the port."""
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

    def __init__(self, decoder: LineDecoder, host: str, port: int):
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

    def release(self) -> None:
        """Free the port."""
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
        fate = self._fate()
        if fate:
            # what was written between the last look and the replacement still counts
            if data := self._file.read(CHUNK):
                return data
            raise EOFError(fate)
        time.sleep(min(timeout, 0.02))
        return b""

    def _fate(self) -> str:
        try:
            now = self._path.stat()
        except FileNotFoundError:
            return "the file was removed"
        if now.st_ino != self._inode:
            return "the file was replaced"
        return "the file was cut" if now.st_size < self._file.tell() else ""

    def close(self) -> None:
        self._file.close()


class TailSource(LinkSource):
    """Follows a growing file, over rotation and truncation.

    ``from_start`` reads what is there already; otherwise only what is added. A file that is cut
    and grows beyond its old length between two looks (20 ms) cannot be told from one that grew.
    """

    def __init__(self, decoder: LineDecoder, path: str | Path, *, from_start: bool = True):
        super().__init__(decoder, reconnect=True)
        self.path = Path(path)
        self._start_at_end = not from_start

    @property
    def address(self) -> str:
        """The file."""
        return f"file {self.path}"

    def open_link(self) -> Link:
        """Open the file; after the first time always from its start."""
        try:
            start = self.path.stat().st_size if self._start_at_end else 0
        except FileNotFoundError:
            self._start_at_end = False  # whatever comes will be new
            raise
        self._start_at_end = False
        return _TailLink(self.path, start)

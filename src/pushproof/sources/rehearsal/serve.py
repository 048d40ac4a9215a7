"""The rehearsal as an outside program: the sound link and the encoder on ports of their own."""

from __future__ import annotations

import heapq
import logging
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Self

from pushproof.errors import ConfigurationError, SourceError
from pushproof.model.stream import StreamKind
from pushproof.sources.rehearsal.memory import write_memory
from pushproof.sources.rehearsal.ports import Port, SerialPort, TcpPort
from pushproof.sources.rehearsal.rig import STREAMS, Rehearsal
from pushproof.sources.rehearsal.wire import DECODERS

log = logging.getLogger("pushproof.sources")
Teller = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class _Step:
    seconds: float
    kind: str
    stream: StreamKind = StreamKind.CONE
    data: bytes = b""
    text: str = ""


class Server:
    """Sends the bytes of a rehearsal at their time.

    Parameters
    ----------
    rehearsal
        What to send.
    ports
        Where each stream goes.
    speed
        Times faster than real. Whoever listens stamps arrivals with its own clock and so sees a
        push that is faster by this factor; leave it at 1 to rehearse the guard.
    wait
        Longest time to wait for somebody to listen on every port [s].
    told
        Gets what the crew does, in words, as it happens.
    """

    def __init__(
        self,
        rehearsal: Rehearsal,
        ports: dict[StreamKind, Port],
        *,
        speed: float = 1.0,
        wait: float = 0.0,
        told: Teller | None = None,
        folder: tempfile.TemporaryDirectory[str] | None = None,
    ) -> None:
        if not 0 < speed < float("inf"):
            raise ValueError(f"speed {speed!r}: expected above 0")
        self.rehearsal, self.ports, self.speed, self.wait = rehearsal, ports, speed, wait
        self.told = told or (lambda text: log.info("%s", text))
        self.sent = dict.fromkeys(ports, 0)
        self.failure: SourceError | None = None
        self._folder = folder
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._run, name="rehearsal", daemon=True)

    @property
    def addresses(self) -> dict[StreamKind, str]:
        """Address of each stream, with the decoder that reads it."""
        return {s: f"{port.address}?decoder={DECODERS[s]}" for s, port in self.ports.items()}

    @property
    def running(self) -> bool:
        """Whether it is still sending."""
        return self._thread.is_alive()

    def start(self) -> Self:
        """Begin to send."""
        self._thread.start()
        return self

    def join(self, timeout: float | None = None) -> bool:
        """Wait until everything is sent; return whether it is.

        Raises
        ------
        SourceError
            If a port could not be brought back.
        """
        self._thread.join(timeout)
        if self.failure is not None:
            raise SourceError(str(self.failure)) from self.failure
        return not self._thread.is_alive()

    def close(self) -> None:
        """Stop and take the ports away."""
        self._stopped.set()
        if self._thread.ident is not None:
            self._thread.join(10)
        for port in self.ports.values():
            port.close()
        if self._folder is not None:
            self._folder.cleanup()

    def __enter__(self) -> Self:
        """Begin to send."""
        return self.start()

    def __exit__(self, *exception: object) -> None:
        """Stop."""
        self.close()

    def _run(self) -> None:
        until = time.monotonic() + self.wait
        while time.monotonic() < until and not all(p.heard for p in self.ports.values()):
            if self._stopped.wait(0.05):
                return
        began = time.monotonic()
        for step in self._steps():
            pause = began + step.seconds / self.speed - time.monotonic()
            if (pause > 0 and self._stopped.wait(pause)) or self._stopped.is_set():
                return
            try:
                self._do(step)
            except SourceError as error:
                self.failure = error
                log.error("%s", error)
                return

    def _do(self, step: _Step) -> None:
        if step.kind == "send":
            self.ports[step.stream].send(step.data)
            self.sent[step.stream] += len(step.data)
        elif step.kind == "unplug":
            self.ports[step.stream].unplug()
            self.told(step.text)
        elif step.kind == "plug":
            self.ports[step.stream].plug()
            self.told(step.text)
        else:
            self.told(step.text)

    def _steps(self) -> Iterator[_Step]:
        rig = self.rehearsal
        steps = [
            _Step(a.seconds, "tell", text=f"{a.seconds:7.1f} s  {a.kind}  {a.text}".rstrip())
            for a in rig.actions
        ]
        for gap in rig.unplugged:
            if gap.stream in self.ports:
                where = f"port of the {gap.stream.value} stream"
                steps.append(_Step(gap.begin, "unplug", gap.stream, text=f"{where} unplugged"))
                steps.append(_Step(gap.end, "plug", gap.stream, text=f"{where} plugged in"))
        steps.sort(key=lambda step: step.seconds)
        sends = (
            _Step(piece.seconds, "send", piece.stream, piece.raw)
            for piece in rig.sent(tuple(self.ports))
        )
        return heapq.merge(steps, sends, key=lambda step: step.seconds)


def serve_tcp(
    rehearsal: Rehearsal,
    port: int = 0,
    depth_port: int | None = None,
    *,
    speed: float = 1.0,
    wait: float = 30.0,
    told: Teller | None = None,
) -> Server:
    """Return a server on TCP: the cone at ``port``, the encoder at ``depth_port``.

    Parameters
    ----------
    port, depth_port
        0 for any free one; the encoder is at ``port + 1`` by default.
    speed, wait, told
        See :class:`Server`.

    Raises
    ------
    SourceError
        If a port cannot be had.
    """
    if depth_port is None:
        depth_port = port + 1 if port else 0
    cone = TcpPort(port)
    try:
        depth = TcpPort(depth_port)
    except BaseException:
        cone.close()
        raise
    ports: dict[StreamKind, Port] = {StreamKind.CONE: cone, StreamKind.DEPTH: depth}
    return Server(rehearsal, ports, speed=speed, wait=wait, told=told)


def serve_serial(
    rehearsal: Rehearsal,
    folder: Path | None = None,
    *,
    speed: float = 1.0,
    wait: float = 0.0,
    told: Teller | None = None,
) -> Server:
    """Return a server on two serial ports, ``cone`` and ``depth`` in a folder.

    Parameters
    ----------
    folder
        Where the names of the ports are made; a new temporary one by default.
    speed, wait, told
        See :class:`Server`.

    Raises
    ------
    SourceError
        Where the system has no pseudo terminals.
    """
    own = tempfile.TemporaryDirectory(prefix="pushproof-rig-") if folder is None else None
    place = Path(own.name) if own is not None else Path(folder or ".")
    ports: dict[StreamKind, Port] = {}
    try:
        for stream in STREAMS:
            ports[stream] = SerialPort(place / stream.value)
    except BaseException:
        for made in ports.values():
            made.close()
        if own is not None:
            own.cleanup()
        raise
    return Server(rehearsal, ports, speed=speed, wait=wait, told=told, folder=own)


def rehearse(
    point: str = "HM-1",
    faults: str = "",
    seed: int = 1,
    *,
    tcp: int | None = None,
    serial: Path | None = None,
    speed: float = 1.0,
    wait: float = 30.0,
    memory: Path | None = None,
    told: Teller | None = None,
) -> Rehearsal:
    """Run the simulated rig to its end: one call for a command.

    Parameters
    ----------
    point
        Point of the demo site.
    faults
        Text of :func:`.faults.parse_faults`.
    tcp
        TCP port of the cone; the encoder is on the next.
    serial
        Folder for the names of two serial ports; used where ``tcp`` is None. Both None: TCP on
        free ports.
    wait
        Longest wait for somebody to listen on both TCP ports [s].
    memory
        File for the memory read-out at the end.
    told
        Gets addresses and what happens, in words; by default the log does.

    Raises
    ------
    ConfigurationError, SourceError
        If point, faults, seed, ports or the folder of the memory file cannot be used.
    """
    told = told or (lambda text: log.info("%s", text))
    if memory is not None and not memory.absolute().parent.is_dir():
        raise ConfigurationError(
            f"memory read-out {memory}: there is no such folder; make it first"
        )
    rig = Rehearsal(point, faults, seed)
    if serial is not None and tcp is None:
        server = serve_serial(rig, serial, speed=speed, told=told)
    else:
        server = serve_tcp(rig, tcp or 0, speed=speed, wait=wait, told=told)
    try:
        for stream, address in server.addresses.items():
            told(f"{stream.value}: {address}")
        server.start()
        while not server.join(0.2):
            pass
    finally:
        server.close()
    if memory is not None and "no-memory" not in rig.faults:
        told(f"memory of the cone: {write_memory(rig, memory)} readings in {memory}")
    return rig

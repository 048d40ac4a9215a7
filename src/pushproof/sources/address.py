"""Addresses of sources, as a crew types them: ``serial:/dev/ttyUSB0?baud=9600&decoder=link-box``.

Kinds: ``serial:PORT``, ``tcp://HOST:PORT``, ``tcp-listen://HOST:PORT``, ``udp://HOST:PORT``,
``tail:FILE``, ``replay:JOB``; further kinds through entry points of the group
``pushproof.sources``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from importlib.metadata import entry_points
from pathlib import Path
from typing import TypeAlias
from urllib.parse import parse_qs, urlsplit

from pushproof.errors import ConfigurationError
from pushproof.model.stream import Message, StreamKind
from pushproof.sources import nmea
from pushproof.sources.contract import Source
from pushproof.sources.decoder import Decoder
from pushproof.sources.description import load_description
from pushproof.sources.lines import LineDecoder, SharedDecoder
from pushproof.sources.links import (
    SerialSource,
    TailSource,
    TcpListenSource,
    TcpSource,
    UdpSource,
)
from pushproof.sources.replay import ReplaySource

KINDS = {
    "serial": "serial:PORT",
    "tcp": "tcp://HOST:PORT",
    "tcp-listen": "tcp-listen://HOST:PORT",
    "udp": "udp://HOST:PORT",
    "tail": "tail:FILE",
    "replay": "replay:JOB",
}
"""Each kind with its form."""

Recorded: TypeAlias = Callable[[Path, str, StreamKind | None], Iterable[Message]]
"""Gives the messages of a job: file, sounding (empty for the only one), stream (None for all)."""


def open_source(
    address: str, decoder: str = "link-box", *, recorded: Recorded | None = None
) -> Source:
    """Return the source of an address; it opens its link when iterated.

    Parameters
    ----------
    address
        Kind, place and options. ``decoder``: a description by name or TOML file,
        ``nmea-position``, or several with commas between them for one port with several
        sentences. ``baud`` and ``frame`` for a serial port. ``from=end`` for a file. For a
        replay: ``sounding``, ``stream``, ``speed``, and ``times=now`` for present times.
    decoder
        Decoder used where the address names none.
    recorded
        Access to recorded jobs, for ``replay``.

    Raises
    ------
    ConfigurationError
        If the address cannot be understood; the message shows the right form.
    SourceError
        If a port to listen on cannot be had.
    """
    kind, colon, rest = address.partition(":")
    points = entry_points(group="pushproof.sources")
    place, _, query = rest.partition("?")
    if not colon or (kind not in KINDS and kind not in points.names):
        known = [*KINDS.values(), *(f"{name}:..." for name in sorted(points.names))]
        raise ConfigurationError(f"source {address!r}: unknown kind; known: {', '.join(known)}")
    options = {key: values[-1] for key, values in parse_qs(query, keep_blank_values=True).items()}
    if kind not in KINDS:
        source: Source = points[kind].load()(place, options)
        return source
    try:
        if kind == "replay":
            made = _replay(place, options, recorded)
        else:
            made = _link(kind, place, options, decoder)
    except ValueError as error:
        raise ConfigurationError(f"source {address!r}: {error}") from None
    return made


def load_decoder(names: str) -> LineDecoder:
    """Return a decoder by name or file; several with commas between them share one link.

    Raises
    ------
    ConfigurationError
        If there is no such description, or it is not valid.
    """
    decoders: list[LineDecoder] = [
        nmea.PositionDecoder() if name == nmea.NAME else Decoder(load_description(name))
        for name in (part.strip() for part in names.split(","))
    ]
    return decoders[0] if len(decoders) == 1 else SharedDecoder(decoders)


def _link(kind: str, place: str, options: dict[str, str], decoder: str) -> Source:
    known = {"serial": {"baud", "frame"}, "tail": {"from"}}.get(kind, set()) | {"decoder"}
    _only(options, known)
    if kind in ("serial", "tail") and not place:
        raise ValueError(f"expected {KINDS[kind]}")
    made = load_decoder(options.get("decoder", decoder))
    if kind == "serial":
        baud = _whole("baud", options.get("baud", "9600"))
        return SerialSource(made, place, baud, options.get("frame", "8N1"))
    if kind == "tail":
        begin = options.get("from", "start")
        if begin not in ("start", "end"):
            raise ValueError(f"from={begin}, expected start or end")
        return TailSource(made, place, from_start=begin == "start")
    host, port = _host_port(place)
    if kind == "tcp":
        return TcpSource(made, host or "127.0.0.1", port)
    if kind == "udp":
        return UdpSource(made, host or "0.0.0.0", port)
    return TcpListenSource(made, host, port)


def _replay(place: str, options: Mapping[str, str], recorded: Recorded | None) -> Source:
    _only(options, {"sounding", "stream", "speed", "times"})
    if recorded is None:
        raise ValueError("no access to recorded jobs here; use it with the command push")
    if not Path(place).is_file():
        raise ValueError(f"no such job file: {place}")
    stream, times = options.get("stream", ""), options.get("times", "own")
    if stream not in ("", *StreamKind):
        raise ValueError(f"stream {stream}, expected {', '.join(StreamKind)}")
    if times not in ("own", "now"):
        raise ValueError(f"times={times}, expected own or now")
    try:
        speed = float(options.get("speed", "1"))
    except ValueError:
        raise ValueError(f"speed {options['speed']!r} is no number") from None
    one = StreamKind(stream) if stream else None
    messages = recorded(Path(place), options.get("sounding", ""), one)
    return ReplaySource(
        messages, stream=one or StreamKind.CONE, speed=speed, restamp=times == "now"
    )


def _host_port(place: str) -> tuple[str, int]:
    try:
        parts = urlsplit("//" + place.removeprefix("//"))
        host, port = parts.hostname or "", parts.port
    except ValueError:
        port = None
    if port is None:
        raise ValueError("expected HOST:PORT, such as localhost:5010")
    return host, port


def _whole(name: str, text: str) -> int:
    if not text.isdecimal():
        raise ValueError(f"{name} {text!r} is no number")
    return int(text)


def _only(options: Mapping[str, str], known: set[str]) -> None:
    unknown = sorted(set(options) - known)
    if unknown:
        raise ValueError(f"unknown option {', '.join(unknown)}; known: {', '.join(sorted(known))}")

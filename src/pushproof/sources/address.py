"""Addresses of sources, as a crew types them: ``serial:/dev/ttyUSB0?baud=9600&decoder=link-box``.

Kinds: ``serial:PORT``, ``tcp://HOST:PORT``, ``tcp-listen://HOST:PORT``, ``udp://HOST:PORT``,
``tail:FILE``; further kinds through entry points of the group ``pushproof.sources``.
"""

from __future__ import annotations

from importlib.metadata import entry_points
from urllib.parse import parse_qs, urlsplit

from pushproof.errors import ConfigurationError
from pushproof.sources.contract import Source
from pushproof.sources.decoder import Decoder
from pushproof.sources.description import load_description
from pushproof.sources.links import (
    SerialSource,
    TailSource,
    TcpListenSource,
    TcpSource,
    UdpSource,
)

KINDS = ("serial", "tcp", "tcp-listen", "udp", "tail")


def open_source(address: str, decoder: str = "link-box") -> Source:
    """Return the source of an address; it opens its link when iterated.

    Parameters
    ----------
    address
        Kind, place and options: ``baud`` for a serial port, ``decoder`` for a description by
        name or TOML file, ``from=end`` for a file.
    decoder
        Description used where the address names none.

    Raises
    ------
    ConfigurationError
        If the address cannot be understood; the message shows the right form.
    SourceError
        If a port to listen on cannot be had.
    """
    kind, colon, rest = address.partition(":")
    if not colon or (kind not in KINDS and not entry_points(group="pushproof.sources", name=kind)):
        raise ConfigurationError(
            f"source {address!r}: unknown kind; known: serial:PORT, tcp://HOST:PORT, "
            "tcp-listen://HOST:PORT, udp://HOST:PORT, tail:FILE"
        )
    place, _, query = rest.partition("?")
    options = {key: values[-1] for key, values in parse_qs(query).items()}
    if kind not in KINDS:
        (point, *_) = entry_points(group="pushproof.sources", name=kind)
        source: Source = point.load()(place, options)
        return source
    made = Decoder(load_description(options.pop("decoder", decoder)))
    if kind == "serial":
        baud = _number(address, options.pop("baud", "9600"))
        _nothing_left(address, options)
        return SerialSource(made, place, baud)
    if kind == "tail":
        from_start = options.pop("from", "start") == "start"
        _nothing_left(address, options)
        return TailSource(made, place, from_start=from_start)
    _nothing_left(address, options)
    host, port = _host_port(address, place)
    if kind == "tcp":
        return TcpSource(made, host or "127.0.0.1", port)
    if kind == "udp":
        return UdpSource(made, host or "0.0.0.0", port)
    return TcpListenSource(made, host or "127.0.0.1", port)


def _host_port(address: str, place: str) -> tuple[str, int]:
    try:
        parts = urlsplit("//" + place.removeprefix("//"))
        host, port = parts.hostname or "", parts.port
    except ValueError:
        port = None
    if port is None:
        raise ConfigurationError(f"source {address!r}: expected HOST:PORT, such as localhost:5010")
    return host, port


def _number(address: str, text: str) -> int:
    if not text.isdecimal():
        raise ConfigurationError(f"source {address!r}: baud {text!r} is no number")
    return int(text)


def _nothing_left(address: str, options: dict[str, str]) -> None:
    if options:
        raise ConfigurationError(f"source {address!r}: unknown option {', '.join(options)}")

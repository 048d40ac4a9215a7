"""Real serial ports, sockets and files under the contract of sources."""

import os
import socket
import termios
import threading
import time
import tty

import pytest

from pushproof.errors import ConfigurationError, SourceError
from pushproof.model.stream import Reading, SourceState
from pushproof.sources import Pump, open_source
from pushproof.sources.links import (
    SerialSource,
    TailSource,
    TcpListenSource,
    TcpSource,
    UdpSource,
)
from pushproof.sources.replay import ReplaySource
from pushproof.testing.sources import Listener, SourceContract


class TestSerial(SourceContract):
    @pytest.fixture(autouse=True)
    def _pty(self):
        self.master, self.slave = os.openpty()
        tty.setraw(self.slave, termios.TCSANOW)
        yield
        for end in (self.master, self.slave):
            os.close(end)

    def make(self, decoder):
        return SerialSource(decoder, os.ttyname(self.slave), 115200)

    def send(self, data):
        os.write(self.master, data)


def test_serial_unplug_and_replug(tmp_path):
    contract = TestSerial()
    plug = tmp_path / "port"
    ends = os.openpty()
    tty.setraw(ends[1])
    plug.symlink_to(os.ttyname(ends[1]))
    listener = Listener()
    with Pump(SerialSource(contract.decoder(), str(plug)), listener):
        listener.wait_for(SourceState)
        os.write(ends[0], contract.sentence(1))
        listener.wait_for(Reading)
        plug.unlink()
        for end in ends:
            os.close(end)
        states = listener.wait_for(SourceState, 2)
        assert not states[1].connected
        ends = os.openpty()
        tty.setraw(ends[1])
        plug.symlink_to(os.ttyname(ends[1]))
        deadline = time.monotonic() + 5
        while not listener.of(SourceState)[-1].connected and time.monotonic() < deadline:
            time.sleep(0.02)
        os.write(ends[0], contract.sentence(2))
        assert listener.wait_for(Reading, 2)[1].sequence == 2
    for end in ends:
        os.close(end)


class Server:
    """A sender on a TCP port that lets one receiver in at a time."""

    def __init__(self, port=0):
        self.socket = socket.create_server(("127.0.0.1", port))
        self.port = self.socket.getsockname()[1]
        self.clients = []
        self.came = threading.Event()
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self):
        while True:
            try:
                self.clients.append(self.socket.accept()[0])
                self.came.set()
            except OSError:
                return

    def send(self, data):
        assert self.came.wait(5)
        self.clients[-1].sendall(data)

    def close(self):
        self.socket.shutdown(socket.SHUT_RDWR)
        self.socket.close()
        for client in self.clients:
            client.close()


class TestTcp(SourceContract):
    @pytest.fixture(autouse=True)
    def _server(self):
        self.server = Server()
        yield
        self.server.close()

    def make(self, decoder):
        return TcpSource(decoder, "127.0.0.1", self.server.port)

    def send(self, data):
        self.server.send(data)


def test_tcp_server_restart():
    contract = TestTcp()
    server = Server()
    listener = Listener()
    with Pump(TcpSource(contract.decoder(), "127.0.0.1", server.port), listener):
        listener.wait_for(SourceState)
        server.send(contract.sentence(1) + b"$CONE,half")
        listener.wait_for(Reading)
        server.close()
        listener.wait_for(SourceState, 2)
        again = Server(server.port)
        listener.wait_for(SourceState, 3)
        again.send(contract.sentence(2))
        assert listener.wait_for(Reading, 2)[1].sequence == 2
        again.close()


class TestTcpListen(SourceContract):
    def make(self, decoder):
        self.source = TcpListenSource(decoder, "127.0.0.1", 0)
        self.client = socket.create_connection(("127.0.0.1", self.source.port))
        return self.source

    def send(self, data):
        self.client.sendall(data)

    @pytest.fixture(autouse=True)
    def _close(self):
        yield
        self.client.close()
        self.source.stop()


class TestUdp(SourceContract):
    def make(self, decoder):
        self.source = UdpSource(decoder, "127.0.0.1", 0)
        self.socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        return self.source

    def send(self, data):
        self.socket.sendto(data, ("127.0.0.1", self.source.port))

    @pytest.fixture(autouse=True)
    def _close(self):
        yield
        self.socket.close()
        self.source.stop()


class TestTail(SourceContract):
    @pytest.fixture(autouse=True)
    def _file(self, tmp_path):
        self.path = tmp_path / "grows.txt"
        self.path.touch()

    def make(self, decoder):
        return TailSource(decoder, self.path)

    def send(self, data):
        with self.path.open("ab") as file:
            file.write(data)


def test_tail_over_rotation_and_truncation(tmp_path):
    contract = TestTail()
    path = tmp_path / "grows.txt"
    path.write_bytes(contract.sentence(1))
    listener = Listener()
    with Pump(TailSource(contract.decoder(), path), listener):
        listener.wait_for(Reading)
        path.rename(tmp_path / "old.txt")
        path.write_bytes(contract.sentence(2))
        listener.wait_for(Reading, 2)
        path.write_bytes(b"")
        listener.wait_for(SourceState, 5)
        with path.open("ab") as file:
            file.write(contract.sentence(3))
        got = listener.wait_for(Reading, 3)
    assert [m.sequence for m in got] == [1, 2, 3]


def test_replay_gives_exactly_what_was_recorded_and_keeps_the_pace():
    contract = TestTail()
    decoder = contract.decoder()
    recorded = [decoder.decode(contract.sentence(i).strip(), 100.0 + i, 50.0 + i) for i in range(4)]
    assert list(ReplaySource(recorded, speed=0)) == recorded
    begun = time.monotonic()
    assert list(ReplaySource(recorded, speed=20)) == recorded
    assert 0.1 < time.monotonic() - begun < 1.0


@pytest.mark.parametrize(
    ("address", "message"),
    [
        ("COM3", "unknown kind"),
        ("serial:COM3?baud=fast", "baud 'fast' is no number"),
        ("serial:COM3?bad=1", "unknown option bad"),
        ("tcp://localhost", "expected HOST:PORT"),
        ("udp://:99999", "expected HOST:PORT"),
        ("tail:a.txt?decoder=none", "no such file or example"),
    ],
)
def test_a_bad_address_says_what_is_right(address, message):
    with pytest.raises(ConfigurationError, match=message):
        open_source(address)


def test_a_taken_port_is_a_source_error():
    contract = TestTail()
    first = TcpListenSource(contract.decoder(), "127.0.0.1", 0)
    with first, pytest.raises(SourceError, match="cannot listen"):
        TcpListenSource(contract.decoder(), "127.0.0.1", first.port)

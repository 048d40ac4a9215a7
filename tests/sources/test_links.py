"""Real serial ports, sockets and files under the contract of sources."""

import os
import queue
import socket
import termios
import threading
import time
import tty
from itertools import pairwise

import pytest

from pushproof.errors import ConfigurationError, SourceError
from pushproof.model.stream import Reading, SourceState, StreamKind, Undecoded
from pushproof.sources import LinkSource, Pump, SharedDecoder, open_source
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
        listener.wait_until(lambda: listener.of(SourceState)[-1].connected)
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


def test_a_listener_says_that_it_waits():
    contract = TestTcpListen()
    source = TcpListenSource(contract.decoder(), "127.0.0.1", 0)
    listener = Listener()
    with Pump(source, listener):
        (state,) = listener.wait_for(SourceState)
        assert not state.connected
        assert "no sender has connected" in state.text
        with socket.create_connection(("127.0.0.1", source.port)) as client:
            client.sendall(contract.sentence(1))
            listener.wait_for(Reading)
    assert [s.connected for s in listener.of(SourceState)][:2] == [False, True]


def test_a_box_that_comes_back_takes_over_from_its_dead_connection():
    contract = TestTcpListen()
    source = TcpListenSource(contract.decoder(), "127.0.0.1", 0, take_over=0.0)
    listener = Listener()
    with (
        Pump(source, listener),
        socket.create_connection(("127.0.0.1", source.port)) as dead,
    ):
        dead.sendall(contract.sentence(1))
        listener.wait_for(Reading)
        with socket.create_connection(("127.0.0.1", source.port)) as back:
            back.sendall(contract.sentence(2))
            assert listener.wait_for(Reading, 2)[1].sequence == 2
    lost = [s.text for s in listener.of(SourceState) if not s.connected]
    assert any("another sender has connected" in text for text in lost)


def test_a_connection_that_is_heard_is_not_taken_over():
    contract = TestTcpListen()
    source = TcpListenSource(contract.decoder(), "127.0.0.1", 0, take_over=60.0)
    listener = Listener()
    with (
        Pump(source, listener),
        socket.create_connection(("127.0.0.1", source.port)) as first,
        socket.create_connection(("127.0.0.1", source.port)) as second,
    ):
        first.sendall(contract.sentence(1))
        listener.wait_for(Reading)
        second.sendall(contract.sentence(9))
        first.sendall(contract.sentence(2))
        listener.wait_for(Reading, 2)
        first.close()
        listener.wait_for(Reading, 3)
    assert [r.sequence for r in listener.of(Reading)] == [1, 2, 9]


class TestUdp(SourceContract):
    any_pieces = False

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


def test_what_was_written_just_before_a_rotation_counts(tmp_path):
    contract = TestTail()
    path = tmp_path / "grows.txt"
    path.write_bytes(contract.sentence(1))
    link = TailSource(contract.decoder(), path).open_link()
    assert link.receive(0.1) == contract.sentence(1)
    with path.open("ab") as file:

        def written_at_the_last_moment():
            file.write(contract.sentence(2))
            file.flush()
            return "replaced"

        link._fate = written_at_the_last_moment
        assert link.receive(0.1) == contract.sentence(2)
        link._fate = lambda: "replaced"
        with pytest.raises(EOFError, match="replaced"):
            link.receive(0.1)
    link.close()


def test_a_tail_from_the_end_takes_what_is_added_and_files_that_come_later(tmp_path):
    contract = TestTail()
    for there in (True, False):
        path = tmp_path / f"{there}.txt"
        if there:
            path.write_bytes(contract.sentence(1))
        listener = Listener()
        with Pump(TailSource(contract.decoder(), path, from_start=False), listener):
            listener.wait_for(SourceState)
            with path.open("ab") as file:
                file.write(contract.sentence(2))
            assert listener.wait_for(Reading)[0].sequence == 2


class TestJsonLines(TestTcp):
    description = "json-cone"


class TestReplay(SourceContract):
    """Recorded messages as they would come out of a job that is still growing."""

    def make(self, decoder):
        self.record, self.feed = queue.Queue(), decoder
        self.source = ReplaySource(self._recorded(), speed=0)
        return self.source

    def _recorded(self):
        now = time.time(), time.monotonic()
        yield SourceState(StreamKind.CONE, *now, connected=True)
        while not self.source.stopped:
            try:
                yield self.record.get(timeout=0.02)
            except queue.Empty:
                continue

    def send(self, data):
        for message in self.feed.feed(data, time.time(), time.monotonic()):
            self.record.put(message)


class Scripted(LinkSource):
    """A source whose links are scripted: each a list of what receive gives or raises."""

    address = "script"

    def __init__(self, decoder, links):
        super().__init__(decoder)
        self.links = list(links)
        self.opened, self.closed = 0, 0

    def open_link(self):
        self.opened += 1
        if not self.links:
            self._stopped.set()
            raise OSError(5, "script is over")
        steps = iter(self.links.pop(0))
        if isinstance(steps, Exception):
            raise steps
        source = self

        class Link:
            def receive(self, timeout):
                step = next(steps, EOFError("end"))
                if isinstance(step, Exception):
                    raise step
                return step

            def close(self):
                source.closed += 1

        return Link()


def test_half_a_line_at_the_end_of_a_link_is_kept_and_not_glued_to_the_next():
    contract = TestTail()
    one, two = contract.sentence(1), contract.sentence(2)
    source = Scripted(contract.decoder(), [[one + two[:9]], [two[9:], two]])
    messages = list(source)
    assert [m.sequence for m in messages if isinstance(m, Reading)] == [1, 2]
    assert [m.raw for m in messages if isinstance(m, Undecoded)] == [two[:9], two[9:].strip()]
    assert source.closed == 2
    counters = source.counters
    assert (counters.readings, counters.undecoded, counters.connects) == (2, 2, 2)
    last = [m for m in messages if isinstance(m, SourceState)][-1]
    assert last.details["readings"] == 2.0


def test_every_loss_of_a_link_is_said_once():
    contract = TestTail()
    source = Scripted(contract.decoder(), [[OSError(5, "gone")], [EOFError("end")]])
    states = [m for m in source if isinstance(m, SourceState)]
    assert [s.connected for s in states] == [True, False, True, False]
    assert "gone" in states[1].text


@pytest.mark.parametrize("error", [SourceError("no such speed"), ZeroDivisionError("planted")])
def test_a_source_that_fails_for_good_is_never_silent(error, monkeypatch):
    def fail():
        raise error

    source = Scripted(TestTail().decoder(), [])
    monkeypatch.setattr(source, "open_link", fail)
    listener = Listener()
    pump = Pump(source, listener).start()
    (state,) = listener.wait_for(SourceState)
    assert not state.connected
    assert str(error) in state.text
    with pytest.raises(SourceError, match=str(error)):
        pump.stop()


def test_a_port_that_cannot_be_set_up_as_described_is_a_source_error(tmp_path):
    near, far = os.openpty()
    source = SerialSource(TestTail().decoder(), os.ttyname(far), -5)
    with pytest.raises(SourceError, match="cannot be set up"):
        list(source)
    os.close(near)
    os.close(far)


def test_two_programs_cannot_share_a_serial_port():
    near, far = os.openpty()
    tty.setraw(far, termios.TCSANOW)
    first = SerialSource(TestTail().decoder(), os.ttyname(far)).open_link()
    with pytest.raises(OSError, match="another program may hold it"):
        SerialSource(TestTail().decoder(), os.ttyname(far)).open_link()
    first.close()
    os.close(near)
    os.close(far)


def test_cone_and_depth_over_one_port():
    source = open_source("tcp-listen://127.0.0.1:0?decoder=link-box,depth-box,nmea-position")
    cone, depth, _ = source.decoder.decoders
    assert isinstance(source.decoder, SharedDecoder)
    glued = cone.encode({"qc": 5.0}, 1).strip() + depth.encode({"count": 7.0}).strip()
    gll = b"$GPGLL,4916.45,N,12311.12,W,225444,A,*1D"
    listener = Listener()
    with Pump(source, listener), socket.create_connection(("127.0.0.1", source.port)) as client:
        client.sendall(glued + gll + b"\r\nnoise\r\n")
        got = listener.wait_for(Reading, 3)
        listener.wait_for(Undecoded)
    assert [m.stream for m in got] == [StreamKind.CONE, StreamKind.DEPTH, StreamKind.POSITION]
    assert [m.raw for m in listener.of(Undecoded)] == [b"noise"]


def test_replay_gives_exactly_what_was_recorded_and_keeps_the_pace():
    contract = TestTail()
    decoder = contract.decoder()
    recorded = [decoder.decode(contract.sentence(i).strip(), 100.0 + i, 50.0 + i) for i in range(4)]
    assert list(ReplaySource(recorded, speed=0)) == recorded
    begun = time.monotonic()
    assert list(ReplaySource(recorded, speed=20)) == recorded
    assert 0.1 < time.monotonic() - begun < 1.0


def test_replay_over_a_restart_of_the_computer_and_a_night():
    contract = TestTail()
    decoder = contract.decoder()
    at = [9000.0, 9001.0, 3.0, 4.0, 40_000.0]  # monotonic clock: begins anew, then a night
    recorded = [decoder.decode(contract.sentence(i).strip(), 1e9 + i, m) for i, m in enumerate(at)]
    got = list(ReplaySource(recorded, speed=0, restamp=True))
    steps = [b.monotonic - a.monotonic for a, b in pairwise(got)]
    assert steps == pytest.approx([1, 0, 1, 60])
    assert [b.arrival - a.arrival for a, b in pairwise(got)] == pytest.approx(steps, abs=1e-5)
    assert list(ReplaySource(recorded, speed=0)) == recorded


def test_replay_can_be_stopped_in_a_pause():
    contract = TestTail()
    recorded = [
        contract.decoder().decode(contract.sentence(i).strip(), i, 50.0 * i) for i in (1, 2)
    ]
    listener = Listener()
    pump = Pump(ReplaySource(recorded), listener).start()
    listener.wait_for(Reading)
    begun = time.monotonic()
    pump.stop()
    assert time.monotonic() - begun < 1


def test_replay_by_address(tmp_path):
    job = tmp_path / "a.job"
    job.touch()
    asked = []

    def recorded(path, sounding, stream):
        asked.append((path, sounding, stream))
        return []

    address = f"replay:{job}?sounding=HM-1&stream=depth&speed=20&times=now"
    source = open_source(address, recorded=recorded)
    assert asked == [(job, "HM-1", StreamKind.DEPTH)]
    assert (source.speed, source.restamp, source.stream) == (20.0, True, StreamKind.DEPTH)
    assert list(source) == []


@pytest.mark.parametrize(
    ("address", "message"),
    [
        ("COM3", "unknown kind"),
        ("serial:COM3?baud=fast", "baud 'fast' is no number"),
        ("serial:COM3?bad=1", "unknown option bad"),
        ("tcp://localhost", "expected HOST:PORT"),
        ("udp://:99999", "expected HOST:PORT"),
        ("tail:a.txt?decoder=none", "no such file or example"),
        ("tail:a.txt?from=middle", "expected start or end"),
        ("tail:?decoder=link-box", "expected tail:FILE"),
        ("serial:?baud=9600", "expected serial:PORT"),
        ("serial:COM3?frame=9X1", "expected data bits, parity and stop bits as 8N1"),
        ("replay:a.job", "no access to recorded jobs"),
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

"""The rehearsal over real TCP sockets and real serial ports, read by the program's own sources."""

import os
import socket
import time

import pytest

from pushproof.errors import ConfigurationError, SourceError
from pushproof.model.stream import Reading, SourceState, StreamKind
from pushproof.sources import Pump, open_source
from pushproof.sources.rehearsal import (
    Ground,
    Layer,
    Plan,
    Rehearsal,
    push,
    rehearse,
    serve_serial,
    serve_tcp,
)

CONE, DEPTH = StreamKind.CONE, StreamKind.DEPTH
posix = pytest.mark.skipif(os.name != "posix", reason="no pseudo terminals here")


def short(faults=""):
    """Return a push of half a metre: three minutes of the rig."""
    clay = Layer(3.0, "clay", 16.0, su=20, friction=2.4, pore=0.5)
    return Rehearsal(push(Ground((clay,), 1.0), Plan("S-1", 0.5), 3), faults, 1)


class Collector:
    def __init__(self):
        self.messages = []

    def __call__(self, message):
        self.messages.append(message)

    def readings(self):
        return [m for m in self.messages if isinstance(m, Reading)]

    def states(self):
        return [m.connected for m in self.messages if isinstance(m, SourceState)]


def played(server, **addresses):
    """Read both streams of a server to its end."""
    heard = {CONE: Collector(), DEPTH: Collector()}
    pumps = [Pump(open_source(server.addresses[s]), heard[s]) for s in heard]
    for pump in pumps:
        pump.start()
    try:
        with server:
            assert server.join(60)
            time.sleep(0.4)
    finally:
        for pump in pumps:
            pump.stop()
    return heard


def same_values(got, expected):
    return [(m.sequence, m.values) for m in got] == [(m.sequence, m.values) for m in expected]


def expected(rehearsal, stream):
    return [m for m in rehearsal.messages((stream,)) if isinstance(m, Reading)]


def test_tcp_carries_what_messages_gives():
    rig = short()
    heard = played(serve_tcp(rig, speed=120))
    assert same_values(heard[CONE].readings(), expected(rig, CONE))
    assert same_values(heard[DEPTH].readings(), expected(rig, DEPTH))


@posix
def test_serial_ports_carry_what_messages_gives(tmp_path):
    rig = short()
    server = serve_serial(rig, tmp_path, speed=120, wait=0.0)
    time.sleep(0.1)
    heard = played(server)
    # The port is opened while the rig already sends: a reading or two may be missing at the start.
    got, all_of_them = heard[CONE].readings(), expected(rig, CONE)
    assert len(got) >= len(all_of_them) - 3
    assert same_values(got, all_of_them[-len(got) :])
    got, all_of_them = heard[DEPTH].readings(), expected(rig, DEPTH)
    assert len(got) >= len(all_of_them) - 30
    assert same_values(got, all_of_them[-len(got) :])


def test_an_unplugged_tcp_port_is_found_again():
    rig = short("unplug@60s=40s")
    heard = played(serve_tcp(rig, speed=60))
    states = heard[CONE].states()
    assert states[0] is True
    assert states[1] is False
    assert True in states[2:]
    assert heard[DEPTH].states()[0] is True
    counters = [m.sequence for m in heard[CONE].readings()]
    first = counters[0]
    assert not any(first + 62 < c < first + 97 for c in counters)
    assert any(c > first + 110 for c in counters)


@posix
def test_an_unplugged_serial_port_is_found_again(tmp_path):
    rig = short("unplug-depth@60s=40s")
    heard = played(serve_serial(rig, tmp_path, speed=60))
    states = heard[DEPTH].states()
    assert False in states
    assert True in states[states.index(False) :]
    assert max(m.sequence for m in heard[DEPTH].readings()) > 1100
    assert not list(tmp_path.iterdir())


def test_a_client_that_reads_nothing_does_not_stop_the_rig():
    rig = short()
    server = serve_tcp(rig, speed=200, wait=5)
    idle = [socket.create_connection(("127.0.0.1", port.port)) for port in server.ports.values()]
    with server:
        assert server.join(30)
    for one in idle:
        one.close()
    assert server.sent[DEPTH] > 10_000


def test_a_taken_port_is_refused_with_advice():
    with (
        socket.create_server(("127.0.0.1", 0)) as taken,
        pytest.raises(SourceError, match="give another port"),
    ):
        serve_tcp(short(), taken.getsockname()[1])


def test_the_server_can_be_stopped_at_any_time():
    server = serve_tcp(short(), speed=1, wait=0).start()
    time.sleep(0.2)
    server.close()
    assert not server.running
    waiting = serve_tcp(short(), speed=1, wait=600).start()
    waiting.close()
    assert not waiting.running


def test_one_call_runs_the_rig_and_writes_the_memory(tmp_path):
    said = []
    file = tmp_path / "memory.csv"
    rig = rehearse("HM-2", "stone@1=70MPa", speed=2000, wait=0, memory=file, told=said.append)
    assert said[0].startswith("cone: tcp://127.0.0.1:")
    assert any("zeros-after" in line for line in said)
    lines = file.read_text("utf-8").splitlines()
    assert lines[0] == "record: memory of the cone"
    assert lines[5].startswith("cone_time [s],qc [MPa]")
    assert len(lines) == 6 + len(rig.memory())


def test_what_cannot_be_written_is_said_before_the_push(tmp_path):
    with pytest.raises(ConfigurationError, match="no such folder"):
        rehearse("HM-2", memory=tmp_path / "none" / "memory.csv")
    with pytest.raises(ConfigurationError, match="seed -1"):
        rehearse("HM-2", seed=-1)


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("rehearsal:XX", "known: HM-1"),
        ("rehearsal:HM-1?sped=3", "unknown option sped"),
        ("rehearsal:HM-1?speed=-1", "0 or more"),
        ("rehearsal:HM-1?stream=memory", "expected cone, depth or both"),
        ("rehearsal:HM-1?faults=loss", "needs a value"),
    ],
)
def test_a_wrong_address_says_what_was_expected(address, said):
    with pytest.raises(ConfigurationError, match=said):
        open_source(address)

"""The recorder stores first, hands on second, and survives what goes wrong around it."""

from __future__ import annotations

import threading
import time

import pytest

from pushproof.errors import RecordError, RecordFullError
from pushproof.model.stream import Reading, SourceState, StreamKind, Undecoded
from pushproof.recording import clocks
from pushproof.recording.clocks import ClockWatch, SurfaceClock
from pushproof.recording.listeners import Subscription
from pushproof.recording.recorder import Recorder
from pushproof.store import Job, Mark, verify

CONE, DEPTH = StreamKind.CONE, StreamKind.DEPTH


def cone(number: int, **values: float) -> Reading:
    raw = f"$C,{number}\r\n".encode()
    return Reading(CONE, 1.75e9 + number, 50.0 + number, {"qc": 1.0 * number} | values, number, raw)


def depth(number: int) -> Reading:
    return Reading(DEPTH, 1.75e9 + number, 50.0 + number, {"count": 2.0 * number})


def wait_for(condition, timeout: float = 10.0) -> None:
    end = time.monotonic() + timeout
    while not condition():
        assert time.monotonic() < end, "it did not come to pass in time"
        time.sleep(0.005)


@pytest.fixture
def job(tmp_path):
    with Job.create(tmp_path / "a.job") as opened:
        yield opened
    assert verify(tmp_path / "a.job").ok


def kinds(job: Job) -> list[str]:
    return [event.kind for event in job.events("A")]


def test_a_message_is_stored_before_it_is_handed_on(job):
    late = []

    def check(stored):
        with Job.open(job.path) as reader:
            if reader.last("A", stored.message.stream) < stored.number:
                late.append(stored)

    with Recorder(job, "A") as recorder:
        followed = recorder.follow(check)
        for number in range(1, 40):
            recorder(cone(number))
            recorder(depth(number))
            time.sleep(0.001)
    assert followed.delivered == 78
    assert followed.last_fault == ""
    assert late == []
    assert kinds(job) == ["recording-started", "recording-stopped"]
    assert recorder.state.stored == 78


def test_listeners_get_everything_in_order(job):
    heard, followed = [], []
    noise = Undecoded(CONE, 1.0, 1.0, b"\x00\xff", "wrong checksum")
    lost = SourceState(CONE, 1.0, 1.0, False, "port pulled", {"age": float("nan")})
    with Recorder(job, "A") as recorder:
        recorder.listen(heard.append)
        recorder.follow(followed.append)
        messages = [cone(1), depth(1), noise, cone(2), lost, depth(2)]
        for message in messages:
            recorder(message)
    assert heard == messages
    assert [(one.number, one.message) for one in followed] == [
        (1, messages[0]),
        (1, messages[1]),
        (2, messages[3]),
        (2, messages[5]),
    ]
    assert list(job.undecoded("A", CONE)) == [noise]
    (event,) = job.events("A", kind="source-lost")
    assert event.text == "port pulled"
    assert event.details == {"stream": "cone", "age": None}


def test_repeated_and_late_packets_are_kept_and_marked(job):
    numbers = [1, 2, 4, 4, 3, 5, 2, 900_000, 1]
    with Recorder(job, "A") as recorder:
        for number in numbers:
            recorder(cone(number))
    stored = list(job.messages("A", CONE))
    assert [one.message.sequence for one in stored] == numbers
    assert [one.mark for one in stored] == [
        Mark.NONE,
        Mark.NONE,
        Mark.NONE,
        Mark.DUPLICATE,
        Mark.LATE,
        Mark.NONE,
        Mark.DUPLICATE,
        Mark.RESTART,
        Mark.RESTART,
    ]


def test_a_counter_that_goes_over_its_end_is_no_restart(job):
    with Recorder(job, "A", modulus={CONE: 256}) as recorder:
        for number in (254, 255, 0, 1):
            recorder(cone(number))
    assert {one.mark for one in job.messages("A", CONE)} == {Mark.NONE}


def test_the_next_start_goes_on_and_knows_what_was_stored(job):
    with Recorder(job, "A") as recorder:
        for number in range(1, 6):
            recorder(cone(number))
    with Recorder(job, "A") as recorder:
        for number in (5, 6):
            recorder(cone(number))
    stored = list(job.messages("A", CONE))
    assert [one.number for one in stored] == list(range(1, 8))
    assert [one.mark for one in stored][-2:] == [Mark.DUPLICATE, Mark.NONE]
    (resumed,) = job.events("A", kind="resumed")
    assert resumed.details["interrupted"] is False
    assert resumed.details["last"]["cone"] == 5


def test_the_next_start_knows_that_the_last_one_was_interrupted(job):
    recorder = Recorder(job, "A").start()
    recorder(cone(1))
    wait_for(lambda: job.last("A", CONE) == 1)
    with Recorder(job, "A"):
        pass
    (resumed,) = job.events("A", kind="resumed")
    assert resumed.details["interrupted"] is True
    recorder.close()


def test_a_listener_that_hangs_is_dropped_and_recording_goes_on(job):
    let_go = threading.Event()
    heard, alarms = [], []
    with Recorder(job, "A") as recorder:
        hangs = recorder.listen(lambda message: let_go.wait(), name="the page", depth=10)
        recorder.listen(heard.append)
        recorder.on_alarm(alarms.append)
        for number in range(1, 101):
            recorder(cone(number))
            time.sleep(0.001)
        wait_for(lambda: len(heard) == 100)
        wait_for(lambda: hangs.missed == 99)
        assert hangs.dropped
        assert not hangs.alive
        let_go.set()
    assert job.last("A", CONE) == 100
    assert [(alarm.kind, alarm.raised) for alarm in alarms] == [("listener-dropped", True)]
    assert "the page does not take" in job.events("A", kind="alarm")[0].text


def test_a_listener_that_fails_gets_the_next_message_all_the_same(job):
    heard = []

    def fails(message):
        heard.append(message)
        raise KeyError("x")

    with Recorder(job, "A") as recorder:
        subscription = recorder.listen(fails)
        for number in range(1, 6):
            recorder(cone(number))
    assert len(heard) == 5
    assert subscription.faults == 5
    assert subscription.last_fault == "KeyError: 'x'"


def test_a_batch_larger_than_the_queue_is_taken_when_nothing_waits():
    heard: list[int] = []
    subscription = Subscription(heard.append, name="small", depth=3)
    assert subscription.offer(range(10))
    assert subscription.end()
    assert heard == list(range(10))
    assert subscription.offer([1])  # ended, not dropped
    assert subscription.missed == 0


def full_disk(job: Job, monkeypatch, error: type[RecordError] = RecordFullError):
    """Make storing fail until the returned event is cleared."""
    full = threading.Event()
    insert = job._insert

    def fails(*arguments, **named):
        if full.is_set():
            raise error("no room")
        return insert(*arguments, **named)

    monkeypatch.setattr(job, "_insert", fails)
    monkeypatch.setattr("pushproof.recording.recorder.RETRY", 0.01)
    return full


@pytest.mark.parametrize(
    ("error", "kind"), [(RecordFullError, "disk-full"), (RecordError, "storage-failed")]
)
def test_a_full_disk_is_told_at_once_and_recording_goes_on(job, monkeypatch, error, kind):
    full = full_disk(job, monkeypatch, error)
    alarms, heard = [], []
    with Recorder(job, "A") as recorder:
        recorder.on_alarm(alarms.append)
        recorder.listen(heard.append)
        recorder(cone(1))
        wait_for(lambda: len(heard) == 1)
        full.set()
        for number in range(2, 10):
            recorder(cone(number))
        wait_for(lambda: alarms)
        assert (alarms[0].kind, alarms[0].raised) == (kind, True)
        assert recorder.state.alarms == (kind,)
        time.sleep(0.1)
        assert len(heard) == 1
        assert recorder.state.waiting == 8
        assert job.last("A", CONE) == 1
        full.clear()
        wait_for(lambda: len(heard) == 9)
        wait_for(lambda: len(alarms) == 2)
        assert (alarms[1].kind, alarms[1].raised) == (kind, False)
    assert [one.message.sequence for one in job.messages("A", CONE)] == list(range(1, 10))
    assert {one.mark for one in job.messages("A", CONE)} == {Mark.NONE}
    stored = [(event.details["alarm"], event.details["raised"]) for event in job.events("A")[1:3]]
    assert stored == [(kind, True), (kind, False)]


def test_too_many_waiting_messages_are_counted_as_lost(job, monkeypatch):
    full = full_disk(job, monkeypatch)
    with Recorder(job, "A", backlog=10) as recorder:
        wait_for(lambda: kinds(job) == ["recording-started"])
        full.set()
        for number in range(1, 26):
            recorder(cone(number))
        assert recorder.state.lost == 15
        full.clear()
        wait_for(lambda: recorder.state.stored == 10)
    told = [event.details.get("alarm") for event in job.events("A", kind="alarm")]
    assert "messages-lost" in told
    assert job.events("A", kind="recording-stopped")[0].details == {"stored": 10, "lost": 15}


def test_what_cannot_be_stored_before_the_end_is_told(job, monkeypatch):
    full = full_disk(job, monkeypatch)
    recorder = Recorder(job, "A").start()
    full.set()
    recorder(cone(1))
    with pytest.raises(RecordError, match="1 messages of A could not be stored"):
        recorder.close(timeout=0.2)
    full.clear()


def test_a_malformed_message_is_kept_as_bytes(job):
    heard = []
    with Recorder(job, "A") as recorder:
        recorder.listen(heard.append)
        recorder(cone(1))
        recorder(Reading(CONE, 1.0, 2.0, {"qc": "many"}, 2, b"$C,2\r\n"))  # type: ignore[dict-item]
        recorder(SourceState(CONE, 1.0, 2.0, True, "up \udc80", {"level": "x"}))  # type: ignore
        recorder(cone(3))
        wait_for(lambda: len(heard) == 4)
    (kept,) = job.undecoded("A", CONE)
    assert kept.raw == b"$C,2\r\n"
    assert "cannot be stored" in kept.fault
    assert [one.message.sequence for one in job.messages("A", CONE)] == [1, 3]


def test_messages_from_many_threads_all_arrive(job):
    with Recorder(job, "A") as recorder:
        followed = []
        recorder.follow(followed.append)
        threads = [
            threading.Thread(target=lambda: [recorder(depth(n)) for n in range(500)])
            for _ in range(4)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert [one.number for one in followed] == list(range(1, 2001))


class FakeClock(SurfaceClock):
    """Clocks that are moved by hand, on top of the real ones."""

    def __init__(self) -> None:
        self.set_by = 0.0
        self.asleep = 0.0

    def wall(self) -> float:
        return super().wall() + self.set_by + self.asleep

    def running(self) -> float:
        return super().running() + self.asleep


def test_a_clock_set_back_is_an_event_and_shifts_nothing(job):
    clock = FakeClock()
    with Recorder(job, "A", clock=clock) as recorder:
        recorder(cone(1))
        wait_for(lambda: job.last("A", CONE) == 1)
        clock.set_by = -3600.0
        recorder(cone(2))
        wait_for(lambda: job.events("A", kind="clock-step"))
    (event,) = job.events("A", kind="clock-step")
    assert event.details["seconds"] == pytest.approx(-3600.0, abs=0.5)
    assert "went back by 3600.0 s" in event.text
    assert [one.message.arrival for one in job.messages("A", CONE)] == [1.75e9 + 1, 1.75e9 + 2]


def test_a_laptop_that_slept_is_an_event(job):
    clock = FakeClock()
    with Recorder(job, "A", clock=clock) as recorder:
        recorder(cone(1))
        wait_for(lambda: job.last("A", CONE) == 1)
        clock.asleep = 60.0
        recorder(cone(2))
        wait_for(lambda: job.events("A", kind="asleep"))
    (event,) = job.events("A", kind="asleep")
    assert event.details["seconds"] == pytest.approx(60.0, abs=0.5)
    assert not job.events("A", kind="clock-step")


def test_the_clocks_that_count_sleep_as_time_show_it_by_the_wait():
    watch = ClockWatch(SurfaceClock())
    assert watch.look() == []
    assert [event.kind for event in watch.look(overdue=clocks.ASLEEP + 1)] == ["asleep"]


def test_what_was_recorded_comes_back_in_the_order_of_arrival(job):
    def at(moment, stream, number):
        return Reading(stream, 1.75e9, moment, {"qc": 1.0}, number)

    noise = Undecoded(CONE, 1.75e9, 3.5, b"?", "half a line")
    with Recorder(job, "A") as recorder:
        for message in (at(1.0, DEPTH, 1), at(2.0, CONE, 1), at(3.0, DEPTH, 2), noise):
            recorder(message)
    with Recorder(job, "A") as recorder:  # after a reboot: the monotonic clock began anew
        for message in (at(0.5, DEPTH, 3), at(0.6, CONE, 2)):
            recorder(message)
    found = list(job.recorded("A"))
    assert [(one.stream, one.monotonic) for one in found] == [
        (DEPTH, 1.0),
        (CONE, 2.0),
        (DEPTH, 3.0),
        (CONE, 3.5),
        (DEPTH, 0.5),
        (CONE, 0.6),
    ]
    assert found[3] == noise
    assert [one.monotonic for one in job.recorded("A", ["depth"])] == [1.0, 3.0, 0.5]

"""A recorded push replayed is the push that was recorded."""

import pytest

from pushproof.errors import RecordError
from pushproof.model.stream import Reading, StreamKind, Undecoded
from pushproof.recording.playback import recorded
from pushproof.recording.recorder import Recorder
from pushproof.sources import Pump, ReplaySource, open_source
from pushproof.store import Job

C, D = StreamKind.CONE, StreamKind.DEPTH
MESSAGES = [
    Reading(C, 100.0, 10.0, {"qc": 1.0}, 1, b"a"),
    Reading(D, 100.5, 10.5, {"count": 5.0}, None, b"b"),
    Undecoded(C, 100.7, 10.7, b"\xff\x00", "other sentence"),
    Reading(C, 101.0, 11.0, {"qc": 2.0}, 2, b"c"),
    Reading(C, 101.1, 11.1, {"qc": 2.0}, 2, b"c"),
    Reading(D, 101.5, 11.5, {"count": 6.0}, None, b"d"),
]


def record(path, messages, name="A"):
    job = Job.open(path, write=True) if path.exists() else Job.create(path)
    with job, Recorder(job, name) as recorder:
        for message in messages:
            recorder(message)


def test_a_replay_gives_what_was_recorded_and_can_be_recorded_again(tmp_path):
    first, second = tmp_path / "first.job", tmp_path / "second.job"
    record(first, MESSAGES)
    assert list(recorded(first)) == MESSAGES
    source = open_source(f"replay:{first}?speed=0", recorded=recorded)
    assert isinstance(source, ReplaySource)
    record(second, source)
    assert list(recorded(second)) == MESSAGES


def test_one_stream(tmp_path):
    record(tmp_path / "a.job", MESSAGES)
    assert list(recorded(tmp_path / "a.job", "A", D)) == [m for m in MESSAGES if m.stream == D]


def test_a_sounding_must_be_clear(tmp_path):
    path = tmp_path / "a.job"
    record(path, MESSAGES, "A")
    record(path, MESSAGES, "B")
    with pytest.raises(RecordError, match="say which sounding to replay; there are: A, B"):
        recorded(path)
    with pytest.raises(RecordError, match="no sounding 'C'"):
        recorded(path, "C")
    assert len(list(recorded(path, "B"))) == len(MESSAGES)


def test_it_is_let_go_when_it_is_left(tmp_path):
    path = tmp_path / "a.job"
    record(path, MESSAGES)
    seen = []
    with Pump(open_source(f"replay:{path}?speed=0", recorded=recorded), seen.append):
        pass
    record(path, MESSAGES[:1], "B")
    assert len(seen) <= len(MESSAGES)

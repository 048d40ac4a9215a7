"""The live state becomes plain JSON, whatever is missing in it."""

import json

import pytest

from pushproof.recording.snapshot import AlarmState, ChannelState, Level, LiveState, as_json


def test_an_empty_state_is_json():
    data = json.loads(json.dumps(as_json(LiveState("A-1", 0.0, 0)), allow_nan=False))
    assert data["advance"]["state"] == "waiting"
    assert data["cone"]["freshness"] == "no reading yet"
    assert data["tilt"]["angle"] is None


def test_missing_numbers_become_none_and_levels_words():
    state = LiveState("A-1", 0.0, 0, channels=(ChannelState("qc", float("nan"), level=Level.STOP),))
    data = as_json(state)
    assert data["channels"][0] == {
        "key": "qc",
        "value": None,
        "capacity": None,
        "share": None,
        "level": "stop",
    }
    with pytest.raises(ValueError, match="no JSON form for object"):
        as_json(object())


def test_the_worst_level_passes_over_cleared_alarms():
    up = AlarmState("rate", Level.CAUTION, "fast", "ease", 0.0)
    gone = AlarmState("tilt", Level.STOP, "tilt", "stop", 0.0, cleared=True)
    assert LiveState("A-1", 0.0, 0, alarms=(up, gone)).worst == Level.CAUTION

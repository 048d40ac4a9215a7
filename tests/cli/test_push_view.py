"""The terminal view at 80 by 24: nothing clipped, staleness unmistakable."""

import dataclasses

import pytest

from pushproof.cli.push_view import render
from pushproof.model.stream import Advance
from pushproof.recording.snapshot import (
    AdvanceState,
    AlarmState,
    ChannelState,
    DissipationState,
    Freshness,
    Level,
    LinkState,
    LiveState,
    StepState,
    StreamState,
    TiltState,
    ZeroState,
)

PUSHING = LiveState(
    sounding="HM-1",
    time=1936428000.0,
    number=812,
    step=StepState("push"),
    advance=AdvanceState(
        state=Advance.PUSHING, length=12.482, depth=12.47, rate=0.0204, rods=13, strokes=13,
        thrust=41.8, thrust_share=0.47, tally_difference=0.012,
    ),
    channels=(
        ChannelState("qc", 8420.0, 50000.0, 0.17),
        ChannelState("fs", 61.0),
        ChannelState("u2", 118.0),
    ),
    tilt=TiltState(1.8, 214.0, 0.2),
    link=LinkState(level=-42.0, age=0.7, loss=0.04),
    cone=StreamState(True, Freshness.FRESH, 0.7, 811),
    encoder=StreamState(True, Freshness.FRESH, 0.1, 8110),
    battery=7.61,
    temperature=11.2,
    free_disk=81e9,
)  # fmt: skip

LOOSE = LinkState(
    level=-61.0, age=2.4, loss=0.31, verdict="joint above rod 12", sure=0.93,
    advice="retighten that joint, wipe the faces", joint=12, status=Level.CAUTION,
)  # fmt: skip


def alarm(rule, level, **more):
    text = f"{rule} is beyond its limit"
    return AlarmState(rule, level, text, "ease off", 1936427990.0, **more)


def lines(state, **size):
    return render(state, **size).plain.split("\n")


@pytest.mark.parametrize(("width", "height"), [(80, 24), (100, 30), (140, 50)])
def test_it_fills_the_screen_and_no_line_is_too_wide(width, height):
    busy = dataclasses.replace(
        PUSHING, link=LOOSE, alarms=tuple(alarm(f"rule-{i}", Level.STOP) for i in range(30))
    )
    for state in (PUSHING, busy):
        got = lines(state, width=width, height=height)
        assert len(got) == height
        assert max(map(len, got)) <= width
    assert "more" in "\n".join(lines(busy))


def test_the_numbers_that_matter_are_there():
    text = "\n".join(lines(PUSHING))
    for part in ("RATE mm/s", "DEPTH m", "TIP qc MPa", "TILT deg", "17% of capacity", "to 214 deg",
                 "last reading 0.7 s ago", "u2 118 kPa", "rods 13", "push"):  # fmt: skip
        assert part in text


def test_stale_readings_are_unmistakable_and_not_shown_as_new():
    stale = StreamState(True, Freshness.STALE, 6.0, 811)
    text = "\n".join(lines(dataclasses.replace(PUSHING, cone=stale)))
    assert "CONE: NO READING FOR 6 s" in text
    fresh_rows, stale_rows = lines(PUSHING)[3:6], text.split("\n")[3:6]
    assert fresh_rows[0][40:60] != stale_rows[0][40:60]
    assert "▀▀▀" in stale_rows[1][40:60]


def test_a_pulled_plug_is_named():
    gone = StreamState(False, Freshness.LATE, 1.0, 811)
    assert "DEPTH DISCONNECTED" in "\n".join(lines(dataclasses.replace(PUSHING, encoder=gone)))


def test_a_loose_joint_is_named_with_what_to_do():
    text = "\n".join(lines(dataclasses.replace(PUSHING, link=LOOSE)))
    assert "joint above rod 12 (93% sure): retighten that joint" in text


def test_alarms_say_their_level_in_words():
    state = dataclasses.replace(
        PUSHING,
        alarms=(
            alarm("tilt", Level.CAUTION, acknowledged=True),
            alarm("tip", Level.STOP),
            alarm("rate", Level.CAUTION, cleared=True),
        ),
    )
    text = lines(state)
    rows = [line for line in text if "beyond its limit" in line]
    assert [row.split()[0] for row in rows] == ["STOP", "caution,", "cleared"]
    assert "STOP" in text[0]


def test_dissipation_and_zeros_show_how_far_they_are():
    test = DissipationState(1, 6.5, 95.0, "u2", 212.0, 171.3, 53.0, True, 26.0)
    text = "\n".join(lines(dataclasses.replace(PUSHING, dissipation=test)))
    assert "DISSIPATION 1: 95 s" in text
    assert "26 % dissipated (u0 assumed)" in text
    zero = ZeroState("before", 21.0, 60.0, 21, {"qc": 1.2, "u2": 0.3})
    assert "ZEROS before: 21 of 60 s" in "\n".join(lines(dataclasses.replace(PUSHING, zero=zero)))


def test_an_empty_state_draws_too():
    text = "\n".join(lines(LiveState("NEW", 0.0, 0)))
    assert "CONE: NO READING YET" in text

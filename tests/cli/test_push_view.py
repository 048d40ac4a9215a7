"""The terminal view at 80 by 24: nothing clipped, staleness unmistakable."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.cli.big_digits import big
from pushproof.cli.push_view import STYLE, render
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
    for part in ("RATE mm/s", "DEPTH m", "TIP qc MPa", "TILT deg", "17% of capacity",
                 "to 214, +0.2/m", "cone 0.7 s ago", "encoder 0.1 s ago",
                 "u2 118 kPa", "rods 13", "push"):  # fmt: skip
        assert part in text


def numbers(state, **size):
    """Return the four large numbers as three rows each."""
    rows = lines(state, **size)[3:6]
    column = len(rows[0]) // 4
    return [[row[i * column : (i + 1) * column].strip() for row in rows] for i in range(4)]


NO_NUMBER = ["", "▀▀▀ ▀▀▀", ""]
OLD = StreamState(True, Freshness.STALE, 6.0, 811)
GONE = StreamState(False, Freshness.FRESH, 0.4, 811)


@pytest.mark.parametrize("stream", [OLD, GONE, StreamState()])
def test_a_stale_cone_has_no_value_that_could_be_new(stream):
    state = dataclasses.replace(PUSHING, cone=stream)
    assert [n == NO_NUMBER for n in numbers(state)] == [False, False, True, True]
    text = "\n".join(lines(state))
    for part in ("last 8.42", "last 1.8", "link –– dB", "u2 –– kPa", "battery –– V", "NO READINGS"):
        assert part in text
    assert "118" not in text.replace("811", "")


@pytest.mark.parametrize("stream", [OLD, GONE])
def test_a_stale_encoder_has_no_rate_and_says_the_last_depth(stream):
    state = dataclasses.replace(PUSHING, encoder=stream)
    assert [n == NO_NUMBER for n in numbers(state)] == [True, True, False, False]
    text = "\n".join(lines(state))
    assert "last 12.47 m" in text
    assert "push force –– kN" in text


def test_staleness_is_in_the_bar_and_in_its_own_line():
    text = "\n".join(lines(dataclasses.replace(PUSHING, cone=OLD, encoder=OLD)))
    assert "CONE: NO READING FOR 6 s   DEPTH: NO READING FOR 6 s" in text
    screen = render(dataclasses.replace(PUSHING, cone=OLD))
    red = [str(span.style) for span in screen.spans if span.start < 160]
    assert red.count(STYLE[Level.STOP]) == 2


def test_a_large_number_loses_decimals_and_is_never_cut():
    advance = dataclasses.replace(PUSHING.advance, rate=-0.1234, depth=112.47, length=None)
    channels = (ChannelState("qc", 1e9),)
    rate, depth, tip, _ = numbers(dataclasses.replace(PUSHING, advance=advance, channels=channels))
    assert rate == [row.strip() for row in big("-123")]
    assert depth == [row.strip() for row in big("112.5")]
    assert tip == ["", "1e+06", ""]


def test_nothing_has_no_sign():
    advance = dataclasses.replace(PUSHING.advance, rate=-1e-6, thrust=-0.2, thrust_share=-0.001)
    channels = (ChannelState("qc", -20.0), ChannelState("u2", -0.4))
    state = dataclasses.replace(PUSHING, advance=advance, channels=channels)
    assert "push force 0 kN, 0% of reaction" in "".join(lines(state))
    assert "u2 0 kPa" in "".join(lines(state))
    assert numbers(state)[0] == [row.strip() for row in big("0.0")]
    assert numbers(state)[2] == [row.strip() for row in big("-0.02")]


def test_length_is_not_called_depth():
    advance = dataclasses.replace(PUSHING.advance, depth=None)
    assert "LENGTH m" in lines(dataclasses.replace(PUSHING, advance=advance))[2]


REAL = AlarmState(
    "u-response", Level.CAUTION,
    "Pore pressure does not respond: 0.4 kPa in the last metre below water, limit 3 kPa",
    "Below water the pressure should follow. Suspect a dry or blocked filter; note it.", 0.0,
)  # fmt: skip


def test_what_to_do_is_shown_and_wrapped():
    rows = lines(dataclasses.replace(PUSHING, alarms=(REAL,)))
    text = " ".join(" ".join(rows).split())
    assert f"{REAL.text} {REAL.advice}" in text


def test_every_alarm_is_shown_before_what_to_do():
    alarms = tuple(alarm(f"rule-{i}", Level.STOP) for i in range(6))
    rows = lines(dataclasses.replace(PUSHING, alarms=alarms))
    assert sum("is beyond its limit" in row for row in rows) == 6
    assert not any("more" in row for row in rows)


def test_trouble_with_the_record_stands_above_all():
    state = dataclasses.replace(PUSHING, alarms=(alarm("tilt", Level.STOP),))
    rows = render(state, warnings=["the disk is full: free some space"]).plain.split("\n")
    where = next(i for i, row in enumerate(rows) if "the disk is full" in row)
    assert rows[where].split()[0] == "RECORD"
    assert "tilt is beyond" in "".join(rows[where + 1 :])


def test_trouble_with_the_record_is_told_to_its_end():
    words = " ".join(f"word{i}" for i in range(30))
    text = " ".join(" ".join(render(PUSHING, warnings=[words]).plain.split("\n")).split())
    assert words in text


@pytest.mark.parametrize(("width", "height"), [(40, 12), (79, 24), (20, 3), (1, 1)])
def test_a_small_window_says_the_worst_first(width, height):
    state = dataclasses.replace(PUSHING, cone=OLD, alarms=(alarm("tilt", Level.STOP),))
    rows = render(state, width, height).plain.split("\n")
    assert len(rows) == height
    assert max(map(len, rows)) <= width
    if width >= 40:
        assert rows[0].startswith("CONE: NO READING FOR 6 s")
        assert "RATE mm/s 20.4" in rows


values = st.none() | st.floats(-1e9, 1e9) | st.just(float("nan"))
streams = st.builds(
    StreamState,
    connected=st.sampled_from([None, True, False]),
    freshness=st.sampled_from(Freshness),
    age=st.none() | st.floats(0, 1e6),
    received=st.integers(0, 10**7),
)
texts = st.text("abc xyz", max_size=200)
alarm_states = st.builds(
    AlarmState, texts, st.sampled_from(Level), texts, texts, st.floats(0, 1e9),
    acknowledged=st.booleans(), cleared=st.booleans(),
)  # fmt: skip
states = st.builds(
    LiveState,
    sounding=texts,
    time=st.floats(0, 2e9),
    number=st.integers(0, 10),
    step=st.builds(StepState, name=st.just("zeros before"), missing=st.just(("zeros before",))),
    advance=st.builds(
        AdvanceState, state=st.sampled_from(Advance), length=values, depth=values, rate=values,
        thrust=values, tally_difference=values,
    ),
    channels=st.tuples(st.builds(ChannelState, st.just("qc"), values)),
    tilt=st.builds(TiltState, values, values, values, st.sampled_from(Level)),
    link=st.builds(LinkState, level=values, verdict=texts, advice=texts),
    cone=streams,
    encoder=streams,
    dissipation=st.none()
    | st.builds(DissipationState, st.just(1), values, st.floats(0, 1e6), st.just("u2"), values,
                values, values, percent=values),
    zero=st.none()
    | st.builds(ZeroState, st.just("before"), st.floats(0, 60), st.just(60.0), st.just(3),
                st.just({"qc": 1.0, "u2": 2.0, "tilt_x": 0.1})),
    alarms=st.lists(alarm_states, max_size=12).map(tuple),
    battery=values,
    notes=st.lists(texts, max_size=2).map(tuple),
)  # fmt: skip


@given(states, st.integers(1, 150), st.integers(1, 60), st.lists(texts, max_size=3))
def test_any_state_fits_any_window(state, width, height, warnings):
    rows = render(state, width, height, warnings=warnings).plain.split("\n")
    assert len(rows) == height
    assert max(map(len, rows)) <= width


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
    for part in ("DISSIPATED %", "u0 53 kPa assumed", "u2 kPa", "from 212.0", "95 s", "qc 8.4 MPa"):
        assert part in text
    assert big("26")[1] in text
    zero = ZeroState("before", 21.0, 60.0, 21, {"qc": 1.2, "u2": 0.3})
    assert "ZEROS before: 21 of 60 s" in "\n".join(lines(dataclasses.replace(PUSHING, zero=zero)))


def test_an_empty_state_draws_too():
    text = "\n".join(lines(LiveState("NEW", 0.0, 0)))
    assert "CONE: NO READING YET" in text

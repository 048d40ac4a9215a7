"""Tables of picks and of traces."""

import pytest

from pushproof.errors import FormatError
from pushproof.formats.seismic import arrivals_of, is_seismic, read_seismic
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding

PICKS = """# invented
depth [m]; time [ms]; offset [m]; strike
4,75; 31,9; 1,20; left
5,75; 37,4; 1,20; left
"""
TRACES = (
    "depth [ft], 15, 18\noffset [m], 1.2, 1.3\nshot, 7, 7\nreceiver, a, b\ntime [us]\n"
    + "".join(f"{100 * k}, {k % 5}, {(k + 2) % 5}\n" for k in range(20))
)


def _write(tmp_path, text):
    path = tmp_path / "waves.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_picks_with_decimal_commas(tmp_path):
    path = _write(tmp_path, PICKS)
    assert is_seismic(path)
    test = read_seismic(path)
    first, second = test.arrivals
    assert (first.depth, first.offset, first.strike) == (4.75, 1.2, "left")
    assert first.time == pytest.approx(0.0319)
    assert second.time == pytest.approx(0.0374)
    assert test.source.name == "waves.csv"


def test_traces_with_their_units(tmp_path):
    path = _write(tmp_path, TRACES)
    assert is_seismic(path)
    first, second = read_seismic(path).traces
    assert first.depth == pytest.approx(4.572)
    assert (second.offset, second.shot, second.receiver) == (1.3, "7", "b")
    assert first.interval == pytest.approx(1e-4)
    assert second.values[:4].tolist() == [2, 3, 4, 0]


def test_an_offset_can_be_given(tmp_path):
    path = _write(tmp_path, "depth [m], time [s]\n4, 0.02\n5, 0.026\n")
    with pytest.raises(FormatError, match="give the offset"):
        read_seismic(path)
    assert {one.offset for one in read_seismic(path, 0.8).arrivals} == {0.8}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("depth, time [ms], offset [m]\n4, 20, 1\n", "depth: unit"),
        ("depth [m], time [m], offset [m]\n4, 20, 1\n", "time: unit"),
        ("depth [m], time [ms], offset [m]\n4, soon, 1\n", "line 2: time 'soon'"),
        ("depth [m], time [ms], offset [m]\n4, 20\n", "2 fields"),
        ("depth [m], time [ms], offset [m]\n-4, 20, 1\n", "depth: input should be greater"),
        ("depth [m], time [ms], offset [m], mood\n4, 20, 1, good\n", "unknown column 'mood'"),
        ("depth [m], 4, 5\noffset [m], 1, 1\n", "no row time"),
        ("depth [m], 4, 5\nmood, 1, 1\ntime [ms]\n", "row 'mood'"),
        (TRACES.replace("300, 3, 0", "320, 3, 0"), "evenly"),
        (TRACES.replace("300, 3, 0", "300, 3"), "fewer than 3"),
    ],
)
def test_a_fault_is_named_with_its_line(tmp_path, text, words):
    with pytest.raises(FormatError) as caught:
        read_seismic(_write(tmp_path, text))
    assert words in str(caught.value)


def test_a_sounding_without_travel_times_says_so():
    with pytest.raises(FormatError, match="no column of shear wave travel times"):
        arrivals_of(Sounding("A", Series({"depth": [1.0], "qc": [900.0]})))

"""The text of the planted faults: what is read, and what the messages say."""

import pytest

from pushproof.errors import ConfigurationError
from pushproof.sources.rehearsal import FAULTS, Rehearsal, fault_help, parse_faults
from pushproof.sources.rehearsal.faults import Fault


def test_the_text_of_the_issue_is_read():
    text = "loose-joint@12,loss=0.2,tilt=0.5/m,slip,clock=40ppm,unplug@300s,noise,desaturated"
    faults = parse_faults(text + ",drift=30kPa")
    assert faults.all("loose-joint") == (Fault("loose-joint", 12.0, 9.0),)
    assert faults.value("loss") == 0.2
    assert faults.value("tilt") == 0.5
    assert faults.value("clock") == 40
    assert faults.value("drift") == 30
    assert faults.all("unplug") == (Fault("unplug", 300.0, 20.0),)
    assert "slip" in faults
    assert "noise" in faults
    assert "desaturated" in faults
    assert "weak" not in faults


@pytest.mark.parametrize("kind", FAULTS.values(), ids=lambda kind: kind.name)
def test_every_fault_can_be_written_as_its_help_shows(kind):
    assert parse_faults(kind.example).items[0].kind == kind.name
    assert kind.example in fault_help()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("wobble=0.2", "no fault of that name; known: loose-joint, weak"),
        ("loose-joint", "needs a place, write loose-joint@12"),
        ("loose-joint@12.5", "is no rod"),
        ("loose-joint@0", "is no rod"),
        ("loss", "needs a value, write loss=0.2"),
        ("loss=2", "2 is outside 0 to 1"),
        ("loss=nan", "is not a number"),
        ("loss=", "is not a number"),
        ("loss=20%", "unit '%', expected none"),
        ("loss@3=0.2", "takes no place"),
        ("desaturated=3", "takes no value"),
        ("clock=40mm", "unit 'mm', expected ppm"),
        ("unplug@300m", "unit 'm', expected s"),
    ],
)
def test_a_wrong_fault_says_what_was_expected(text, said):
    with pytest.raises(ConfigurationError) as error:
        parse_faults(text)
    assert said in str(error.value)


def test_every_wrong_piece_is_named_at_once():
    with pytest.raises(ConfigurationError) as error:
        parse_faults("loss=2, nonsense, tilt=0.5/m, slip=x")
    message = str(error.value)
    assert all(piece in message for piece in ("'loss=2'", "'nonsense'", "'slip=x'"))
    assert "tilt=0.5" not in message


def test_empty_text_is_no_fault_and_too_many_are_refused():
    assert parse_faults(" , ").items == ()
    with pytest.raises(ConfigurationError, match="at most 100"):
        parse_faults("slip," * 101)


def test_an_unknown_point_is_named_with_the_known_ones():
    with pytest.raises(ConfigurationError, match="HM-1, HM-2, HM-3"):
        Rehearsal("XX")

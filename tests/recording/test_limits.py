"""The table of limits: complete, honest about its sources, and changed by a project's own file."""

import math
import runpy
from pathlib import Path

import pytest

from pushproof.errors import ConfigurationError
from pushproof.recording.limits import MARKS, SIGNALS, load_limits
from pushproof.recording.snapshot import Level


def test_every_limit_says_how_sure_it_is():
    for rule in load_limits().values():
        assert rule.advice.endswith(".")
        for bound in rule.bounds:
            assert bound.mark in MARKS
            # What was not read names no source; what was read must.
            assert bool(bound.source) == (bound.mark == "verified"), rule.id


def test_the_standard_rate_band_is_what_the_pre_standard_prints():
    """ENV 1997-3 3.4.2(3): 20 mm/s plus or minus 5 mm/s, read in the text of the clause."""
    caution = load_limits()["rate"].bounds[0]
    assert (caution.low, caution.high) == (0.015, 0.025)
    assert caution.mark == "verified"


def test_every_signal_is_watched_by_a_rule():
    assert {rule.signal for rule in load_limits().values()} == set(SIGNALS)


def test_a_project_file_changes_only_what_it_names(tmp_path):
    path = tmp_path / "project.toml"
    path.write_text(
        "[tilt]\nhold = 0\n[tilt.stop]\nlimit = 12\n[battery]\ncaution = 6.8\nstop = 6.5\n"
        "[rate]\nstop = false\n[clock.caution]\nlimit = 1\nsource = 'plan 4.2'\nmark = 'verified'\n"
    )
    rules, own = load_limits(path), load_limits()
    assert rules["tilt"].bounds[0] == own["tilt"].bounds[0]
    stop = rules["tilt"].bounds[1]
    assert (stop.high, stop.mark, stop.source) == (12, "set by the project", str(path))
    assert [b.low for b in rules["battery"].bounds] == [6.8, 6.5]
    assert [b.level for b in rules["rate"].bounds] == [Level.CAUTION]
    assert rules["clock"].bounds[0].source == "plan 4.2"
    assert own["tilt"].bounds[1].high == 15


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[speed]\nhold = 1\n", "no rule 'speed'"),
        ("[tilt]\nunit = 'mm/s'\n", "unit 'mm/s' does not turn into 'deg'"),
        ("[tilt]\ncaution = 16\n", "stop lies inside caution"),
        ("[rate]\ncaution = 16\n", "needs two limits"),
        ("[tilt]\ncaution = [1, 2]\n", "needs one limit"),
        ("[tilt]\ncaution = false\nstop = false\n", "neither caution nor stop"),
        ("[tilt]\nsignal = 'wind'\n", "signal 'wind'"),
        ("[tilt.stop]\nlimit = 20\nmark = 'sure'\n", "mark"),
        ("[tilt]\nhold = -1\n", "hold"),
        ("tilt = 3\n", "a rule is a table"),
        ("[tilt\n", "cannot be read"),
    ],
)
def test_a_bad_override_is_refused_with_its_place(tmp_path, text, message):
    path = tmp_path / "limits.toml"
    path.write_text(text)
    with pytest.raises(ConfigurationError, match=message) as caught:
        load_limits(path)
    assert "limits.toml" in str(caught.value)


def test_a_missing_file_is_said_to_be_missing(tmp_path):
    with pytest.raises(ConfigurationError, match="cannot be read"):
        load_limits(tmp_path / "none.toml")


def test_values_are_shown_as_people_read_them():
    rate, gap = load_limits()["rate"], load_limits()["gap"]
    assert rate.shown(0.0312) == "31.2 mm/s"
    assert rate.shown(-0.0002) == "-0.2 mm/s"
    assert gap.shown(0.1) == "100 mm"
    assert load_limits()["tilt"].shown(0.0) == "0 deg"
    assert rate.level(math.nan) is Level.OK
    assert rate.held(math.nan) is Level.OK


def test_the_page_of_limits_is_up_to_date():
    root = Path(__file__).resolve().parents[2]
    page = runpy.run_path(str(root / "scripts" / "limits_page.py"))["page"]()
    assert (root / "docs" / "reference" / "limits.md").read_text("utf-8") == page

"""Observations on the log: in the track of their quantity, and in the notes."""

import subprocess
import sys

import pytest

import pushproof as pp
from pushproof.model.observations import Observation
from pushproof.report import report, set_log
from pushproof.sources.rehearsal.export import export_text
from pushproof.testing import sample

SEEN = (
    Observation(kind="N60", top=15.0, base=15.3, value=14.0, test="SPT", source="BH-2"),
    Observation(kind="su", top=6.0, value=25.0, test="vane", source="BH-2"),
    Observation(kind="layer", top=1.9, base=8.5, words="soft grey clay", source="BH-2"),
    Observation(kind="water", top=0.0, value=1.3, test="standpipe"),
)


@pytest.fixture(scope="module")
def derived():
    return pp.interpret(pp.process(sample("clay-over-sand")))


def test_each_observation_is_drawn_and_told(derived, pdf_text):
    bare = set_log(derived, parameters=True)
    drawn = set_log(derived, parameters=True, observed=SEEN)
    changed = [name for name in bare.pictures if bare.pictures[name] != drawn.pictures[name]]
    assert len(changed) == len(bare.pictures)  # N60 and layers on the log, su on the parameters
    rows = drawn.data["log"]["observed"]
    assert rows[0] == ["N60", "15.00 to 15.30 m", "14", "SPT", "BH-2"]
    assert rows[2][2] == "soft grey clay"
    text = pdf_text(report([derived], observed={derived.profile.sounding.name: SEEN}))
    assert "soft grey clay" in text
    assert "Observations from elsewhere" in text


def test_only_what_has_a_track_changes_a_page(derived):
    bare, drawn = set_log(derived), set_log(derived, observed=SEEN[1:2])
    assert bare.pictures == drawn.pictures  # su has no track on the log itself
    ring = set_log(derived, observed=SEEN[:1])
    assert bare.pictures != ring.pictures


def test_observations_of_several_soundings_are_refused(tmp_path):
    for name in ("a", "b"):
        export_text(sample("short"), tmp_path / f"{name}.csv")
    seen = tmp_path / "seen.csv"
    seen.write_text("kind,top,value\nN60,2,5\n")
    files = [str(tmp_path / f"{name}.csv") for name in ("a", "b")]
    command = [sys.executable, "-m", "pushproof", "log", *files, "-o", str(tmp_path / "out")]
    done = subprocess.run(
        [*command, "--observations", str(seen)], capture_output=True, text=True, encoding="utf-8"
    )
    assert done.returncode == 1
    assert "belong to one sounding" in " ".join(done.stderr.split())

"""The checklist of the day: short, in order, with cautions where they belong, kept as facts."""

import json
import subprocess
import sys

import pytest

from pushproof.errors import ConfigurationError
from pushproof.planning.checklist import checklist, standing
from pushproof.recording.ticks import tick, ticks
from pushproof.store import Job, verify


def test_the_list_is_short_and_names_what_can_hurt():
    items = checklist()
    assert len(items) <= 16
    assert [one.when for one in items] == sorted((one.when for one in items), reverse=True)
    cautions = " ".join(one.caution for one in items)
    for danger in ("pinch", "cable", "overhead" if "overhead" in cautions else "electricity"):
        assert danger in cautions
    words = " ".join(one.words for one in items)
    for thing in ("services", "overhead", "anchors", "filter", "zeros", "link", "depth", "hole"):
        assert thing in words


def test_ticks_are_facts_and_the_newest_counts(tmp_path):
    path = tmp_path / "day.job"
    with Job.create(path) as job:
        job.add_sounding("A-1")
        tick(job, "A-1", "filter", "RV", at=100.0)
        tick(job, "A-1", "filter", "RV", done=False, note="bubble seen", at=200.0)
        tick(job, "A-1", "link", "KL", at=150.0)
        lines = {one.item.key: one for one in standing(checklist(), ticks(job, "A-1"))}
    assert lines["filter"].state == "in doubt"
    assert lines["filter"].tick.note == "bubble seen"
    assert lines["link"].state == "done"
    assert lines["cone"].state == "open"
    assert verify(path).ok


def test_a_tick_without_initials_or_a_doubt_without_reason_is_refused(tmp_path):
    with Job.create(tmp_path / "day.job") as job:
        job.add_sounding("A-1")
        with pytest.raises(ValueError, match=r"by: expected initials; note: a doubt says why"):
            tick(job, "A-1", "link", " ", done=False)
        with pytest.raises(ConfigurationError, match="items: site, services"):
            tick(job, "A-1", "coffee", "RV")
        assert ticks(job, "A-1") == []


def test_a_checklist_of_the_user_names_its_faults(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text('[a]\nwords = "x"\nwhen = "during"\n')
    with pytest.raises(ConfigurationError, match=r"words.*when"):
        checklist(path)


def test_the_command_ticks_and_lists(tmp_path):
    job = tmp_path / "day.job"

    def run(*more, code=0):
        command = [sys.executable, "-m", "pushproof", "checklist", str(job), "--sounding", "A-1"]
        done = subprocess.run([*command, *more], capture_output=True, text=True, encoding="utf-8")
        assert done.returncode == code, done.stderr
        return done

    run("--done", "services", "--done", "link", "--by", "RV")
    document = json.loads(run("--json").stdout)
    assert [one["item"] for one in document if one["state"] == "done"] == ["services", "link"]
    assert "permit" in run().stdout
    assert "initials" in run("--done", "cone", code=1).stderr
    left = json.loads(subprocess.run(
        [sys.executable, "-m", "pushproof", "checklist", str(job), "--json"],
        capture_output=True, text=True, encoding="utf-8", check=True,
    ).stdout)  # fmt: skip
    assert [(one["sounding"], one["pushed"], one["open_after"]) for one in left] == [
        ("A-1", False, 4)
    ]

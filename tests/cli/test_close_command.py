"""``pushproof close`` as its user runs it: plan, record, sheet."""

import pytest
from typer.testing import CliRunner

from pushproof.cli.app import app
from pushproof.errors import ConfigurationError
from pushproof.store import Job


def run(*words):
    result = CliRunner().invoke(app, [str(word) for word in words])
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.stdout


def test_a_hole_without_a_job(tmp_path):
    told = run("close", "--depth", "20", "--cone", "15", "-o", tmp_path / "plan.pdf")
    # 43.7 mm: 1.50 L per metre
    assert "hole 30.0 L, planned 45 L" in told
    assert "Sealing is set by local law" in told
    assert (tmp_path / "plan.pdf").read_bytes().startswith(b"%PDF")


def test_pouring_deep_is_stopped():
    assert "only above 3.05 m" in run("close", "--depth", "12", "--method", "pour")


def test_what_went_in_is_a_fact_of_the_job(recorded, tmp_path):
    path, name = recorded
    words = ("close", path, "--sounding", name, "--reducer", "50")
    told = run(*words, "--take", "12", "--by", "KM", "--from", "0.5", "--permit", "14-22")
    assert "recorded: hole closed by tremie: 12 L" in told
    with Job.open(path) as job:
        [event] = job.events(name, kind="closing")
    assert (event.author, event.details["take"], event.details["permit"]) == ("KM", 12.0, "14-22")
    again = run(*words, "-o", tmp_path / "record.pdf")
    assert "recorded: hole closed by tremie" in again
    # without options the plan is the one that it was recorded with
    assert run(*words[:4]).splitlines()[1:3] == again.splitlines()[1:3]
    assert "50.0" in run(*words[:4])
    assert (tmp_path / "record.pdf").read_bytes().startswith(b"%PDF")


def test_a_record_needs_a_name(recorded):
    path, name = recorded
    with pytest.raises(ConfigurationError, match="--by"):
        run("close", path, "--sounding", name, "--take", "12")
    with pytest.raises(ConfigurationError, match="name a sounding of it"):
        run("close", path)

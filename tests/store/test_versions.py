"""Newer job files are refused, older ones brought up to date with a copy kept."""

from __future__ import annotations

import hashlib

import pytest

from pushproof.errors import RecordVersionError
from pushproof.store import Job, migrations, verify

from .conftest import cone_reading


def second_step(connection):
    connection.exec_driver_sql("ALTER TABLE event ADD COLUMN weather TEXT")


@pytest.fixture
def newer(monkeypatch):
    """Make this program one version newer."""
    steps = (*migrations.MIGRATIONS, ("0002-weather", second_step))
    monkeypatch.setattr(migrations, "MIGRATIONS", steps)


def test_a_newer_job_is_refused_and_left_alone(tmp_path, monkeypatch):
    path = tmp_path / "a.job"
    steps = migrations.MIGRATIONS
    with monkeypatch.context() as patch:
        patch.setattr(migrations, "MIGRATIONS", (*steps, ("0002-weather", second_step)))
        Job.create(path).close()
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    for write in (False, True):
        with pytest.raises(RecordVersionError, match="newer version of Pushproof"):
            Job.open(path, write=write)
    with pytest.raises(RecordVersionError, match="0002-weather"):
        verify(path)
    assert hashlib.sha256(path.read_bytes()).hexdigest() == before


def test_an_older_job_is_brought_up_to_date_with_a_copy_kept(copied, newer):
    old_head = verify(copied).head
    with pytest.raises(RecordVersionError, match="Open it once for writing"):
        Job.open(copied)
    with Job.open(copied, write=True) as job:
        assert [one.number for one in job.messages("CPT-01", "cone")] == list(range(1, 31))
        job.append("CPT-01", "cone", [cone_reading(31)])
    report = verify(copied, expected=old_head)
    assert report.ok, report.problems
    copy = copied.with_name("site.before-0002-weather.job")
    assert verify(copy).ok
    assert verify(copy).head == old_head
    assert sorted(path.name for path in copied.parent.glob("*before*")) == [copy.name]


def test_a_copy_is_never_written_over(copied, newer):
    taken = copied.with_name("site.before-0002-weather.job")
    taken.write_text("mine")
    Job.open(copied, write=True).close()
    assert taken.read_text() == "mine"
    assert verify(copied.with_name("site.before-0002-weather-2.job")).ok


def test_a_step_that_fails_leaves_the_job_as_it_was(copied, monkeypatch):
    def broken(connection):
        second_step(connection)
        raise ZeroDivisionError

    with monkeypatch.context() as patch:
        patch.setattr(migrations, "MIGRATIONS", (*migrations.MIGRATIONS, ("0002-weather", broken)))
        with pytest.raises(ZeroDivisionError):
            Job.open(copied, write=True)
    with Job.open(copied, write=True) as job:
        assert job.soundings() == ("CPT-01",)
    report = verify(copied)
    assert report.ok, report.problems

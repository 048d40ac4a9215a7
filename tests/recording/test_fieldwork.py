"""Checklist, closing and what is left to do, as facts of a job."""

import pytest

from pushproof import read_all, write
from pushproof.errors import ConfigurationError, FormatError
from pushproof.planning.closing import GroutOrder, Take
from pushproof.planning.grouting import plan_grout
from pushproof.recording.assemble import soundings, to_be_pushed
from pushproof.recording.closings import close_hole, closings, known_hole
from pushproof.recording.fieldwork import field_states
from pushproof.recording.ticks import lines_of, tick_all
from pushproof.store import Job, import_file, verify
from pushproof.testing import sample


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "site.job"
    with Job.create(path) as job:
        job.add_sounding("A")
        # a push whose readings are gone: only events tell how deep it went
        job.add_event("start", sounding="A", at=1000.0, details={"length": 0.0})
        job.add_event("stop", sounding="A", at=2000.0, details={"length": 7.5})
    return path


def test_the_list_begins_before_the_sounding_is_pushed(path):
    with Job.open(path, write=True) as job:
        assert {line.state for line in lines_of(job, "B")} == {"open"}
        assert job.soundings() == ("A",)  # looking adds nothing
        lines = tick_all(job, "B", "RV", done=["services", "link"])
        assert [line.item.key for line in lines if line.state == "done"] == ["services", "link"]
        assert job.soundings() == ("A", "B")


def test_ticks_are_kept_all_or_none(path):
    with Job.open(path, write=True) as job:
        with pytest.raises(ValueError, match="a doubt says why"):
            tick_all(job, "B", "RV", done=["link"], doubt=["cone"])
        with pytest.raises(ConfigurationError, match="no item 'tea'"):
            tick_all(job, "B", "RV", done=["link", "tea"])
        assert job.soundings() == ("A",)
        assert not job.events(kind="checked")


def test_a_hole_is_closed_by_its_plan_and_the_newest_counts(path):
    with Job.open(path, write=True) as job:
        hole = known_hole(job, "A")
        assert hole.depth == 7.5
        plan = plan_grout(GroutOrder(reducer=0.05), hole)
        close_hole(job, "A", plan, Take(take=9.0, by="KM"))
        kept = close_hole(job, "A", plan, Take(take=16.0, by="KM", remark="topped up"))
        assert [one.closing.take for one in closings(job, "A")] == [9.0, 16.0]
        assert closings(job, "A")[-1] == kept
        assert kept.closing.order == plan.order
        assert kept.closing.hole_volume == plan.grouting.hole_volume
        with pytest.raises(ConfigurationError, match="name a sounding of it: A"):
            known_hole(job, "B")
    assert verify(path).ok


def test_a_sounding_that_waits_for_its_push_stands_in_nobodys_way(path, tmp_path):
    with Job.open(path, write=True) as job:
        tick_all(job, "B", "RV", done=["services"])
        assert to_be_pushed(job) == ("B",)  # the push of A was begun, if all of it was lost
    assert [(one.name, len(one.readings)) for one in soundings(path)] == [("A", 0)]
    file = tmp_path / "one.json"
    write(sample("clay-over-sand"), file, "json")
    other = tmp_path / "other.job"
    with Job.create(other) as job:
        tick_all(job, "B", "RV", done=["services"])
    with pytest.raises(FormatError, match="no sounding yet that was pushed"):
        read_all(other)
    with Job.open(other, write=True) as job:
        import_file(job, file)
        assert to_be_pushed(job) == ("B",)
    assert [one.name for one in soundings(other)] == ["HM-1"]
    assert [one.name for one in read_all(other)] == ["HM-1"]


def test_what_is_left_is_told_of_each_sounding(path):
    with Job.open(path, write=True) as job:
        tick_all(job, "B", "RV", done=["services"], doubt=["filter"], note="bubble seen")
        first, second = field_states(job)
        assert (first.pushed, first.hole_open, second.pushed, second.hole_open) == (
            True, True, False, False,
        )  # fmt: skip
        assert second.left("before") == first.left("before") - 2
        assert [line.tick.note for line in second.doubts] == ["bubble seen"]
        close_hole(job, "A", plan_grout(GroutOrder(), known_hole(job, "A")), Take(take=8, by="KM"))
        assert not field_states(job)[0].hole_open
        assert "8 L" in field_states(job)[0].closed

"""A day from the record: against events that were put in by hand."""

from datetime import UTC, date, datetime

import pytest

from pushproof.errors import RecordError
from pushproof.model.sounding import StopReason
from pushproof.recording.daybook import NOT_SAID, daybook, days_of, say_of_day
from pushproof.store import Job

MORNING = datetime(2031, 5, 13, 8, 0, tzinfo=UTC).timestamp()
DAY = 86_400.0


@pytest.fixture
def job(tmp_path):
    with Job.create(tmp_path / "site.job", project="invented") as job:
        job.add_sounding("A")
        job.add_sounding("B")

        def put(name, kind, minute, length, text="", **details):
            job.add_event(
                kind, sounding=name, at=MORNING + 60 * minute, text=text,
                details={"length": length, **details},
            )  # fmt: skip

        put("A", "start", 0, 0.5)
        put("A", "stop", 1, 1.5)
        put("A", "rod-change", 1, 1.5, duration=60.0)
        put("A", "start", 2, 1.5)
        put("A", "stop", 4, 3.5)
        put("A", "dissipation-start", 5, 3.5)
        put("A", "dissipation-end", 24, 3.5, elapsed=1200.0, percent=52.0)
        put("A", "pause", 4, 3.5, duration=1200.0)
        put("A", "start", 24, 3.5)
        put("A", "stop", 26, 5.0)
        put("A", "pause-called", 27, 5.0, reason="service clearance")
        put("A", "pause", 26, 5.0, duration=600.0)
        put("A", "pause", 40, 5.0, duration=300.0)
        put("A", "pause", 50, 5.0, duration=10.0)
        put("A", "start", 60, 5.0)
        put("A", "stop", 62, 7.0)
        put("A", "alarm", 61, 6.0, rule="tilt", change="raised", level="caution")
        put("A", "alarm", 61.5, 6.2, rule="tilt", change="rose to stop", level="stop")
        put("A", "alarm", 62, 6.2, rule="tilt", change="cleared", level="ok")
        put("A", "note", 61, 6.0, "gravel heard")
        put("A", "note", 0, 0.5, "the push began untold", by="recorder")
        job.add_statement("A", stop_reason=StopReason.TILT)
        job.add_event(
            "closing", sounding="A", at=MORNING + 3 * DAY, text="hole closed", details={"take": 9.0}
        )
        put("B", "start", 60 * 24, 0.0)
        put("B", "stop", 60 * 24 + 10, 10.0)
        job.add_event("weather", text="dry", author="KM", details={"day": "2031-05-13"})
        yield job


def test_a_day_counts_what_was_put_in(job):
    book = daybook(job, date(2031, 5, 13), zone=UTC)
    [one] = book.soundings
    assert (one.name, one.top, one.base, one.metres) == ("A", 0.5, 7.0, 6.5)
    assert (book.clock(one.first), book.clock(one.last)) == ("08:00", "09:02")
    assert one.pushing == pytest.approx(7 * 60)
    assert one.rods == (1, 60.0)
    assert one.rate == pytest.approx(6.5 / (62 / 60))
    assert one.reason == "maximum tilt"
    assert (one.closed, one.grout) == ("hole closed", 9.0)
    assert book.hours == pytest.approx(62 / 60)


def test_stops_have_their_reasons(job):
    [one] = daybook(job, date(2031, 5, 13), zone=UTC).soundings
    assert [(s.duration, s.reason) for s in one.stops] == [
        (1200.0, "dissipation test"),
        (600.0, "service clearance"),
        (300.0, NOT_SAID),
    ]
    [test] = one.tests
    assert (test.length, test.duration, test.percent) == (3.5, 1200.0, 52.0)


def test_alarms_notes_and_weather(job):
    book = daybook(job, date(2031, 5, 13), zone=UTC)
    [one] = book.soundings
    assert one.alarms == {"tilt": (1, "stop")}
    assert [text for _, text in one.notes] == ["gravel heard"]
    assert [text for _, text in book.weather] == ["dry (KM)"]
    assert book.crew == ()


def test_the_job_adds_up_over_its_days(job):
    assert days_of(job, UTC) == (date(2031, 5, 13), date(2031, 5, 14))
    first, last = daybook(job, date(2031, 5, 13), zone=UTC), daybook(job, zone=UTC)
    assert (first.job_soundings, first.job_metres) == (1, 6.5)
    assert (last.day, last.metres) == (date(2031, 5, 14), 10.0)
    assert (last.job_soundings, last.job_metres) == (2, 16.5)
    assert last.weather == ()


def test_a_day_without_a_push_is_named(job, tmp_path):
    with pytest.raises(RecordError, match=r"nothing was pushed on 2031-05-15.*2031-05-13"):
        daybook(job, date(2031, 5, 15), zone=UTC)
    with (
        Job.create(tmp_path / "empty.job") as empty,
        pytest.raises(RecordError, match="no push is in the record"),
    ):
        daybook(empty)


def test_the_diary_tells_the_day_in_order(job):
    book = daybook(job, date(2031, 5, 13), zone=UTC)
    told = [(book.clock(e.at), e.kind, e.text) for e in book.diary()]
    assert told == [
        ("08:00", "began", ""),
        ("08:24", "test", "52 % dissipated"),
        ("08:26", "stop", "service clearance"),
        ("08:40", "stop", NOT_SAID),
        ("09:01", "note", "gravel heard"),
        ("09:02", "ended", "maximum tilt"),
    ]  # the hole was closed three days later, and the weather was entered on another day
    [one] = book.soundings
    assert (one.testing, one.standing) == (1200.0, 900.0)


def test_a_day_of_standing_has_a_report_once_something_is_said(job):
    storm = date(2031, 5, 20)
    with pytest.raises(RecordError, match="nothing was pushed"):
        daybook(job, storm, zone=UTC)
    assert say_of_day(job, storm, by="KM", weather="storm", crew=" ", zone=UTC) == storm
    book = daybook(job, storm, zone=UTC)
    assert (book.soundings, book.metres, book.crew) == ((), 0, ())
    assert [text for _, text in book.weather] == ["storm (KM)"]
    assert daybook(job, zone=UTC).day == storm
    assert (book.job_soundings, book.job_metres) == (2, 16.5)

"""What goes into a job comes out of it."""

from __future__ import annotations

import math
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pushproof.errors import RecordBusyError, RecordError
from pushproof.model.equipment import Cone, Rods
from pushproof.model.recipe import Recipe
from pushproof.model.series import Reason
from pushproof.model.sounding import Sounding, StopReason, Zero
from pushproof.model.stream import Reading, StreamKind, Undecoded
from pushproof.store import Job, Mark
from pushproof.store.content import (
    pack_readings,
    pack_undecoded,
    unpack_readings,
    unpack_undecoded,
)

from .conftest import cone_reading, depth_reading


def same(one: Reading, other: Reading) -> bool:
    """Compare readings so that NaN equals NaN."""
    return repr(one) == repr(other)


def test_readings_come_back_as_they_went_in(filled):
    with Job.open(filled) as job:
        stored = list(job.messages("CPT-01", "cone"))
        assert [one.number for one in stored] == list(range(1, 31))
        assert all(same(one.message, cone_reading(one.number)) for one in stored)
        depth = job.readings("CPT-01", StreamKind.DEPTH)
        assert list(depth.values) == ["count", "clamp"]
        assert np.isnan(depth.sequence).all()
        assert depth.values["count"].tolist() == [40.0 * n for n in range(1, 31)]


def test_readings_after_a_number_are_the_rest(filled):
    with Job.open(filled) as job:
        for after in (0, 1, 2, 3, 29, 30, 99):
            numbers = job.readings("CPT-01", "cone", after=after).number.tolist()
            assert numbers == list(range(after + 1, 31))


def test_a_missing_value_keeps_its_reason_in_the_series(filled):
    with Job.open(filled) as job:
        series = job.readings("CPT-01", "cone").series()
    assert series.missing("u2") == {Reason.NOT_MEASURED: 4}
    assert "link_level" in series


def test_undecoded_bytes_are_kept(filled):
    with Job.open(filled) as job:
        (noise,) = job.undecoded("CPT-01", "cone")
    assert noise.raw == bytes(range(256))
    assert noise.fault == "wrong checksum"


def test_equipment_of_the_sounding_goes_before_that_of_the_job(tmp_path):
    with Job.create(tmp_path / "a.job") as job:
        job.add_sounding("A")
        job.add_sounding("B")
        job.add_equipment("cone", Cone(serial="spare"), sounding="B")
        job.add_equipment("cone", Cone(serial="first"))
        job.add_equipment("cone", Cone(serial="second"))
        assert job.equipment("A")["cone"].serial == "second"
        assert job.equipment("B")["cone"].serial == "spare"
        assert job.equipment()["cone"].serial == "second"


def test_the_model_sounding_is_put_together(filled):
    with Job.open(filled) as job:
        readings = job.streams("CPT-01").depth.series()
        sounding = job.sounding("CPT-01", merge=lambda known: replace(known, readings=readings))
        assert job.identity
    assert isinstance(sounding, Sounding)
    assert len(sounding.readings) == 30
    assert sounding.project == "Invented dike"
    assert sounding.operator == "A. Nobody"
    assert sounding.predrilled == 0.5
    assert sounding.cone.calibrations[0].capacity == 100000.0
    assert sounding.rig.name == "Rig 1"
    assert sounding.location.crs == "EPSG:28992"
    assert sounding.zeros_before == (Zero(channel="qc", value=12.0, spread=0.5, count=60),)
    assert [event.kind for event in sounding.events] == ["rod-change", "note"]


def test_an_imported_sounding_is_read_from_its_bytes(tmp_path):
    content = bytes(range(256)) * 9

    def read(original, found):
        assert original.name == "old.gef"
        assert found == content
        return [Sounding("first", depth(1)), Sounding("in file", depth(5), operator="X")]

    def depth(rows):
        from pushproof.model.series import Series

        return Series({"depth": np.arange(float(rows))})

    with Job.create(tmp_path / "a.job") as job:
        link = job.add_original("/somewhere/old.gef", content, format="gef")
        job.add_sounding("CPT-9", original=link, part=1)
        job.add_statement("CPT-9", operator="Y", stop_reason=StopReason.TILT)
        sounding = job.sounding("CPT-9", read=read)
        assert job.original_bytes(link) == content
    assert sounding.name == "CPT-9"
    assert len(sounding.readings) == 5
    assert sounding.operator == "Y"
    assert sounding.stop_reason is StopReason.TILT


def test_decisions_have_versions_and_parents(tmp_path):
    with Job.create(tmp_path / "a.job") as job:
        job.add_sounding("A")
        first = job.add_decision("recipe", Recipe(), author="E", reason="start")
        job.add_decision("recipe", Recipe(water_level=2.0), author="E", reason="x", sounding="A")
        job.add_decision("recipe", Recipe(water_level=1.0), author="E", reason="measured")
        found = job.decisions("recipe")
        assert [(one.sounding, one.version, one.parent) for one in found] == [
            (None, 1, None),
            ("A", 1, None),
            (None, 2, first),
        ]
        assert job.recipe("A").water_level == 2.0
        assert job.recipe().water_level == 1.0
        with pytest.raises(ValueError, match="author: empty; reason: empty"):
            job.add_decision("recipe", Recipe(), author="", reason="")


def test_the_newest_statement_counts(tmp_path):
    started = datetime(2031, 5, 1, 8, 0, tzinfo=UTC)
    with Job.create(tmp_path / "a.job") as job:
        job.add_sounding("A")
        job.add_statement("A", predrilled=1.0, started=started)
        job.add_statement("A", predrilled=1.5)
        assert job.statements("A") == {"predrilled": 1.5, "started": started}
        with pytest.raises(ValueError, match="cannot be stated: colour"):
            job.add_statement("A", colour="red")


def test_a_transaction_is_stored_whole_or_not_at_all(tmp_path):
    path = tmp_path / "a.job"
    with Job.create(path) as job:
        job.add_sounding("A")
        before = job.head

        def half():
            with job.writing():
                job.append("A", "cone", [cone_reading(1)])
                job.add_sounding("B")
                job.append("B", "cone", [cone_reading(1)])
                raise KeyError

        with pytest.raises(KeyError):
            half()
        assert job.head == before
        assert job.soundings() == ("A",)
        with job.writing():
            job.add_sounding("B")
            assert job.append("B", "cone", [cone_reading(1), cone_reading(2)]) == 2
            assert job.append("B", "cone", [cone_reading(3)]) == 3
        assert job.last("B", "cone") == 3
        assert job.last("A", "cone") == 0


def test_long_appends_are_split(tmp_path, monkeypatch):
    monkeypatch.setattr("pushproof.store.job.ROWS_PER_BLOCK", 10)
    with Job.create(tmp_path / "a.job") as job:
        job.add_sounding("A")
        marks = [Mark.LATE if number % 2 else Mark.NONE for number in range(1, 26)]
        job.append("A", "cone", [cone_reading(n) for n in range(1, 26)], marks=marks)
        found = list(job.messages("A", "cone"))
        assert [one.mark for one in found] == marks
        assert [one.message.sequence for one in found] == list(range(1, 26))
        assert job.readings("A", "cone").mark.tolist() == [int(mark) for mark in marks]


def test_wrong_messages_are_refused_together(tmp_path):
    with Job.create(tmp_path / "a.job") as job:
        job.add_sounding("A")
        noise = Undecoded(StreamKind.CONE, 0.0, 0.0, b"x", "f")
        with pytest.raises(ValueError, match=r"message 1: Reading; message 2: Undecoded"):
            job.append("A", "cone", [cone_reading(1), depth_reading(1), noise])
        with pytest.raises(RecordError, match="no sounding 'B'; there are: A"):
            job.append("B", "cone", [cone_reading(1)])
        with pytest.raises(ValueError, match="there is a sounding 'A' already"):
            job.add_sounding("A")
        with pytest.raises(ValueError, match="must be a Rods"):
            job.add_equipment("rods", Cone())
        with pytest.raises(ValueError, match="JSON"):
            job.add_equipment("anchors", {"depth": math.nan})
        with pytest.raises(ValueError, match="moment 'during'"):
            job.add_zero("A", "during", Zero(channel="qc", value=1.0))
        assert job.readings("A", "cone").number.tolist() == []
        assert isinstance(job.equipment().get("rods"), Rods | None)


def test_a_job_open_for_reading_cannot_be_written(filled):
    with Job.open(filled) as job:
        assert not job.writable
        with pytest.raises(RecordBusyError, match="reading only"):
            job.add_note("no")


def test_a_reader_sees_what_is_stored_while_it_is_stored(tmp_path):
    path = tmp_path / "a.job"
    with Job.create(path) as job, Job.open(path) as reader:
        job.add_sounding("A")
        for number in range(1, 6):
            job.append("A", "cone", [cone_reading(number)])
            assert reader.readings("A", "cone", after=number - 1).number.tolist() == [number]


def test_facts_cannot_be_changed_even_with_sql(copied):
    database = sqlite3.connect(copied)
    with pytest.raises(sqlite3.IntegrityError, match="never edited"):
        database.execute("UPDATE event SET text = 'calm'")
    with pytest.raises(sqlite3.IntegrityError, match="never edited"):
        database.execute("DELETE FROM block")
    database.close()


def test_files_that_are_no_job_are_refused_in_words(tmp_path):
    with pytest.raises(RecordError, match="no such job file"):
        Job.open(tmp_path / "none.job")
    other = tmp_path / "other.db"
    database = sqlite3.connect(other)
    database.execute("CREATE TABLE t (a)")
    database.close()
    for write in (False, True):
        with pytest.raises(RecordError, match="not a job file"):
            Job.open(other, write=write)
    text = tmp_path / "text.job"
    text.write_text("not a database at all, just some text that is long enough" * 50)
    with pytest.raises(RecordError, match="damaged or not a job"):
        Job.open(text)
    with pytest.raises(RecordError, match="exists"):
        Job.create(other)
    with pytest.raises(RecordError, match="no such folder"):
        Job.create(tmp_path / "none" / "a.job")
    assert not list(tmp_path.glob("*.lock"))


def test_the_path_may_hold_anything(tmp_path):
    path = tmp_path / "50% of #3? ü.job"
    with Job.create(path) as job:
        job.add_sounding("A")
    with Job.open(path, write=True) as job:
        assert job.soundings() == ("A",)


number = st.floats(width=64)
reading = st.builds(
    Reading,
    st.just(StreamKind.CONE),
    number,
    number,
    st.dictionaries(st.text(max_size=8), number, max_size=5),
    st.none() | st.integers(-(2**63), 2**63),
    st.binary(max_size=40),
)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(reading, st.integers(0, 15)), min_size=1, max_size=20))
def test_any_reading_survives_packing(rows):
    readings = [one for one, _ in rows]
    marks = [mark for _, mark in rows]
    found = list(unpack_readings(pack_readings(readings, marks), StreamKind.CONE))
    assert [repr(one) for one, _ in found] == [repr(one) for one in readings]
    assert [int(mark) for _, mark in found] == marks


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.binary(max_size=60), st.text(max_size=20)), min_size=1))
def test_any_bytes_survive_packing(rows):
    messages = [Undecoded(StreamKind.DEPTH, 1.5, 2.5, raw, fault) for raw, fault in rows]
    assert list(unpack_undecoded(pack_undecoded(messages), StreamKind.DEPTH)) == messages

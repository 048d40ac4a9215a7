"""Observations from elsewhere as facts of a job: kept, superseded, withdrawn, proved, salvaged."""

import shutil
import sqlite3

import openpyxl
import pytest

import pushproof as pp
from pushproof.errors import FormatError, RecordError
from pushproof.model.recipe import Recipe
from pushproof.recording.assemble import sounding
from pushproof.recording.recovery import recover
from pushproof.store import Job, import_file, verify
from pushproof.store.observations import (
    KIND,
    keep_observations,
    kept_tables,
    observations,
    withdraw_observations,
)
from pushproof.store.signing import changes, sign
from pushproof.testing import sample

ROWS = (
    "kind,top,base,value,words,test,source\nsu,2.0,,24,,vane,BH-2\nwater,0,,1.3,,standpipe,BH-2\n"
)


@pytest.fixture
def path(tmp_path):
    loose = tmp_path / "two.json"
    pp.write([sample("short"), sample("no-u2")], loose)
    with Job.create(tmp_path / "site.job") as job:
        import_file(job, loose)
    return tmp_path / "site.job"


@pytest.fixture
def table(tmp_path):
    found = tmp_path / "BH-2.csv"
    found.write_text(ROWS, encoding="utf-8")
    return found


def writing(path):
    return Job.open(path, write=True)


def test_a_table_is_kept_with_the_soundings_named_and_read_from_its_bytes(path, table):
    with writing(path) as job:
        first, second = job.soundings()
        assert keep_observations(job, table, soundings=[first], author="R. V.") == 2
    table.unlink()
    with Job.open(path) as job:
        assert [(one.kind, one.value) for one in observations(job, first)] == [
            ("su", 24.0),
            ("water", 1.3),
        ]
        assert observations(job, second) == ()
        (kept,) = kept_tables(job, first)
        assert (kept.name, kept.author, kept.replaced) == ("BH-2.csv", "R. V.", 0)
        assert job.original_bytes(job.originals()[-1].link).decode() == ROWS
    assert verify(path).ok


def test_a_correction_is_a_new_fact_and_the_old_one_stays(path, table):
    with writing(path) as job:
        (name, _) = job.soundings()
        keep_observations(job, table, soundings=[name], author="R. V.")
        with pytest.raises(RecordError, match=r"BH-2\.csv is kept with .* already"):
            keep_observations(job, table, soundings=[name], author="R. V.")
        table.write_text(ROWS.replace(",24,", ",21,"), encoding="utf-8")
        with pytest.raises(ValueError, match="reason: say why"):
            keep_observations(job, table, soundings=[name], author="R. V.")
        keep_observations(job, table, soundings=[name], author="R. V.", reason="vane factor")
        other = table.with_name("lab.csv")
        other.write_text("kind,top,value\nOCR,3,2.5\n", encoding="utf-8")
        keep_observations(job, other, soundings=[name], author="L. T.")
        assert [one.value for one in observations(job, name)] == [21.0, 1.3, 2.5]
        assert [(t.name, t.replaced, t.reason) for t in kept_tables(job, name)] == [
            ("BH-2.csv", 1, "vane factor"),
            ("lab.csv", 0, ""),
        ]
        assert [job.original_bytes(one.link).count(b",24,") for one in job.originals()[1:]] == [
            1,
            0,
            0,
        ]
    assert verify(path).ok


def test_a_withdrawal_is_a_fact_too(path, table):
    with writing(path) as job:
        first, second = job.soundings()
        keep_observations(job, table, soundings=[first, second], author="R. V.")
        assert len([one for one in job.originals() if one.format == KIND]) == 1
        with pytest.raises(ValueError, match=r"author.*reason"):
            withdraw_observations(job, "BH-2.csv", soundings=[first], author="", reason="")
        with pytest.raises(RecordError, match=r"no table BH-3\.csv"):
            withdraw_observations(
                job, "BH-3.csv", soundings=[first], author="R. V.", reason="wrong"
            )
        withdraw_observations(
            job, "BH-2.csv", soundings=[first], author="R. V.", reason="another site"
        )
        assert observations(job, first) == ()
        assert len(observations(job, second)) == 2
        assert len(job.events(first, kind=KIND)) == 2
        # kept again after that: it is the second of its name, and needs no reason
        keep_observations(job, table, soundings=[first], author="R. V.")
        assert kept_tables(job, first)[0].replaced == 1


def test_what_cannot_be_read_leaves_the_job_as_it_was(path, table):
    table.write_text(ROWS.replace("24", "much"), encoding="utf-8")
    with writing(path) as job:
        before = job.head
        with pytest.raises(FormatError, match=r"BH-2\.csv, line 2: value: 'much' is no number"):
            keep_observations(job, table, soundings=job.soundings()[:1], author="R. V.")
        table.write_text(ROWS, encoding="utf-8")
        with pytest.raises(RecordError, match="HM-99"):
            keep_observations(job, table, soundings=[job.soundings()[0], "HM-99"], author="R. V.")
        assert job.head == before


def test_a_workbook_is_kept_as_well(path, tmp_path):
    book = openpyxl.Workbook()
    for row in (("kind", "top", "value"), ("N60", 4.5, 6)):
        book.active.append(row)
    book.save(tmp_path / "spt.xlsx")
    with writing(path) as job:
        (name, _) = job.soundings()
        keep_observations(job, tmp_path / "spt.xlsx", soundings=[name], author="R. V.")
        (one,) = observations(job, name)
        assert (one.kind, one.top, one.value) == ("N60", 4.5, 6.0)


def test_a_sign_off_goes_on_holding_since_nothing_of_the_sounding_changed(path, table):
    with writing(path) as job:
        (name, _) = job.soundings()
        signed = sign(sounding(job, name), Recipe(), "R. Viewer")
        keep_observations(job, table, soundings=[name], author="R. V.")
        assert changes(signed, sounding(job, name), Recipe()) == []


@pytest.mark.parametrize("change", ["original SET bytes", "event SET author"])
def test_verify_finds_a_table_that_was_changed(path, table, change):
    with writing(path) as job:
        (name, _) = job.soundings()
        keep_observations(job, table, soundings=[name], author="R. V.")
        link = job.originals()[-1].link + change.startswith("event")
    database = sqlite3.connect(path)
    (trigger,) = database.execute(
        "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ? "
        "AND sql LIKE '%BEFORE UPDATE%'",
        (change.split()[0],),
    ).fetchone()
    database.execute(f"DROP TRIGGER {trigger}")
    database.execute(f"UPDATE {change} = ? WHERE link = ?", (b"kind,top\n", link))
    database.commit()
    database.close()
    report = verify(path)
    assert not report.ok
    assert [one.link for one in report.problems if one.kind == "altered"] == [link]


def test_a_salvaged_job_has_them_too(path, table, tmp_path):
    with writing(path) as job:
        (name, _) = job.soundings()
        keep_observations(job, table, soundings=[name], author="R. V.")
        expected = observations(job, name)
    copy = tmp_path / "damaged.job"
    shutil.copy(path, copy)
    recover(copy, tmp_path / "again.job")
    with Job.open(tmp_path / "again.job") as job:
        assert observations(job, name) == expected


def test_a_table_whose_bytes_are_gone_is_told(path, table):
    with writing(path) as job:
        (name, _) = job.soundings()
        details = {"name": "BH-2.csv", "sha256": "0" * 64}
        job.add_event(KIND, sounding=name, author="R. V.", details=details)
        with pytest.raises(RecordError, match=r"the bytes of BH-2\.csv .* are gone"):
            observations(job, name)

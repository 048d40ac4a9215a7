"""Verify finds what was done to a job, and names the first bad link."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pushproof.errors import RecordError, RecordVersionError
from pushproof.store import Head, Job, verify
from pushproof.store.anchors import anchors_path
from pushproof.store.chain import link_hash
from pushproof.store.walk import walk

from .conftest import cone_reading


def tamper(path: Path, *statements: str) -> None:
    """Change a job behind its back: the triggers that forbid it are taken away and put back."""
    database = sqlite3.connect(path)
    triggers = database.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    ).fetchall()
    for name, _ in triggers:
        database.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        database.execute(statement)
    for _, sql in triggers:
        database.execute(sql)
    database.commit()
    database.close()


def blocks(path: Path) -> list[int]:
    database = sqlite3.connect(path)
    found = [row[0] for row in database.execute("SELECT link FROM block ORDER BY link")]
    database.close()
    return found


def facts(path: Path) -> list[tuple[object, ...]]:
    """Return every fact of a job, raw."""
    database = sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)
    database.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
    try:
        return [(link.number, link.table, repr(link.row)) for link in walk(database)]
    finally:
        database.close()


def rewrite_from(path: Path, first: int) -> None:
    """Write the chain anew from a link on, head included, as a careful forger would."""
    database = sqlite3.connect(path)
    links = list(walk(database))
    previous = links[first - 2].hash
    statements = []
    for link in links[first - 1 :]:
        row = {**link.row, "previous": previous}
        previous = link_hash(link.table, row)
        statements.append(
            f"UPDATE {link.table} SET previous = x'{row['previous'].hex()}', "
            f"hash = x'{previous.hex()}' WHERE link = {link.number}"
        )
    database.close()
    head = f"UPDATE head SET hash = x'{previous.hex()}', link = {links[-1].number}"
    tamper(path, *statements, head)


def test_a_sound_job_is_whole(filled):
    report = verify(filled)
    assert report.ok, report.problems
    assert report.closed
    assert report.sealed is True
    assert report.anchors == 2
    assert report.notes == ()
    assert report.head is not None
    assert report.links == report.head.link
    assert verify(filled, expected=str(report.head)).ok


def test_verify_leaves_the_file_as_it_is(copied):
    # SQLite may add or remove an empty -wal and -shm beside a database that was read
    def kept():
        paths = copied.parent.iterdir()
        return {p.name: p.read_bytes() for p in paths if not p.name.endswith(("-wal", "-shm"))}

    before = kept()
    verify(copied)
    with Job.open(copied) as job:
        job.events()
    assert kept() == before


def test_a_job_that_is_being_written_verifies(tmp_path):
    path = tmp_path / "a.job"
    with Job.create(path) as job:
        job.add_sounding("A")
        job.append("A", "cone", [cone_reading(1)])
        report = verify(path)
        assert report.ok
        assert not report.closed
        assert report.sealed is None
        assert any("not closed" in note for note in report.notes)


def test_a_copy_without_its_log_shows_as_open(tmp_path):
    path = tmp_path / "a.job"
    with Job.create(path) as job:
        job.add_sounding("A")
        job.append("A", "cone", [cone_reading(1)])
        shutil.copy(path, tmp_path / "copy.job")
    report = verify(tmp_path / "copy.job")
    assert report.ok
    assert not report.closed


def test_an_altered_block_is_named(copied):
    third = blocks(copied)[2]
    tamper(copied, f"UPDATE block SET content = zeroblob(20) WHERE link = {third}")
    first = verify(copied).first_bad
    assert (first.kind, first.link, first.table) == ("altered", third, "block")
    assert "cone block of messages 4 to 6" in first.text


@pytest.mark.parametrize(
    ("table", "change"),
    [
        ("event", "text = 'calm'"),
        ("zero", "document = replace(document, '12.0', '12.1')"),
        ("original", "bytes = bytes || x'00'"),
        ("decision", "author = 'E. Nobody'"),
        ("equipment", "document = replace(document, '0.8', '0.9')"),
        ("statement", "time = time + 1"),
        ("location", "sounding = sounding + 0.0"),
        ("calibration", "equipment = link"),
        ("sounding", "name = 'CPT-02'"),
        ("project", "client = NULL"),
        ("project", "remark = 'added'"),
        ("job", "identity = upper(identity)"),
        ("migration", "time = 0.0"),
        ("block", "previous = zeroblob(32)"),
        ("block", "hash = zeroblob(32)"),
        ("block", "last = last + 1"),
    ],
)
def test_a_change_of_any_fact_is_found(copied, table, change):
    before = facts(copied)
    database = sqlite3.connect(copied)
    link = database.execute(f"SELECT min(link) FROM {table}").fetchone()[0]
    database.close()
    tamper(copied, f"UPDATE {table} SET {change} WHERE link = {link}")
    if facts(copied) == before:
        assert change.startswith("sounding =")  # an integer column stores 2.0 as 2
        return
    first = verify(copied).first_bad
    assert first.link == link
    assert first.table == table


def test_a_removed_block_is_named(copied):
    third = blocks(copied)[2]
    tamper(copied, f"DELETE FROM block WHERE link = {third}")
    first = verify(copied).first_bad
    assert (first.kind, first.link) == ("missing", third)


def test_a_removed_block_is_named_when_the_numbers_are_closed_up(copied):
    third = blocks(copied)[2]
    tamper(
        copied,
        f"DELETE FROM block WHERE link = {third}",
        *(f"UPDATE {t} SET link = -link + 1 WHERE link > {third}" for t in tables(copied)),
        *(f"UPDATE {t} SET link = -link WHERE link < 0" for t in tables(copied)),
    )
    first = verify(copied).first_bad
    assert (first.kind, first.link) == ("altered", third)


def tables(path: Path) -> list[str]:
    database = sqlite3.connect(path)
    names = [
        row[0]
        for row in database.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name != 'head'"
        )
    ]
    database.close()
    return names


def test_swapped_blocks_are_named(copied):
    one, other = blocks(copied)[4:6]
    tamper(
        copied,
        f"UPDATE block SET link = -1 WHERE link = {one}",
        f"UPDATE block SET link = {one} WHERE link = {other}",
        f"UPDATE block SET link = {other} WHERE link = -1",
    )
    first = verify(copied).first_bad
    assert (first.kind, first.link) == ("altered", one)


def test_a_block_of_another_job_is_named(copied, tmp_path):
    other = tmp_path / "other.job"
    with Job.create(other, project="Another") as job:
        from .conftest import fill

        fill(job)
    third = blocks(copied)[2]
    columns = "link, time, sounding, stream, kind, first, last, rows, encoding, content"
    columns += ", previous, hash"
    database = sqlite3.connect(copied)
    database.execute("ATTACH ? AS other", (str(other),))
    database.execute("DROP TRIGGER block_delete")
    database.execute(f"DELETE FROM block WHERE link = {third}")
    database.execute(
        f"INSERT INTO block ({columns}) SELECT {columns} FROM other.block WHERE link = {third}"
    )
    database.commit()
    database.close()
    report = verify(copied)
    assert report.first_bad.link == third
    assert report.first_bad.kind == "order"
    assert any(one.kind == "tables" for one in report.problems)  # the trigger is gone


def repeat_a_block(job):
    """Put a block of a job at its end once more; return its link."""
    third = blocks(job)[2]
    head = verify(job).head.link
    columns = "time, sounding, stream, kind, first, last, rows, encoding, content, previous, hash"
    tamper(
        job,
        f"INSERT INTO block (link, {columns}) SELECT {head + 1}, {columns} FROM block "
        f"WHERE link = {third}",
    )
    return head + 1


def test_a_repeated_block_is_named(copied):
    again = repeat_a_block(copied)
    assert verify(copied).first_bad.link == again


def test_a_repeated_block_in_a_chain_written_anew_is_out_of_order(copied):
    again = repeat_a_block(copied)
    rewrite_from(copied, again)
    first = verify(copied).first_bad
    assert (first.kind, first.link) == ("order", again)


def test_a_cut_tail_is_named(copied):
    last = verify(copied).head.link
    tamper(copied, *(f"DELETE FROM {table} WHERE link > {last - 3}" for table in tables(copied)))
    first = verify(copied).first_bad
    assert (first.kind, first.link) == ("missing", last - 2)


def test_a_cut_tail_with_its_head_is_found_by_the_anchors(copied):
    report = verify(copied)
    last, noted = report.head.link, report.head
    tamper(copied, *(f"DELETE FROM {table} WHERE link > {last - 3}" for table in tables(copied)))
    rewrite_from(copied, last - 3)
    first = verify(copied).first_bad
    assert (first.kind, first.link) == ("anchor", last)
    anchors_path(copied).unlink()
    report = verify(copied)
    assert report.ok  # nothing in the file itself can tell
    assert any("cannot be ruled out" in note for note in report.notes)
    assert verify(copied, expected=noted).first_bad.kind == "anchor"


def test_a_chain_written_anew_is_found_by_the_anchors(copied):
    third = blocks(copied)[2]
    tamper(copied, f"UPDATE block SET time = 1.0 WHERE link = {third}")
    rewrite_from(copied, third)
    kinds = {problem.kind for problem in verify(copied).problems}
    assert kinds == {"anchor", "seal"}


def test_a_missing_head_is_told(copied):
    tamper(copied, "DELETE FROM head")
    assert [one.kind for one in verify(copied).problems] == ["head", "seal"]


def test_a_table_or_trigger_more_or_less_is_told(copied):
    database = sqlite3.connect(copied)
    database.execute("CREATE TABLE extra (a)")
    database.execute("DROP TRIGGER event_update")
    database.close()
    first = verify(copied).problems[0]
    assert first.kind == "tables"
    assert "event_update, extra" in first.text


def test_the_seal_finds_what_changes_no_fact(copied):
    database = sqlite3.connect(copied)
    database.execute("VACUUM")
    database.execute("PRAGMA journal_mode = DELETE")
    database.close()
    report = verify(copied)
    assert [one.kind for one in report.problems] == ["seal"]
    assert report.sealed is False


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_any_flipped_bit_is_found(filled, tmp_path, data):
    content = bytearray(filled.read_bytes())
    bit = data.draw(st.integers(0, len(content) * 8 - 1))
    content[bit // 8] ^= 1 << bit % 8
    path = tmp_path / "flipped" / filled.name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content)
    shutil.copy(anchors_path(filled), anchors_path(path))
    try:
        assert not verify(path).ok
    except (RecordVersionError, RecordError) as error:
        pytest.fail(f"not a report: {error}")
    # Without the anchors the chain must still find it, unless every fact is as it was.
    anchors_path(path).unlink()
    if verify(path).ok:
        assert facts(path) == facts(filled)
    # And opening it is safe: it works, or it says in words why not.
    with suppress(RecordError), Job.open(path, write=True) as job:
        list(job.messages("CPT-01", "cone"))
        job.events()
    for leftover in path.parent.iterdir():
        leftover.unlink()


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_a_file_cut_anywhere_is_found(filled, tmp_path, data):
    content = filled.read_bytes()
    length = data.draw(st.integers(1, len(content) - 1))
    path = tmp_path / "cut.job"
    path.write_bytes(content[:length])
    if length < 512:  # SQLite takes so short a file for an empty database
        with suppress(RecordError):
            assert not verify(path).ok
    else:
        assert not verify(path).ok


def test_an_empty_file_is_no_job(tmp_path):
    path = tmp_path / "empty.job"
    path.touch()
    for read in (verify, Job.open):
        with pytest.raises(RecordError, match="not a job file"):
            read(path)


def test_the_first_bad_of_several_is_named(copied):
    found = blocks(copied)
    tamper(
        copied,
        f"UPDATE block SET rows = 9 WHERE link = {found[7]}",
        f"UPDATE block SET rows = 9 WHERE link = {found[3]}",
    )
    report = verify(copied)
    assert report.first_bad.link == found[3]
    assert f"link {found[3]}" in str(report)


def test_a_head_is_read_from_its_text():
    head = Head(7, bytes(range(32)))
    assert Head.parse(str(head)) == head
    for text in ("", "7", "7:", "x:" + "0" * 64, "7:" + "0" * 63):
        with pytest.raises(ValueError, match="not a head"):
            Head.parse(text)

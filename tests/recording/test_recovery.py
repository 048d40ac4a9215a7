"""A damaged job gives back everything that is still readable."""

from __future__ import annotations

import random
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pushproof.errors import RecordDamagedError, RecordError
from pushproof.model.equipment import Calibration, Cone
from pushproof.model.recipe import Recipe
from pushproof.model.sounding import Zero
from pushproof.model.stream import Reading, StreamKind, Undecoded
from pushproof.recording.recovery import recover
from pushproof.store import Job, Mark, verify
from pushproof.store.carve import carve

PAGE = 1024


def reading(number: int) -> Reading:
    raw = b"$C,%d*00\r\n" % number
    return Reading(StreamKind.CONE, 1.75e9 + number, 1.0 * number, {"qc": 2.5 * number}, 7, raw)


@pytest.fixture(scope="module")
def sound(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("sound") / "site.job"
    with Job.create(path, project="Invented") as job:
        job.add_sounding("A")
        cone = job.add_equipment("cone", Cone(serial="C-1"))
        job.add_calibration(cone, Calibration(channel="qc", date="2031-01-01"))
        job.add_zero("A", "before", Zero(channel="qc", value=1.0))
        for start in range(1, 200, 5):
            job.append("A", "cone", [reading(n) for n in range(start, start + 5)])
        job.append("A", "cone", [Undecoded(StreamKind.CONE, 1.0, 2.0, b"\x00" * 3000, "noise")])
        job.add_original("old.gef", random.Random(1).randbytes(9000), format="gef")
        job.add_decision("recipe", Recipe(), author="E", reason="start")
        job.add_decision("recipe", Recipe(water_level=1.0), author="E", reason="measured")
    return path


def contents(path: Path) -> list[object]:
    """Return everything in a job but what differs by being salvaged."""
    with Job.open(path) as job:
        return [
            [(one.number, one.message, one.mark) for one in job.messages("A", "cone")],
            list(job.undecoded("A", "cone")),
            [(event.kind, event.at, event.time) for event in job.events("A")],
            job.equipment(),
            [zero.zero for zero in job.zeros("A")],
            [job.original_bytes(one.link) for one in job.originals()],
            [(one.version, one.document, one.time) for one in job.decisions()],
            job.project(),
        ]


def test_a_sound_job_is_carried_over_whole(sound, tmp_path):
    before = sound.read_bytes()
    report = recover(sound, tmp_path / "new.job")
    assert report.whole, report
    assert contents(tmp_path / "new.job") == contents(sound)
    assert verify(tmp_path / "new.job").ok
    assert sound.read_bytes() == before
    assert report.messages == {"A cone": 200, "A cone undecoded": 1}


def test_the_carved_links_are_those_of_the_chain(sound):
    head = verify(sound).head
    carved = carve(sound)
    assert sorted(carved.links) == list(range(1, head.link + 1))
    assert carved.links[head.link].hash == head.hash
    assert not carved.unproven


def test_a_file_without_its_header_and_first_pages_is_salvaged(sound, tmp_path):
    damaged = tmp_path / "site.job"
    damaged.write_bytes(bytes(PAGE * 3) + sound.read_bytes()[PAGE * 3 :])
    with pytest.raises(RecordDamagedError):
        Job.open(damaged)
    report = recover(damaged, tmp_path / "new.job")
    assert report.messages["A cone"] == 200
    assert contents(tmp_path / "new.job")[0] == contents(sound)[0]
    assert verify(tmp_path / "new.job").ok


def test_a_flipped_bit_in_the_content_of_a_block_costs_that_block_only(sound, tmp_path):
    damaged = tmp_path / "site.job"
    content = bytearray(sound.read_bytes())
    block = carve(sound).links[20]
    assert block.table == "block"
    at = content.index(block.row["content"])
    content[at + 9] ^= 4
    damaged.write_bytes(content)
    report = recover(damaged, tmp_path / "new.job")
    first, last = block.row["first"], block.row["last"]
    assert report.gaps == {"A cone": [(first, last)]}
    assert report.missing == [(20, 20)]
    with Job.open(tmp_path / "new.job") as job:
        numbers = job.readings("A", "cone").number.tolist()
    assert numbers == [n for n in range(1, 201) if not first <= n <= last]


def test_a_block_that_reads_well_but_does_not_prove_itself_is_marked(sound, tmp_path):
    damaged = tmp_path / "site.job"
    content = bytearray(sound.read_bytes())
    block = carve(sound).links[20]
    content[content.index(block.row["hash"])] ^= 1
    damaged.write_bytes(content)
    report = recover(damaged, tmp_path / "new.job")
    assert (report.unproven, report.missing, report.gaps) == (1, [], {})
    with Job.open(tmp_path / "new.job") as job:
        stored = list(job.messages("A", "cone"))
    assert [one.message for one in stored] == [reading(n) for n in range(1, 201)]
    marked = [one.number for one in stored if one.mark & Mark.UNPROVEN]
    assert marked == list(range(block.row["first"], block.row["last"] + 1))


def test_the_rows_of_a_page_with_a_broken_head_are_found_by_their_hashes(sound, tmp_path):
    damaged = tmp_path / "site.job"
    content = bytearray(sound.read_bytes())
    block = carve(sound).links[20]
    start = content.index(block.row["content"]) // PAGE * PAGE
    content[start : start + 12] = bytes(12)
    damaged.write_bytes(content)
    report = recover(damaged, tmp_path / "new.job")
    assert report.messages["A cone"] == 200, report
    assert report.gaps == {}


def test_links_that_others_refer_to_may_be_gone(sound, tmp_path):
    damaged = tmp_path / "site.job"
    content = sound.read_bytes()
    links = carve(sound).links
    for table in ("sounding", "equipment", "original", "decision"):
        lost = next(link for link in links.values() if link.table == table)
        own = lost.row["previous"] + lost.row["hash"]
        assert content.count(own) == 1
        content = content.replace(own, lost.row["previous"] + bytes(32))
    damaged.write_bytes(content)
    report = recover(damaged, tmp_path / "new.job")
    assert any("it is now 'salvaged" in note for note in report.notes)
    assert any("its equipment is gone" in note for note in report.notes)
    assert verify(tmp_path / "new.job").ok
    assert not report.whole


@pytest.mark.skipif(sys.platform == "win32", reason="needs a signal that cannot be caught")
def test_what_is_only_in_the_log_is_salvaged_too(tmp_path):
    script = (
        "import os, signal, sys\n"
        "from pushproof.model.stream import Reading, StreamKind\n"
        "from pushproof.store import Job\n"
        "job = Job.create(sys.argv[1])\n"
        "job.add_sounding('A')\n"
        "for n in range(50):\n"
        "    job.append('A', 'cone', [Reading(StreamKind.CONE, 1.0, 2.0, {'qc': 1.0 * n}, n)])\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    path = tmp_path / "site.job"
    done = subprocess.run([sys.executable, "-c", script, str(path)])
    assert done.returncode == -signal.SIGKILL
    assert path.with_name("site.job-wal").stat().st_size > 50_000
    report = recover(path, tmp_path / "new.job")
    assert report.messages == {"A cone": 50}
    assert report.whole
    # And with a broken header of the file itself:
    path.write_bytes(bytes(200) + path.read_bytes()[200:])
    report = recover(path, tmp_path / "newer.job")
    assert report.messages == {"A cone": 50}


def test_what_is_no_job_is_refused(tmp_path):
    path = tmp_path / "noise.job"
    path.write_bytes(random.Random(2).randbytes(20_000))
    with pytest.raises(RecordDamagedError, match="nothing in it proves itself"):
        recover(path, tmp_path / "new.job")
    assert not (tmp_path / "new.job").exists()
    with pytest.raises(RecordError, match="no such job file"):
        recover(tmp_path / "none.job", tmp_path / "new.job")


def test_an_existing_file_is_not_written_over(sound, tmp_path):
    (tmp_path / "new.job").write_text("mine")
    with pytest.raises(RecordError, match="exists"):
        recover(sound, tmp_path / "new.job")
    assert (tmp_path / "new.job").read_text() == "mine"


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_salvaged_readings_are_true_whatever_is_damaged(sound, tmp_path, data):
    content = bytearray(sound.read_bytes())
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(content) - 1))
        length = data.draw(st.integers(1, 600))
        content[at : at + length] = data.draw(st.binary(min_size=length, max_size=length))
    damaged = tmp_path / "site.job"
    damaged.write_bytes(content[: data.draw(st.integers(PAGE, len(content)))])
    new = tmp_path / "new.job"
    try:
        report = recover(damaged, new)
    except RecordDamagedError:
        return
    try:
        assert verify(new).ok
        with Job.open(new) as job:
            for name in job.soundings():
                for one in job.messages(name, "cone"):
                    assert one.message == reading(one.number)
            found = sum(count for said, count in report.messages.items() if "undec" not in said)
            assert found == sum(len(job.readings(name, "cone")) for name in job.soundings())
    finally:
        for path in tmp_path.glob("new.job*"):
            path.unlink()


def test_the_older_of_two_rows_with_one_number_gives_way_to_the_chain(sound, tmp_path):
    copy = tmp_path / "site.job"
    shutil.copy(sound, copy)
    with Job.open(copy, write=True) as job:
        job.add_note("went on here")
    other = tmp_path / "other.job"
    shutil.copy(sound, other)
    with Job.open(other, write=True) as job:
        job.add_note("and there")
    # Both files in one: the second one's pages stand behind the first one's.
    both = copy.read_bytes()
    both += b"".join(
        page
        for page in (
            other.read_bytes()[start : start + PAGE]
            for start in range(PAGE, len(other.read_bytes()), PAGE)
        )
        if b"and there" in page
    )
    copy.write_bytes(both)
    links = carve(copy).links
    numbers = sorted(links)
    assert all(links[n].row["previous"] == links[n - 1].hash for n in numbers if n - 1 in links), (
        "the links chosen are one chain"
    )

"""Files of other formats are kept byte for byte and read again from their bytes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.formats.registry import read_all
from pushproof.store import Job, import_file, verify
from pushproof.testing import sample

TABLE = "depth (m),qc (MPa),fs (kPa),u2 (kPa)\r\n" + "".join(
    f"{0.02 * n:.2f},{1 + 0.01 * n:.2f},{20 + n},{5 * n}\r\n" for n in range(1, 60)
)


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "P1.csv"
    path.write_bytes(TABLE.encode())
    return path


def test_an_imported_file_is_read_again_from_the_job(tmp_path, table):
    with Job.create(tmp_path / "a.job") as job:
        names = import_file(job, table)
        again = import_file(job, table)
        assert len(names) == 1
        assert again == (f"{names[0]} (2)",)
        (first, _) = job.originals()
        assert job.original_bytes(first.link) == TABLE.encode()
    table.unlink()
    with Job.open(tmp_path / "a.job") as job:
        sounding = job.sounding(names[0])
    assert sounding.readings["qc"][0] == pytest.approx(1010.0)
    assert len(sounding.readings) == 59
    assert verify(tmp_path / "a.job").ok


@pytest.mark.parametrize("toml", [False, True])
def test_the_column_mapping_is_kept_with_the_file(tmp_path, table, toml):
    columns = "depth=1:m, qc=4:kPa"
    if toml:
        columns = str(tmp_path / "mine.toml")
        (tmp_path / "mine.toml").write_text('[columns]\ndepth = "1:m"\nqc = "4:kPa"\n')
    expected = read_all(table, columns=columns)[0].readings["qc"].tolist()
    with Job.create(tmp_path / "a.job") as job:
        (name,) = import_file(job, table, columns=columns)
        (tmp_path / "mine.toml").unlink(missing_ok=True)
        assert job.sounding(name).readings["qc"].tolist() == expected


def test_a_file_that_cannot_be_read_leaves_the_job_as_it_was(tmp_path):
    path = tmp_path / "noise.bin"
    path.write_bytes(bytes(range(256)) * 10)
    with Job.create(tmp_path / "a.job") as job:
        before = job.head
        with pytest.raises(FormatError):
            import_file(job, path)
        with pytest.raises(FormatError):
            import_file(job, tmp_path / "none.gef")
        assert job.head == before


@pytest.mark.shared
def test_real_soundings_come_back_from_the_job_as_from_their_files(tmp_path, shared_data):
    paths = sorted((shared_data / "bro").glob("*.gef"))[:3]
    assert paths
    with Job.create(tmp_path / "a.job") as job:
        for path in paths:
            (expected,) = read_all(path)
            (name,) = import_file(job, path)
            found = job.sounding(name)
            assert found.location == expected.location
            for key in expected.readings:
                assert repr(found.readings[key].tolist()) == repr(expected.readings[key].tolist())


@pytest.mark.shared
def test_every_real_file_is_kept_byte_for_byte(tmp_path, shared_data):
    from formats.real_files import real_files

    files = real_files(shared_data)
    with Job.create(tmp_path / "a.job") as job:
        for path in files:
            import_file(job, path)
        kept = {one.name: job.original_bytes(one.link) for one in job.originals()}
    assert len(files) >= 20
    assert kept == {path.name: path.read_bytes() for path in files}
    assert verify(tmp_path / "a.job").ok


def test_the_files_beside_a_file_are_kept_too(tmp_path):
    folder = Path(__file__).parents[1] / "formats" / "gef"
    path = tmp_path / "site.job"
    with Job.create(path) as job:
        import_file(job, folder / "plain.gef")
        import_file(job, folder / "zoo" / "child-not-delivered.gef")
    with Job.open(path) as job:
        kept = {one.name: job.original_bytes(one.link) for one in job.originals()}
        assert kept["plain-dis1.gef"] == (folder / "plain-dis1.gef").read_bytes()
        first, second = (job.sounding(name) for name in job.soundings())
    (test,) = first.dissipations
    assert test.readings["u2"].tolist() == pytest.approx([25, 24.4, 23.1, 20.9])
    assert not second.dissipations


def test_two_dissipation_tests_come_back_as_they_were_written(tmp_path):
    whole = sample("clay-over-sand")
    (test, *_) = whole.dissipations
    two = replace(whole, dissipations=(test, replace(test, depth=test.depth + 1.0)))
    given = {"producer": "Maker Ltd", "issue_date": "2031-05-02"}
    written = [one.name for one in pp.write(two, tmp_path / "a.gef", **given).paths]
    assert written == ["a.gef", "a_dis1.gef", "a_dis2.gef"]
    before = {name: (tmp_path / name).read_bytes() for name in written}
    expected = pp.read(tmp_path / "a.gef").dissipations
    with Job.create(tmp_path / "site.job") as job:
        (name,) = import_file(job, tmp_path / "a.gef")
    for one in written:
        (tmp_path / one).unlink()
    with Job.open(tmp_path / "site.job") as job:
        assert {one.name: job.original_bytes(one.link) for one in job.originals()} == before
        assert list(job.soundings()) == [name]
        found = job.sounding(name).dissipations
    assert [one.depth for one in found] == [one.depth for one in expected]
    assert len(found) == 2
    for one, other in zip(found, expected, strict=True):
        assert one.readings["time"].tolist() == other.readings["time"].tolist()
        assert one.readings["u2"].tolist() == other.readings["u2"].tolist()
    assert verify(tmp_path / "site.job").ok

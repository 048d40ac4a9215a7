"""The job file as a format: read like any other file, by the same contract."""

from pathlib import Path

import pytest

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.formats import detect, formats
from pushproof.model.stream import Reading, StreamKind
from pushproof.recording.job_format import JobFormat
from pushproof.store import Job, import_file
from pushproof.testing.formats import FormatContract

PLAIN = Path(__file__).parents[1] / "formats" / "xlsx" / "plain.xlsx"


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    path = tmp_path_factory.mktemp("jobs") / "site.job"
    with Job.create(path, project="Invented dike") as made:
        import_file(made, PLAIN)
    return path


class TestContract(FormatContract):
    hashes_its_file = False

    @pytest.fixture(autouse=True)
    def _job(self, job):
        self.path = job

    def make(self):
        return JobFormat()

    def plain(self):
        return self.path


def test_read_takes_a_job_like_any_file(job):
    assert detect(job).name == "job"
    assert "job" in [one.name for one in formats()]
    again, first = pp.read(job), pp.read(PLAIN)
    assert again.name == first.name
    assert again.readings["qc"].tolist() == pytest.approx(
        first.readings["qc"].tolist(), nan_ok=True
    )
    assert again.findings == first.findings


def test_an_empty_job_says_so(tmp_path):
    Job.create(tmp_path / "empty.job").close()
    with pytest.raises(FormatError, match="no sounding yet"):
        pp.read(tmp_path / "empty.job")


def test_one_sounding_that_cannot_be_merged_does_not_cost_the_others(tmp_path):
    path = tmp_path / "half.job"
    with Job.create(path) as made:
        import_file(made, PLAIN)
        made.add_sounding("CPT-9")
        made.append("CPT-9", "depth", [Reading(StreamKind.DEPTH, 1e9, 1.0, {"count": 0.0})])
        memory = {"cone_time": 1.0, "qc": 4000.0}  # with nothing that shows when that was
        made.append("CPT-9", "memory", [Reading(StreamKind.MEMORY, 1e9, 1.0, memory)])
    with pytest.raises(FormatError, match="CPT-9"):
        pp.read_all(path)
    (one,) = pp.read_all(path, salvage=True)
    assert [f.found for f in one.findings if f.id == "sounding-unreadable"]


def test_another_database_is_refused(tmp_path):
    import sqlite3

    opened = sqlite3.connect(tmp_path / "other.job")
    opened.execute("CREATE TABLE a (b)")
    opened.commit()
    opened.close()
    with pytest.raises(FormatError, match=r"other\.job"):
        pp.read(tmp_path / "other.job")


def test_a_job_is_a_job_whatever_files_it_holds(tmp_path):
    path = tmp_path / "site.job"
    formats_folder = PLAIN.parents[1]
    files = ("ags/zoo/plain-4.ags", "diggs/plain_3.xml", "gef/plain.gef")
    with Job.create(path) as made:
        names = [import_file(made, formats_folder / file)[0] for file in files]
    assert detect(path).name == "job"
    assert {one.name for one in pp.read_all(path)} >= set(names)


def test_an_archive_is_what_it_is_whatever_files_it_holds(tmp_path):
    import zipfile

    with zipfile.ZipFile(tmp_path / "site.zip", "w") as archive:
        archive.write(PLAIN.parents[1] / "ags" / "zoo" / "plain-4.ags", "plain-4.ags")
    with pytest.raises(FormatError, match="unpack it"):
        pp.read(tmp_path / "site.zip")

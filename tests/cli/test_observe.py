"""Observations that a job holds: ``observe``, and what other commands make of them."""

import json

import pytest

import pushproof as pp
from pushproof.errors import PushproofError
from pushproof.store import Job, import_file
from pushproof.testing import sample

TABLE = """kind,top,base,value,words,test,source
su,3.0,,25,,vane,BH-2
su,5.0,,27,,vane,BH-2
su,7.0,,30,,vane,BH-2
layer,1.9,8.5,,soft grey clay,,BH-2
"""


@pytest.fixture
def table(tmp_path):
    found = tmp_path / "BH-2.csv"
    found.write_text(TABLE, encoding="utf-8")
    return found


@pytest.fixture
def job(tmp_path):
    loose = tmp_path / "HM-1.json"
    pp.write(sample("clay-over-sand"), loose)
    with Job.create(tmp_path / "site.job") as opened:
        import_file(opened, loose)
    return tmp_path / "site.job"


def test_a_comparison_needs_no_file_once_the_job_has_the_table(run, job, table):
    with pytest.raises(PushproofError, match="nothing to compare with"):
        run("compare", job)
    expected = json.loads(run("compare", job, "--observations", table, "--json").stdout)
    told = run("observe", job, table, "--by", "R. Viewer")
    assert "BH-2.csv: 4 observations kept with" in told.stdout
    table.unlink()
    found = json.loads(run("compare", job, "--json").stdout)
    assert found == expected
    assert [pair["observed"] for pair in found["misfits"][0]["pairs"]] == [25, 27, 30]


def test_a_file_that_is_named_goes_before_what_the_job_holds(run, job, table, tmp_path):
    run("observe", job, table, "--by", "R. Viewer")
    other = tmp_path / "other.csv"
    other.write_text("kind,top,value\nsu,3,99\nsu,4,99\n", encoding="utf-8")
    found = json.loads(run("compare", job, "--observations", other, "--json").stdout)
    assert [pair["observed"] for pair in found["misfits"][0]["pairs"]] == [99, 99]


def test_log_and_report_tell_them_from_the_job(run, job, table, tmp_path, pdf_text):
    log, report = tmp_path / "log.pdf", tmp_path / "report.pdf"
    run("log", job, "-o", log)
    assert "soft grey clay" not in pdf_text(log.read_bytes())
    run("observe", job, table, "--by", "R. Viewer")
    run("log", job, "-o", log)
    run("report", job, "-o", report)
    for path in (log, report):
        text = pdf_text(path.read_bytes())
        assert "Observations from elsewhere" in text
        assert "soft grey clay" in text
    run("observe", job, "--withdraw", table.name, "--by", "R. Viewer", "--reason", "other site")
    run("log", job, "-o", log)
    assert "soft grey clay" not in pdf_text(log.read_bytes())


def test_what_is_kept_is_listed(run, job, table):
    run("observe", job, table, "--by", "R. Viewer")
    table.write_text(TABLE.replace(",25,", ",22,"), encoding="utf-8")
    with pytest.raises(ValueError, match="reason"):
        run("observe", job, table, "--by", "R. Viewer")
    run("observe", job, table, "--by", "R. Viewer", "--reason", "vane factor of the report")
    told = run("observe", job).stdout
    assert "BH-2.csv, by R. Viewer" in told
    assert "1 before it" in told
    (one,) = json.loads(run("observe", job, "--json").stdout)
    assert one["observations"][0] == {
        "kind": "su",
        "top": 3.0,
        "value": 22.0,
        "test": "vane",
        "source": "BH-2",
    }
    assert run("verify", job).exit_code == 0


def test_it_asks_for_what_is_missing(run, job, table):
    with pytest.raises(ValueError, match="author: say who brings it"):
        run("observe", job, table)
    with pytest.raises(PushproofError, match="not both"):
        run("observe", job, table, "--withdraw", "x.csv", "--by", "R. Viewer")
    with Job.open(job, write=True) as opened:
        opened.add_sounding("HM-9")
    with pytest.raises(PushproofError, match=r"name a sounding with --sounding; there are: .*HM-9"):
        run("observe", job, table, "--by", "R. Viewer")

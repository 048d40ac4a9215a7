"""``pushproof day`` on a rehearsed job."""

import openpyxl
import pytest
from typer.testing import CliRunner

from pushproof.cli.app import app
from pushproof.recording.assemble import sounding
from pushproof.store import Job, verify


def run(*words):
    result = CliRunner().invoke(app, [str(word) for word in words])
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.stdout


def test_the_report_holds_what_was_pushed(recorded, tmp_path):
    path, name = recorded
    told = run("day", path, "--weather", "dry", "--crew", "KM", "--by", "KM")
    assert name in told
    run("day", path, "-q", "-o", tmp_path / "day.pdf")
    assert (tmp_path / "day.pdf").read_bytes().startswith(b"%PDF")
    run("day", path, "-q", "-o", tmp_path / "day.xlsx")
    book = openpyxl.load_workbook(tmp_path / "day.xlsx")
    assert book.sheetnames == ["soundings", "stops", "dissipations", "alarms", "notes"]
    row = [cell.value for cell in book["soundings"][2]]
    with Job.open(path) as job:
        # the merged sounding counts by another way: its readings placed by the encoder
        length = sounding(job, name).readings["length"]
        predrilled = sounding(job, name).predrilled
    assert row[5] == pytest.approx(max(length) - predrilled, abs=0.05)
    assert {cell.value for cell in book["notes"]["C"]} >= {"rods wiped", "dry (KM)", "KM (KM)"}
    assert verify(path).ok


def test_a_day_of_standing_is_reported(recorded, tmp_path):
    path, _ = recorded
    told = run("day", path, "--date", "2031-06-02", "--weather", "storm", "--by", "KM")
    assert "2031-06-02: 0 soundings" in told
    run("day", path, "--date", "2031-06-02", "-q", "-o", tmp_path / "day.pdf")
    assert (tmp_path / "day.pdf").read_bytes().startswith(b"%PDF")

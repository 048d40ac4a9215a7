"""Text of people in workbooks stays text, and nothing in it keeps one from being made."""

import io
from dataclasses import replace
from datetime import date

import openpyxl

import pushproof as pp
from pushproof.formats.table import write_table
from pushproof.recording.daybook import daybook, say_of_day
from pushproof.report.daysheet import write_workbook
from pushproof.store import Job
from pushproof.testing import sample


def test_a_table_takes_any_name(tmp_path):
    sounding = replace(sample("short"), name="=1+1 \x0b west", project="=cmd")
    write_table(pp.interpret(pp.process(sounding)), tmp_path / "t.xlsx")
    rows = openpyxl.load_workbook(tmp_path / "t.xlsx")["about"].iter_rows()
    cells = {row[0].value: row[1] for row in rows}
    assert cells["sounding"].value == "=1+1   west"
    assert [cells[key].data_type for key in ("sounding", "project")] == ["s", "s"]


def test_a_day_takes_any_words(tmp_path):
    day = date(2031, 5, 13)
    with Job.create(tmp_path / "s.job") as job:
        say_of_day(job, day, by="RS", weather="dry \x0b then rain", note="=HYPERLINK(1)")
        book = daybook(job, day)
    made = io.BytesIO()
    write_workbook(book, made)
    cells = [
        cell
        for sheet in openpyxl.load_workbook(made)
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str)
    ]
    texts = " ".join(cell.value for cell in cells)
    assert "dry   then rain" in texts
    assert "=HYPERLINK(1)" in texts
    assert not [cell.value for cell in cells if cell.data_type == "f" and "HYPER" in cell.value]

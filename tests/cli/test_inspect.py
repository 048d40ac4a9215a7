"""``pushproof inspect``: what is in a file, for people and for programs."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from pushproof.formats import inspect

FORMATS = Path(__file__).parents[1] / "formats"


def run(*arguments, code=0):
    call = [sys.executable, "-m", "pushproof", *map(str, arguments)]
    result = subprocess.run(call, capture_output=True, text=True, encoding="utf-8")
    assert result.returncode == code, result.stderr
    return result


def test_what_is_in_a_file():
    found = inspect(FORMATS / "diggs" / "plain_2.6.xml")
    size = (FORMATS / "diggs" / "plain_2.6.xml").stat().st_size
    assert (found.title, found.edition, found.size) == ("DIGGS XML", "2.6", size)
    (one,) = found.soundings
    assert (one.name, one.rows, one.top, one.base, one.step) == ("MX-1", 5, 1, 1.2, 0.05)
    channels = {channel.key: channel for channel in one.channels}
    qc, fs = channels["qc"], channels["fs"]
    assert (qc.unit, qc.low, qc.high, qc.values) == ("MPa", 0.81, 0.99, 5)
    assert (fs.values, fs.missing) == (4, {"void in the file": 1})
    assert not channels["conductivity"].known
    (test,) = one.tests
    assert (test.depth, test.rows, test.seconds) == (1.15, 4, 240)
    assert one.given["area ratio"] == "0.8"
    assert {"standard", "class", "zero readings"} <= set(one.lacks)
    assert not set(one.lacks) & set(one.given)


@pytest.mark.parametrize(
    ("file", "edition"),
    [
        ("diggs/plain_3.xml", "3"), ("dutch_register/plain.xml", "1.1"),
        ("gef/plain.gef", "GEF 1.1.0, report 1.1.2"), ("ags/zoo/plain-4.ags", "4.1.1"),
        ("ags/zoo/plain-3.ags", "3.1"), ("xlsx/plain.xlsx", ""),
    ],
)  # fmt: skip
def test_the_edition_is_the_one_the_file_names(file, edition):
    assert inspect(FORMATS / file).edition == edition


def test_for_people():
    text = run("inspect", FORMATS / "ags" / "zoo" / "key-twice.ags").stdout
    for words in ("AGS 4 4.1.1", "MB-1", "MB-2", "dissipation test at 1.26 m", "not stated",
                  "void in the file", "(rule 10a)"):  # fmt: skip
        assert words in text


def test_for_programs_and_with_salvage():
    cut = FORMATS / "diggs" / "zoo" / "cut.xml"
    plain = FORMATS / "diggs" / "plain_3.xml"
    result = run("inspect", "--json", cut, plain, code=1)
    failed, good = json.loads(result.stdout)
    assert "line 125" in failed["error"]
    assert "--salvage" in result.stderr
    assert good["soundings"][0]["channels"][0]["key"] == "length"
    assert good["format"] == "diggs"
    (saved,) = json.loads(run("inspect", "--json", "--salvage", cut).stdout)
    (sounding,) = saved["soundings"]
    assert sounding["rows"] == 3
    grave = {f["id"] for f in sounding["findings"] if f["severity"] == "stop"}
    assert grave == {"file-damaged", "rows-cut"}


def test_salvage_is_there_where_an_error_offers_it(tmp_path):
    cut = FORMATS / "diggs" / "zoo" / "cut.xml"
    assert "--salvage" in run("table", cut, "-o", tmp_path / "a.csv", code=1).stderr
    run("table", cut, "--salvage", "-o", tmp_path / "a.csv")
    assert "the XML is damaged" in (tmp_path / "a.csv").read_text(encoding="utf-8")


def test_formats_says_what_can_be_read_and_written():
    rows = json.loads(run("formats", "--json").stdout)
    by_name = {row["name"]: row for row in rows}
    assert by_name["job"]["suffixes"] == [".job"]
    assert by_name["ags4"]["write"]
    assert not by_name["dutch-register"]["write"]

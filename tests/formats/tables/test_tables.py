"""Tables of a sounding, looked at with the bare libraries: csv, openpyxl, pyarrow."""

from __future__ import annotations

import csv
import json
from dataclasses import replace

import numpy as np
import openpyxl
import pyarrow.parquet as pq
import pytest

import pushproof as pp
from pushproof.formats.delimited import DelimitedFormat
from pushproof.model.series import Series, extra_quantity
from pushproof.model.sounding import Sounding
from pushproof.testing import sample
from pushproof.testing.formats import FormatContract

ONE = Sounding(
    "T-1",
    Series(
        {
            "length": np.array([0.025, 0.05, 0.075]),
            "qc": np.array([1234.5, np.nan, 99.0]),
            "u2": np.array([12.25, 13.5, -0.5]),
        }
    ).with_column("battery x", [3.1, 3.0, 2.9], extra=extra_quantity("battery x", "power", "V")),
)


class TestText(FormatContract):
    @pytest.fixture(autouse=True)
    def _file(self, tmp_path_factory):
        self.path = tmp_path_factory.mktemp("text") / "plain.csv"
        pp.write(sample("short"), self.path)

    def make(self):
        return DelimitedFormat()

    def plain(self):
        return self.path


def test_text_keeps_the_decimals_of_the_source(tmp_path):
    path = tmp_path / "a.csv"
    pp.write(ONE, path)
    rows = [row for row in csv.reader(path.read_text().splitlines()) if not row[0].startswith("#")]
    assert rows == [
        ["l [m]", "qc [MPa]", "u2 [kPa]", "power [V]"],
        ["0.025", "1.2345", "12.25", "3.1"],
        ["0.050", "", "13.50", "3.0"],
        ["0.075", "0.0990", "-0.50", "2.9"],
    ]


def test_a_workbook_has_its_sheets(tmp_path):
    path = tmp_path / "a.xlsx"
    one = sample("clay-over-sand")
    results = pp.interpret(pp.process(one))
    pp.write(results, path, bands=True)
    book = openpyxl.load_workbook(path)
    tests = [f"dissipation {test.depth:.10g} m" for test in one.dissipations]
    names = ["about", "readings", *tests, "derived", "bands", "findings", "units"]
    assert book.sheetnames == names
    about = {row[0].value: row[1].value for row in book["about"].iter_rows()}
    assert about["sounding"] == one.name
    assert "su_nkt" in about["method of su"]
    assert "estimates" in about["note"]
    rows = list(book["derived"].iter_rows(values_only=True))
    at = rows[1].index("su")
    su = [np.nan if row[at] is None else row[at] for row in rows[2:]]
    assert su == pytest.approx(results.series["su"], abs=0.5, nan_ok=True)
    headings = [cell.value for cell in book["bands"][2]]
    assert {"su p10 [kPa]", "su p50 [kPa]", "su p90 [kPa]"} <= set(headings)
    keys = [row[0].value for row in book["units"].iter_rows(min_row=2)]
    assert keys[:2] == ["length", "depth"]
    assert len(pp.read_all(path)) == 1


def test_a_workbook_repeats_its_bytes(tmp_path):
    paths = [tmp_path / "a.xlsx", tmp_path / "b.xlsx"]
    for path in paths:
        pp.write(sample("short"), path)
    assert paths[0].read_bytes() == paths[1].read_bytes()


def test_parquet_has_keys_and_metadata(tmp_path):
    path = tmp_path / "a.parquet"
    pp.write(ONE, path)
    table = pq.read_table(path)
    assert json.loads(table.schema.metadata[b"pushproof.keys"]) == list(ONE.readings)
    assert table.column("qc [MPa]").to_pylist() == [1.2345, None, 0.099]
    assert ["sounding", "T-1"] in json.loads(table.schema.metadata[b"pushproof.about"])


@pytest.mark.parametrize("format", ["delimited", "parquet"])
def test_a_dissipation_test_is_told_as_lost(format):
    one = sample("clay-over-sand")
    assert any("tests" in loss.keys for loss in pp.losses(one, format))
    assert not any("tests" in loss.keys for loss in pp.losses(one, "xlsx"))


def test_two_tests_of_one_depth_get_two_sheets(tmp_path):
    one = sample("clay-over-sand")
    twice = replace(one, dissipations=(one.dissipations[0], one.dissipations[0]))
    path = tmp_path / "a.xlsx"
    pp.write(twice, path)
    assert [t.depth for t in pp.read(path).dissipations] == [one.dissipations[0].depth] * 2


def test_bands_are_yes_or_no(tmp_path):
    with pytest.raises(ValueError, match="yes or no"):
        pp.write(ONE, tmp_path / "a.xlsx", bands="many")

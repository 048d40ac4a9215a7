"""Workbooks: a plain sheet, the tables of our own, bounds."""

import io
import zipfile
from pathlib import Path

import numpy as np
import openpyxl
import pytest

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.table import write_table
from pushproof.formats.xlsx import XlsxFormat
from pushproof.testing.formats import FormatContract

HERE = Path(__file__).parent


class TestContract(FormatContract):
    def make(self):
        return XlsxFormat()

    def plain(self):
        return HERE / "plain.xlsx"


def test_plain_sheet_with_all_it_says():
    s = pp.read(HERE / "plain.xlsx")
    assert (s.name, s.project) == ("WX-1", "Moss crossing")
    assert s.readings["depth"].tolist() == [1, 1.05, 1.1, 1.15, 1.2]
    assert s.readings["qc"] == pytest.approx([810, 840, 905, 920, 990])
    assert s.readings["fs"][1:].tolist() == [12.5, 13.1, 13.4, 14]
    assert (s.location.x, s.location.y, s.location.level) == (1200.5, 340.25, 2.75)
    assert (s.cone.area_ratio, s.water.level) == (0.79, 0.8)
    assert s.started.isoformat() == "2031-04-02T09:30:00"
    assert s.findings == ()


def test_values_agree_with_a_plain_walk_through_the_cells():
    sheet = openpyxl.load_workbook(HERE / "plain.xlsx").active
    rows = [
        [c.value for c in row] for row in sheet.iter_rows() if isinstance(row[0].value, float | int)
    ]
    expected = np.array(rows, dtype=float) * [1, 1000, 1, 1]
    s = pp.read(HERE / "plain.xlsx").readings
    found = np.column_stack([s[key] for key in ("depth", "qc", "fs", "u2")])
    np.testing.assert_allclose(found, expected, rtol=1e-12)


def test_a_dissipation_sheet_belongs_to_the_sounding_before_it():
    (test,) = pp.read(HERE / "zoo" / "dissipation-in-a-sheet.xlsx").dissipations
    assert (test.depth, test.readings["time"].tolist()) == (1.15, [0, 10, 60, 240])
    assert test.readings["u2"].tolist() == [111, 98.5, 70.25, 12]


def test_soundings_of_one_sheet_keep_their_own_rows():
    one, two = pp.read_all(HERE / "zoo" / "several-soundings-in-a-sheet.xlsx")
    assert (one.name, two.name) == ("WX-1", "WX-2")
    assert two.readings["depth"].tolist() == [1, 1.05, 1.1, 1.15, 1.2]


def test_columns_can_be_said_by_hand():
    s = pp.read(HERE / "zoo" / "unit-not-stated.xlsx", columns="depth=1:m, qc=2:kPa, u2=fs:kPa")
    assert s.readings["qc"][0] == 0.81
    assert s.readings["u2"][1] == 12.5


@pytest.mark.parametrize("suffix", [".xlsx", ".parquet", ".csv"])
def test_our_own_table_reads_back(tmp_path, suffix):
    source = pp.read(HERE / "plain.xlsx")
    derived = pp.interpret(pp.process(source))
    path = tmp_path / f"table{suffix}"
    write_table(derived, path)
    again = pp.read(path)
    assert again.name == "WX-1"
    for key in derived.series:
        assert key in again.readings, key
        row = derived.series.quantity(key)
        loose = {".csv": 0.6 * 10.0**-row.decimals, ".xlsx": 1e-6}.get(suffix, 0)
        if row.unit != row.display_unit:
            loose *= 1000
        np.testing.assert_allclose(again.readings[key], derived.series[key], rtol=1e-9, atol=loose)


def test_a_workbook_larger_than_the_limit_is_refused():
    with pytest.raises(FormatError, match=r"limit of 0 MB"):
        XlsxFormat().read(HERE / "plain.xlsx", ReadOptions(max_bytes=10_000))


def test_a_part_that_lies_about_its_size_is_refused(tmp_path):
    data = bytearray((HERE / "plain.xlsx").read_bytes())
    place = data.rfind(b"PK\x01\x02", 0, data.rfind(b"xl/worksheets/sheet1.xml"))
    data[place + 24 : place + 28] = (50).to_bytes(4, "little")
    path = tmp_path / "lies.xlsx"
    path.write_bytes(data)
    with pytest.raises(FormatError, match="damaged"):
        pp.read(path)


def test_thousands_of_parts_are_refused(tmp_path):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for i in range(2500):
            archive.writestr(f"xl/{i}.xml", "<a/>")
    path = tmp_path / "parts.xlsx"
    path.write_bytes(packed.getvalue())
    with pytest.raises(FormatError, match="2500 parts"):
        pp.read(path)

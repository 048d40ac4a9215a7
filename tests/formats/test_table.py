"""Tables for spreadsheets and programs."""

import csv
import json

import numpy as np
import openpyxl
import pandas as pd
import pytest

from pushproof.errors import FormatError
from pushproof.formats.table import write_table
from pushproof.interpretation import bands, interpret
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding
from pushproof.processing import process


@pytest.fixture
def derived():
    length = np.arange(1.0, 3.0, 0.02)
    qc = 500 + 100 * length
    qc[5] = np.nan
    return interpret(process(Sounding("T-1", Series({"length": length, "qc": qc, "fs": qc / 50}))))


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".parquet", ".json"])
def test_same_interpretation_same_bytes(derived, tmp_path, suffix):
    write_table(derived, tmp_path / f"a{suffix}")
    write_table(derived, tmp_path / f"b{suffix}")
    assert (tmp_path / f"a{suffix}").read_bytes() == (tmp_path / f"b{suffix}").read_bytes()
    assert not list(tmp_path.glob("*.part"))


def test_csv_has_headings_with_units_and_says_what_was_assumed(derived, tmp_path):
    write_table(derived, tmp_path / "t.csv")
    lines = (tmp_path / "t.csv").read_text(encoding="utf-8").splitlines()
    notes = [line for line in lines if line.startswith("#")]
    assert any(line.startswith("# assumed: water level at ground level") for line in notes)
    assert any("estimates for the judgement" in line for line in notes)
    assert any(line.startswith("# method of Ic: Ic_robertson_wride_1998") for line in notes)
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert len(rows) == 100
    assert rows[0]["qc [MPa]"] == "0.600"
    assert rows[5]["qc [MPa]"] == rows[5]["Ic [-]"] == ""


def test_xlsx_opens_with_values_and_notes(derived, tmp_path):
    write_table(derived, tmp_path / "t.xlsx")
    book = openpyxl.load_workbook(tmp_path / "t.xlsx")
    values = list(book["values"].values)
    assert values[0][:2] == ("l [m]", "qc [MPa]")
    assert values[1][:2] == ("length", "qc")
    assert values[2][1] == pytest.approx(0.6)
    assert len(values) == 102
    assert ("sounding", "T-1") in list(book["about"].values)


def test_parquet_and_json_hold_the_same_numbers(derived, tmp_path):
    write_table(derived, tmp_path / "t.parquet")
    write_table(derived, tmp_path / "t.json")
    frame = pd.read_parquet(tmp_path / "t.parquet")
    document = json.loads((tmp_path / "t.json").read_text(encoding="utf-8"))
    column = document["columns"]["Ic"]
    ic = np.array(column["values"], dtype=float)
    np.testing.assert_array_equal(frame[column["heading"]].to_numpy(), ic)
    np.testing.assert_array_equal(ic, derived.series["Ic"])


def test_unknown_suffix_names_the_known_ones(derived, tmp_path):
    with pytest.raises(FormatError, match=r"known: \.csv, \.json, \.parquet, \.xlsx"):
        write_table(derived, tmp_path / "t.doc")


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".parquet", ".json"])
def test_bands_stand_beside_their_column_with_what_they_rest_on(derived, tmp_path, suffix):
    found = bands(derived, keys=["Vs", "k"])
    path = tmp_path / f"t{suffix}"
    write_table(derived, path, found)
    if suffix == ".json":
        document = json.loads(path.read_text(encoding="utf-8"))
        columns = {key: one["values"] for key, one in document["columns"].items()}
        notes = [(one["label"], one["text"]) for one in document["about"]]
    elif suffix == ".xlsx":
        book = openpyxl.load_workbook(path)
        rows = list(book["values"].values)
        columns = {key: [row[i] for row in rows[2:]] for i, key in enumerate(rows[1])}
        notes = list(book["about"].values)
    elif suffix == ".parquet":
        frame = pd.read_parquet(path)
        columns = {"Vs.p10": frame["Vs p10 [m/s]"], "k.p90": frame["k p90 [m/s]"]}
        columns["Vs"] = frame["Vs [m/s]"]
        notes = []
    else:
        lines = path.read_text(encoding="utf-8").splitlines()
        keys = next(line for line in lines if line.startswith("# keys: "))[8:].split(",")
        rows = list(csv.reader(line for line in lines if not line.startswith("#")))[1:]
        columns = {k: [float(r[i]) if r[i] else None for r in rows] for i, k in enumerate(keys)}
        notes = [tuple(line[2:].split(": ", 1)) for line in lines if line.startswith("# band")]
    last = len(derived) - 1
    assert float(columns["Vs.p10"][last]) == pytest.approx(found["Vs"].p10[last], abs=0.51)
    assert float(columns["Vs.p10"][last]) < float(columns["Vs"][last])
    assert float(columns["k.p90"][last]) == pytest.approx(found["k"].p90[last], rel=1e-3)
    if notes:
        assert any(label == "band of Vs" and "20 to 30 %" in text for label, text in notes)

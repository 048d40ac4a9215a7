"""Writing GEF-CPT: identical on reading back, lines of the source taken over, losses told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.formats.gef import GefFormat
from pushproof.model.equipment import Cone
from pushproof.model.series import Series
from pushproof.model.sounding import Location, Sounding, StopReason
from pushproof.testing import sample
from pushproof.testing.formats import FormatContract

HERE = Path(__file__).parent
GIVEN = {"producer": "Maker Ltd", "issue_date": "2031-05-02"}


class TestContract(FormatContract):
    def make(self):
        return GefFormat()

    def plain(self):
        return HERE / "plain.gef"

    def given(self):
        return {**GIVEN, "length": "depth"}


def header(path):
    """An independent look at the header: lines as they stand."""
    text = path.read_text(encoding="utf-8")
    return text[: text.index("#EOH=")].splitlines()


@pytest.mark.shared
@pytest.mark.parametrize("name", ["CPT000000038871_IMBRO_A", "CPT000000157983_IMBRO"])
def test_real_files_keep_their_values_as_text_and_their_lines(name, shared_data, tmp_path):
    source = shared_data / "bro" / f"{name}.gef"
    path = tmp_path / "a.gef"
    pp.write(pp.read(source), path, issue_date="2031-05-02")
    old, new = (one.read_text(encoding="utf-8").split("#EOH=")[1] for one in (source, path))
    rows = zip(old.split("\n")[1:], new.split("\n")[1:], strict=False)
    compared = 0
    for before, after in rows:
        fields = [f.strip() for f in before.strip().rstrip("!").rstrip(";").split(";")]
        for one, two in zip(fields, after.split(), strict=False):
            if float(two) < -9999:
                assert set(one) <= set("9.")  # each column of these files has its own void
            else:
                assert float(one) == float(two)
            compared += 1
    assert compared > 7000
    kept = set(header(path))
    for line in header(source):
        if line.startswith(("#MEASUREMENTTEXT= 1", "#MEASUREMENTVAR= 12", "#COMPANYID")):
            assert line in kept


def test_the_children_stand_beside(tmp_path):
    path = tmp_path / "a.gef"
    found = pp.read(HERE / "plain.gef")
    written = pp.write(found, path, **GIVEN)
    assert [one.name for one in written.paths] == ["a.gef", "a_dis1.gef"]
    assert any("a_dis1.gef" in line for line in header(path))
    assert "GEF-DISS-Report" in (tmp_path / "a_dis1.gef").read_text()
    assert pp.read(path).dissipations[0].depth == found.dissipations[0].depth


def test_one_file_holds_one_sounding(tmp_path):
    both = [sample("short"), sample("no-u2")]
    with pytest.raises(FormatError, match="holds one sounding, not 2"):
        pp.write(both, tmp_path / "a.gef", **GIVEN)
    assert len(pp.write(both, tmp_path, "gef", **GIVEN).paths) >= 2


def test_depth_is_no_length_without_saying_so(tmp_path):
    readings = Series({"depth": np.array([1.0, 2.0]), "qc": np.array([1.0, 2.0])})
    one = Sounding("A", readings)
    lacking = {m.field for m in pp.missing(one, "gef", **GIVEN) if m.required}
    assert lacking == {"length"}
    pp.write(one, tmp_path / "a.gef", length="depth", **GIVEN)
    assert "#COMMENT= the penetration length is the depth" in (tmp_path / "a.gef").read_text()


def test_a_void_is_no_value_of_its_column(tmp_path):
    readings = Series(
        {
            "length": np.array([1.0, 2.0, 3.0]),
            "qc": np.array([-99999.0, np.nan, 2.0]) * 1000,
        }
    )
    path = tmp_path / "a.gef"
    pp.write(Sounding("A", readings), path, **GIVEN)
    assert pp.read(path).readings["qc"].tolist()[::2] == [-99999000.0, 2000.0]
    assert np.isnan(pp.read(path).readings["qc"][1])


def test_reference_systems(tmp_path):
    readings = Series({"length": np.array([1.0]), "qc": np.array([1.0])})
    for crs, datum, lines in (
        ("EPSG:28992", "NAP", ["#XYID= 31000, 100.000, 200.500", "#ZID= 31000, 1.000"]),
        ("EPSG:27700", "Newlyn", ["#XYID= 0, 100.000, 200.500", "#ZID= 0, 1.000"]),
        ("GEF system 32000", None, ["#XYID= 32000, 100.000, 200.500", "#ZID= 0, 1.000"]),
    ):
        place = Location(x=100, y=200.5, crs=crs, level=1.0, datum=datum)
        path = tmp_path / "a.gef"
        pp.write(Sounding("A", readings, location=place), path, overwrite=True, **GIVEN)
        assert set(lines) <= set(header(path))
        again = pp.read(path).location
        assert (again.crs, again.datum) == (crs, datum)


def test_an_uncertain_code_is_not_written(tmp_path):
    one = replace(sample("short"), stop_reason=StopReason.THRUST)
    path = tmp_path / "a.gef"
    pp.write(one, path, **GIVEN)
    text = path.read_text()
    assert "#MEASUREMENTVAR= 17" not in text
    assert "#COMMENT= the push ended by: maximum push force" in text
    assert any("stop" in loss.keys for loss in pp.losses(one, "gef", **GIVEN))


def test_texts_with_commas_are_told():
    readings = Series({"length": np.array([1.0]), "qc": np.array([1.0])})
    one = Sounding("A", readings, client="Asker, Ltd", cone=Cone(model='C "1"'))
    (loss,) = [o for o in pp.losses(one, "gef", **GIVEN) if "commas" in o.what]
    assert loss.keys == ("client", "model")


def test_results_are_marked(tmp_path):
    results = pp.interpret(pp.process(sample("clay-over-sand")))
    path = tmp_path / "a.gef"
    pp.write(results, path, **GIVEN)
    text = path.read_text()
    assert "estimates for the judgement" in text
    again = pp.read(path).readings
    assert again["qt"] == pytest.approx(results.series["qt"], abs=0.5, nan_ok=True)
    assert again["sigma_v0"] == pytest.approx(results.series["sigma_v0"], abs=0.1, nan_ok=True)

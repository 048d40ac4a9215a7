"""Writing DIGGS 2.6, judged by pydiggs: schema, dictionary, Schematron and context, offline."""

from __future__ import annotations

import contextlib
import io
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from pydiggs import validator

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.model.series import Series
from pushproof.model.sounding import Location, Sounding
from pushproof.testing import SAMPLES, sample

GIVEN = {"project": "Moss", "issue_date": "2031-05-02"}
PLACE = {"x": 1000.5, "y": 2000, "crs": "EPSG:27700"}


def faults(path):
    """What the checker says against a file; empty if all four checks pass."""
    checker = validator(str(path), output_log=False)
    told = io.StringIO()
    with contextlib.redirect_stdout(told):
        passed = {
            "schema": checker.schema_check(),
            "dictionary": checker.dictionary_check(),
            "schematron": checker.schematron_check(),
            "context": checker.context_check(),
        }
    if all(passed.values()):
        return ""
    return f"{passed}: {told.getvalue()[:2000]}"


def test_the_checker_can_fail(tmp_path):
    path = tmp_path / "a.xml"
    pp.write(sample("short"), path, "diggs", **GIVEN, **PLACE)
    text = path.read_text()
    for old, new in (
        ("<totalMeasuredDepth", "<totalDepth"),
        ("#tip_resistance", "#colour"),
        ("<uom>MPa</uom>", "<uom>s</uom>"),
    ):
        assert old in text
        bad = text.replace(old, new).replace("</totalMeasuredDepth", "</totalDepth")
        path.write_text(bad if "total" in new else text.replace(old, new))
        assert faults(path)


@pytest.mark.parametrize("name", sorted(set(SAMPLES) - {"deep"}))
def test_samples_pass(name, tmp_path):
    path = tmp_path / "a.xml"
    pp.write(sample(name), path, "diggs", **GIVEN, **PLACE)
    assert faults(path) == ""


@pytest.mark.shared
@pytest.mark.slow
@pytest.mark.timeout(600)
def test_every_real_sounding_passes(shared_data, tmp_path):
    from formats.real_files import real_files
    from formats.test_round_trips import OPTIONS
    from pushproof.formats.contract import sounding_of
    from pushproof.formats.fields import FIELDS

    count = 0
    for source in real_files(shared_data):
        for one in pp.read_all(source):
            path = tmp_path / f"{count}.xml"
            given = {k: v for k, v in OPTIONS["diggs"].items() if k not in FIELDS}
            for _ in range(2):
                lacks = [m.field for m in pp.missing(one, "diggs", **given) if m.required]
                given |= {name: OPTIONS["diggs"][name] for name in lacks}
            pp.write(one, path, "diggs", **given)
            assert faults(path) == "", f"{source.name} {sounding_of(one).name}"
            count += 1
    assert count >= 28


@pytest.mark.shared
def test_a_real_sounding_passes_with_its_test(shared_data, tmp_path):
    path = tmp_path / "a.xml"
    one = pp.read(shared_data / "bro" / "CPT000000155283.xml")
    pp.write(one, path, "diggs", **GIVEN)
    assert faults(path) == ""
    root = ET.parse(path).getroot()
    times = root.findall(".//{http://diggsml.org/schemas/2.6}timeIntervalList")
    assert [len(t.text.split()) for t in times] == [len(one.dissipations[0].readings)]


def test_results_go_where_the_dictionary_has_their_relation(tmp_path):
    results = pp.interpret(pp.process(sample("clay-over-sand")))
    path = tmp_path / "a.xml"
    pp.write(results, path, "diggs", **GIVEN, **PLACE)
    assert faults(path) == ""
    text = path.read_text()
    assert "cpt_interpreted_properties.xml#su_nkt" in text
    assert "estimates for the judgement" in text
    again = pp.read(path).readings
    assert again["qt"] == pytest.approx(results.series["qt"], abs=0.5, nan_ok=True)


def test_several_soundings_in_one_document(tmp_path):
    path = tmp_path / "a.xml"
    place = Location(x=1, y=2, crs="EPSG:27700", level=5.5, datum="EPSG:5701")
    readings = Series({"length": np.array([1.0, 2.0]), "qc": np.array([1.0, np.nan])})
    both = [Sounding(name, readings, location=place, project="P") for name in ("A & B", "<C>")]
    pp.write(both, path, "diggs", issue_date="2031-05-02")
    assert faults(path) == ""
    again = pp.read_all(path)
    assert [one.name for one in again] == ["A & B", "<C>"]
    assert (again[0].location.level, again[0].location.datum) == (5.5, "EPSG:5701")
    assert np.isnan(again[1].readings["qc"][1])


def test_what_diggs_requires_is_asked_for(tmp_path):
    readings = Series({"depth": np.array([1.0]), "qc": np.array([1.0])})
    one = Sounding("A", readings)
    lacks = {m.field for m in pp.missing(one, "diggs") if m.required}
    assert lacks == {"x", "y", "project", "along"}
    grid = Sounding("A", readings, location=Location(x=1, y=2, crs="site grid"))
    lacks = {m.field for m in pp.missing(grid, "diggs", project="P", along="depth") if m.required}
    assert lacks == {"crs"}
    with pytest.raises(FormatError, match="project"):
        pp.write(one, tmp_path / "a.xml", "diggs")
    with pytest.raises(FormatError, match="2"):
        pp.write(
            [sample("short"), Sounding("B", readings, project="other")],
            tmp_path / "a.xml",
            "diggs",
            along="depth",
        )

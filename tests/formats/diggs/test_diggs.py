"""DIGGS: plain documents of both editions, and the official samples."""

import csv
import io
import re
from pathlib import Path

import numpy as np
import pytest
from lxml import etree

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.formats.diggs import DiggsFormat
from pushproof.model.series import Reason
from pushproof.model.sounding import WaterOrigin
from pushproof.testing.formats import FormatContract

HERE = Path(__file__).parent
EDITIONS = ["plain_2.6.xml", "plain_3.xml"]
TSF = 2 * 4.4482216152605 / 0.3048**2
PSI = 4.4482216152605 / 0.0254**2 / 1000


GIVEN = {
    "project": "Moss",
    "x": "1000",
    "y": "2000.5",
    "crs": "EPSG:26911",
    "issue_date": "2031-05-02",
    "along": "depth",
}


class TestEdition2(FormatContract):
    def make(self):
        return DiggsFormat()

    def plain(self):
        return HERE / "plain_2.6.xml"

    def given(self):
        return GIVEN


class TestEdition3(TestEdition2):
    def plain(self):
        return HERE / "plain_3.xml"


def ids(sounding):
    return [finding.id for finding in sounding.findings]


@pytest.mark.parametrize("name", EDITIONS)
def test_the_plain_documents_are_valid(name):
    """By the schemas of the DIGGS body, as its own package ships them."""
    from pydiggs import validator

    checker = validator(instance_path=str(HERE / name), output_log=False)
    assert checker.schema_check() is True
    assert checker.dictionary_check() is True


def test_plain_document_with_all_it_says():
    s = pp.read(HERE / "plain_2.6.xml")
    assert (s.name, s.project, s.client, s.operator) == (
        "MX-1", "Moss crossing", "Nobody Ltd", "A. N. Other"
    )  # fmt: skip
    assert s.readings["length"].tolist() == [1, 1.05, 1.1, 1.15, 1.2]
    assert s.readings["qc"] == pytest.approx([810, 840, 905, 920, 990])
    assert s.readings["fs"][1:] == pytest.approx([12.5, 13.1, 13.4, 14])
    assert s.readings.reason("fs")[0] == Reason.VOID_IN_FILE
    assert s.readings.quantity("conductivity").unit == "mS/m"
    place = s.location
    assert (place.x, place.y, place.crs) == (500000.25, 4100000.5, "EPSG:26911")
    assert (place.level, place.datum) == (12.5, "EPSG:5703")
    assert (s.cone.serial, s.cone.model, s.cone.area_ratio) == ("K-77", "made-up cone", 0.8)
    assert s.cone.tip_area == pytest.approx(15e-4)
    assert s.cone.sleeve_area == pytest.approx(225e-4)
    assert (s.cone.tip_to_mid_sleeve, s.cone.filters) == (pytest.approx(0.1), ("u2",))
    assert (s.water.level, s.water.origin) == (0.9, WaterOrigin.STATED)
    assert (s.predrilled, s.removed[0].description) == (0.8, "hand dug pit")
    assert s.rig.name == "truck 4"
    assert s.started.isoformat() == "2031-04-02T09:30:00-08:00"
    (test,) = s.dissipations
    assert (test.depth, test.readings["time"].tolist()) == (1.15, [0, 10, 60, 240])
    assert test.readings["u2"].tolist() == [111, 98.5, 70.25, 12]
    told = {i.key: i.value for i in test.header if i.key.startswith("reported")}
    assert told == {"reported t50 [s]": "95.5", "reported u50 [kPa]": "61.5"}
    assert s.findings == ()


def test_feet_tons_and_minutes_of_edition_3():
    s = pp.read(HERE / "plain_3.xml")
    assert s.readings["length"] == pytest.approx(np.array([3.2, 3.4, 3.6, 3.8, 4]) * 0.3048)
    assert s.readings["qc"] == pytest.approx(np.array([8.1, 8.4, 9.05, 9.2, 9.9]) * TSF)
    assert s.predrilled == pytest.approx(3 * 0.3048)
    (test,) = s.dissipations
    assert test.depth == pytest.approx(3.8 * 0.3048)
    assert test.readings["time"].tolist() == [0, 30, 60, 240]
    assert test.readings["u2"] == pytest.approx(np.array([16.5, 14.1, 10, 2]) * PSI)
    assert test.readings["qc"] == pytest.approx(np.array([9.2, 8.8, 8.7, 8.6]) * TSF)
    assert s.findings == ()


def test_latitude_and_longitude_and_heights_in_feet(tmp_path):
    text = (HERE / "plain_2.6.xml").read_text(encoding="utf-8")
    text = text.replace("0.1:26911_5703", "0.1:4326_6360")
    path = tmp_path / "degrees.xml"
    path.write_text(text.replace("500000.25 4100000.5 12.5<", "37.1 -122.5 41<"), encoding="utf-8")
    place = pp.read(path).location
    assert (place.latitude, place.longitude, place.x) == (37.1, -122.5, None)
    assert place.level == pytest.approx(41 * 1200 / 3937)
    path.write_text(text.replace("500000.25 4100000.5 12.5<", "-122.5 37.1 41<"), encoding="utf-8")
    swapped = pp.read(path)
    assert (swapped.location.latitude, swapped.location.longitude) == (37.1, -122.5)
    assert "axes-swapped" in ids(swapped)


def test_a_finding_names_the_line_of_its_row():
    path = HERE / "zoo" / "field-not-a-number.xml"
    (finding,) = [f for f in pp.read(path).findings if f.id == "field-unreadable"]
    assert "9.o5" in path.read_text(encoding="utf-8").splitlines()[finding.line - 1]


def test_other_tests_alone_are_not_a_sounding(tmp_path):
    text = (HERE / "plain_2.6.xml").read_text(encoding="utf-8")
    text = re.sub(r"  <measurement>.*</measurement>\n", "", text, flags=re.DOTALL)
    path = tmp_path / "none.xml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FormatError, match="no cone test with readings"):
        pp.read(path)


def plain_parse(path):
    """Depths, headings and rows of the first test: lxml and csv, nothing of ours."""
    root = etree.parse(path).getroot()
    test = root.find(".//{*}Test")
    depths = [float(z) for z in test.find(".//{*}MultiPointLocation//{*}posList").text.split()]
    values = test.find(".//{*}outcome//{*}dataValues")
    rows = list(csv.reader(io.StringIO("\n".join(values.text.split()))))
    names = [e.text for e in test.findall(".//{*}outcome//{*}propertyName")]
    return depths, names, np.array(rows, dtype=float)


@pytest.mark.shared
def test_official_sample_agrees_with_an_independent_parse(shared_data):
    # DIGGS sample instance, MPL 2.0; what it holds is in SOURCES.md.
    path = shared_data / "diggs" / "cptu_with_dissipation_2.6.xml"
    s = pp.read(path)
    depths, names, rows = plain_parse(path)
    assert (len(s.readings), len(depths), len(rows)) == (1400, 1400, 1400)
    assert s.readings["length"].tolist() == depths
    factors = {"qc (bar)": ("qc", 100), "qt (bar)": ("qt", 100), "fs (bar)": ("fs", 100),
               "u (kPa)": ("u2", 1), "Rf (%)": ("Rf", 1)}  # fmt: skip
    assert set(names) == set(factors)
    for i, name in enumerate(names):
        key, factor = factors[name]
        np.testing.assert_allclose(s.readings[key], rows[:, i] * factor, rtol=1e-12)
    assert (s.cone.area_ratio, s.cone.tip_area) == (0.8, pytest.approx(0.0015))
    (test,) = s.dissipations
    root = etree.parse(path).getroot()
    times = root.find(".//{*}timeIntervalList").text.split()
    pressures = root.find(".//{*}PpdResultSet/{*}dataValues").text.split()
    assert test.depth == 32.48
    assert test.readings["time"].tolist() == [float(t) for t in times]
    assert test.readings["u2"].tolist() == [float(u) for u in pressures]
    assert (len(times), pressures[0], pressures[-1]) == (361, "849.8", "95.0")
    told = {i.key: i.value for i in test.header if i.key.startswith("reported")}
    assert told == {
        "reported pore_pressure_equil [kPa]": "94.1",
        "reported water_depth_calc [m]": "22.9",
        "reported u50 [kPa]": "471.8",
        "reported t50 [s]": "40.1",
        "reported coef_consolidation_horiz [cm2/min]": "17.5",
    }
    assert ids(s).count("unit-from-name") == 2
    assert {"property-index-odd", "sounding-not-named"} <= set(ids(s))


@pytest.mark.shared
def test_official_sample_with_a_wrong_unit_is_reported_not_repaired(shared_data):
    path = shared_data / "diggs" / "unit_trap_2.6.xml"
    s = pp.read(path)
    depths, _, rows = plain_parse(path)
    assert s.readings["length"].tolist() == depths
    rows[rows == 9999] = np.nan
    for i, key in enumerate(("qc", "fs", "Rf", "u1")):
        np.testing.assert_allclose(s.readings[key], rows[:, i], rtol=1e-12)
    assert {"qc-unit-doubtful", "fs-unit-doubtful"} <= set(ids(s))
    assert (s.predrilled, s.water.level) == (0.15, 5.2)

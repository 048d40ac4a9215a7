"""AGS 4, 3 and older: plain files, odd ones, broken ones, and the real ones."""

import copy
import importlib.util
from pathlib import Path

import numpy as np
import pytest

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.formats.ags import Ags3Format, Ags4Format
from pushproof.model.series import Reason
from pushproof.model.sounding import StopReason
from pushproof.testing.formats import FormatContract
from real import ags3, ags4, column

_spec = importlib.util.spec_from_file_location("made_ags", Path(__file__).with_name("make.py"))
make = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(make)


class TestContract4(FormatContract):
    @pytest.fixture(autouse=True)
    def _file(self, tmp_path_factory):
        self.path = tmp_path_factory.mktemp("ags") / "plain.ags"
        self.path.write_bytes(make.edition_4().encode())

    def make(self):
        return Ags4Format()

    def given(self):
        return make.GIVEN

    def plain(self):
        return self.path


class TestContract3(TestContract4):
    @pytest.fixture(autouse=True)
    def _file(self, tmp_path_factory):
        self.path = tmp_path_factory.mktemp("ags") / "plain.ags"
        self.path.write_bytes(make.EDITION_3.encode())

    def make(self):
        return Ags3Format()


def ids(sounding):
    return [finding.id for finding in sounding.findings]


@pytest.fixture
def write(tmp_path):
    def _write(text, name="odd.ags", encoding="utf-8"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return path

    return _write


@pytest.fixture
def groups():
    return copy.deepcopy(make.GROUPS)


def test_plain_edition_4_with_all_it_says(write):
    s, other = pp.read_all(write(make.edition_4()))
    assert (s.name, other.name) == ("MB-1", "MB-2")
    assert s.readings["qc"] == pytest.approx([410, 432, 455])
    assert s.readings["fs"][1:] == pytest.approx([8.1, 8.6])
    assert s.readings["u2"][:2] == pytest.approx([3.1, 4.2])
    assert s.readings.reason("fs")[0] == Reason.VOID_IN_FILE
    assert "SCPT_PH" in s.readings.extras
    assert (s.location.x, s.location.crs, s.location.level) == (412000.5, "EPSG:27700", 12.34)
    assert (s.location.latitude, s.location.longitude) == (52.6, -1.5)
    assert s.location.datum == "OD Newlyn"
    assert s.cone.tip_area == pytest.approx(1e-3)
    assert s.cone.sleeve_area == pytest.approx(0.015)
    assert (s.cone.serial, s.cone.area_ratio, s.cone.filters) == ("C-77", 0.8, ("u2",))
    assert (s.water.level, s.water.remark) == (1.5, "dip in MB-0")
    assert (s.standard, s.quality_class) == ("ISO 22476-1 class 2", "2")
    assert s.stop_reason is StopReason.THRUST
    assert s.predrilled == 1.2
    assert (s.project, s.place, s.client) == ('The "Moss" line', "Mossby", "Nobody Ltd")
    assert [(e.kind, e.depth, e.text) for e in s.events] == [
        ("note", 1.24, "SCPT_REM: stone, heard")
    ]
    (test,) = s.dissipations
    assert (test.depth, test.readings["time"].tolist()) == (1.26, [0, 10])
    assert test.readings["u2"] == pytest.approx([120, 110])
    assert ("SCDG_T [s]", "258.5") in [(i.key, i.value) for i in test.header]
    assert ("LOCA_ID", "MB-2") not in [(i.key, i.value) for i in s.header]
    assert other.predrilled is None
    assert not other.dissipations


def test_headings_are_read_by_name_and_groups_in_any_order(write, groups):
    headings, units, types, *rows = groups["SCPT"]
    order = [4, 0, 3, 1, 2]
    groups["SCPT"] = [[row[i] for i in order] for row in (headings, units, types, *rows)]
    s = pp.read_all(write(make.edition_4(dict(reversed(groups.items())))))[0]
    assert s.readings["qc"] == pytest.approx([410, 432, 455])


def test_two_pushes_at_one_place_are_two_soundings(write, groups):
    for row in groups["SCPT"][6:8]:
        row[0], row[1] = "MB-1", "2"
    found = pp.read_all(write(make.edition_4(groups)))
    assert [s.name for s in found] == ["MB-1/1", "MB-1/2"]
    assert [s.readings["qc"].tolist() for s in found] == [
        pytest.approx([410, 432, 455]), pytest.approx([5100, 5200])
    ]  # fmt: skip


def test_numbers_that_look_like_a_void_stay_and_are_reported(write, groups):
    groups["SCPT"][4][5] = "-9999"
    s = pp.read_all(write(make.edition_4(groups)))[0]
    assert s.readings["u2"][1] == pytest.approx(-9999000)
    assert "void-suspected" in ids(s)


def test_unknown_and_missing_units_are_reported(write, groups):
    groups["SCPT"][1][3:5] = ["furlong", ""]
    s = pp.read_all(write(make.edition_4(groups)))[0]
    assert s.readings["qc"] == pytest.approx([410, 432, 455])
    assert s.readings["fs"][1] == pytest.approx(8100)  # the dictionary of edition 4 says MPa
    assert [i for i in ids(s) if i.startswith("unit-")] == ["unit-unknown", "unit-not-stated"]
    assert "fs-out-of-range" in ids(s)  # 8.1 taken as MPa is more than any sleeve has felt


@pytest.mark.parametrize("encoding", ["utf-8-sig", "cp1252", "iso-8859-1"])
def test_encodings(write, groups, encoding):
    groups["PROJ"][3][2] = "Mossbyøya"
    assert pp.read_all(write(make.edition_4(groups), encoding=encoding))[0].place == "Mossbyøya"


def test_line_ends_and_blank_lines_do_not_matter(write):
    text = make.edition_4(end="\n").replace('"GROUP"', '\n\n"GROUP"')
    assert len(pp.read_all(write(text))) == 2


def test_short_rows_and_open_quotes_are_reported_with_their_line(write):
    text = make.edition_4().replace(',"0.2","",""\r\n', "\r\n")
    s = pp.read_all(write(text))[0]
    assert next(f for f in s.findings if f.id == "row-width").line
    text = make.edition_4().replace('"stone, heard"', '"stone, heard')
    assert "quotes-unbalanced" in ids(pp.read_all(write(text))[0])


def test_rows_that_cannot_be_placed_are_an_error_with_the_line(write):
    text = make.edition_4()
    with pytest.raises(FormatError, match=r"line \d+: group SCPT has DATA before its HEADING"):
        pp.read_all(write(text.replace('"HEADING","LOCA_ID","SCPG_TESN","SCPT_DPTH"', '"X"')))
    with pytest.raises(FormatError, match=r"no rows of cone readings .* PROJ, TRAN"):
        pp.read_all(write(text.replace('"GROUP","SCPT"', '"GROUP","XXXX"')))
    with pytest.raises(FormatError, match="headings"):
        pp.read_all(write('"GROUP","SCPT"\n"HEADING"' + ',"A"' * 1000 + "\n"))


def test_plain_edition_3_with_continued_lines(write):
    s, other = pp.read_all(write(make.EDITION_3))
    assert (s.name, other.name) == ("OM-1", "OM-2")
    assert s.readings["depth"].tolist() == [0, 0.02, 0.02]
    assert s.readings["qc"] == pytest.approx([99.4, 200, -10])
    assert s.readings["u2"] == pytest.approx([0, -0.012, 1.5])
    assert s.readings.reason("fs")[1] == Reason.UNREADABLE
    assert s.readings["fs"][2] == -3
    assert {"field-unreadable", "date-impossible"} <= set(ids(s))
    assert s.started is None
    assert s.location.level == 3.5
    assert s.cone.serial == "K-5"
    assert ("HOLE_DOOR", "left side") in [(i.key, i.value) for i in s.header]
    assert [(e.kind, e.depth) for e in s.events] == [("dissipation", 0.02)]


def test_edition_of_1994_without_units_says_what_was_taken(write):
    lines = [row for row in make.EDITION_3.split("\r\n") if '"MN/m2"' not in row]
    s = pp.read_all(write("\r\n".join(lines)))[0]
    assert s.readings["qc"][0] == pytest.approx(99.4)
    assert "units-not-stated" in ids(s)


def test_nul_bytes_of_a_lost_sector_cost_their_field_only(write):
    data = make.EDITION_3.encode().replace(b'" 0.2000"', b'" 0.2' + bytes(512) + b'0"')
    s = pp.read_all(write(data))[0]
    assert s.readings.reason("qc")[1] == Reason.UNREADABLE
    assert s.readings["qc"][0] == pytest.approx(99.4)


def test_rows_before_a_heading_are_an_error_with_the_line(write):
    with pytest.raises(FormatError, match="line 2"):
        pp.read_all(write('"**STCN"\n"OM-1","0.1"\n'))
    with pytest.raises(FormatError, match="line 1"):
        pp.read(write('"OM-1","0.1"\n"**STCN"\n'), format="ags3")


@pytest.mark.shared
@pytest.mark.parametrize("name", ["HKZ1-CPT01", "HKZ1-CPT02"])
def test_real_edition_4_agrees_with_a_plain_parse(shared_data, name):
    path = shared_data / "hkz" / f"{name}.ags"
    s = pp.read(path)
    headings, units, rows = ags4(path)
    factors = {"m": 1, "MN/m2": 1000, "kN/m2": 1, "%": 1, "": 1}
    for heading, key in {
        "SCPT_DPTH": "depth", "SCPT_RES": "qc", "SCPT_FRES": "fs", "SCPT_PWP2": "u2",
        "SCPT_FRR": "Rf", "SCPT_QT": "qt", "SCPT_BQ": "Bq",
    }.items():  # fmt: skip
        expected = np.array(column(headings, rows, heading), dtype=float)
        expected *= factors[units[headings.index(heading)]]
        np.testing.assert_allclose(s.readings[key], expected, rtol=1e-12)
    assert (s.cone.area_ratio, s.cone.tip_area) == (0.58, pytest.approx(0.0015))
    assert s.readings["depth"].max() == pytest.approx(50.5, abs=0.5)


@pytest.mark.shared
@pytest.mark.parametrize("name", ["21761_MCP251", "27345_MCP234", "27345_MCP822"])
def test_real_edition_of_1994_agrees_with_a_plain_parse(shared_data, name):
    path = shared_data / "hk" / f"{name}.ags"
    s = pp.read(path)
    headings, rows = ags3(path)
    for heading, key, factor in (
        ("STCN_DPTH", "depth", 1), ("STCN_RES", "qc", 1000), ("STCN_FRES", "fs", 1),
        ("STCN_PWP1", "u1", 1), ("STCN_PWP2", "u2", 1), ("STCN_PWP3", "u3", 1),
    ):  # fmt: skip
        expected = np.array(column(headings, rows, heading), dtype=float) * factor
        if key.startswith("u") and not expected[np.isfinite(expected)].any():
            assert s.readings.missing(key) == {Reason.NOT_MEASURED: len(expected)}
            continue
        np.testing.assert_allclose(s.readings[key], expected, rtol=1e-12)
    if name == "27345_MCP234":
        assert s.readings.missing("fs") == {Reason.UNREADABLE: 140}
        fitted = [key for key in ("u1", "u2", "u3") if s.readings.measured(key)]
        assert fitted == ["u1"]
        assert s.cone.filters == ("u1",)


@pytest.mark.shared
def test_real_edition_3_holds_ten_soundings(shared_data):
    path = shared_data / "bgs" / "C6048.ags"
    found = pp.read_all(path)
    headings, rows = ags3(path)
    assert len(found) == 10
    for s in found:
        own = [row for row in rows if row[0] == s.name]
        for heading, key, factor in (("STCN_DPTH", "depth", 1), ("STCN_RES", "qc", 1000),
                                     ("STCN_FRES", "fs", 1)):  # fmt: skip
            expected = np.array(column(headings, own, heading), dtype=float) * factor
            np.testing.assert_allclose(s.readings[key], expected, rtol=1e-12)

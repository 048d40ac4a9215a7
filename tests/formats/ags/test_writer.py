"""Writing AGS 4, judged by the AGS body's own checker (python-AGS4)."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from python_ags4 import AGS4
from python_ags4 import check as official

import pushproof as pp
from formats.ags import make
from pushproof.errors import FormatError
from pushproof.formats.ags.dictionary import ABBREVIATIONS, EDITIONS, TYPES, UNITS, headings
from pushproof.model.equipment import Cone
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation, Location, Sounding
from pushproof.testing import SAMPLES, sample

GROUPS = ("PROJ", "TRAN", "ABBR", "TYPE", "UNIT", "DICT", "LOCA", "HDPH", "SCPG", "SCPT", "SCPP")
GROUPS += ("SCDG", "SCDT")


def dictionary(edition):
    name = f"Standard_dictionary_v{edition.replace('.', '_')}.ags"
    path = Path(official.__file__).parent / name
    groups, group = {}, None
    for row in csv.reader(path.read_text(encoding="latin-1").splitlines()):
        if row[:1] == ["GROUP"]:
            group = groups.setdefault(row[1], [])
        elif row[:1] == ["HEADING"]:
            names = row[1:]
        elif row[:1] == ["DATA"]:
            group.append(dict(zip(names, row[1:], strict=False)))
    return groups


def faults(path):
    """What the checker reports, but for its summary."""
    found = AGS4.check_file(path)
    return {
        key: value for key, value in found.items() if key not in ("Metadata", "Summary of data")
    }


def written(what, path, **fields):
    return pp.write(what, path, **{**make.GIVEN, **fields})


@pytest.mark.parametrize("edition", EDITIONS)
def test_our_part_of_the_dictionary_is_the_official_one(edition):
    groups = dictionary(edition)
    for name in GROUPS:
        rows = [r for r in groups["DICT"] if r["DICT_GRP"] == name and r["DICT_HDNG"]]
        ours = headings(name, edition)
        assert [r["DICT_HDNG"] for r in rows if r["DICT_HDNG"] in ours] == list(ours)
        for row in rows:
            if "KEY" in row["DICT_STAT"] or "REQUIRED" in row["DICT_STAT"]:
                assert row["DICT_HDNG"] in ours
            if row["DICT_HDNG"] in ours:
                kind, stated = ours[row["DICT_HDNG"]]
                assert row["DICT_DTYP"] == kind
                assert row["DICT_UNIT"].replace("µ", "u") == stated
    if edition == "4.1.1":
        units = {row["UNIT_UNIT"]: row["UNIT_DESC"] for row in groups["UNIT"]}
        assert {key: text for key, text in UNITS.items() if key in units}.items() <= units.items()
        types = {row["TYPE_TYPE"]: row["TYPE_DESC"] for row in groups["TYPE"]}
        assert dict(TYPES).items() <= types.items()
        codes = {(r["ABBR_HDNG"], r["ABBR_CODE"]): r["ABBR_DESC"] for r in groups["ABBR"]}
        assert dict(ABBREVIATIONS).items() <= codes.items()


@pytest.mark.parametrize("name", sorted(SAMPLES))
@pytest.mark.parametrize("own", [False, True])
def test_samples_pass_the_checker(name, own, tmp_path):
    path = tmp_path / "a.ags"
    written(sample(name), path, own_headings=own)
    assert faults(path) == {}


@pytest.mark.shared
@pytest.mark.slow
@pytest.mark.parametrize("own", [False, True])
@pytest.mark.parametrize("edition", EDITIONS)
def test_every_real_sounding_passes_the_checker(edition, own, shared_data, tmp_path):
    from formats.real_files import real_files

    count = 0
    for file in real_files(shared_data):
        found = pp.read_all(file)
        path = tmp_path / f"{file.stem}.ags"
        written(found, path, edition=edition, own_headings=own)
        assert faults(path) == {}, file.name
        count += len(found)
    assert count >= 28


@pytest.mark.shared
def test_real_soundings_pass_the_checker(shared_data, tmp_path):
    """The quick part of the test above: one file of each kind."""
    for name in ("bro/CPT000000155283.xml", "hkz/HKZ1-CPT01.ags", "bgs/C6048.ags"):
        path = tmp_path / "a.ags"
        pp.write(pp.read_all(shared_data / name), path, overwrite=True, **make.GIVEN)
        assert faults(path) == {}, name


@pytest.mark.shared
def test_source_values_are_reproduced_as_text(shared_data, tmp_path):
    """AGS to AGS: every field of SCPT that was written stands as in the source file."""
    source = shared_data / "hkz" / "HKZ1-CPT01.ags"
    path = tmp_path / "a.ags"
    written(pp.read(source), path)
    old, new = (_table(one, "SCPT") for one in (source, path))
    assert len(old["SCPT_RES"][1]) == len(new["SCPT_RES"][1])
    same = 0
    for heading, (unit, texts) in new.items():
        if heading in ("LOCA_ID", "SCPG_TESN") or old[heading][0] != unit:
            continue
        assert texts == old[heading][1], heading
        same += len(texts)
    assert same > 7000


def _table(path, group):
    """An independent parse: heading to unit and texts."""
    rows = list(csv.reader(path.read_text(encoding="latin-1").splitlines()))
    start = rows.index(["GROUP", group])
    names, units = rows[start + 1], rows[start + 2]
    data = []
    for row in rows[start + 3 :]:
        if row[:1] == ["GROUP"]:
            break
        if row[:1] == ["DATA"]:
            data.append(row)
    return {name: (units[i], [row[i] for row in data]) for i, name in enumerate(names) if i}


def test_decimals_are_those_of_the_source_or_of_the_type(tmp_path):
    readings = Series(
        {
            "depth": np.array([0.025, 0.05]),
            "qc": np.array([1234.5, 99.4]),
            "fs": np.array([12.0, np.nan]),
        }
    )
    path = tmp_path / "a.ags"
    written(Sounding("A", readings), path)
    table = _table(path, "SCPT")
    assert table["SCPT_DPTH"] == ("m", ["0.025", "0.050"])
    assert table["SCPT_RES"] == ("MPa", ["1.2345", "0.0994"])
    assert table["SCPT_FRES"] == ("MPa", ["0.0120", ""])
    assert '"TYPE","ID","X","3DP","4DP","4DP"' in path.read_text()


def test_results_stand_in_their_place_with_their_relation(tmp_path):
    results = pp.interpret(pp.process(sample("clay-over-sand")))
    path = tmp_path / "a.ags"
    written(results, path)
    assert faults(path) == {}
    values = _table(path, "SCPP")
    strength = [float(text) for text in values["SCPP_CSU"][1] if text]
    assert strength
    known = results.series["su"]
    assert max(strength) == pytest.approx(np.nanmax(known), abs=0.06)
    assert {text for text in values["SCPP_CSBT"][1] if text} <= {
        "clay", "silt mixture", "sand mixture", "sand", "gravelly sand", "organic soil"
    }  # fmt: skip
    (remark,) = _table(path, "SCPG")["SCPG_REM"][1]
    assert "su by su_nkt" in remark
    assert "estimates" in remark
    assert "Assumed:" in remark
    assert values["SCPP_TOP"][1] == values["SCPP_BASE"][1]


@pytest.mark.shared
def test_results_of_a_dissipation_test_stand_in_scdg(shared_data, tmp_path):
    """The DIGGS body's sample reports t50 40.1 s, u50 471.8 kPa, equilibrium 94.1 kPa."""
    one = pp.read(shared_data / "diggs" / "cptu_with_dissipation_2.6.xml")
    path = tmp_path / "a.ags"
    written(pp.interpret(pp.process(one)), path)
    assert faults(path) == {}
    table = _table(path, "SCDG")
    assert float(table["SCDG_T"][1][0]) == pytest.approx(40.1, rel=0.15)
    assert table["SCDG_DDIS"] == ("%", ["50"])
    assert table["SCDG_CH"][0] == "m2/yr"
    assert float(table["SCDG_CH"][1][0]) > 0
    assert "rigidity index" in table["SCDG_CHMT"][1][0]
    assert "estimate" in table["SCDG_REM"][1][0]
    pp.write(pp.interpret(pp.process(one)), path, overwrite=True, edition="4.0.4", **make.GIVEN)
    assert faults(path) == {}
    assert float(_table(path, "SCDG")["SCDG_CH"][1][0]) == float(table["SCDG_CH"][1][0])


def test_what_is_missing_is_asked_for_by_name(tmp_path):
    found = pp.missing(sample("short"), "ags4")
    needed = {one.field for one in found if one.required}
    assert needed == {"issue", "producer", "status", "recipient", "project_id"}
    with pytest.raises(FormatError, match=r"recipient \(who receives it \(TRAN_RECV\)\)"):
        pp.write(sample("short"), tmp_path / "a.ags", issue=1)
    assert not (tmp_path / "a.ags").exists()
    assert not [one for one in pp.missing(sample("short"), "ags4", **make.GIVEN) if one.required]


def test_losses_say_what_ags_cannot_carry():
    texts = {one.keys: one for one in pp.losses(sample("clay-over-sand"), "ags4")}
    assert ("time",) in texts
    assert ("origin",) in texts
    assert "own_headings=yes" in texts[("time",)].why
    with_own = pp.losses(sample("clay-over-sand"), "ags4", own_headings=True)
    assert not {("time",), ("origin",)} & {one.keys for one in with_own}


def test_rows_of_one_depth_are_told_and_the_first_is_kept(tmp_path):
    depth = np.array([1.0, 1.0, 1.02, np.nan])
    readings = Series({"depth": depth, "qc": np.array([1000.0, 2000.0, 3000.0, 4000.0])})
    (loss,) = [one for one in pp.losses(Sounding("A", readings), "ags4") if one.rows]
    assert (loss.rows, loss.what) == (2, "2 of 4 rows of A")
    path = tmp_path / "a.ags"
    written(Sounding("A", readings), path)
    assert faults(path) == {}
    assert pp.read(path).readings["qc"].tolist() == [1000.0, 3000.0]


def test_length_is_no_depth_without_saying_so(tmp_path):
    readings = Series({"length": np.array([1.0, 2.0]), "qc": np.array([1.0, 2.0])})
    path = tmp_path / "a.ags"
    written(Sounding("A", readings), path)
    assert "SCPT_DPTH is penetration length; no tilt is known" in path.read_text()
    tilted = readings.with_column("tilt", [10.0, 10.0])
    pp.write(Sounding("A", tilted), path, overwrite=True, **make.GIVEN)
    assert "SCPT_DPTH is computed from penetration length and tilt" in path.read_text()
    assert pp.read(path).readings["depth"][1] == pytest.approx(2 * np.cos(np.radians(10)), abs=0.02)


def test_text_that_ags_cannot_hold(tmp_path):
    readings = Series({"depth": np.array([1.0]), "qc": np.array([1.0])})
    test = Dissipation(1.0, Series({"time": np.array([0.0]), "u2": np.array([5.0])}))
    one = Sounding(
        'Bö "1"', readings, cone=Cone(serial='5,"A"\nB'), place="Œ", dissipations=(test,)
    )
    path = tmp_path / "a.ags"
    written(one, path)
    assert faults(path) == {}
    assert path.read_bytes().isascii()
    (loss,) = [o for o in pp.losses(one, "ags4") if "ASCII" in o.what]
    assert loss.keys == ("name", "place", "serial")
    again = pp.read(path)
    assert (again.name, again.cone.serial) == ('Bo "1"', '5,"A" B')
    assert len(again.dissipations) == 1


def test_a_grid_of_its_own_is_explained(tmp_path):
    place = Location(x=155000.12, y=463000.5, crs="EPSG:28992", latitude=52.1, longitude=-5.25)
    readings = Series({"depth": np.array([1.0]), "qc": np.array([1.0])})
    path = tmp_path / "a.ags"
    written(Sounding("A", readings, location=place), path)
    assert faults(path) == {}
    again = pp.read(path).location
    assert (again.x, again.crs, again.longitude) == (155000.12, "EPSG:28992", -5.25)
    assert again.latitude == pytest.approx(52.1, abs=1e-9)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"edition": "4.3"}, "4.0.4, 4.1.1, 4.2"),
        ({"cone_type": "XX"}, "EC, PC, MC, SC"),
        ({"own_headings": "perhaps"}, "yes or no"),
        ({"issue_date": "soon"}, "soon"),
    ],
)
def test_options_that_cannot_be_used(fields, words, tmp_path):
    with pytest.raises(ValueError, match=words):
        written(sample("short"), tmp_path / "a.ags", **fields)


def test_two_soundings_of_one_name_are_refused(tmp_path):
    with pytest.raises(ValueError, match="rename one"):
        written([sample("short"), sample("short")], tmp_path / "a.ags")

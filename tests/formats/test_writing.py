"""Handing over: fields, refusals, atomic writing, several files."""

from __future__ import annotations

import numpy as np
import pytest

import pushproof as pp
from formats.ags.make import GIVEN
from pushproof.errors import FormatError
from pushproof.formats.fields import FIELDS, with_fields
from pushproof.formats.precision import clean, decimals, fixed
from pushproof.formats.writing import file_name, put
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding, StopReason, WaterOrigin
from pushproof.testing import sample

PLAIN = Sounding("A", Series({"depth": np.array([1.0]), "qc": np.array([1.0])}))


def test_a_file_that_is_there_is_not_replaced(tmp_path):
    path = tmp_path / "a.ags"
    pp.write(PLAIN, path, **GIVEN)
    before = path.read_bytes()
    with pytest.raises(FormatError, match="there already"):
        pp.write(sample("short"), path, **GIVEN)
    assert path.read_bytes() == before
    pp.write(sample("short"), path, overwrite=True, **GIVEN)
    assert path.read_bytes() != before
    assert [one.name for one in tmp_path.iterdir()] == ["a.ags"]


def test_all_files_are_put_or_none(tmp_path):
    good, bad = tmp_path / "a.txt", tmp_path / "none" / "b.txt"
    with pytest.raises(FormatError, match="cannot be written"):
        put({good: b"1", bad: b"2"})
    assert list(tmp_path.iterdir()) == []


def test_a_folder_gets_one_file_for_each(tmp_path):
    written = pp.write([sample("short"), sample("no-u2")], tmp_path, "ags4", **GIVEN)
    names = sorted(path.name for path in written.paths)
    assert names == sorted(f"{sample(n).name}.ags" for n in ("short", "no-u2"))
    assert all(path.is_file() for path in written.paths)


def test_what_cannot_be_written_says_what_can(tmp_path):
    with pytest.raises(ValueError, match=r"ags4 \(.ags\)"):
        pp.write(PLAIN, tmp_path / "a.nothing")
    with pytest.raises(ValueError, match="ags4"):
        pp.write(PLAIN, tmp_path / "a.ags", "nothing")
    with pytest.raises(ValueError, match="no sounding"):
        pp.write([], tmp_path / "a.ags", "ags4")


def test_fields_of_a_sounding_fill_and_replace():
    new = with_fields(
        PLAIN,
        {
            "name": "B",
            "tip_area": "15",
            "sleeve_area": "22500 mm2",
            "water_level": "1.5",
            "stop_reason": "Obstacle hit",
            "started": "2031-04-02T09:30",
            "x": "1000.5",
            "y": "2000",
        },
    )
    assert new.cone.tip_area == pytest.approx(0.0015)
    assert new.cone.sleeve_area == pytest.approx(0.0225)
    assert new.water.origin is WaterOrigin.GIVEN
    assert new.stop_reason is StopReason.OBSTACLE
    assert (new.name, new.location.x, new.started.hour) == ("B", 1000.5, 9)
    assert PLAIN.name == "A"


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"tip_area": "many", "x": "?"}, "tip_area: 'many' is no number; x: '\\?' is no number"),
        ({"tip_area": "15 kPa"}, "'kPa' is no unit of it; expected cm2"),
        ({"area_ratio": "7"}, "area_ratio"),
        ({"stop_reason": "tea"}, "known: target depth reached"),
        ({"started": "yesterday"}, "started"),
        ({"client": " "}, "empty"),
    ],
)
def test_fields_that_cannot_be_used(fields, words):
    with pytest.raises(ValueError, match=words):
        with_fields(PLAIN, fields)


def test_an_unknown_field_names_the_known(tmp_path):
    with pytest.raises(ValueError, match=r"unknown field colour.*producer.*area_ratio"):
        pp.missing(PLAIN, "ags4", colour="red")


def test_what_no_two_share_is_not_given_to_two():
    with pytest.raises(ValueError, match="x cannot be the same for 2"):
        pp.missing([PLAIN, sample("short")], "ags4", x=1)


def test_every_field_has_words():
    assert all(one.words for one in FIELDS.values())


def test_names_of_files():
    assert file_name("../x") == "_x"
    assert file_name("  .. ") == "sounding"
    assert file_name('a/b\\c:"d"') == "a_b_c__d_"


def test_decimals_are_found_through_a_change_of_unit():
    chance = np.random.default_rng(5)
    for places in range(7):
        values = np.round(chance.uniform(-90, 90, 4000), places)
        for factor in (1.0, 1000.0, 0.001, 100.0):
            back = (values * factor) / factor
            assert decimals(back) <= places
            assert [float(t) for t in fixed(back, places)] == values.tolist()
    assert decimals([]) == 0
    assert decimals([np.nan], least=2) == 2


def test_clean_takes_the_last_bits_away():
    raw = np.round(np.random.default_rng(6).uniform(0, 90, 5000), 3)
    assert clean(raw * 1000).tolist() == [round(v) for v in (raw * 1000).tolist()]
    odd = np.array([1 / 3, np.pi])
    assert clean(odd).tolist() == odd.tolist()

"""Explanations: every link is worked again from the numbers that are printed."""

import json
import re

import numpy as np
import pytest

import pushproof
from pushproof.equations import find
from pushproof.interpretation import explain, interpret
from pushproof.model.quantities import QUANTITIES, Kind
from pushproof.model.recipe import Factors, Methods, Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Location, Sounding, Water, WaterOrigin
from pushproof.processing import process

# GEC-5 Sec. 4.16 and 7.4: qc 800, u2 350, a 0.8, fs 15, sv 170, u0 78.48 kPa at 10 m.
GEC_5 = Recipe(area_ratio=0.8, gamma_constant=17.0, water_level=2.0, methods=Methods(n="linear"))


def derive(columns, recipe=None, **known):
    columns = {key: np.asarray(values, float) for key, values in columns.items()}
    return interpret(process(Sounding("T", Series(columns), **known), recipe))


def mixed(recipe=None, rows=60, **known):
    """Sand over clay over sand with u2, from 0.5 to 12 m."""
    depth = np.linspace(0.5, 12.0, rows)
    sand = (depth < 4.0) | (depth > 9.0)
    qc = np.where(sand, 6000.0 + 300.0 * depth, 350.0 + 40.0 * depth)
    fs = np.where(sand, 0.006 * qc, 0.03 * qc)
    u2 = np.where(sand, 9.81 * depth, 35.0 * depth)
    known = {"water": Water(level=1.2, origin=WaterOrigin.MEASURED)} | known
    columns = {"length": depth, "qc": qc, "fs": fs, "u2": u2}
    return derive(columns, recipe or Recipe(area_ratio=0.8), **known)


def worked_again(link):
    """Work a link from its inputs by the function of the registry."""
    numbers = {one.name: np.array([np.nan if one.value is None else one.value])
               for one in link.inputs}  # fmt: skip
    with np.errstate(all="ignore"):
        return float(np.atleast_1d(find(link.equation).function(**numbers))[0])


def printed(text):
    """Read number, equation, printed value and printed inputs of every link from the text."""
    links = []
    for line in text.splitlines():
        head = re.match(r"(\d+)\. (\S+) = (\S+).*?(?:\[(\w+)\])?$", line)
        given = re.match(r"       (\w+)\s+(-?[\d.e+-]+|no value)\s", line)
        if head:
            links.append((head[4], head[3], {}))
        elif given and links:
            value = np.nan if given[2] == "no value" else float(given[2])
            links[-1][2][given[1]] = value
    return links


def derived_keys(interpretation):
    series = interpretation.series
    wanted = (Kind.CORRECTED, Kind.STRESS, Kind.DERIVED)
    return [k for k in series if k in QUANTITIES and QUANTITIES[k].kind in wanted]


def check_all(derived, depths):
    """Work again every link of every column at some depths, from the numbers and from the text."""
    seen = 0
    for depth in depths:
        for key in derived_keys(derived):
            one = explain(derived, key, depth, band=False)
            column = derived.series[key][one.row]
            assert (one.value is None) == (not np.isfinite(column)), (key, depth)
            if one.value is None:
                assert one.reason, (key, depth)
                assert one.refused, (key, depth)
                continue
            assert one.links[-1].gives == key or key in [link.gives for link in one.links]
            last = next(link for link in one.links if link.gives == key)
            assert last.value == pytest.approx(column, rel=1e-9), (key, depth)
            for link, (name, value, given) in zip(one.links, printed(one.text), strict=True):
                assert (name or "") == link.equation
                if not link.equation or link.value is None:
                    continue
                again = worked_again(link)
                if link.result is None:
                    assert np.isnan(again)
                    assert link.note, (key, link.gives)
                    continue
                assert again == pytest.approx(link.result, rel=1e-9)
                if not link.note or link.gives == "sigma_v0":
                    assert again == pytest.approx(link.value, rel=2e-4), (key, link.gives)
                    by_text = find(name).function(**{k: np.array([v]) for k, v in given.items()})
                    assert np.atleast_1d(by_text)[0] == pytest.approx(float(value), rel=2e-3)
                seen += 1
    return seen


def test_every_link_of_every_column_can_be_worked_again():
    assert check_all(mixed(), (0.5, 2.0, 3.97, 4.1, 6.0, 8.8, 11.9)) > 800


@pytest.mark.parametrize("field", list(Methods.model_fields))
def test_every_link_can_be_worked_again_for_every_choice(field):
    for choice in Methods.model_fields[field].annotation.__args__:
        recipe = Recipe(area_ratio=0.8, methods=Methods(**{field: choice}))
        assert check_all(mixed(recipe), (2.0, 6.5)) > 100


def test_the_clay_point_of_gec_5_is_explained_with_its_printed_numbers():
    derived = derive({"length": [10.0], "qc": [800], "fs": [15], "u2": [350]}, GEC_5)
    one = explain(derived, "su", 10.0)
    found = {link.gives: link for link in one.links}
    # GEC-5 Sec. 4.16: qt 870, qn 700 kPa; with Nkt 14 su is 50 kPa.
    assert found["qt"].substituted == "qt = 800 kPa + (1 - 0.8) × 350 kPa"
    assert found["qt"].value == pytest.approx(870.0)
    assert found["qn"].substituted == "qn = 870 kPa - 170 kPa"
    assert found["su"].substituted == "su = 700 kPa / 14"
    assert one.display == "50"
    nkt = next(item for item in found["su"].inputs if item.name == "Nkt")
    assert nkt.assumed
    assert any(text.startswith("Nkt = 14") for text in one.assumptions)
    assert "EN 1997-2" in found["su"].source
    assert found["su"].check == "verified"


def test_a_factor_that_was_given_is_not_marked_as_assumed():
    recipe = Recipe(area_ratio=0.8, factors=Factors(Nkt=16.0))
    one = explain(mixed(recipe), "su", 6.0)
    nkt = next(item for item in one.links[-1].inputs if item.name == "Nkt")
    assert (nkt.value, nkt.assumed) == (16.0, False)
    assert not any("Nkt" in text for text in one.assumptions)


def test_a_refusal_names_the_test_and_the_ground():
    one = explain(mixed(), "su", 2.0)
    assert one.value is None
    assert one.reason == "outside the validity of the relation"
    assert "is for clay-like ground; here it is sand-like ground: Ic" in one.refused
    assert [link.gives for link in one.links][-1] == "zone"
    assert one.band is None


def test_a_missing_channel_is_named():
    derived = derive({"length": [4.0, 5.0], "qc": [900.0, 950.0]})
    one = explain(derived, "Ic", 5.0)
    assert one.value is None
    assert "fs (not measured)" in one.refused


def test_a_value_outside_validity_names_the_relation_and_the_numbers():
    derived = derive(
        {"length": [4.0], "qc": [900.0], "fs": [30.0], "u2": [5.0]}, Recipe(area_ratio=0.8)
    )
    one = explain(derived, "phi", 4.0)
    assert one.value is None
    assert "phi_mayne_campanella_2005 gives no value for Bq -" in one.refused
    assert "0.1 <= Bq <= 1" in one.refused


def test_the_nearest_row_is_used_and_said():
    derived = mixed()
    one = explain(derived, "su", 6.06)
    assert one.depth == pytest.approx(derived.series["depth"][one.row])
    assert abs(one.depth - 6.06) <= 0.5 * 11.5 / 59 + 1e-9
    assert f"nearest row, number {one.row + 1}" in one.text


def test_every_wrong_argument_is_named():
    with pytest.raises(ValueError, match=r"no column 'hope'.*the sounding goes from 0.50 to 12.00"):
        explain(mixed(), "hope", 40.0)


def test_open_water_and_a_level_above_ground_are_in_the_sum():
    location = Location(water_depth=5.0)
    derived = mixed(location=location, water=Water(level=-5.0, origin=WaterOrigin.STATED))
    assert check_all(derived, (0.5, 6.0)) > 100
    first = explain(derived, "sigma_v0", 0.5)
    load = next(one for one in first.links[-1].inputs if one.name == "surcharge")
    assert load.value == pytest.approx(5.0 * 9.81)


def test_the_band_stands_in_two_parts_and_only_names_what_is_on_the_way():
    one = explain(mixed(), "K0", 2.0)
    assert one.band is not None
    assert one.band.p10 < one.band.p50 < one.band.p90
    # Sand at 2 m: the relation for clay is not on the way.
    assert "phi_mayne_campanella_2005" not in one.band.unknown
    assert any("phi_kulhawy_mayne_1990" in text for text in one.band.related_by)


def test_an_explanation_is_plain_data():
    document = explain(mixed(), "su", 6.0).to_dict()
    again = json.loads(json.dumps(document, allow_nan=False))
    assert again == document
    assert again["links"][-1]["equation"] == "su_nkt"


@pytest.mark.shared
@pytest.mark.parametrize(
    ("name", "depths"),
    [
        ("bro/CPT000000155283.xml", (0.5, 3.0, 6.4)),
        ("bro/CPT000000157983_IMBRO.gef", (2.7, 7.32, 20.0)),
    ],
)
def test_every_link_of_a_real_sounding_can_be_worked_again(shared_data, name, depths):
    path = shared_data / name
    derived = interpret(process(pushproof.read(path)))
    assert check_all(derived, depths) > 100

"""Design parameters from the profile: which relation, where it holds, what is assumed."""

from typing import get_args

import numpy as np
import pytest

from pushproof.equations import equations
from pushproof.interpretation import interpret
from pushproof.interpretation.steps import chain
from pushproof.model.findings import Severity
from pushproof.model.quantities import QUANTITIES, Kind
from pushproof.model.recipe import Factors, Methods, Recipe
from pushproof.model.series import Reason, Series
from pushproof.model.sounding import Sounding
from pushproof.processing import process

SAND_ROW, CLAY_ROW = 0, 1
SAND = {"phi", "K0", "Dr", "psi", "E", "N1_60"}
CLAY = {"su", "St"}
BOTH = {"M", "Vs", "G0", "k", "FC", "OCR", "sigma_p", "N60"}


def derive(recipe=None, *, u2=True, rows=None):
    """A row of medium dense sand and a row of soft clay, water at 1 m."""
    columns = {
        "length": np.array([5.0, 10.0]),
        "qc": np.array([10000.0, 800.0]),
        "fs": np.array([50.0, 15.0]),
        "u2": np.array([40.0, 350.0]),
    }
    if rows is not None:
        columns = {key: values[rows] for key, values in columns.items()}
    if not u2:
        del columns["u2"]
    changes = {"area_ratio": 0.8, "water_level": 1.0, "gamma_constant": 17.0}
    recipe = (recipe or Recipe()).model_copy(update=changes)
    return interpret(process(Sounding("T", Series(columns)), recipe))


def test_every_quantity_of_the_vocabulary_that_is_derived_is_computed():
    derived = derive()
    keys = {key for key, row in QUANTITIES.items() if row.kind in (Kind.STRESS, Kind.DERIVED)}
    assert keys == set(derived.methods)
    for key in keys:
        assert key in derived.series
        assert np.isfinite(derived.series[key]).any(), key
        for name in derived.relations(key):
            assert name in equations() or name == "constant"


def test_a_relation_for_sand_gives_nothing_in_clay_and_the_other_way_round():
    series = derive().series
    for key in SAND - {"phi", "K0"}:
        assert np.isfinite(series[key][SAND_ROW]), key
        assert np.isnan(series[key][CLAY_ROW]), key
        assert series.reason(key)[CLAY_ROW] == Reason.OUTSIDE_VALIDITY
    for key in CLAY:
        assert np.isfinite(series[key][CLAY_ROW]), key
        assert np.isnan(series[key][SAND_ROW]), key
        assert series.reason(key)[SAND_ROW] == Reason.OUTSIDE_VALIDITY
    for key in BOTH:
        assert np.isfinite(series[key]).all(), key


def test_the_clay_point_of_the_handbook_gives_its_strength():
    # GEC-5: qt 870, sigma_v0 170 kPa; Nkt 12 to 17 gives 58.3 to 41.2 kPa, 14 gives 50 kPa.
    for factor, strength in ((12, 58.3333), (14, 50.0), (17, 41.1765)):
        derived = derive(Recipe(factors=Factors(Nkt=factor)))
        assert derived.series["qt"][CLAY_ROW] == pytest.approx(870)
        assert derived.series["sigma_v0"][CLAY_ROW] == pytest.approx(170)
        assert derived.series["su"][CLAY_ROW] == pytest.approx(strength, abs=1e-4)


def test_sand_by_the_handbook_equation_for_the_friction_angle():
    # UFC 3-220-10 Eq. 8-7 at qt 10008 kPa, sigma_v0_eff 5 x 17 - 4 x 9.81 = 45.76 kPa, by hand.
    derived = derive()
    assert derived.series["sigma_v0_eff"][SAND_ROW] == pytest.approx(45.76)
    assert derived.series["phi"][SAND_ROW] == pytest.approx(41.471, abs=1e-3)


def test_a_factor_is_an_assumption_until_it_is_given():
    assumed = {one.key: one for one in derive().assumptions}
    assert assumed["Nkt"].value == 14.0
    assert "Nkt = 14" in assumed["Nkt"].text
    assert {"Nkt", "Dr_b"} == set(assumed)
    assert assumed["Nkt"].affects == ("su",)
    assert assumed["Nkt"].concerns(["su", "qt"])
    assert not assumed["Nkt"].concerns(["Ic"])
    given = derive(Recipe(factors=Factors(Nkt=15, Dr_b=0.7)))
    assert not given.assumptions


def test_a_factor_reaches_what_rests_on_it():
    recipe = Recipe(methods=Methods(yield_stress="OCR_kulhawy_mayne_1990"))
    assumed = {one.key: one for one in derive(recipe).assumptions}
    assert assumed["OCR_k"].affects == ("OCR", "sigma_p", "K0")


def test_a_factor_that_nothing_used_is_not_listed():
    assert {"Dr_b"} == {one.key for one in derive(rows=[SAND_ROW]).assumptions}
    assert {"Nkt"} == {one.key for one in derive(rows=[CLAY_ROW]).assumptions}


def test_a_factor_model_takes_the_place_of_the_assumed_factor():
    derived = derive(Recipe(methods=Methods(nkt="Nkt_robertson_2012")))
    assert "Nkt" not in {one.key for one in derived.assumptions}
    # 10.5 + 7 log10(2.142857) = 12.817; 700 / 12.817
    assert derived.series["su"][CLAY_ROW] == pytest.approx(54.616, abs=1e-3)


def test_without_pore_pressure_what_needs_it_is_missing_for_that_reason():
    series = derive(u2=False).series
    assert series.reason("Bq").tolist() == [Reason.NOT_MEASURED] * 2
    assert series.reason("phi").tolist() == [Reason.PRESENT, Reason.NOT_MEASURED]
    assert series.reason("K0").tolist() == [Reason.PRESENT, Reason.NOT_MEASURED]
    excess = derive(Recipe(methods=Methods(su="su_ndu")), u2=False).series
    assert excess.reason("su").tolist() == [Reason.OUTSIDE_VALIDITY, Reason.NOT_MEASURED]


def test_a_void_row_says_void_in_every_column():
    columns = {
        "length": np.array([5.0, 6.0, 10.0]),
        "qc": np.array([1e4, np.nan, 8e2]),
        "fs": np.array([50.0, np.nan, 15.0]),
        "u2": np.array([40.0, np.nan, 350.0]),
    }
    derived = interpret(process(Sounding("T", Series(columns)), Recipe(area_ratio=0.8)))
    for key in SAND | CLAY | BOTH | {"Ic", "zone", "group", "Bq", "phi"}:
        assert derived.series.reason(key)[1] == Reason.VOID_IN_FILE, key


def choices():
    for name, one in Methods.model_fields.items():
        for value in get_args(one.annotation):
            yield pytest.param(name, value, id=f"{name}-{value}")


@pytest.mark.parametrize(("name", "value"), list(choices()))
def test_every_choice_of_the_recipe_runs_and_gives_values(name, value):
    recipe = Recipe(methods=Methods(**{name: value}))
    derived = derive(recipe)
    if value in equations():
        steps = [step for step in chain(recipe) if step.equation == value]
        assert steps or name == "gamma"
        for step in steps:
            if step.key in derived.series:
                assert np.isfinite(derived.series[step.key]).any()


@pytest.mark.parametrize("gamma", get_args(Methods.model_fields["gamma"].annotation))
def test_every_relation_for_unit_weight_is_plausible_in_sand_and_clay(gamma):
    columns = {
        "length": np.arange(0.1, 15, 0.1),
        "qc": np.where(np.arange(149) < 70, 800.0, 9000.0),
        "fs": np.where(np.arange(149) < 70, 20.0, 60.0),
    }
    recipe = Recipe(methods=Methods(gamma=gamma))
    derived = interpret(process(Sounding("T", Series(columns)), recipe))
    below = derived.series["gamma"][20:]
    assert (below > 14.0).all()
    assert (below < 21.0).all()
    assert "gamma-not-converged" not in {one.id for one in derived.findings}


def test_the_iterated_unit_weight_agrees_with_its_own_stress():
    columns = {"length": np.arange(1, 200) * 0.1, "qc": np.full(199, 2e3), "fs": np.full(199, 40.0)}
    recipe = Recipe(methods=Methods(gamma="gamma_mayne_2010"), water_level=1.0)
    series = interpret(process(Sounding("T", Series(columns)), recipe)).series
    stress = np.maximum(series["sigma_v0_eff"], 1.0)
    # Mayne et al. 2010, from memory: 1.95 gamma_w (sigma/pa)^0.06 (fs/pa)^0.06
    again = 1.95 * 9.81 * (stress / 100) ** 0.06 * 0.4**0.06
    assert series["gamma"] == pytest.approx(np.clip(again, 10, 24), abs=0.01)


def test_transitional_sensitive_and_organic_ground_is_flagged():
    columns = {
        "length": np.array([4.0, 7.0, 8.0]),
        "qc": np.array([1500.0, 300.0, 250.0]),
        "fs": np.array([35.0, 3.0, 14.0]),
    }
    recipe = Recipe(gamma_constant=17.0)
    derived = interpret(process(Sounding("T", Series(columns)), recipe))
    found = {one.id: one for one in derived.findings}
    assert found["ground-transitional"].top == 4.0
    assert found["ground-sensitive"].top == 7.0
    assert found["ground-organic"].top == 8.0
    for name in ("ground-transitional", "ground-sensitive", "ground-organic"):
        assert found[name].severity is Severity.INFO
        assert "1 row (33% of all)" in found[name].found


def test_factors_survive_the_way_through_a_file():
    recipe = Recipe(factors=Factors(Nkt=16))
    again = Recipe.model_validate(recipe.model_dump(mode="json"))
    assert again == recipe
    assert again.factors.given("Nkt")
    assert not again.factors.given("Ndu")

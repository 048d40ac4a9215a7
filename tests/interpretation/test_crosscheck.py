"""Observations against relations, and factors fitted: by hand, and by scipy."""

import json
import math
import subprocess
import sys

import numpy as np
import openpyxl
import pytest
from scipy import stats

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.formats.observations import read_observations
from pushproof.formats.recipe import load_recipe
from pushproof.interpretation.crosscheck import fit, misfits
from pushproof.model.observations import Observation
from pushproof.model.recipe import Factors, Methods, Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding, Water, WaterOrigin
from pushproof.sources.rehearsal.export import export_text
from pushproof.testing import sample

TABLE = """kind,top,base,value,words,test,source
su,4.0,,21,,vane,BH-2
su,6.0,,25,,vane,BH-2
su,8.0,,26,,triaxial CIU,BH-2
N60,15,15.3,14,,SPT,BH-2
layer,1.9,8.5,,soft grey clay,,BH-2
water,0,,1.30,,standpipe,BH-2
"""


def even(qt=500.0):
    """One clay of constant net resistance: 17 kN/m3 and no u2, so qn is known by hand."""
    z = np.arange(1.0, 10.0, 0.02)
    columns = {"length": z, "qc": qt + 17.0 * z, "fs": np.full(z.size, 0.025 * qt)}
    water = Water(level=0.0, origin=WaterOrigin.MEASURED)
    recipe = Recipe(gamma_constant=17.0, gamma_predrilled=17.0, factors=Factors(Nkt=14))
    sounding = Sounding("E", Series(columns), water=water)
    return pp.interpret(pp.process(sounding, recipe))


def vane(*pairs):
    return [Observation(kind="su", top=depth, value=value) for depth, value in pairs]


def test_a_fit_worked_by_hand():
    # By hand: qn = 500 kPa at every depth; su of 25, 40 and 50 kPa ask for Nkt of 20, 12.5 and 10.
    # Geometric mean (20 * 12.5 * 10)^(1/3) = 13.572; ln: 2.9957, 2.5257, 2.3026, sd 0.3538;
    # spread 13.572 * 0.3538 = 4.802; standard error 4.802 / sqrt 3 = 2.772.
    found = fit(even(), vane((3.0, 25.0), (5.0, 40.0), (7.0, 50.0)), "Nkt")
    assert found.each == pytest.approx((20.0, 12.5, 10.0), rel=2e-3)
    assert found.value == pytest.approx(13.572, rel=2e-3)
    assert found.spread == pytest.approx(4.802, rel=5e-3)
    assert found.standard_error == pytest.approx(2.772, rel=5e-3)


def test_bias_and_scatter_are_those_of_scipy():
    seen = [25.0, 40.0, 50.0, 31.0]
    depths = [3.0, 4.5, 6.0, 7.5]
    (chosen, *_) = misfits(even(), vane(*zip(depths, seen, strict=True)))
    ratio = np.array(seen) / (500.0 / 14.0)
    assert (chosen.key, chosen.n, chosen.silent, chosen.chosen) == ("su", 4, 0, True)
    assert chosen.bias == pytest.approx(stats.gmean(ratio), rel=2e-3)
    assert chosen.scatter == pytest.approx(math.log(stats.gstd(ratio)), rel=2e-3)


def test_a_fitted_factor_takes_the_bias_away():
    seen = vane((3.0, 25.0), (5.0, 40.0), (7.0, 50.0))
    before = even()
    fitted = fit(before, seen, "Nkt")
    recipe = fitted.into(before.profile.recipe, "R. Viewer")
    after = pp.interpret(pp.process(before.profile.sounding, recipe))
    assert misfits(after, seen)[0].bias == pytest.approx(1.0, abs=1e-3)
    assert recipe.factor_spread == {"Nkt": pytest.approx(4.802, rel=5e-3)}
    assert recipe.author == "R. Viewer"
    band = pp.bands(after, keys=["su"])["su"]
    row = int(np.argmin(np.abs(after.series["depth"] - 5.0)))
    # the spread of the fit is the relation part of the band: 0.354 of ln, p90/p50 = exp(1.2816 sd)
    assert band.p90[row] / band.p50[row] > math.exp(1.2816 * 0.30)


def test_every_published_variant_stands_beside_the_chosen_one():
    derived = pp.interpret(pp.process(sample("clay-over-sand")))
    found = misfits(derived, [Observation(kind="N60", top=15.0, value=14.0)])
    names = set(Methods.model_fields["n60"].annotation.__args__)
    assert {one.relation for one in found} >= names - {derived.profile.recipe.methods.n60}
    assert [one.chosen for one in found] == [True, *[False] * (len(found) - 1)]


def test_where_a_relation_says_nothing_it_is_counted_and_not_guessed():
    derived = pp.interpret(pp.process(sample("clay-over-sand")))
    (sand,) = misfits(derived, vane((15.0, 80.0)), variants=False)
    assert (sand.n, sand.silent) == (0, 1)
    assert math.isnan(sand.bias)
    with pytest.raises(ValueError, match="two are the least"):
        fit(derived, vane((5.0, 20.0)), "Nkt")
    with pytest.raises(ValueError, match="expected one of Nkt"):
        fit(derived, vane((5.0, 20.0)), "Gs")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("kind,top,value\nsu,x,3\n", "line 2.*no number"),
        ("kind,top,value\nsand,2,3\n", "line 2.*expected one of N60"),
        ("kind,top,value\nsu,2,-3\n", "line 2.*above zero"),
        ("kind,top,base,words\nlayer,2,,clay\n", "line 2.*base and words"),
        ("depth,weight\n1,2\n", "headings"),
        ("kind,top\n", "no observation"),
        ("", "empty"),
    ],
)
def test_a_bad_table_names_its_line(tmp_path, text, fault):
    path = tmp_path / "seen.csv"
    path.write_text(text)
    with pytest.raises(FormatError, match=fault):
        read_observations(path)


def test_a_workbook_and_other_separators_read_the_same(tmp_path):
    plain = tmp_path / "a.csv"
    plain.write_text(TABLE)
    other = tmp_path / "b.csv"
    other.write_text(TABLE.replace(",", ";").replace("1.30", "1,30"), encoding="utf-8-sig")
    book = openpyxl.Workbook()
    for line in TABLE.splitlines():
        book.active.append([cell or None for cell in line.split(",")])
    book.save(tmp_path / "c.xlsx")
    expected = read_observations(plain)
    assert len(expected) == 6
    assert read_observations(other) == expected
    assert read_observations(tmp_path / "c.xlsx") == expected


def test_the_command_compares_fits_and_keeps_the_decision(tmp_path):
    source, seen = tmp_path / "HM-1.csv", tmp_path / "seen.csv"
    export_text(sample("clay-over-sand"), source)
    seen.write_text(TABLE)

    def run(*more, code=0):
        command = [sys.executable, "-m", "pushproof", "compare", str(source)]
        command += ["--observations", str(seen), *map(str, more)]
        done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8")
        assert done.returncode == code, done.stderr
        return done

    text = " ".join(run().stdout.split())
    assert "su_nkt" in text
    assert "logged as soft grey clay: " in text
    assert "water level observed at 1.30 m, 1.10 m is used" in text
    document = json.loads(run("--fit", "Nkt", "--json").stdout)
    assert document["fit"]["n"] == 3
    kept = tmp_path / "site.toml"
    assert "--as" in run("--fit", "Nkt", "--save", kept, code=1).stderr
    run("--fit", "Nkt", "--save", kept, "--as", "R. Viewer")
    recipe = load_recipe(kept)
    assert recipe.factors.Nkt == pytest.approx(document["fit"]["value"], abs=1e-3)
    assert recipe.factor_spread["Nkt"] > 0

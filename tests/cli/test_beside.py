"""Files beside a file: decisions that the page saved, and dissipation tests of a GEF."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from typer.testing import CliRunner

import pushproof as pp
from pushproof.cli.app import app
from pushproof.cli.job import Reading, _say_used
from pushproof.formats.recipe import load_recipe
from pushproof.model.corrections import Offset
from pushproof.model.picks import DissipationChoice
from pushproof.model.recipe import Factors, Recipe
from pushproof.store import Job, import_file
from pushproof.store.recipes import FileRecipes, JobRecipes
from pushproof.testing import sample

GEF = Path(__file__).parents[1] / "formats" / "gef"


@pytest.fixture(autouse=True)
def nothing_said_yet():
    _say_used.cache_clear()


def run(*arguments, code=0):
    result = CliRunner().invoke(app, [*map(str, arguments)])
    assert result.exit_code == code, result.output
    return result


@pytest.fixture
def loose(tmp_path):
    path = tmp_path / "HM-1.json"
    pp.write(sample("short"), path)
    return path


def save(path, recipe, part="", based_on=0):
    FileRecipes(path, part).save(recipe, author="A. B.", reason="seen", based_on=based_on)


def test_decisions_beside_a_loose_file_hold_and_options_go_on_top(loose, capsys):
    (bare,) = Reading(Recipe()).decided(loose)
    assert capsys.readouterr().err == ""
    save(loose, Recipe(water_level=3.0, factors=Factors(Nkt=17)))
    ((_, kept),) = Reading(Recipe()).decided(loose)
    ((_, above),) = Reading(Recipe(water_level=0.5)).decided(loose)
    assert bare[1] == Recipe()
    assert (kept.water_level, kept.factors.Nkt) == (3.0, 17)
    assert (above.water_level, above.factors.Nkt) == (0.5, 17)
    # who and why are of the version, not of the recipe, as in a job
    assert not kept.author
    assert capsys.readouterr().err == f"decisions used: {loose.with_suffix('')}.recipe.toml\n"


def test_the_newest_decisions_hold_also_those_edited_by_hand(loose):
    save(loose, Recipe(water_level=3.0))
    save(loose, Recipe(water_level=2.0), based_on=1)
    ((_, kept),) = Reading(Recipe()).decided(loose)
    assert kept.water_level == 2.0
    loose.with_suffix(".recipe.toml").write_text("water_level = 1.25\n", encoding="utf-8")
    ((_, kept),) = Reading(Recipe()).decided(loose)
    assert kept.water_level == 1.25


def test_decisions_of_another_file_do_not_hold(loose):
    save(loose.with_name("HM-10.json"), Recipe(water_level=3.0))
    save(loose, Recipe(water_level=3.0), part="HM-2")
    ((_, kept),) = Reading(Recipe()).decided(loose)
    assert kept == Recipe()


def test_each_sounding_of_a_file_has_its_own(tmp_path):
    path = tmp_path / "site.json"
    pp.write([sample("short"), sample("no-u2")], path)
    first, second = (one.name for one in pp.read_all(path))
    save(path, Recipe(water_level=3.0), part=second)
    found = {one.name: recipe.water_level for one, recipe in Reading(Recipe()).decided(path)}
    assert found == {first: None, second: 3.0}


def test_a_command_uses_them_and_says_so_on_standard_error(loose, tmp_path):
    table = tmp_path / "a.csv"
    run("table", loose, "-o", table)
    before = table.read_text(encoding="utf-8")
    save(loose, Recipe(water_level=9.0))
    result = run("table", loose, "-o", table)
    assert table.read_text(encoding="utf-8") != before
    assert "decisions used:" in result.stderr
    assert "decisions used:" not in result.stdout


def test_a_dissipation_is_worked_out_with_the_picks_kept_beside_its_file_or_in_its_job(tmp_path):
    path, job_path = tmp_path / "HM-1.json", tmp_path / "site.job"
    pp.write(sample("clay-over-sand"), path)
    with Job.create(job_path) as job:
        (name,) = import_file(job, path)
    (before, *_) = json.loads(run("dissipation", path, "--json").stdout)
    pick = DissipationChoice(depth=before["depth"], number=1, u0=before["u0"] + 7)
    save(path, Recipe(dissipations=(pick,)))
    JobRecipes(job_path, name).save(
        Recipe(dissipations=(pick,)), author="A. B.", reason="seen", based_on=0
    )
    for file in (path, job_path):
        (found, *_) = json.loads(run("dissipation", file, "--json").stdout)
        assert found["u0"] == pick.u0
        again = run(
            "dissipation", file, "--test", 1, "--u0", 50, "--reason", "piezometer", "--json"
        )
        assert json.loads(again.stdout)[0]["u0"] == 50


def test_tests_named_beside_their_sounding_are_kept_once(tmp_path):
    files = sorted(GEF.glob("plain*.gef"))
    assert files[0].name == "plain-dis1.gef"
    text = run("import", tmp_path / "a.job", *files).stdout
    assert "plain-dis1.gef: kept with the file that names it" in text
    with Job.open(tmp_path / "a.job") as job:
        assert [one.name for one in job.originals()] == ["plain-dis1.gef", "plain.gef"]
        assert len(job.soundings()) == 1


def test_a_test_without_its_sounding_is_refused_and_the_others_are_kept(tmp_path):
    other = tmp_path / "plain-dis1.gef"
    other.write_bytes((GEF / other.name).read_bytes() + b"\n")
    result = run("import", tmp_path / "b.job", other, GEF / "plain.gef", code=1)
    assert "plain-dis1.gef: this is a dissipation test" in " ".join(result.stderr.split())
    with Job.open(tmp_path / "b.job") as job:
        assert len(job.soundings()) == 1


def test_a_plan_takes_soundings_nearby_as_they_were_decided(loose, tmp_path):
    job_path = tmp_path / "site.job"
    with Job.create(job_path) as job:
        (name,) = import_file(job, loose)

    def ground(path):
        told = run("plan", "--near", path, "--target", 4, "--mass", 8000, "--json")
        return [row["qc_MPa"] for row in json.loads(told.stdout)["along"]], told.stderr

    bare, said = ground(loose)
    assert said == ""
    recipe = Recipe(corrections=(Offset(channel="qc", amount=400.0, reason="zero was wrong"),))
    save(loose, recipe)
    JobRecipes(job_path, name).save(recipe, author="A. B.", reason="seen", based_on=0)
    found, said = ground(loose)
    assert said == f"decisions used: {loose.with_suffix('')}.recipe.toml\n"
    assert found == pytest.approx([value + 0.4 for value in bare], abs=0.01)
    assert ground(job_path)[0] == found


def test_wave_velocities_are_held_against_a_sounding_as_it_was_decided(loose, tmp_path):
    picks, saved = tmp_path / "picks.csv", tmp_path / "velocities.toml"
    rows = [f"{z:.2f}, {1e3 * math.hypot(z, 1.0) / 140.0:.4f}, 1.00" for z in (1.0, 2.0, 3.0)]
    picks.write_text("\n".join(["depth [m], time [ms], offset [m]", *rows]), encoding="utf-8")
    job_path = tmp_path / "site.job"
    with Job.create(job_path) as job:
        (name,) = import_file(job, loose)

    def estimates(path, *more):
        told = run("seismic", picks, "--sounding", path, "--json", *more)
        return [one["estimate"] for one in json.loads(told.stdout)["intervals"]], told.stderr

    bare, _ = estimates(loose)
    recipe = Recipe(corrections=(Offset(channel="qc", amount=400.0, reason="zero was wrong"),))
    save(loose, recipe)
    JobRecipes(job_path, name).save(recipe, author="A. B.", reason="seen", based_on=0)
    found, said = estimates(loose, "--save", saved)
    assert "decisions used:" in said
    assert all(after > before for after, before in zip(found, bare, strict=True))
    assert estimates(job_path)[0] == found
    # what was decided before is not lost where the velocities are saved
    kept = load_recipe(saved)
    assert kept.corrections == recipe.corrections
    assert [one.Vs for one in kept.wave_velocity] == pytest.approx([140, 140], rel=1e-3)


def test_arrivals_in_a_column_are_held_against_their_own_decisions(tmp_path):
    path = tmp_path / "A.csv"
    heads = "depth [m],qc [MPa],fs [kPa],u2 [kPa],S-wave travel time [ms]"
    rows = []
    for step in range(1, 80):
        z = step / 10
        time = f"{1e3 * math.hypot(z, 1.0) / 210.0:.4f}" if step % 20 == 0 else ""
        rows.append(f"{z:.2f},5.0,40,10,{time}")
    path.write_text("\n".join([heads, *rows]), encoding="utf-8")
    words = ("seismic", path, "--offset", 1, "--json")
    bare = json.loads(run(*words).stdout)["intervals"]
    save(path, Recipe(corrections=(Offset(channel="qc", amount=-900.0, reason="zero was wrong"),)))
    told = run(*words)
    assert "decisions used:" in told.stderr
    found = json.loads(told.stdout)["intervals"]
    assert [one["Vs"] for one in found] == [one["Vs"] for one in bare]
    assert all(a["estimate"] < b["estimate"] for a, b in zip(found, bare, strict=True))

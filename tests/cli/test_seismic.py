"""The command ``seismic``."""

import json

import numpy as np
import pytest
from typer.testing import CliRunner

from pushproof.cli.app import app
from pushproof.errors import PushproofError
from pushproof.formats.recipe import load_recipe

run = CliRunner()


@pytest.fixture
def picks(tmp_path):
    path = tmp_path / "picks.csv"
    rows = [f"{z:.2f}, {1e3 * np.hypot(z, 1.0) / 210.0:.4f}, 1.00" for z in (3.0, 4.0, 5.0)]
    path.write_text("\n".join(["depth [m], time [ms], offset [m]", *rows]), encoding="utf-8")
    return path


@pytest.fixture
def sounding(tmp_path):
    path = tmp_path / "A.csv"
    rows = [f"{z:.2f},5.0,40,10" for z in np.arange(0.5, 8.0, 0.1)]
    path.write_text("\n".join(["depth [m],qc [MPa],fs [kPa],u2 [kPa]", *rows]), encoding="utf-8")
    return path


def test_picks_give_a_table_and_a_recipe(picks, sounding, tmp_path):
    saved = tmp_path / "r.toml"
    words = ["seismic", str(picks), "--sounding", str(sounding), "--save", str(saved), "--json"]
    done = run.invoke(app, words, catch_exceptions=False)
    assert done.exit_code == 0
    document = json.loads(done.stdout)
    assert [one["Vs"] for one in document["intervals"]] == pytest.approx([210, 210], rel=1e-3)
    assert document["intervals"][0]["G0"] > 0
    recipe = load_recipe(saved)
    assert [one.Vs for one in recipe.wave_velocity] == pytest.approx([210, 210], rel=1e-3)
    table = run.invoke(app, ["seismic", str(picks)], catch_exceptions=False).stdout
    assert "3.00-4.00" in table
    assert "210" in table


def test_receivers_above_the_tip_move_the_intervals(picks):
    done = run.invoke(app, ["seismic", str(picks), "--above-tip", "0.5", "--json"])
    assert json.loads(done.stdout)["intervals"][0]["top"] == 2.5


def test_what_cannot_be_read_is_told(sounding):
    done = run.invoke(app, ["seismic", str(sounding)])
    assert isinstance(done.exception, PushproofError)
    assert "travel times" in str(done.exception)
    bad = run.invoke(app, ["seismic", str(sounding), "--window", "soon"])
    assert isinstance(bad.exception, PushproofError)


@pytest.mark.shared
def test_the_usgs_file_goes_through(shared_data):
    path = shared_data / "usgs" / "ALC008.txt"
    done = run.invoke(app, ["seismic", str(path), "--json"], catch_exceptions=False)
    document = json.loads(done.stdout)
    assert len(document["intervals"]) == 6
    assert document["intervals"][0]["Vs"] == pytest.approx(151.2, abs=0.1)
    assert document["intervals"][0]["estimate"] > 50

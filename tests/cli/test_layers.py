"""``pushproof layers``: what it prints, writes and keeps."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pushproof.cli.app import app
from pushproof.formats.recipe import load_recipe

ROWS = [(0.05 * k, 0.6 if k < 120 else 9.0, 18 if k < 120 else 60) for k in range(1, 240)]


@pytest.fixture
def sounding(tmp_path: Path) -> Path:
    path = tmp_path / "A1.csv"
    lines = ["Depth [m],qc [MPa],fs [kPa]"]
    lines += [f"{z:.2f},{qc},{fs}" for z, qc, fs in ROWS]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def run(*words: str | Path) -> str:
    result = CliRunner().invoke(app, ["layers", *map(str, words)], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def test_units_are_printed_with_their_boundaries(sounding: Path) -> None:
    text = run(sounding)
    assert "boundaries found by the search" in text
    assert "5.9" in text or "6.0" in text


def test_json_is_json_alone(sounding: Path) -> None:
    (document,) = json.loads(run(sounding, "--json"))
    assert document["units"][0]["top"] == 0.0
    assert any(abs(one["depth"] - 5.98) < 0.05 for one in document["boundaries"])


def test_the_table_has_a_row_for_each_unit(sounding: Path, tmp_path: Path) -> None:
    target = tmp_path / "units.csv"
    run(sounding, "-o", target)
    rows = list(csv.DictReader(target.read_text(encoding="utf-8").splitlines()))
    assert len(rows) == len(json.loads(run(sounding, "--json"))[0]["units"])
    assert "mean qt [MPa]" in rows[0]


def test_saved_boundaries_come_back_as_decided(sounding: Path, tmp_path: Path) -> None:
    recipe = tmp_path / "recipe.toml"
    recipe.write_text("water_level = 1.5\n", encoding="utf-8")
    run(sounding, "--save", recipe, "--as", "A. Person", "--reason", "first look")
    kept = load_recipe(recipe)
    assert kept.water_level == 1.5
    assert kept.layers is not None
    assert kept.layers.boundaries is not None
    assert kept.layers.boundaries[0].author == "A. Person"
    assert "set by a person" in run(sounding, "--recipe", recipe)
    assert "found by the search" in run(sounding, "--recipe", recipe, "--search")


def test_a_job_keeps_the_units_as_a_decision(sounding: Path, tmp_path: Path) -> None:
    job = tmp_path / "site.job"
    made = CliRunner().invoke(app, ["import", str(job), str(sounding)], catch_exceptions=False)
    assert made.exit_code == 0, made.output
    line = run(job, "--save", job, "--as", "A. Person", "--reason", "agreed with boring B1")
    assert "version 1" in line
    assert "set by a person" in run(job)


def test_an_unknown_kind_of_table_is_refused(sounding: Path, tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["layers", str(sounding), "-o", str(tmp_path / "units.doc")])
    assert "unknown kind of table" in str(result.exception)

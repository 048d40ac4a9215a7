"""``pushproof plan`` as its user runs it."""

import json

import pytest

PLAN = """
name = "Hollow Mill 4"
target = 12
[[layers]]
top = 0
base = 12
soil = "sand"
qc = 9000
[rig]
mass = 9000
free_length = 1.0
"""


def test_a_plan_is_told_and_given_as_json(run, tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text(PLAN)
    told = run("plan", path)
    assert told.exit_code == 0
    assert "chance to reach 12 m" in told.stdout
    assert "local rules" in told.stdout
    data = json.loads(run("plan", path, "--json").stdout)
    assert data["reaction"]["weight_kN"] == pytest.approx(88.29)
    heavier = json.loads(run("plan", path, "--json", "--mass", "18000").stdout)
    assert heavier["reaction"]["weight_kN"] == pytest.approx(2 * 88.29)


def test_what_is_missing_is_named(run):
    with pytest.raises(Exception, match="give --near, --target, --mass too"):
        run("plan")


@pytest.mark.shared
def test_soundings_nearby_are_the_ground(run, shared_data):
    near = shared_data / "hkz" / "HKZ1-CPT01.ags"
    words = ("--near", near, "--target", "20", "--mass", "20000", "--json")
    data = json.loads(run("plan", *words).stdout)
    assert data["ground"].startswith("sounding nearby")
    assert 0 <= data["probability_of_target"] <= 1


@pytest.mark.parametrize("suffix", ["pdf", "svg", "png"])
def test_the_sheet_is_one_page_and_the_same_each_time(run, tmp_path, suffix):
    path = tmp_path / "plan.toml"
    path.write_text(PLAN)
    sheets = []
    for name in ("a", "b"):
        run("plan", path, "-q", "-o", tmp_path / f"{name}.{suffix}")
        sheets.append((tmp_path / f"{name}.{suffix}").read_bytes())
    assert sheets[0] == sheets[1]
    assert len(list(tmp_path.glob(f"*.{suffix}"))) == 2

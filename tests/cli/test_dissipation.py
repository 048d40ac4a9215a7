"""The command ``dissipation``."""

import json

import pytest
from typer.testing import CliRunner

from pushproof.cli.app import app
from pushproof.errors import ConfigurationError, FormatError
from pushproof.formats.dissipation_table import read_dissipation
from pushproof.formats.recipe import load_recipe, recipe_text, save_recipe
from pushproof.model.corrections import Despike
from pushproof.model.picks import DissipationChoice
from pushproof.model.recipe import BlankedInterval, Factors, Methods, Recipe

run = CliRunner()


@pytest.fixture(scope="module")
def sounding(tmp_path_factory):
    """An AGS file with a test that falls over root time, from 300 towards 100 kPa."""
    depth = [f"{k / 10:.2f}" for k in range(5, 120)]
    groups = {
        "LOCA": (["LOCA_ID"], [""], ["ID"], [["MB-1"]]),
        "SCPG": (
            ["LOCA_ID", "SCPG_TESN", "SCPG_CSA", "SCPG_WAT"],
            ["", "", "cm2", "m"],
            ["ID", "X", "0DP", "2DP"],
            [["MB-1", "1", "10", "1.50"]],
        ),
        "SCPT": (
            ["LOCA_ID", "SCPG_TESN", "SCPT_DPTH", "SCPT_RES", "SCPT_FRES", "SCPT_PWP2"],
            ["", "", "m", "MPa", "kN/m2", "MPa"],
            ["ID", "X", "2DP", "3DP", "1DP", "4DP"],
            [["MB-1", "1", one, "0.900", "20.0", "0.2500"] for one in depth],
        ),
        "SCDT": (
            ["LOCA_ID", "SCPG_TESN", "SCDG_DPTH", "SCDT_SECS", "SCDT_PWP2"],
            ["", "", "m", "s", "MPa"],
            ["ID", "X", "2DP", "1DP", "4DP"],
            [
                ["MB-1", "1", "8.00", f"{t:.1f}", f"{0.3 - 0.005 * t**0.5:.4f}"]
                for t in range(0, 900, 3)
            ],
        ),
    }
    lines = []
    for name, (headings, units, types, rows) in groups.items():
        told = [["GROUP", name], ["HEADING", *headings], ["UNIT", *units], ["TYPE", *types]]
        told += [["DATA", *row] for row in rows]
        lines += [",".join(f'"{field}"' for field in row) for row in told] + [""]
    path = tmp_path_factory.mktemp("files") / "MB-1.ags"
    path.write_text("\r\n".join(lines), encoding="utf-8", newline="")
    return path


def test_a_sounding_gives_a_table_and_findings(sounding):
    done = run.invoke(app, ["dissipation", str(sounding), "--ir", "120"], catch_exceptions=False)
    assert done.exit_code == 0
    assert "root-time" in done.stdout
    assert "Ir 120 (given)" in done.stdout
    assert "u0 63.8 kPa" in done.stdout  # 9.81 (8.00 - 1.50)


def test_json_sheet_and_saved_picks_agree(sounding, tmp_path):
    words = ["dissipation", str(sounding), "--test", "1", "--u0", "100", "--ir", "150"]
    words += ["--method", "root-time", "--reason", "piezometer P2", "--json"]
    words += ["--save", str(tmp_path / "r.toml"), "-o", str(tmp_path / "sheet.pdf")]
    done = run.invoke(app, words, catch_exceptions=False)
    assert done.exit_code == 0
    (first,) = json.loads(done.stdout)
    assert (first["u0"], first["u0_by"], first["method"]) == (100.0, "given", "root-time")
    assert first["chosen"]["t50"] == pytest.approx(400.0, rel=0.01)  # 300 - 5 sqrt(400) = 200
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    (choice,) = load_recipe(tmp_path / "r.toml").dissipations
    assert (choice.u0, choice.Ir, choice.reason) == (100.0, 150.0, "piezometer P2")
    again = run.invoke(
        app,
        ["dissipation", str(sounding), "--recipe", str(tmp_path / "r.toml"), "--json"],
        catch_exceptions=False,
    )
    assert json.loads(again.stdout)[0]["chosen"] == first["chosen"]


def test_a_record_of_its_own_joins_the_sounding(sounding, tmp_path):
    table = tmp_path / "test.csv"
    rows = [f"{t / 60:.4f}; {0.4 - 0.005 * t**0.5:.5f}" for t in range(0, 900, 3)]
    table.write_text("\n".join(["time [min]; u2 [MPa]", *rows]), encoding="utf-8")
    words = ["dissipation", str(sounding), "--record", str(table), "--depth", "9.5", "--json"]
    done = run.invoke(app, [*words, "--test", "2", "--u0", "200"], catch_exceptions=False)
    (found,) = json.loads(done.stdout)
    assert (found["depth"], found["number"]) == (9.5, 2)
    assert found["chosen"]["t50"] == pytest.approx(400.0, rel=0.01)  # 400 - 5 sqrt(400) = 300
    for wrong in (words[:4], [*words[:2], "--depth", "9.5"]):
        assert isinstance(run.invoke(app, wrong).exception, ConfigurationError)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("time [s], u2\n0, 3\n", "heading 'u2'"),
        ("time [s], qc [MPa]\n0, 3\n", "a pore pressure"),
        ("time [s], u2 [kPa]\n0, wet\n", "line 2: a field is no number"),
        ("time [s], u2 [kPa]\n0\n", "1 fields"),
        ("time [s], u2 [kPa]\n", "no rows"),
        ("time [s], u2 [kPa], u2 [kPa]\n0, 1, 1\n", "stands twice"),
    ],
)
def test_a_table_that_is_no_record_names_its_fault(tmp_path, text, words):
    path = tmp_path / "test.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FormatError) as caught:
        read_dissipation(path, 4.0)
    assert words in str(caught.value)


def test_a_window_and_a_number_that_cannot_be_are_refused(sounding):
    bad = run.invoke(app, ["dissipation", str(sounding), "--window", "soon"])
    assert isinstance(bad.exception, ConfigurationError)
    assert "30-400" in str(bad.exception)
    none = run.invoke(app, ["dissipation", str(sounding), "--test", "9"])
    assert "holds" in str(none.exception)


def test_a_recipe_is_written_as_it_is_read(tmp_path):
    recipe = Recipe(
        water_level=1.5,
        blanked=(BlankedInterval(top=1.0, base=2.0, channels=("u2",), reason='air, "dry" filter'),),
        corrections=(Despike(channel="qc", reason="stone, 3 m"),),
        methods=Methods(su="su_ndu"),
        factors=Factors(Nkt=16),
        dissipations=(DissipationChoice(depth=4.0, window=(10.0, 90.0)),),
        reason="böschung – Übung",
    )
    save_recipe(recipe, tmp_path / "r.toml")
    assert load_recipe(tmp_path / "r.toml") == recipe
    assert recipe_text(Recipe()).strip() == ""
    with pytest.raises(ConfigurationError, match="cannot be written"):
        save_recipe(recipe, tmp_path / "missing" / "r.toml")

"""The command line, run as a user runs it."""

import json
import shutil
import subprocess
import sys

import pytest

from pushproof.sources.rehearsal.export import export_text
from pushproof.testing import sample


def run(*arguments, code=0):
    result = subprocess.run(
        [sys.executable, "-m", "pushproof", *map(str, arguments)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=None,
    )
    assert code in (None, result.returncode), result.stderr
    return result


def pdf_words(path):
    tool = shutil.which("pdftotext")
    if tool is None:
        pytest.skip("pdftotext (poppler) is not installed")
    return subprocess.run([tool, path, "-"], capture_output=True, text=True, check=True).stdout


@pytest.fixture(scope="module")
def sounding(tmp_path_factory):
    path = tmp_path_factory.mktemp("files") / "HM-1.csv"
    export_text(sample("clay-over-sand"), path)
    return path


def test_help_lists_every_command():
    text = run("--help").stdout
    for command in ("demo", "log", "table", "show", "formats", "equations"):
        assert f"  {command} " in text


def test_show_prints_what_is_known_and_a_plot(sounding):
    text = run("show", sounding).stdout
    assert "HM-1" in text
    assert "area ratio" in text
    assert "soft clay" not in text  # words of behaviour, not of the simulator's layers
    assert "clay" in text
    assert "█" in text


def test_show_json_is_a_document(sounding):
    (document,) = json.loads(run("show", sounding, "--json").stdout)
    assert document["columns"]["qc"]["unit"] == "kPa"
    assert document["source"]["sha256"]


def test_options_reach_the_result(sounding):
    (given,) = json.loads(
        run("show", sounding, "--json", "--water-level", "2.5", "--area-ratio", "0.6").stdout
    )
    assert given["facts"]["water level"].startswith("2.50 m, given")
    assert given["facts"]["area ratio"] == "0.6"


def test_table_writes_a_file_and_says_so(sounding, tmp_path):
    result = run("table", sounding, "-o", tmp_path / "out.csv")
    assert "rows" in result.stdout
    assert (tmp_path / "out.csv").stat().st_size > 10_000


def test_table_puts_bands_beside_the_values(sounding, tmp_path):
    target = tmp_path / "t.csv"
    run("table", sounding, "-o", target, "--bands", "monte-carlo", "--draws", 50)
    text = target.read_text(encoding="utf-8")
    assert "su p10 [kPa],su p50 [kPa],su p90 [kPa]" in text
    assert "# bands: p10 to p90 of 50 draws, seed 0" in text


def test_one_bad_file_does_not_stop_the_rest(sounding, tmp_path):
    bad = tmp_path / "bad.csv"
    bad.write_text("a letter, no table\n")
    result = run("table", bad, sounding, "-o", tmp_path / "out", code=1)
    assert (tmp_path / "out" / "HM-1.csv").exists()
    assert "1 of 2 files done, 1 failed" in result.stderr
    assert "no table of numbers" in " ".join(result.stderr.split())


def test_an_error_is_one_line_and_exit_code_1(tmp_path):
    result = run("show", tmp_path / "none.gef", code=1)
    assert result.stderr.startswith("error: ")
    assert result.stderr.count("\n") == 1
    assert "Traceback" not in result.stderr


def test_debug_shows_the_traceback(tmp_path):
    assert "Traceback" in run("show", tmp_path / "none.gef", "--debug", code=1).stderr


def test_a_wrong_call_is_exit_code_2():
    assert "--sideways" in run("show", "--sideways", code=2).stderr


def test_a_recipe_with_faults_names_each(sounding, tmp_path):
    recipe = tmp_path / "recipe.toml"
    recipe.write_text('water_levle = 1.0\narea_ratio = 7\n[methods]\nn60 = "magic"\n')
    text = " ".join(run("show", sounding, "--recipe", recipe, code=1).stderr.split())
    assert "water_levle: unknown field" in text
    assert "area_ratio" in text
    assert "methods.n60" in text


def test_equations_show_formula_units_validity_and_source():
    text = run("equations", "Ic_robertson_wride_1998").stdout
    for part in ("3.47 - log10 Qtn", "[%]", "holds for", "Eq. 4-28", "verified"):
        assert part in text
    assert "did you mean" in run("equations", "Ic_robertson", code=1).stderr


def test_explain_prints_the_chain_and_the_band(sounding):
    text = run("explain", sounding, "qn", "su", "--depth", 4.0).stdout
    assert "qn = qt - sigma_v0" in text
    assert "What the band rests on" in text
    documents = json.loads(run("explain", sounding, "su", "--depth", 4.0, "--json").stdout)
    assert [document["key"] for document in documents] == ["su"]


def test_explain_names_a_wrong_key_and_a_depth_beyond_the_sounding(sounding):
    text = run("explain", sounding, "hope", "--depth", 400, code=1).stderr
    assert "no column 'hope'" in text
    assert "the sounding goes from" in text


def test_formats_are_listed():
    listed = json.loads(run("formats", "--json").stdout)
    assert {"gef", "delimited"} <= {one["name"] for one in listed}


def test_quiet_prints_nothing(sounding, tmp_path):
    assert run("table", sounding, "-q", "-o", tmp_path / "q.csv").stdout == ""


def test_import_verify_damage_recover(sounding, tmp_path):
    job = tmp_path / "site.job"
    assert "HM-1" in run("import", job, sounding).stdout
    assert "whole" in run("verify", job).stdout
    data = bytearray(job.read_bytes())
    place = data.find(b"water level")
    data[place if place > 0 else len(data) // 2] ^= 1
    job.write_bytes(bytes(data))
    assert "damaged" in run("verify", job, code=1).stderr
    run("recover", job, "-o", tmp_path / "new.job")
    assert "whole" in run("verify", tmp_path / "new.job").stdout


def test_rehearse_lists_faults_and_refuses_unknown_ones():
    assert "loose-joint" in run("rehearse", "--faults").stdout
    assert "wobble" in run("rehearse", "--fault", "wobble=3", code=1).stderr


def test_check_prints_class_and_findings(sounding):
    text = run("check", sounding).stdout
    assert "ISO 22476-1:2012" in text
    assert "from memory" in text
    assert "cannot be judged" in text
    (document,) = json.loads(run("check", sounding, "--json").stdout)
    assert document["declarations"]["signal_processing"] is False
    assert "iso-22476-1-2022" in run("check", sounding, "--schemes").stdout


def test_check_exits_with_1_on_a_stop_finding(tmp_path):
    path = tmp_path / "wrong.csv"
    rows = "\n".join(f"{0.02 * i:.2f},{900 + i},{9 + i % 3}" for i in range(100))
    path.write_text("depth [m],qc [MPa],fs [kPa]\n" + rows)
    assert "qc-unit-doubtful" in run("check", path, "--json", code=1).stdout


def test_sign_and_what_changed_since(sounding, tmp_path):
    out = tmp_path / "HM-1.signed.json"
    key = tmp_path / "key.pem"
    signed = run("sign", sounding, "--as", "R. Viewer", "--key", key, "-o", out)
    assert "Signed by R. Viewer" in signed.stdout
    assert "holds" in run("sign", sounding, "--check", out).stdout
    changed = run("sign", sounding, "--check", out, "--water-level", "3", code=1)
    assert "the recipe differs: water_level" in changed.stderr


def test_sign_a_job_keeps_the_decision_and_holds(sounding, tmp_path):
    from pushproof.store import Job, verify

    job = tmp_path / "site.job"
    run("import", job, sounding)
    run("sign", job, "--as", "R. Viewer", "-o", tmp_path / "s.json")
    with Job.open(job) as opened:
        (decision,) = opened.decisions("sign-off", "HM-1")
    assert decision.author == "R. Viewer"
    assert "holds" in run("sign", job, "--check", tmp_path / "s.json").stdout
    assert verify(job).ok


def test_a_report_takes_the_sign_off_of_the_job_and_refuses_one_that_does_not_hold(
    sounding, tmp_path
):
    from pushproof.store import Job

    job = tmp_path / "site.job"
    run("import", job, sounding)
    run("sign", job, "--as", "R. Viewer", "-o", tmp_path / "s.json")
    out = tmp_path / "r.pdf"
    run("report", job, "-o", out)
    assert "Signed by R. Viewer" in pdf_words(out)
    refused = run("report", job, "-o", out, "--water-level", "4", code=1).stderr
    assert "the recipe differs: water_level" in " ".join(refused.split())
    run("report", job, "-o", out, "--water-level", "4", "--unsigned")
    assert "Not signed" in pdf_words(out)
    with Job.open(job, write=True) as opened:
        document = {"water_level": 4.0}
        opened.add_decision("recipe", document, author="R. Viewer", reason="pipe", sounding="HM-1")
    refused = run("report", job, "-o", out, code=1).stderr
    assert "the recipe differs: water_level" in " ".join(refused.split())
    assert "changed since: the recipe differs" in run("verify", job, code=1).stderr
    run("sign", job, "--as", "R. Viewer", "-o", tmp_path / "s.json")
    assert "holds" in run("verify", job).stdout


def test_decisions_kept_in_a_job_hold_and_options_go_on_top(sounding, tmp_path):
    from pushproof.store import Job

    job = tmp_path / "site.job"
    run("import", job, sounding)
    with Job.open(job, write=True) as opened:
        document = {"water_level": 4.25, "area_ratio": 0.6}
        opened.add_decision("recipe", document, author="R. Viewer", reason="pipe", sounding="HM-1")
    (kept,) = json.loads(run("show", job, "--json").stdout)
    assert kept["facts"]["water level"].startswith("4.25 m, given")
    (over,) = json.loads(run("show", job, "--json", "--water-level", "3.75").stdout)
    assert over["facts"]["water level"].startswith("3.75 m, given")
    assert (kept["facts"]["area ratio"], over["facts"]["area ratio"]) == ("0.6", "0.6")


def test_a_class_ordered_and_missed_ends_with_1(sounding):
    text = run("check", sounding, "--ordered", "1", "--json", code=None).stdout
    (document,) = json.loads(text)
    assert document["classes"][0]["ordered"] == "1"
    assert document["classes"][0]["order"] == "not proved"
    assert "class-not-proved" in {one["id"] for one in document["findings"]}
    wrong = run("check", sounding, "--ordered", "astm-d5778=9", code=1).stderr
    assert "class 9 was ordered" in " ".join(wrong.split())

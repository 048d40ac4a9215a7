"""The report: cover, logs, proof sheets, equipment, dissipations, methods."""

import re
import shutil
import subprocess
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

import pushproof as pp
from pushproof.equations.registry import equations
from pushproof.model.equipment import Calibration
from pushproof.model.recipe import BlankedInterval, Recipe
from pushproof.model.sounding import Zero
from pushproof.quality import assess
from pushproof.report import report, set_log, set_report
from pushproof.report.checked import with_checks
from pushproof.report.facts import CAUTION
from pushproof.report.formula import formula_runs
from pushproof.report.pushfacts import decisions, rate_facts, tilt_facts, zero_rows
from pushproof.sources.rehearsal import scenario


@pytest.fixture(scope="module")
def site():
    return [pp.interpret(pp.process(pushed.sounding)) for pushed in scenario()]


@pytest.fixture(scope="module")
def checks(site):
    return [assess(one.profile) for one in site]


def test_same_bytes_twice(site, checks):
    assert report(site) == report(site)


def test_every_part_is_there_and_the_caution_once(site, pdf_text):
    text = pdf_text(report(site))
    for word in (
        "Heronmere Sluice", "At a glance", "Plan, site grid", "HM-1", "HM-2", "HM-3",
        "Proof sheet", "Notes to the log", "Zero readings", "Dissipation at 6.50 m",
        "Methods and references", "Not signed", "page 1 of",
    ):  # fmt: skip
        assert word in text, word
    assert text.count(CAUTION) == 1


def test_a_calibration_of_a_channel_that_nobody_knows_is_told_by_its_name(site):
    odd = Calibration(channel="q c", date=date(2031, 5, 1), capacity=5.0)
    sounding = site[0].profile.sounding
    cone = sounding.cone.model_copy(update={"calibrations": (odd,)})
    zeros = (Zero(channel="strain", value=2.0),)
    strange = replace(sounding, cone=cone, zeros_before=zeros)
    made = set_report([pp.interpret(pp.process(strange))])
    equipment = made.data["soundings"][0]["equipment"]
    (row,) = equipment["calibrations"]
    assert (row["symbol"], row["capacity"]) == ([["q c", False]], "5")
    assert equipment["zeros"][0]["value"] == "2"
    assert made.pdf().startswith(b"%PDF")


def test_parameter_pages_stand_where_something_was_derived(site, cases):
    titles = [page["title"] for page in set_report(site[:1]).data["soundings"][0]["pages"]]
    assert titles == ["Log", "Parameters"]
    bare = set_report([cases.made(last=8.0)]).data["soundings"][0]["pages"]
    assert [page["title"] for page in bare] == ["Log"]


def test_a_log_alone_tells_only_the_methods_it_shows(site):
    told = {row["key"] for row in set_log(site[0]).data["log"]["methods"]}
    assert "Ic" in told
    assert "su" not in told
    more = {row["key"] for row in set_log(site[0], parameters=True).data["log"]["methods"]}
    assert {"su", "phi", "Dr"} <= more


def test_every_formula_keeps_its_letters():
    for equation in equations().values():
        shown = "".join(run[0] for run in formula_runs(equation.formula))
        plain = re.sub(r"[_^\s]|sigma|gamma|alpha|lam|phi|psi|pi|_?eff", "", equation.formula)
        bare = re.sub(r"[\sσγαλφψπ′]", "", shown).replace("−", "-")
        plain = plain.replace("<=", "≤").replace(">=", "≥")
        assert re.sub(r"[_^]", "", bare) == plain.replace("^", ""), equation.name


def test_class_stands_with_norm_edition_and_the_deciding_reading(site, checks, pdf_text):
    text = pdf_text(report(site[:1]))
    iso = checks[0].classes[0]
    assert iso.scheme.norm == "ISO 22476-1"
    assert "ISO 22476-1:2012, from memory" in text
    assert f"application class {iso.achieved}" in text
    decided = next(v for v in iso.verdicts if v.aspect == "qc")
    assert f"{decided.depth:.2f} m" in text
    assert decided.text in text
    assert "cannot be judged: no limits" in text


def test_a_scheme_without_proof_says_at_best(cases, pdf_text):
    made = cases.made(last=8.0)
    text = pdf_text(report([made]))
    assert "not proved, at best" in text
    assert "zero readings before and after" in text


def test_a_poor_filter_stands_on_the_sheet(site, checks, pdf_text):
    text = pdf_text(report(site[2:]))
    assert "Usable within limits" in text
    assert "Filter response: poor" in text


def test_log_notes_and_proof_sheet_tell_the_same_findings(cases):
    made = cases.heavy()
    check = assess(made.profile)
    sounding = set_report([made]).data["soundings"][0]
    told = {row["found"] for row in sounding["findings"]}
    assert {finding.found for finding in check.findings} <= told
    assert {finding.found for finding in made.findings} <= told
    assert len(sounding["findings"]) == len(with_checks(made, check).findings)
    pairs = {(row["number"], row["found"]) for row in sounding["findings"]}
    for row in sounding["proof"]["worst"]:
        assert row["severity"] in ("stop", "caution")
        assert (row["number"], row["found"]) in pairs


def test_a_stop_is_said_first(cases, pdf_text):
    made = cases.heavy()
    text = pdf_text(report([made]))
    assert "Do not rely on this log yet" in text
    assert "5 findings must be resolved first" in text


def test_corrections_are_declared_with_their_effect(pdf_text):
    sounding = scenario()[0].sounding
    qc = sounding.readings["qc"].copy()
    qc[400] *= 4.0
    sounding = replace(sounding, readings=sounding.readings.with_column("qc", qc))
    despike = {"kind": "despike", "channel": "qc", "reason": "electrical noise at the rig"}
    recipe = Recipe.model_validate({"corrections": [despike]})
    profile = pp.process(sounding, recipe)
    text = pdf_text(report([pp.interpret(profile)]))
    assert "despike of qc" in text
    assert "electrical noise" in text
    assert re.search(r"whole\s+record: yes", text)


def test_checks_of_another_sounding_are_refused(site, checks):
    with pytest.raises(ValueError, match="not of HM-1"):
        with_checks(site[0], checks[1])


def test_the_chosen_scheme_is_told_first(site):
    proof = set_report(site[:1], scheme="env-1997-3").data["soundings"][0]["proof"]
    assert proof["classes"][0]["scheme"] == "ENV 1997-3:1999"
    assert len(proof["classes"]) == 4
    assert "ENV 1997-3:1999" in proof["aspects"]["scheme"]


def test_an_unknown_scheme_is_refused(site):
    with pytest.raises(pp.PushproofError, match="scheme"):
        report(site[:1], scheme="nobody-1999")


@pytest.mark.skipif(shutil.which("pdftohtml") is None, reason="pdftohtml (poppler) is missing")
def test_bookmarks(site, tmp_path):
    report(site, tmp_path / "r.pdf")
    subprocess.run(
        ["pdftohtml", "-xml", "-i", "r.pdf", "r.xml"], cwd=tmp_path, check=True, capture_output=True
    )
    outline = (tmp_path / "r.xml").read_text(encoding="utf-8").split("<outline>", 1)[1]
    for words in ("Cover", "HM-1", "Proof sheet", "Dissipation at 6.50 m", "Methods"):
        assert words in outline


def test_no_sounding_is_refused():
    with pytest.raises(ValueError, match="at least one sounding"):
        report([])


def test_offset_of_a_steady_tilt_is_the_closed_form(cases):
    """A rod string that leans by a constant angle ends at length times sine of the angle."""
    made = cases.made(last=20.0)
    series = made.series.with_column("tilt", np.full(len(made), 5.0))
    facts = tilt_facts(series)
    assert facts.bound
    assert facts.offset[-1] == pytest.approx(
        (20.0 - series["length"][0]) * np.sin(np.radians(5.0)), rel=1e-9
    )


def test_offset_of_two_tilts_that_turn_back_is_smaller(cases):
    made = cases.made(last=10.0)
    half = np.where(np.arange(len(made)) < len(made) / 2, 3.0, -3.0)
    series = made.series.with_column("tilt_x", half).with_column("tilt_y", 0 * half)
    facts = tilt_facts(series)
    assert not facts.bound
    assert facts.tilt == pytest.approx(3.0)
    assert facts.offset[-1] < 0.02
    assert facts.offset.max() == pytest.approx(5.0 * np.sin(np.radians(3.0)), rel=0.02)


def test_offset_of_an_arc_is_the_closed_form(cases):
    """Tilt growing linearly with length is a circular arc: offset R (1 - cos a)."""
    made = cases.made(last=30.0)
    length = made.series["length"]
    angle = np.radians(12.0) * length / length[-1]
    facts = tilt_facts(made.series.with_column("tilt", np.degrees(angle)))
    radius = length[-1] / np.radians(12.0)
    assert facts.offset[-1] == pytest.approx(radius * (1 - np.cos(np.radians(12.0))), rel=2e-3)


def test_rate_shares_add_up(cases):
    made = cases.heavy()
    facts = rate_facts(made.series)
    assert facts.shares.sum() == pytest.approx(1.0)
    assert facts.inside == pytest.approx(1 - (1.4 + 1.6) / (24.6 - 1.5), abs=0.01)


def test_zero_shift_in_kilopascal_and_percent(cases):
    made = cases.made(
        last=5.0,
        sounding={
            "zeros_before": (Zero(channel="qc", value=12.0),),
            "zeros_after": (Zero(channel="qc", value=53.0), Zero(channel="fs", value=1.0)),
        },
    )
    qc, fs = zero_rows(made.profile.sounding)
    assert (qc.channel, qc.unit, qc.shift) == ("qc", "kPa", 41.0)
    assert qc.percent is None
    assert fs.shift is None


def test_only_decisions_that_differ_are_told():
    assert decisions(Recipe()) == []
    told = decisions(
        Recipe(
            water_level=1.2,
            blanked=(BlankedInterval(top=1.0, base=1.5, reason="casing"),),
            author="somebody",
        )
    )
    assert [words for words, _ in told] == ["water level", "blanked 1.00 to 1.50 m"]
    assert told[1][1] == "all channels: casing"

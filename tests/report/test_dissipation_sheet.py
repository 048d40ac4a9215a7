"""Dissipation sheets: alone and in the report."""

from dataclasses import replace

import numpy as np
import pytest

import pushproof as pp
from pushproof.interpretation.dissipation import dissipations
from pushproof.model.picks import DissipationChoice
from pushproof.model.recipe import Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation
from pushproof.report import set_report
from pushproof.report.dissipation import lay_dissipations
from pushproof.sources.rehearsal import scenario


@pytest.fixture(scope="module")
def sounding():
    return scenario()[0].sounding


def _laid(sounding, recipe=None):
    derived = pp.interpret(pp.process(sounding, recipe or Recipe()))
    return lay_dissipations(derived, dissipations(derived))


def test_the_sheet_says_what_the_result_says(sounding, pdf_text):
    recipe = Recipe(dissipations=(DissipationChoice(Ir=150.0, reason="triaxial tests"),))
    derived = pp.interpret(pp.process(sounding, recipe))
    (found,) = dissipations(derived)
    sheet = lay_dissipations(derived, [found])
    text = pdf_text(sheet.pdf())
    for words in (
        "Dissipation at 6.50 m", "150, given", "Pore pressure over log time",
        "Pore pressure over root time", "Teh, C.I.", "from memory", "triaxial tests", "Not signed",
        f"{found.chosen.u_i:.1f}", f"{found.M / 1e3:.1f} MPa",
    ):  # fmt: skip
        assert words in text, words
    assert sheet.pdf() == sheet.pdf()


def test_what_is_assumed_carries_its_mark(sounding):
    facts = _laid(replace(sounding, water=None)).data["log"]["dissipations"][0]["facts"]
    assumed = {row["value"].split(",")[-1].strip() for row in facts if row["assumed"]}
    assert "assumed" in assumed


def test_the_report_holds_the_same_page(sounding, pdf_text):
    derived = pp.interpret(pp.process(sounding))
    sheet = set_report([derived])
    (test,) = sheet.data["soundings"][0]["dissipations"]
    alone = lay_dissipations(derived, dissipations(derived)).data["log"]["dissipations"][0]
    assert test["estimates"] == alone["estimates"]
    assert any("teh_houlsby" in row["name"] for row in sheet.data["methods"])


@pytest.mark.parametrize(
    "columns",
    [
        {"time": np.arange(40.0), "u2": np.full(40, 12.0)},
        {"time": np.arange(3.0), "u2": np.full(3, 12.0)},
        {"time": np.arange(40.0), "u2": np.linspace(-20.0, 90.0, 40)},
        {"time": np.arange(40.0), "qc": np.full(40, 900.0)},
        {"time": np.arange(400.0), "u2": 300 - 2 * np.sqrt(np.arange(400.0)),
         "u1": 500 - 9 * np.sqrt(np.arange(400.0))},
    ],
)  # fmt: skip
def test_odd_records_are_laid_out(sounding, columns):
    odd = replace(sounding, dissipations=(Dissipation(6.5, Series(columns)),))
    assert _laid(odd).pdf().startswith(b"%PDF")


def test_no_test_is_told(sounding):
    with pytest.raises(ValueError, match="no dissipation test"):
        _laid(replace(sounding, dissipations=()))


@pytest.mark.shared
@pytest.mark.parametrize("name", ["CPT000000155283", "CPT000000115243"])
def test_real_records_are_laid_out(name, shared_data, pdf_text):
    text = pdf_text(_laid(pp.read(shared_data / "bro" / f"{name}.xml")).pdf())
    assert name in text
    assert "Findings" in text

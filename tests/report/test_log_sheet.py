"""The log sheet as a reader of the paper sees it."""

import hashlib
import os
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import pushproof as pp
from pushproof.report import log_sheet, set_log
from pushproof.report.facts import CAUTION
from pushproof.report.plate import runs

HERE = Path(__file__).parent


def _words(sheet, page=0):
    labels = sheet.data["log"]["pages"][page]["picture"]["labels"]
    return ["".join(run[0] for run in label["runs"]) for label in labels]


def _axis(sheet, page):
    """Lettering above the plot: headings and the numbers of every axis, with their places."""
    labels = sheet.data["log"]["pages"][page]["picture"]["labels"]
    return [(la["x"], la["y"], str(la["runs"])) for la in labels if la["y"] < 0]


def test_same_bytes_twice(cases):
    made = cases.made(last=12.0)
    assert log_sheet(made) == log_sheet(made)


@pytest.mark.slow
def test_same_bytes_in_another_process(cases, tmp_path):
    code = (
        "import sys, importlib.util as u\n"
        f"s = u.spec_from_file_location('made', {str(HERE / 'made.py')!r})\n"
        "m = u.module_from_spec(s); s.loader.exec_module(m)\n"
        "from pushproof.report import log_sheet\n"
        "import hashlib; print(hashlib.sha256(log_sheet(m.heavy())).hexdigest())\n"
        "heavy = {'matplotlib.pyplot', 'pandas', 'scipy'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    env = {**os.environ, "PYTHONHASHSEED": "77", "TZ": "Asia/Tokyo", "LC_ALL": "C"}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=True, env=env, cwd=tmp_path
    )
    expected = hashlib.sha256(log_sheet(cases.heavy())).hexdigest()
    assert done.stdout.decode().strip() == expected


def test_the_user_s_plot_settings_change_nothing(cases):
    import matplotlib

    made = cases.made(last=6.0)
    plain = log_sheet(made)
    with matplotlib.rc_context({"lines.linewidth": 7, "svg.hashsalt": None, "figure.dpi": 31}):
        assert log_sheet(made) == plain


def test_text_of_the_pdf(cases, pdf_text):
    made = cases.heavy()
    text = pdf_text(log_sheet(made))
    sounding = made.profile.sounding
    for word in (
        "LM-07", "Lindmoor lock, east approach", "Lindmoor Waterway Board", "J. Halvard",
        "K10-218", "412350.20, 5541210.70", "EPSG:25832", "+4.37 m DHHN2016",
        "0.80 assumed", "0.00 m assumed", "maximum tilt", "to 1.50 m", "2025-06-17 09:42",
        "pre-excavated to 1.50 m", "removed: topsoil", "Not signed", "page 1 of 3", "page 3 of 3",
        sounding.source.sha256[:12], made.profile.recipe.fingerprint()[:12],
        f"Pushproof {pp.__version__}", "silt mixture", "61.0",
        "◆ stop", "▲ caution", "○ info",
    ):  # fmt: skip
        assert word in text, word
    assert text.count(CAUTION) == 1


def test_pdf_has_a_title_and_no_date(cases):
    pdf = log_sheet(cases.made(last=6.0))
    assert b"/Title" in pdf
    assert b"CreationDate" not in pdf
    assert b"ModDate" not in pdf


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(("scale", "pages"), [("fit", 1), (200, 1), (100, 2), (50, 3)])
def test_pages(cases, paper, scale, pages):
    sheet = set_log(cases.made(last=29.8), paper=paper, scale=scale, notes=False)
    assert len(sheet.svg()) == pages


def test_axes_are_equal_from_page_to_page(cases):
    sheet = set_log(cases.made(cases.DEEP, last=69.7, step=0.05), scale=100)
    assert len(sheet.data["log"]["pages"]) == 4
    first = _axis(sheet, 0)
    assert len(first) > 20
    for page in range(1, 4):
        assert _axis(sheet, page) == first


def test_depth_labels_are_where_the_scale_says(cases):
    sheet = set_log(cases.made(last=29.8), scale=100)
    for page in (0, 1):
        for label in sheet.data["log"]["pages"][page]["picture"]["labels"]:
            text = label["runs"][0][0]
            if label["x"] < 8 and 0 <= label["y"] <= 200 and re.fullmatch(r"\d+", text):
                assert label["y"] == pytest.approx((float(text) - 20 * page) * 10, abs=1e-6)


def test_a_spike_is_clipped_with_its_value(cases):
    words = _words(set_log(cases.heavy()))
    for value in ("61.0", "44.0", "72.5"):
        assert value in words
    assert "30" in words
    assert "80" not in words[:60]


def test_without_u2(cases):
    sheet = set_log(cases.made(u2=False))
    words = _words(sheet)
    assert "qc, not corrected: no u2" in words
    assert "pore pressure not measured" in words
    assert "qt" not in words
    assert sheet.data["log"]["kind"] == "Cone penetration test, CPT"


def test_without_sleeve_friction(cases):
    words = _words(set_log(cases.made(fs=False)))
    assert any(word.startswith("fs not measured") for word in words)
    assert "Friction ratio" not in words
    assert "Soil behaviour" not in words


def test_water_over_ground(cases):
    words = _words(set_log(cases.made(water=-12.3)))
    assert "water level 12.30 m above zero" in words


def test_what_nobody_stated_says_so(cases):
    made = cases.made(sounding={"client": None, "operator": None, "started": None})
    values = {r["label"]: r["value"] for g in set_log(made).data["log"]["groups"] for r in g}
    assert values["Client"] == values["Operator"] == values["Date"] == "not stated"


def test_signed(cases, pdf_text):
    text = pdf_text(log_sheet(cases.made(last=5.0), signed="Signed by A. Example, key 3f2a"))
    assert "Signed by A. Example" in text
    assert "Not signed" not in text


def test_letters_beyond_the_typeface_are_not_lost(cases, pdf_text):
    made = cases.made(last=5.0, sounding={"project": "Łódź – Žižkov – Дніпро"})
    assert "Łódź – Žižkov – Дніпро" in pdf_text(log_sheet(made))


def test_text_that_looks_like_markup_stays_text(cases, pdf_text):
    made = cases.made(last=5.0, sounding={"project": '#panic() *x* $y$ <a> \\ "q" [z]'})
    assert "#panic() *x* $y$ <a>" in pdf_text(log_sheet(made))


def test_write_numbers_the_pages(cases, tmp_path):
    sheet = set_log(cases.made(last=5.0))
    assert [p.name for p in sheet.write(tmp_path / "a.png")] == ["a-1.png", "a-2.png"]
    assert [p.name for p in sheet.write(tmp_path / "a.pdf")] == ["a.pdf"]
    one = set_log(cases.made(last=5.0), notes=False)
    assert [p.name for p in one.write(tmp_path / "b.svg")] == ["b.svg"]
    assert (tmp_path / "b.svg").read_bytes().startswith(b"<svg")


def test_bad_arguments_are_refused(cases, tmp_path):
    made = cases.made(last=5.0)
    with pytest.raises(ValueError, match=r"\.pdf, \.svg or \.png"):
        log_sheet(made, tmp_path / "log.docx")
    with pytest.raises(ValueError, match="paper"):
        log_sheet(made, paper="A5")
    empty = made.series.with_column("depth", np.full(len(made), np.nan))
    with pytest.raises(ValueError, match="no reading has a depth"):
        log_sheet(cases.with_series(made, empty))


def test_runs_of_lettering():
    assert runs("plain") == [["plain", False]]
    assert runs("") == [["", False]]
    assert runs("σ′_{v0}") == [["σ′", False], ["v0", True]]


def test_one_reading_makes_a_log(cases):
    made = cases.made(last=5.0)
    one = cases.with_series(made, made.series.take(np.arange(len(made)) == 40))
    assert log_sheet(replace(one, profile=replace(one.profile, qt_is_qc=np.zeros(1, bool))))


@pytest.mark.skipif(shutil.which("pdffonts") is None, reason="pdffonts (poppler) is missing")
def test_fonts_are_embedded_and_ours(cases, tmp_path):
    log_sheet(cases.heavy(), tmp_path / "a.pdf")
    done = subprocess.run(["pdffonts", str(tmp_path / "a.pdf")], capture_output=True, check=True)
    rows = done.stdout.decode().splitlines()[2:]
    assert rows
    for row in rows:
        assert "B612" in row or "DejaVuSans" in row
        assert re.search(r"\byes\s+yes\s+yes\b", row)


@pytest.mark.shared
@pytest.mark.parametrize(
    "name",
    ["CPT000000005925.xml", "CPT000000115243.xml", "CPT000000198154.xml", "CPT000000204248.xml",
     "CPT000000251670.xml"],
)  # fmt: skip
def test_registered_soundings_make_a_log(shared_data, register_sounding, name):
    sounding = register_sounding(shared_data / "bro" / name)
    sheet = set_log(pp.interpret(pp.process(sounding)))
    assert len(sheet.pdf()) < 1_500_000
    assert sounding.name in str(sheet.data["log"]["name"])

"""The tutorial runs, and the reference pages hold what the code holds."""

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from pushproof.equations import equations
from pushproof.formats.recipe import load_recipe

ROOT = Path(__file__).parents[1]
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```", re.MULTILINE | re.DOTALL)


@pytest.mark.timeout(300)
def test_the_tutorial_runs(tmp_path):
    text = (ROOT / "docs" / "tutorial" / "first-log.md").read_text(encoding="utf-8")
    for language, body in BLOCK.findall(text):
        if language == "toml":
            (tmp_path / "demo" / "recipe.toml").write_text(body, encoding="utf-8")
        elif language == "python":
            subprocess.run([sys.executable, "-c", body], cwd=tmp_path, check=True)
        else:
            for line in body.strip().splitlines():
                words = shlex.split(line)
                assert words[0] == "pushproof"
                call = [sys.executable, "-m", *words]
                subprocess.run(call, cwd=tmp_path, check=True, capture_output=True)
    assert (tmp_path / "demo" / "HM-3-log.pdf").read_bytes().startswith(b"%PDF")


def test_the_reference_names_every_equation(tmp_path):
    subprocess.run([sys.executable, ROOT / "scripts" / "reference", tmp_path], check=True)
    text = (tmp_path / "equations.md").read_text(encoding="utf-8")
    assert all(f"## `{name}`" in text for name in equations())
    assert "pushproof log" in (tmp_path / "commands.md").read_text(encoding="utf-8")
    assert "FormatError" in (tmp_path / "errors.md").read_text(encoding="utf-8")
    formats = (tmp_path / "formats.md").read_text(encoding="utf-8")
    assert "| diggs | DIGGS XML |" in formats
    assert "| ags4 | `recipient` | who receives it (TRAN_RECV) |" in formats
    assert "values in MPa labelled kN/m2 | read, with the finding `qc-unit-doubtful`" in formats


def test_the_page_on_rehearsals_names_every_fault():
    from pushproof.sources.rehearsal import FAULTS

    text = (ROOT / "docs" / "how-to" / "rehearse.md").read_text(encoding="utf-8")
    rows = [f"| `{kind.example}` | {kind.words} |" for kind in FAULTS.values()]
    assert [row for row in rows if row not in text] == []
    (code,) = [body for language, body in BLOCK.findall(text) if language == "python"]
    exec(code, {})


def test_the_page_on_handing_over_runs_and_names_every_field(tmp_path, monkeypatch):
    from pushproof.formats.fields import FIELDS
    from pushproof.formats.writing import writable

    text = (ROOT / "docs" / "how-to" / "hand-over-files.md").read_text(encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    for language, body in BLOCK.findall(text):
        if language == "python":
            exec(body, {"__name__": "page"})
    assert (tmp_path / "short.ags").is_file()
    words = set(re.findall(r"\w+", text))
    assert set(FIELDS) <= words
    required = {"issue", "status", "recipient", "producer", "project_id", "along", "length"}
    assert required | {"edition", "own_headings", "bands"} <= words
    for one in writable().values():
        assert one.suffixes[0] in text


def test_links_in_the_documentation_point_somewhere():
    pages = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *(ROOT / "docs").rglob("*.md")]
    for page in pages:
        for target in re.findall(r"\]\(([^)#]+)", page.read_text(encoding="utf-8")):
            if "://" not in target:
                assert (page.parent / target).exists(), f"{page.name}: {target}"


def test_the_recipe_of_the_how_to_is_a_recipe(tmp_path):
    text = (ROOT / "docs" / "how-to" / "choose-relations.md").read_text(encoding="utf-8")
    blocks = dict(BLOCK.findall(text))
    recipe = tmp_path / "recipe.toml"
    recipe.write_text(blocks["toml"], encoding="utf-8")
    assert load_recipe(recipe).factors.value("Nkt") == 16.0
    subprocess.run([sys.executable, "-c", blocks["python"]], check=True)


def test_the_page_on_bands_names_every_relation_with_a_scatter_and_no_other():
    text = (ROOT / "docs" / "explanation" / "bands.md").read_text(encoding="utf-8")
    rows = [line for line in text.splitlines() if line.startswith("| `")]
    told = {name for row in rows for name in re.findall(r"`(\w+)`", row)}
    assert told == {one.name for one in equations().values() if one.scatter.known}
    for row in rows:
        published = {one.scatter.basis.value for one in equations().values() if one.name in row}
        assert row.split("|")[3].strip().split(":")[0] in published, row


@pytest.mark.timeout(300)
def test_the_format_of_the_how_to_reads_and_keeps_the_contract(tmp_path):
    text = (ROOT / "docs" / "how-to" / "add-a-format.md").read_text(encoding="utf-8")
    assert len(text.splitlines()) < 90
    module, tests = (body for language, body in BLOCK.findall(text) if language == "python")
    (tmp_path / "push_book.py").write_text(module, encoding="utf-8")
    (tmp_path / "test_push_book.py").write_text(tests, encoding="utf-8")
    (tmp_path / "plain.book").write_text(
        "PUSHBOOK 1\nA-7\n"
        + "".join(f"{1 + i / 50:.2f},{2 + i / 9:.3f},{20 + i}\n" for i in range(9))
    )
    call = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-m", "not slow",
            "-o", "markers=slow: x", str(tmp_path)]  # fmt: skip
    done = subprocess.run(call, cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-3000:]
    assert "1 deselected" in done.stdout


def test_the_index_lists_every_page():
    docs = ROOT / "docs"
    text = (docs / "README.md").read_text(encoding="utf-8")
    listed = {(docs / target).resolve() for target in re.findall(r"\]\(([^)#]+)", text)}
    made = ("vocabulary.md", "equations.md", "commands.md", "formats.md", "errors.md")
    pages = {page.resolve() for page in docs.rglob("*.md") if page.name not in made}
    assert sorted(pages - listed - {(docs / "README.md").resolve()}) == []

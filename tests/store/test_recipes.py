"""Versions of a recipe, in a job and beside a file: nobody overwrites another unknowingly."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.errors import DecisionConflictError
from pushproof.formats.recipe import load_recipe, recipe_from, recipe_text
from pushproof.model.corrections import Despike, Offset
from pushproof.model.recipe import BlankedInterval, Factors, Methods, Recipe
from pushproof.store import Job, verify
from pushproof.store.recipes import FileRecipes, JobRecipes, RecipeBook, changes

BLANK = BlankedInterval(top=2.0, base=2.4, channels=("u2",), reason="filter not saturated")


def _job(folder: Path) -> RecipeBook:
    path = folder / "site.job"
    with Job.create(path) as job:
        job.add_sounding("CPT-01")
        job.add_sounding("CPT-02")
    return JobRecipes(path, "CPT-01")


def _file(folder: Path) -> RecipeBook:
    return FileRecipes(folder / "CPT-01.gef")


@pytest.fixture(params=[_job, _file], ids=["job", "file"])
def book(request: pytest.FixtureRequest, tmp_path: Path) -> RecipeBook:
    make: Callable[[Path], RecipeBook] = request.param
    return make(tmp_path)


def test_a_version_keeps_recipe_author_reason_and_time(book: RecipeBook) -> None:
    recipe = Recipe(water_level=1.5, blanked=(BLANK,), methods=Methods(su="su_ndu"))
    book.save(recipe, author="R. Sand", reason="water level of the standpipe", based_on=0)
    start, saved = book.versions()
    assert start.recipe == Recipe()
    assert saved.recipe == recipe
    assert (saved.number, saved.author, saved.reason) == (
        1,
        "R. Sand",
        "water level of the standpipe",
    )
    assert saved.time is not None


def test_the_second_of_two_editors_is_told_what_the_first_changed(book: RecipeBook) -> None:
    book.save(Recipe(water_level=1.5), author="R. Sand", reason="standpipe", based_on=0)
    with pytest.raises(DecisionConflictError, match=r"R\. Sand saved version 1 .*water_level"):
        book.save(Recipe(predrilled=1.0), author="C. Clay", reason="inspection pit", based_on=0)
    assert len(book.versions()) == 2
    book.save(Recipe(water_level=1.5, predrilled=1.0), author="C. Clay", reason="pit", based_on=1)
    assert [one.author for one in book.versions()[1:]] == ["R. Sand", "C. Clay"]


def test_going_back_is_a_new_version(book: RecipeBook) -> None:
    book.save(Recipe(water_level=1.5), author="R. Sand", reason="standpipe", based_on=0)
    old = book.versions()[0].recipe
    book.save(old, author="R. Sand", reason="undo of version 1", based_on=1)
    assert [one.recipe.water_level for one in book.versions()] == [None, 1.5, None]


def test_author_and_reason_are_asked_for(book: RecipeBook) -> None:
    with pytest.raises(ValueError, match="missing: author, reason"):
        book.save(Recipe(), author=" ", reason="", based_on=0)
    assert len(book.versions()) == 1


def test_the_job_keeps_its_proof(tmp_path: Path) -> None:
    book = _job(tmp_path)
    book.save(Recipe(water_level=2.0), author="R. Sand", reason="standpipe", based_on=0)
    assert verify(tmp_path / "site.job").ok
    with Job.open(tmp_path / "site.job") as job:
        assert job.recipe("CPT-01").water_level == 2.0
        assert job.recipe("CPT-02").water_level is None


def test_a_decision_is_no_new_fact_and_a_statement_is(tmp_path: Path) -> None:
    book = _job(tmp_path)
    path = tmp_path / "site.job"

    def newest(name: str) -> int:
        with Job.open(path) as job:
            return job.newest_fact(name)

    before = newest("CPT-01"), newest("CPT-02")
    book.save(Recipe(water_level=2.0), author="R. Sand", reason="standpipe", based_on=0)
    assert (newest("CPT-01"), newest("CPT-02")) == before
    with Job.open(path, write=True) as job:
        job.add_statement("CPT-01", operator="A. Nobody")
    assert newest("CPT-01") > before[0]
    assert newest("CPT-02") == before[1]


def test_the_newest_file_is_what_the_command_line_reads(tmp_path: Path) -> None:
    book = FileRecipes(tmp_path / "CPT-01.gef")
    recipe = Recipe(
        corrections=(
            Despike(channel="qc", reason="one wild value"),
            Offset(channel="u2", amount=-4.0, reason='said "late" by the crew'),
        ),
        factors=Factors(Nkt=15.5),
    )
    book.save(recipe, author="R. Sand", reason="first look", based_on=0)
    read = load_recipe(tmp_path / "CPT-01.recipe.toml")
    assert read.corrections == recipe.corrections
    assert read.factors == recipe.factors
    assert read.author == "R. Sand"


def test_a_file_edited_by_hand_is_a_version_and_is_kept(tmp_path: Path) -> None:
    book = FileRecipes(tmp_path / "CPT-01.gef")
    book.save(Recipe(water_level=1.0), author="R. Sand", reason="standpipe", based_on=0)
    (tmp_path / "CPT-01.recipe.toml").write_text("water_level = 1.25\n", encoding="utf-8")
    assert book.versions()[-1].number == 2
    assert book.versions()[-1].reason == "edited by hand"
    with pytest.raises(DecisionConflictError, match="water_level"):
        book.save(Recipe(), author="C. Clay", reason="start again", based_on=1)
    book.save(Recipe(), author="C. Clay", reason="start again", based_on=2)
    assert [one.recipe.water_level for one in book.versions()] == [None, 1.0, 1.25, None]


def test_soundings_of_one_file_have_recipes_of_their_own(tmp_path: Path) -> None:
    one, other = (FileRecipes(tmp_path / "site.ags", name) for name in ("A/1", "A/2"))
    one.save(Recipe(water_level=1.0), author="R. Sand", reason="standpipe", based_on=0)
    assert len(other.versions()) == 1
    assert (tmp_path / "site.A-1.recipe.toml").is_file()


TEXT = st.text(min_size=3, max_size=30).filter(lambda text: max(text) < "\ud800")


@given(
    TEXT,
    st.one_of(st.none(), st.floats(-5, 40)),
    st.lists(st.floats(0, 50), max_size=3),
    st.booleans(),
)
def test_toml_round_trip(
    reason: str, level: float | None, tops: list[float], correct_depth: bool
) -> None:
    recipe = Recipe(
        water_level=level,
        correct_depth=correct_depth,
        blanked=tuple(BlankedInterval(top=t, base=t + 0.5, reason=reason) for t in tops),
        corrections=(Despike(channel="fs", reason=reason),),
        reason=reason,
    )
    assert recipe_from(tomllib.loads(recipe_text(recipe))) == recipe


def test_changes_name_the_inner_field() -> None:
    found = changes(Recipe(), Recipe(factors=Factors(Nkt=15), methods=Methods(su="su_ndu")))
    assert [(c.field, c.after) for c in found] == [
        ("methods.su", "su_ndu"),
        ("factors.Nkt", 15.0),
    ]

"""Where a command puts a decision it was asked to save: a recipe file, or the job itself."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pushproof.cli.job import is_job

if TYPE_CHECKING:
    from pushproof.model.recipe import Recipe


def keep(recipe: Recipe, target: Path, name: str, *, author: str, reason: str) -> str:
    """Save a decision and say where.

    Parameters
    ----------
    recipe
        What was decided; it is put over what the target holds.
    target
        A recipe file, made if it is not there, or a job file.
    name
        The sounding.
    author, reason
        Who decided and why; a job asks for both.

    Raises
    ------
    ConfigurationError
        If the file that is there is no recipe.
    ValueError
        If a job is to keep it and author or reason is missing.
    """
    if is_job(target):
        from pushproof.store.recipes import JobRecipes

        book = JobRecipes(target, name)
        newest = book.versions()[-1]
        kept = book.save(
            newest.recipe.over(recipe), author=author, reason=reason, based_on=newest.number
        )
        return f"{target}: version {kept.number} of the decisions for {name}"
    from pushproof.formats.recipe import load_recipe, recipe_text

    words = {key: text for key, text in (("author", author), ("reason", reason)) if text}
    whole = (load_recipe(target).over(recipe) if target.exists() else recipe).model_copy(
        update=words
    )
    beside = target.with_name(target.name + ".part")
    beside.write_text(recipe_text(whole), encoding="utf-8", newline="\n")
    beside.replace(target)
    return str(target)

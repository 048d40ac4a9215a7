"""From a file to its interpretations: what log, table and show have in common."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from pushproof.cli.console import console

if TYPE_CHECKING:
    from pushproof.model.observations import Observation
    from pushproof.model.profile import Interpretation
    from pushproof.model.recipe import Recipe
    from pushproof.model.sounding import Sounding
    from pushproof.store.signing import SignOff


@dataclass(frozen=True)
class Reading:
    """How the files of a command are read and interpreted.

    Parameters
    ----------
    recipe
        Decisions of the command. A job file holds decisions of its own, a loose file may have them
        beside it, as the page saves them; these go on top.
    columns
        Columns of a text file.
    salvage
        Read what can be read of a damaged file.
    """

    recipe: Recipe
    columns: str = ""
    salvage: bool = False

    def interpretations(self, path: Path) -> Iterator[Interpretation]:
        """Yield the interpretation of every sounding in a file."""
        from pushproof.interpretation import interpret
        from pushproof.processing import process

        for sounding, recipe in self.decided(path):
            yield interpret(process(sounding, recipe))

    def decided(self, path: Path) -> Iterator[tuple[Sounding, Recipe]]:
        """Yield every sounding with the decisions that hold for it."""
        kept: dict[str, Recipe] = {}
        found: Iterator[Sounding] = self.soundings(path)
        if is_job(path):
            from pushproof.store import Job

            with Job.open(path) as job:
                kept = {name: job.recipe(name) for name in job.soundings()}
        elif any(path.parent.glob("*.recipe.toml")):
            everything = list(found)
            kept = _beside(path, [one.name for one in everything])
            found = iter(everything)
        for sounding in found:
            stored = kept.get(sounding.name)
            yield sounding, self.recipe if stored is None else stored.over(self.recipe)

    def sign_offs(
        self, path: Path, known: Iterable[tuple[Sounding, Recipe]] | None = None
    ) -> Iterator[tuple[SignOff, list[str]]]:
        """Yield the newest sign-off of each sounding of a job, and what is not as it was signed.

        Parameters
        ----------
        known
            What :meth:`decided` gave of the file before; read again if None.
        """
        from pushproof.store import Job
        from pushproof.store.signing import changes, newest_sign_offs

        if not is_job(path):
            return
        with Job.open(path) as job:
            newest = newest_sign_offs(job)
        if not newest:
            return
        for sounding, recipe in self.decided(path) if known is None else known:
            if sounding.name in newest:
                signed = newest[sounding.name]
                yield signed, changes(signed, sounding, recipe)

    def signed_lines(
        self, path: Path, known: Iterable[tuple[Sounding, Recipe]] | None = None
    ) -> dict[str, str]:
        """Return the line of each sounding of a job that was signed off; see :meth:`sign_offs`.

        Raises
        ------
        RecordError
            If one is not what was signed: it names what changed.
        """
        from pushproof.errors import RecordError

        lines: dict[str, str] = {}
        for signed, differ in self.sign_offs(path, known):
            if differ:
                raise RecordError(
                    f"{path}: {signed.sounding} is not what was signed: {'; '.join(differ)}; sign "
                    "it again, or set it unsigned with --unsigned"
                )
            lines[signed.sounding] = signed.line
        return lines

    def soundings(self, path: Path) -> Iterator[Sounding]:
        """Yield every sounding of a job file or of any file that can be read."""
        if path.suffix.lower() == ".job" or is_job(path):
            from pushproof.recording.assemble import soundings

            yield from soundings(path)
        else:
            from pushproof.formats import read_all

            yield from read_all(path, columns=self.columns, salvage=self.salvage)


def _beside(path: Path, names: list[str]) -> dict[str, Recipe]:
    """Return the decisions kept beside a loose file, by the name of the sounding; say so."""
    from pushproof.store.recipes import FileRecipes

    kept: dict[str, Recipe] = {}
    for name in dict.fromkeys(names):
        book = FileRecipes(path, name if len(names) > 1 else "")
        if book.newest.is_file():
            kept[name] = book.versions()[-1].recipe
            _say_used(book.newest)
    return kept


@cache
def _say_used(recipe: Path) -> None:
    """Say once that decisions beside a file are used: they change what comes out."""
    console(stderr=True).print(f"decisions used: {recipe}", soft_wrap=True, markup=False)


def observed_in(path: Path) -> dict[str, tuple[Observation, ...]]:
    """Return the observations that a job holds, by sounding; a loose file holds none."""
    if not is_job(path):
        return {}
    from pushproof.store import Job
    from pushproof.store.observations import observations

    with Job.open(path) as job:
        found = {name: observations(job, name) for name in job.soundings()}
    return {name: seen for name, seen in found.items() if seen}


def is_job(path: Path) -> bool:
    """Tell whether a file is a database, as a job file is, without loading the store."""
    from pushproof.recording.job_format import is_job as has_its_header

    return has_its_header(path)


def product_path(output: Path | None, source: Path, name: str, suffix: str, *, alone: bool) -> Path:
    """Return where the product of one sounding goes.

    Parameters
    ----------
    output
        What the user asked for: a file, a folder, or nothing (then beside where they are).
    source
        The file the sounding came from.
    name
        Name of the sounding; used where a file holds several.
    suffix
        Suffix with the dot, where ``output`` does not say it.
    alone
        True if this command makes only this one product.
    """
    if output is not None and alone and output.suffix:
        return output
    folder = Path() if output is None else output
    return folder / f"{safe_name(name or source.stem)}{suffix}"


def safe_name(name: str) -> str:
    """Return a name that is a plain file name on every system.

    Examples
    --------
    >>> safe_name("N6196/02 (3)")
    'N6196-02-3'
    """
    return re.sub(r"[^\w.]+", "-", name).strip("-.") or "sounding"

"""The versions of a recipe: who decided what, when and why, and nobody overwritten unknowingly.

In a job they are decisions of the job file. A loose sounding file has them beside it as TOML:
``NAME.recipe.toml`` is the newest, which commands use, and ``NAME.recipe.v1.toml`` and so on
are all versions. A save names the version it was based on; if that is not the newest any more it
is refused, and the error says what the others changed.
"""

from __future__ import annotations

import contextlib
import os
import re
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol

from pushproof.errors import ConfigurationError, DecisionConflictError
from pushproof.formats.recipe import load_recipe, recipe_from, recipe_text
from pushproof.model.recipe import Recipe
from pushproof.store.job import Job

KIND = "recipe"


@dataclass(frozen=True)
class Version:
    """One saved version of a recipe; version 0 stands for the start, which nobody decided."""

    number: int
    recipe: Recipe
    author: str = ""
    reason: str = ""
    time: datetime | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """One field in which two recipes differ; the value is None where it is not given."""

    field: str
    before: Any
    after: Any


class RecipeBook(Protocol):
    """Where the versions of one sounding's recipe are kept."""

    def versions(self) -> list[Version]:
        """Return all versions, oldest first, beginning with version 0."""
        ...

    def save(self, recipe: Recipe, *, author: str, reason: str, based_on: int) -> Version:
        """Save a new version.

        Raises
        ------
        DecisionConflictError
            If ``based_on`` is not the newest version.
        ValueError
            If the author or the reason is empty.
        """
        ...


class JobRecipes:
    """The recipe of one sounding of a job.

    Parameters
    ----------
    path, name
        The job file and the sounding.
    writing
        Gives the job open for writing; by default it is opened, which fails while another program
        records into it. A recorder in this process lends its own.
    """

    def __init__(
        self,
        path: Path,
        name: str,
        writing: Callable[[], AbstractContextManager[Job]] | None = None,
    ) -> None:
        self.path, self.name = path, name
        self._writing = writing or self._open

    def _open(self) -> AbstractContextManager[Job]:
        return Job.open(self.path, write=True, purpose="save a decision")

    def versions(self) -> list[Version]:
        """Return all versions, oldest first; version 0 is the recipe of the whole job."""
        with Job.open(self.path) as job:
            return self._versions(job)

    def _versions(self, job: Job) -> list[Version]:
        stored = job.decisions(KIND, self.name)
        start = next((d for d in reversed(stored) if d.sounding is None), None)
        base = Recipe() if start is None else recipe_from(dict(start.document), str(self.path))
        found = [Version(0, base)]
        for one in stored:
            if one.sounding == self.name:
                recipe = recipe_from(dict(one.document), f"{self.path}, link {one.link}")
                when = datetime.fromtimestamp(one.time, UTC)
                found.append(Version(one.version, recipe, one.author, one.reason, when))
        return found

    def save(self, recipe: Recipe, *, author: str, reason: str, based_on: int) -> Version:
        """Save a new version; see :class:`RecipeBook`."""
        _check_words(author, reason)
        with self._writing() as job, job.writing():
            known = self._versions(job)
            _check_base(known, based_on, str(self.path))
            document = plain(recipe)
            job.add_decision(KIND, document, author=author, reason=reason, sounding=self.name)
        return Version(known[-1].number + 1, recipe, author, reason, datetime.now(UTC))


_HEAD = re.compile(r"^# Version (\d+), (\S+)")
_ONE_WRITER = threading.Lock()


class FileRecipes:
    """The recipe of a sounding in a loose file, kept beside it.

    Parameters
    ----------
    path
        The sounding file.
    part
        Name of the sounding, where the file holds several; empty where it holds one.
    """

    def __init__(self, path: Path, part: str = "") -> None:
        stem = f"{path.stem}.{_plain_name(part)}" if part else path.stem
        self.newest = path.with_name(f"{stem}.recipe.toml")
        self._stem = stem

    def versions(self) -> list[Version]:
        """Return all versions, oldest first; one edited by hand counts as the newest."""
        found = [Version(0, Recipe())]
        found += [self._read(path, number) for number, path in self._kept()]
        if self.newest.is_file():
            kept = dict(self._kept()).get(found[-1].number)
            text = self.newest.read_bytes()
            if kept is None or kept.read_bytes() != text:
                found.append(self._read(self.newest, found[-1].number + 1))
        return found

    def _kept(self) -> list[tuple[int, Path]]:
        pattern = re.compile(re.escape(self._stem) + r"\.recipe\.v(\d+)\.toml")
        paths = [(pattern.fullmatch(p.name), p) for p in self.newest.parent.iterdir()]
        return sorted((int(match[1]), path) for match, path in paths if match)

    def _read(self, path: Path, number: int) -> Version:
        recipe = load_recipe(path)
        head = _HEAD.match(path.read_text(encoding="utf-8").split("\n", 1)[0])
        when = None
        if head and int(head[1]) == number:
            with contextlib.suppress(ValueError):
                when = datetime.fromisoformat(head[2])
        if when is None:
            when = datetime.fromtimestamp(path.stat().st_mtime, UTC)
        bare = recipe.model_copy(update={"author": "", "reason": ""})
        author, reason = recipe.author or "not stated", recipe.reason or "edited by hand"
        return Version(number, bare, author, reason, when)

    def save(self, recipe: Recipe, *, author: str, reason: str, based_on: int) -> Version:
        """Save a new version; see :class:`RecipeBook`. Two programs cannot write the same one."""
        _check_words(author, reason)
        with _ONE_WRITER:
            known = self.versions()
            _check_base(known, based_on, str(self.newest))
            by_hand = known[-1].number and known[-1].number not in dict(self._kept())
            if by_hand:
                self._create(known[-1].number, self.newest.read_bytes())
            when = datetime.now(UTC).replace(microsecond=0)
            number = known[-1].number + 1
            whole = recipe.model_copy(update={"author": author, "reason": reason})
            text = f"# Version {number}, {when.isoformat()}\n" + recipe_text(whole)
            try:
                self._create(number, text.encode())
            except FileExistsError:
                _check_base(self.versions(), based_on, str(self.newest))
                raise
            self._replace(text.encode())
        return Version(number, recipe, author, reason, when)

    def _create(self, number: int, content: bytes) -> None:
        path = self.newest.with_name(f"{self._stem}.recipe.v{number}.toml")
        with path.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())

    def _replace(self, content: bytes) -> None:
        part = self.newest.with_suffix(".part")
        part.write_bytes(content)
        part.replace(self.newest)


def plain(recipe: Recipe) -> dict[str, Any]:
    """Return a recipe as plain values, what is left at its default left out."""
    document = recipe.model_dump(mode="json", exclude_defaults=True, exclude={"author", "reason"})
    # which correction it is stands in a default
    if recipe.corrections:
        document["corrections"] = [one.model_dump(mode="json") for one in recipe.corrections]
    return document


def changes(before: Recipe, after: Recipe) -> list[Change]:
    """Return the fields in which two recipes differ, by dotted name.

    Examples
    --------
    >>> changes(Recipe(), Recipe(water_level=1.5))
    [Change(field='water_level', before=None, after=1.5)]
    """
    return list(_changes("", before.model_dump(mode="json"), after.model_dump(mode="json")))


def _changes(where: str, before: Any, after: Any) -> Iterator[Change]:
    if isinstance(before, dict) and isinstance(after, dict):
        for key in dict.fromkeys([*before, *after]):
            if key not in ("author", "reason") or where:
                inner = f"{where}.{key}" if where else key
                yield from _changes(inner, before.get(key), after.get(key))
    elif before != after:
        yield Change(where, before, after)


def _check_words(author: str, reason: str) -> None:
    texts = (("author", author), ("reason", reason))
    faults = [name for name, text in texts if len(text.strip()) < 2]
    if faults:
        raise ValueError(f"a decision has an author and a reason; missing: {', '.join(faults)}")


def _check_base(known: list[Version], based_on: int, where: str) -> None:
    """Refuse a save that is not based on the newest version, and say what it would undo."""
    newest = known[-1]
    if based_on == newest.number:
        return
    base = next((one for one in known if one.number == based_on), None)
    if base is None:
        raise ConfigurationError(f"{where}: there is no version {based_on}")
    fields = ", ".join(change.field for change in changes(base.recipe, newest.recipe)) or "nothing"
    raise DecisionConflictError(
        f"{where}: {newest.author} saved version {newest.number} ({newest.reason}) while this was "
        f"based on version {based_on}; it changed {fields}. Look at it, then save again.",
        based_on=based_on,
        newest=newest.number,
    )


def _plain_name(text: str) -> str:
    return re.sub(r"[^\w.]+", "-", text).strip("-.") or "sounding"

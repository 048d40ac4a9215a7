"""``pushproof convert``: hand soundings over in another format."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pushproof.cli.console import Settings, console
from pushproof.cli.job import Reading
from pushproof.cli.options import (
    AreaRatio,
    Columns,
    Debug,
    Quiet,
    RecipeFile,
    Salvage,
    WaterLevel,
    decisions,
)

if TYPE_CHECKING:
    from pushproof.formats.contract import Content, Loss, Missing, WritableFormat


@dataclass(frozen=True)
class Conversion:
    """What is asked for: how files are read, and the target format with what it was given."""

    reading: Reading
    to: str
    given: dict[str, str]
    results: bool
    overwrite: bool

    @property
    def target(self) -> WritableFormat:
        """The target format."""
        from pushproof.formats.writing import target_format

        return target_format("", self.to)

    def contents(self, path: Path) -> list[Content]:
        """Return what a file holds, or what is derived from it."""
        if self.results:
            return list(self.reading.interpretations(path))
        return list(self.reading.soundings(path))


@dataclass
class File:
    """One source on its way: what it holds, what it lacks and loses, how it went."""

    path: Path
    soundings: list[str] = field(default_factory=list)
    losses: list[Loss] = field(default_factory=list)
    missing: list[Missing] = field(default_factory=list)
    written: list[Path] = field(default_factory=list)
    fault: str = ""

    def document(self) -> dict[str, Any]:
        """Return it for ``--json``."""
        return {
            "file": str(self.path),
            "soundings": self.soundings,
            "losses": [{"what": one.what, "why": one.why} for one in self.losses],
            "missing": [
                {
                    "field": one.field,
                    "words": one.words,
                    "required": one.required,
                    "sounding": one.sounding,
                }
                for one in self.missing
            ],
            "written": [str(path) for path in self.written],
            "error": self.fault or None,
        }


def convert(
    paths: Annotated[
        list[Path],
        typer.Argument(
            metavar="IN... OUT",
            help="Sounding files or job files, then the file or folder to write.",
            show_default=False,
        ),
    ],
    to: Annotated[
        str | None,
        typer.Option("--to", help="Format, where OUT does not say it: see pushproof formats."),
    ] = None,
    set_: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="FIELD=VALUE", help="What the format asks for."),
    ] = None,
    fields: Annotated[
        Path | None,
        typer.Option("--fields", help="The same as a TOML file of FIELD = VALUE lines."),
    ] = None,
    results: Annotated[
        bool, typer.Option("--results", help="Corrected and derived values too.")
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only say what is lost and what lacks.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Accept what is lost.")] = False,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Replace files that are there.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON; asks nothing.")] = False,
    columns: Columns = "",
    salvage: Salvage = False,
    water_level: WaterLevel = None,
    area_ratio: AreaRatio = None,
    recipe: RecipeFile = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Write soundings in another format, after saying what it cannot carry."""
    from pushproof.formats.writing import target_format

    if len(paths) < 2:
        raise typer.BadParameter("name the files to read and then the one to write")
    *sources, out = paths
    asked = Conversion(
        Reading(decisions(recipe, water_level, area_ratio), columns, salvage),
        target_format(out, to).name,
        _given(set_ or [], fields),
        results,
        overwrite,
    )
    files = _look_all(asked, sources)
    if not as_json:
        _show_losses(files)
        asked = _ask(asked, files) if not dry_run else asked
        _show_missing(files)
    if not dry_run:
        _accept(files, yes=yes, as_json=as_json)
        _write_all(asked, files, out)
    if as_json:
        import json

        document = {"format": asked.to, "files": [one.document() for one in files]}
        typer.echo(json.dumps(document, indent=2, ensure_ascii=False))
    else:
        _show_outcome(files, dry_run=dry_run)
    lacks = any(one.required for file in files for one in file.missing)
    raise typer.Exit(1 if lacks or any(one.fault for one in files) else 0)


def _given(texts: Sequence[str], path: Path | None) -> dict[str, str]:
    """Return the fields that were given; ``--set`` goes before the file.

    Raises
    ------
    ConfigurationError
        If a field has no value or the file cannot be read.
    """
    from pushproof.errors import ConfigurationError

    given: dict[str, str] = {}
    if path is not None:
        import tomllib

        try:
            document = tomllib.loads(path.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            raise ConfigurationError(f"fields {path}: {error}") from error
        for name, value in document.items():
            if isinstance(value, dict | list):
                raise ConfigurationError(f"fields {path}: {name} is a table; expected a value")
            given[name] = ("yes" if value else "no") if isinstance(value, bool) else str(value)
    for text in texts:
        name, equals, value = text.partition("=")
        if not equals or not name.strip():
            raise ConfigurationError(f"--set {text!r}: expected FIELD=VALUE")
        given[name.strip()] = value.strip()
    return given


def _look_all(asked: Conversion, sources: Sequence[Path]) -> list[File]:
    """Read each file once and note what it holds, lacks and loses."""
    from rich.progress import Progress

    found = []
    hide = Settings.quiet or len(sources) < 2
    with Progress(console=console(stderr=True), transient=True, disable=hide) as bar:
        task = bar.add_task("reading", total=len(sources))
        for path in sources:
            found.append(_look(asked, path))
            bar.advance(task)
    return found


def _look(asked: Conversion, path: Path) -> File:
    from pushproof.errors import PushproofError
    from pushproof.formats.contract import sounding_of
    from pushproof.formats.writing import losses, missing

    file = File(path)
    try:
        contents = asked.contents(path)
        file.soundings = [sounding_of(one).name for one in contents]
        file.losses = losses(contents, asked.to, **asked.given)
        file.missing = missing(contents, asked.to, **asked.given)
    except (PushproofError, ValueError, OSError) as error:
        if Settings.debug:
            raise
        file.fault = " ".join(str(error).split())
    return file


def _ask(asked: Conversion, files: list[File]) -> Conversion:
    """Ask a person for what is required; elsewhere it is only named."""
    if not sys.stdin.isatty():
        return asked
    words = {one.field: one.words for file in files for one in file.missing if one.required}
    given = dict(asked.given)
    for name, text in words.items():
        answer = typer.prompt(f"{name}: {text}", default="", show_default=False).strip()
        if answer:
            given[name] = answer
    if given == asked.given:
        return asked
    new = Conversion(asked.reading, asked.to, given, asked.results, asked.overwrite)
    files[:] = [one if one.fault else _look(new, one.path) for one in files]
    return new


def _accept(files: Sequence[File], *, yes: bool, as_json: bool) -> None:
    """Go on only if what is lost was accepted.

    Raises
    ------
    ConfigurationError
        If nobody can be asked and ``--yes`` was not said.
    """
    from pushproof.errors import ConfigurationError

    if yes or not any(file.losses for file in files):
        return
    if as_json or not sys.stdin.isatty():
        raise ConfigurationError("the format cannot carry all of it; accept that with --yes")
    typer.confirm("Write without these?", abort=True)


def _write_all(asked: Conversion, files: list[File], out: Path) -> None:
    from rich.progress import Progress

    ready = [one for one in files if not one.fault and not any(m.required for m in one.missing)]
    single = bool(out.suffix) and not out.is_dir()
    groups = [ready] if single and ready else [[one] for one in ready]
    hide = Settings.quiet or len(groups) < 2
    with Progress(console=console(stderr=True), transient=True, disable=hide) as bar:
        task = bar.add_task("writing", total=len(groups))
        for group in groups:
            _write(asked, group, out if single else None, out)
            bar.advance(task)


def _write(asked: Conversion, group: list[File], path: Path | None, folder: Path) -> None:
    """Write one target from its sources and note how it went in each of them."""
    from pushproof.errors import PushproofError
    from pushproof.formats.writing import write

    target = asked.target
    try:
        contents = [one for file in group for one in asked.contents(file.path)]
        if path is None:
            folder.mkdir(parents=True, exist_ok=True)
            alone = target.many or len(contents) == 1
            path = folder / f"{group[0].path.stem}{target.suffixes[0]}" if alone else folder
        else:
            path.parent.mkdir(parents=True, exist_ok=True)
        done = write(contents, path, asked.to, overwrite=asked.overwrite, **asked.given)
    except (PushproofError, ValueError, OSError) as error:
        if Settings.debug:
            raise
        for file in group:
            file.fault = " ".join(str(error).split())
        return
    for file in group:
        file.written = list(done.paths)


def _show_losses(files: Sequence[File]) -> None:
    """Print what is lost, each kind once with the files it concerns."""
    from rich.markup import escape
    from rich.table import Table

    found: dict[Loss, int] = {}
    for file in files:
        for one in file.losses:
            found[one] = found.get(one, 0) + 1
    if not found:
        return
    table = Table(box=None, header_style="bold", pad_edge=False)
    table.add_column("not in the file, or not as it was")
    table.add_column("why")
    if len(files) > 1:
        table.add_column("files", justify="right")
    for one, count in found.items():
        row = [escape(one.what), escape(one.why)]
        table.add_row(*row, *([str(count)] if len(files) > 1 else []))
    console().print(table)
    console().print()


def _show_missing(files: Sequence[File]) -> None:
    """Print what the format asks for, and the option that gives it."""
    from rich.markup import escape
    from rich.table import Table

    found: dict[tuple[bool, str, str], int] = {}
    for file in files:
        for one in file.missing:
            key = (not one.required, one.field, one.words)
            found[key] = found.get(key, 0) + 1
    if not found:
        return
    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in ("asked for", "what it is", ""):
        table.add_column(heading)
    for optional, name, words in sorted(found):
        mark = "may stay empty" if optional else "[bold red]required[/]"
        table.add_row(escape(f"--set {name}=..."), escape(words), mark)
    console().print(table)
    console().print()


def _show_outcome(files: Sequence[File], *, dry_run: bool) -> None:
    from rich.markup import escape
    from rich.table import Table

    def result(file: File) -> tuple[str, str]:
        if file.fault:
            return "[bold red]failed[/]", escape(file.fault)
        needed = sorted({one.field for one in file.missing if one.required})
        if needed:
            return "[bold red]lacks[/]", escape(", ".join(needed))
        if dry_run:
            return "[green]could be written[/]", f"{len(file.soundings)} soundings"
        return "[green]done[/]", escape("\n".join(str(path) for path in file.written))

    rows = [(file, *result(file)) for file in files]
    bad = sum("red" in mark for _, mark, _ in rows)
    out = console(stderr=bad > 0)
    table = Table(box=None, header_style="bold", pad_edge=False)
    table.add_column("file")
    table.add_column("", no_wrap=True)
    table.add_column("result", overflow="fold")
    for file, mark, text in rows:
        table.add_row(escape(file.path.name), mark, text)
    out.print(table)
    if len(files) > 1:
        out.print(f"{len(files) - bad} of {len(files)} files done, {bad} not")

"""From a file to its interpretations: what log, table and show have in common."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pushproof.model.profile import Interpretation
    from pushproof.model.recipe import Recipe
    from pushproof.model.sounding import Sounding


@dataclass(frozen=True)
class Reading:
    """How the files of a command are read and interpreted."""

    recipe: Recipe
    columns: str = ""

    def interpretations(self, path: Path) -> Iterator[Interpretation]:
        """Yield the interpretation of every sounding in a file."""
        from pushproof.interpretation import interpret
        from pushproof.processing import process

        for sounding in self.soundings(path):
            yield interpret(process(sounding, self.recipe))

    def soundings(self, path: Path) -> Iterator[Sounding]:
        """Yield every sounding of a job file or of any file that can be read."""
        if path.suffix.lower() == ".job" or is_job(path):
            from pushproof.recording.assemble import soundings

            yield from soundings(path)
        else:
            from pushproof.formats import read_all

            yield from read_all(path, columns=self.columns)


def is_job(path: Path) -> bool:
    """Tell whether a file is a database, as a job file is, without loading the store."""
    try:
        with path.open("rb") as file:
            return file.read(16) == b"SQLite format 3\0"
    except OSError:
        return False


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

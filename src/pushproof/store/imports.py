"""Bringing files of other formats into a job, and reading them again from their bytes.

The bytes are the fact. The sounding is read from them each time, so a better reader gives a
better sounding without touching the record.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

from pushproof.errors import FormatError
from pushproof.formats.registry import detect, read_all
from pushproof.model.sounding import Sounding
from pushproof.store.facts import StoredOriginal
from pushproof.store.job import Job

COMPANION = "companion"
"""Format of an original that belongs to the next one that is none: a dissipation test of a GEF."""
_TOML = "toml\n"
"""Stands before a column mapping that came as a TOML file."""


def import_file(
    job: Job, path: Path | str, *, format: str | None = None, columns: str = ""
) -> tuple[str, ...]:
    """Keep a file in a job, byte for byte, and add the soundings that are in it.

    Parameters
    ----------
    job
        The job, open for writing.
    path
        The file.
    format
        Name of its format, where the file does not show it.
    columns
        Column mapping for delimited text; it is kept with the file.

    Returns
    -------
    tuple of str
        Names of the soundings in the job. A name that the job has already gets a number behind
        it, ``CPT-01 (2)``.

    Raises
    ------
    FormatError
        If the file cannot be read; the job is then as it was.
    """
    path = Path(path)
    name = format or detect(path).name
    soundings = read_all(path, format=name, columns=columns)
    try:
        content = path.read_bytes()
    except OSError as error:
        raise FormatError(f"cannot be read: {error.strerror}", path=path) from error
    names: list[str] = []
    beside = _companions(path, soundings)
    with job.writing():
        for name_beside, data in beside:
            job.add_original(name_beside, data, format=COMPANION)
        link = job.add_original(path.name, content, format=name, columns=_kept(columns))
        taken = set(job.soundings())
        for part, sounding in enumerate(soundings):
            names.append(_free(sounding.name, taken))
            taken.add(names[-1])
            job.add_sounding(names[-1], original=link, part=part)
    return tuple(names)


def _companions(path: Path, soundings: Sequence[Sounding]) -> list[tuple[str, bytes]]:
    """Return the files beside one that its soundings were read from too, byte for byte."""
    names = {
        test.source.name
        for one in soundings
        for test in one.dissipations
        if test.source is not None and test.source.name != path.name
    }
    try:
        return [(name, (path.parent / name).read_bytes()) for name in sorted(names)]
    except OSError as error:
        raise FormatError(f"a file beside it cannot be read: {error}", path=path) from error


def read_original(
    original: StoredOriginal, content: bytes, beside: Sequence[tuple[str, bytes]] = ()
) -> Sequence[Sounding]:
    """Read the soundings of an imported file from its bytes, and those of files beside it."""
    with tempfile.TemporaryDirectory() as folder:
        for name, data in beside:
            (Path(folder) / (Path(name).name or "beside")).write_bytes(data)
        path = Path(folder) / (Path(original.name).name or "original")
        path.write_bytes(content)
        columns = original.columns or ""
        if columns.startswith(_TOML):
            mapping = Path(folder) / "columns.toml"
            mapping.write_text(columns.removeprefix(_TOML), encoding="utf-8")
            columns = str(mapping)
        return read_all(path, format=original.format, columns=columns)


def _kept(columns: str) -> str | None:
    """Return a column mapping as it is kept: a TOML file with its text, else as given."""
    if Path(columns).suffix.lower() == ".toml":
        return _TOML + Path(columns).read_text(encoding="utf-8")
    return columns or None


def _free(name: str, taken: set[str]) -> str:
    wanted = name.strip() or "unnamed"
    free, number = wanted, 1
    while free in taken:
        number += 1
        free = f"{wanted} ({number})"
    return free

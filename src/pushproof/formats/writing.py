"""Handing soundings over: what a target asks for, what it cannot carry, and writing it.

A file is made whole in memory, written beside its target and then put in its place, so that a
failure leaves no half file. What stands there is not replaced unless that is asked for.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from pushproof.errors import FormatError
from pushproof.formats.contract import Content, Loss, Missing, WritableFormat, sounding_of
from pushproof.formats.fields import FIELDS, with_fields
from pushproof.formats.registry import formats
from pushproof.model.profile import Interpretation
from pushproof.model.sounding import Sounding

What = Content | Iterable[Content]
"""One sounding or interpretation, or several."""


@dataclass(frozen=True)
class Written:
    """What was written.

    Parameters
    ----------
    paths
        The files, those that others hang on first.
    losses
        What they do not hold.
    missing
        What the format asks for and may do without.
    """

    paths: tuple[Path, ...]
    losses: tuple[Loss, ...]
    missing: tuple[Missing, ...]


def writable() -> dict[str, WritableFormat]:
    """Return the formats that can be written, by name."""
    return {one.name: one for one in formats() if isinstance(one, WritableFormat)}


def target_format(path: str | Path, format: str | None = None) -> WritableFormat:
    """Return the format to write, by its name or by the suffix of the file.

    Raises
    ------
    ValueError
        If there is none, or several; the message names them.
    """
    known = writable()
    if format is not None:
        if format not in known:
            raise ValueError(f"no format {format!r} can be written; known: {', '.join(known)}")
        return known[format]
    suffix = Path(path).suffix.lower()
    fit = [one for one in known.values() if suffix in one.suffixes]
    if len(fit) == 1:
        return fit[0]
    if fit:
        names = ", ".join(one.name for one in fit)
        raise ValueError(f"{suffix!r} may be {names}; name the format")
    kinds = ", ".join(f"{one.name} ({' '.join(one.suffixes)})" for one in known.values())
    raise ValueError(f"{suffix or str(path)!r} says no format; name one of: {kinds}")


def losses(what: What, format: str, **fields: object) -> list[Loss]:
    """Return what a format cannot carry of soundings, before anything is written.

    Parameters
    ----------
    what
        A sounding, an interpretation, or several.
    format
        Name of the format (``"ags4"``).
    fields
        As for :func:`write`.
    """
    target = target_format("", format)
    contents, given = _prepared(target, what, fields)
    return target.losses(contents, given)


def missing(what: What, format: str, **fields: object) -> list[Missing]:
    """Return what a format asks for that neither the soundings nor the fields give.

    Parameters
    ----------
    what
        A sounding, an interpretation, or several.
    format
        Name of the format (``"ags4"``).
    fields
        As for :func:`write`.
    """
    target = target_format("", format)
    contents, given = _prepared(target, what, fields)
    return target.missing(contents, given)


def write(
    what: What,
    path: str | Path,
    format: str | None = None,
    *,
    overwrite: bool = False,
    **fields: object,
) -> Written:
    """Write soundings, or what was derived from them, to a file.

    Parameters
    ----------
    what
        A sounding, an interpretation, or several.
    path
        The file, or a folder: then each sounding gets a file of its own name.
    format
        Name of the format, where the suffix does not say it.
    overwrite
        Replace a file that is there.
    fields
        What the format asks for and the sounding does not hold, by name
        (``producer="..."``); see :func:`missing`. Nothing is made up.

    Returns
    -------
    Written
        The files, what they do not hold, and what the format would have liked to know.

    Raises
    ------
    FormatError
        If something required is missing, a file is there already, or writing fails.
    ValueError
        If the format is not known or a field cannot be used.
    """
    path = Path(path)
    target = target_format(path, format)
    contents, given = _prepared(target, what, fields)
    if path.is_dir():
        files: dict[Path, bytes] = {}
        lost: list[Loss] = []
        lacks: list[Missing] = []
        for one in contents:
            name = file_name(sounding_of(one).name) + target.suffixes[0]
            if path / name in files:
                raise FormatError(f"two soundings would be {name}; rename one", path=path)
            lacks += _complete(target, [one], given, path / name)
            lost += target.losses([one], given)
            made = target.encode([one], name, given)
            files |= {path / key: data for key, data in made.items()}
    else:
        if len(contents) > 1 and not target.many:
            text = f"one {target.title} file holds one sounding, not {len(contents)}; name a folder"
            raise FormatError(text, path=path)
        lacks = _complete(target, contents, given, path)
        lost = target.losses(contents, given)
        made = target.encode(contents, path.name, given)
        files = {path.with_name(key): data for key, data in made.items()}
    put(files, overwrite=overwrite)
    return Written(tuple(files), tuple(lost), tuple(lacks))


def file_name(name: str) -> str:
    """Return the name of a sounding as a file name.

    Examples
    --------
    >>> file_name("BH 1/2: a")
    'BH 1_2_ a'
    """
    kept = re.sub(r'[\x00-\x1f<>:"/\\|?*]', "_", name).strip(" .")
    return kept[:120] or "sounding"


def put(files: Mapping[Path, bytes], *, overwrite: bool = False) -> None:
    """Put files in their places: all are complete beside them before the first is moved.

    Raises
    ------
    FormatError
        If one is there already and may not be replaced, or cannot be written.
    """
    there = [path for path in files if path.exists()]
    if there and not overwrite:
        raise FormatError("the file is there already; allow it to be replaced", path=there[0])
    beside = {path: path.with_name(f".{path.name}.{os.getpid()}.part") for path in files}
    try:
        for path, data in files.items():
            with beside[path].open("wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        for path, part in beside.items():
            part.replace(path)
    except OSError as error:
        raise FormatError(f"cannot be written: {error.strerror}", path=path) from error
    finally:
        for part in beside.values():
            with suppress(OSError):
                part.unlink(missing_ok=True)


def _complete(
    target: WritableFormat, contents: Sequence[Content], given: Mapping[str, str], path: Path
) -> list[Missing]:
    """Return what is missing and optional, or refuse."""
    found = target.missing(contents, given)
    lacking = list(dict.fromkeys(one for one in found if one.required))
    if lacking:
        texts = (
            f"{one.field} ({one.words}{f'; of {one.sounding}' if one.sounding else ''})"
            for one in lacking
        )
        text = f"{target.title} cannot be written without: {'; '.join(texts)}"
        raise FormatError(f"{text}. Give each by name; nothing is made up", path=path)
    return found


def _prepared(
    target: WritableFormat, what: What, fields: Mapping[str, object]
) -> tuple[list[Content], dict[str, str]]:
    """Return the contents with the fields of soundings in place, and the fields of the format."""
    contents = [what] if isinstance(what, Sounding | Interpretation) else list(what)
    if not contents:
        raise ValueError("there is no sounding to write")
    texts = {name: _text(value) for name, value in fields.items() if value is not None}
    own = {one.name for one in target.fields}
    unknown = [name for name in texts if name not in own and name not in FIELDS]
    if unknown:
        known = ", ".join([*own, *FIELDS])
        raise ValueError(f"unknown field {', '.join(unknown)}; {target.title} takes: {known}")
    of_sounding = {name: text for name, text in texts.items() if name not in own}
    alone = [name for name in of_sounding if FIELDS[name].own]
    if alone and len(contents) > 1:
        raise ValueError(f"{', '.join(alone)} cannot be the same for {len(contents)} soundings")
    changed = [_changed(one, of_sounding) for one in contents]
    return changed, {name: text for name, text in texts.items() if name in own}


def _changed(content: Content, given: Mapping[str, str]) -> Content:
    if not given:
        return content
    new = with_fields(sounding_of(content), given)
    if isinstance(content, Sounding):
        return new
    return replace(content, profile=replace(content.profile, sounding=new))


def _text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime | date):
        return value.isoformat()
    return str(value)

"""Which formats there are, which one a file is, and reading it."""

from __future__ import annotations

from functools import cache
from importlib import import_module
from importlib.metadata import entry_points
from pathlib import Path

from pushproof.errors import FormatError, UnknownFormatError
from pushproof.formats.contract import Format, ReadOptions
from pushproof.formats.text import first_bytes
from pushproof.model.sounding import Sounding
from pushproof.quality.plausibility import plausibility

GROUP = "pushproof.formats"
OWN = {
    "ags3": "pushproof.formats.ags:Ags3Format",
    "ags4": "pushproof.formats.ags:Ags4Format",
    "delimited": "pushproof.formats.delimited:DelimitedFormat",
    "diggs": "pushproof.formats.diggs:DiggsFormat",
    "dutch-register": "pushproof.formats.dutch_register:DutchRegisterFormat",
    "flemish-register": "pushproof.formats.flemish_register:FlemishRegisterFormat",
    "gef": "pushproof.formats.gef:GefFormat",
    "json": "pushproof.formats.document:JsonFormat",
    "parquet": "pushproof.formats.parquet:ParquetFormat",
    "xlsx": "pushproof.formats.xlsx:XlsxFormat",
}


@cache
def formats() -> tuple[Format, ...]:
    """Return every known format, our own and those of installed packages, by name."""
    found: dict[str, Format] = {}
    for point in entry_points(group=GROUP):
        if point.value not in OWN.values():
            found[point.name] = point.load()()
    for name, place in OWN.items():
        module, _, attribute = place.partition(":")
        found[name] = getattr(import_module(module), attribute)()
    return tuple(found[name] for name in sorted(found))


def detect(path: str | Path) -> Format:
    """Return the format of a file, from its first bytes and its suffix.

    Raises
    ------
    UnknownFormatError
        If no format claims it.
    FormatError
        If the file cannot be opened.
    """
    path = Path(path)
    head = first_bytes(path)
    if not head.strip(b"\0 \t\r\n"):
        raise FormatError("the file is empty", path=path)
    sure = [(one.detect(path, head), one) for one in formats()]
    best, chosen = max(sure, key=lambda pair: pair[0])
    if best <= 0:
        known = ", ".join(one.title for one in formats())
        raise UnknownFormatError(f"no known format; known: {known}", path=path)
    return chosen


def format_named(name: str) -> Format:
    """Return a format by its name.

    Raises
    ------
    ValueError
        If there is none.
    """
    named = {one.name: one for one in formats()}
    if name not in named:
        raise ValueError(f"no format {name!r}; known: {', '.join(named)}")
    return named[name]


def read_all(
    path: str | Path,
    *,
    columns: str = "",
    format: str | None = None,
    salvage: bool = False,
) -> list[Sounding]:
    """Read every sounding in a file.

    Parameters
    ----------
    path
        The file.
    columns
        Column mapping for delimited text, ``"depth=1:m, qc=2:MPa"`` or a TOML file.
    format
        Name of the format, where the file does not show it.
    salvage
        Read what can be read of a damaged file and report the rest.

    Raises
    ------
    FormatError
        If the file cannot be read; the message says where and what to do.
    ValueError
        If there is no format of that name.
    """
    path = Path(path)
    reader = detect(path) if format is None else format_named(format)
    found = reader.read(path, ReadOptions(columns=columns, salvage=salvage))
    return [_gated(one) for one in found]


def _gated(sounding: Sounding) -> Sounding:
    """Return a sounding with the findings of the gates, once: a job holds files already read."""
    new = [one for one in plausibility(sounding) if one not in sounding.findings]
    return sounding.with_findings(*new) if new else sounding


def read(
    path: str | Path,
    *,
    name: str | None = None,
    columns: str = "",
    format: str | None = None,
    salvage: bool = False,
) -> Sounding:
    """Read one sounding.

    Parameters
    ----------
    path
        The file.
    name
        Name of the sounding, where the file holds several.
    columns, format, salvage
        As for :func:`read_all`.

    Raises
    ------
    FormatError
        If the file cannot be read, holds none of that name, or several and none is named.
    """
    found = read_all(path, columns=columns, format=format, salvage=salvage)
    names = ", ".join(one.name for one in found[:20])
    if name is not None:
        for one in found:
            if one.name == name:
                return one
        raise FormatError(f"no sounding {name!r}; the file holds: {names}", path=path)
    if len(found) != 1:
        raise FormatError(f"the file holds {len(found)} soundings, name one: {names}", path=path)
    return found[0]

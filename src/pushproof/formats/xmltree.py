"""XML read without trust: no DTD, no entities, no network, bounded size and depth.

A document with a DOCTYPE is refused before it is parsed, so neither an expansion bomb nor an
outside entity is ever looked at; only encodings in which that can be seen are taken. A file up to
``LARGEST`` is read. Where it has more than 9 MB, the parser's limit of 10 MB for one text is off,
since the result of a register stands in one text; a limit for depth stays.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.numbers import parse_number
from pushproof.formats.text import read_bytes
from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import HeaderItem
from pushproof.model.units import Unit, unit

if TYPE_CHECKING:
    from lxml.etree import _Element

LARGEST = 256 * 1024 * 1024
"""Largest XML file that is taken apart: over a million rows of a register's 25 values."""
LARGE = 9_000_000
"""Size from which one text may be longer than the parser takes by default."""
MOST_ITEMS = 20_000
"""Metadata lines kept of one document."""
LONGEST_TEXT = 500

_ENCODING = re.compile(rb"""<\?xml[^>]*?encoding\s*=\s*["']([^"'>]*)["']""", re.IGNORECASE)
_PLAIN = re.compile(
    rb"(utf-?8|utf-?16(le|be)?|us-ascii|ascii|iso-8859-\d+|latin-?\d|windows-125\d|cp125\d|"
    rb"iso-10646-ucs-2|ibm437|cp437|ibm850|cp850)$",
    re.IGNORECASE,
)
_DOCTYPE = re.compile(rb"<!\s*(DOCTYPE|ENTITY)", re.IGNORECASE)


@dataclass(frozen=True)
class Document:
    """A parsed file: its root, its bytes, and what was odd."""

    root: _Element
    data: bytes
    findings: tuple[Finding, ...] = ()

    @property
    def cut(self) -> _Element | None:
        """The element in whose text the file ends: its last value may be half a number."""
        tail = self.data.rpartition(b">")[2].strip(b"\0 \t\r\n")
        if not self.findings or not tail or b"<" in tail:
            return None
        here = self.root
        while len(here):
            here = here[-1]
        return here


def read_xml(path: Path, options: ReadOptions) -> Document:
    """Parse an XML file.

    With ``options.salvage`` a damaged or cut document is read as far as it goes.

    Raises
    ------
    FormatError
        If it is too large, holds a DOCTYPE, or is not well formed; with the line.
    """
    from lxml import etree

    data = read_bytes(path, min(options.max_bytes, LARGEST))
    plain = data.replace(b"\0", b"") if b"\0" in data[:64] else data
    _check_encoding(plain[:400], path)
    if _DOCTYPE.search(plain):
        raise FormatError(
            "the XML has a DOCTYPE or entities of its own; such files are not read, as they can "
            "reach outside the file or grow without end",
            path=path,
        )
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=len(data) > LARGE,
        remove_comments=True,
        remove_pis=True,
        recover=options.salvage,
    )
    try:
        root = etree.fromstring(data.lstrip(), parser)
    except etree.XMLSyntaxError as error:
        if "depth" in (error.msg or ""):
            raise FormatError(
                "the elements are nested deeper than in any document of soundings",
                path=path,
                line=error.lineno or None,
            ) from None
        raise FormatError(
            f"not well-formed XML: {error.msg}; the file is cut or damaged. Try to read what is "
            "left with --salvage",
            path=path,
            line=error.lineno or None,
        ) from None
    if root is None:
        raise FormatError("no XML element could be read", path=path)
    return Document(root, data, _damage(parser, options) if options.salvage else ())


def _check_encoding(head: bytes, path: Path) -> None:
    """Refuse encodings in which a DOCTYPE could hide from a plain search.

    Raises
    ------
    FormatError
        If the file does not begin like XML, or names such an encoding.
    """
    start = head.lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    if not start.startswith(b"<"):
        raise FormatError("this is no XML; it does not begin with '<'", path=path)
    named = _ENCODING.match(start)
    if named and not _PLAIN.match(named[1]):
        raise FormatError(
            f"the XML names the encoding {named[1].decode(errors='replace')[:30]!r}, which is not "
            "read; save it as UTF-8",
            path=path,
            line=1,
        )


def _damage(parser: object, options: ReadOptions) -> tuple[Finding, ...]:
    log = getattr(parser, "error_log", None)
    errors = list(log) if options.salvage and log is not None else []
    if not errors:
        return ()
    first = errors[0]
    return (
        Finding(
            "file-damaged",
            Severity.STOP,
            f"the XML is damaged ({len(errors)} places, the first: {first.message}); read as far "
            "as it goes",
            "the whole file",
            line=first.line or None,
        ),
    )


def local(element: _Element) -> str:
    """Return the name of an element without its namespace."""
    tag = element.tag
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def line_of(element: _Element) -> int | None:
    """Return the line of an element in its file."""
    line: object = element.sourceline
    return line if isinstance(line, int) else None


def find_all(element: _Element, name: str) -> Iterator[_Element]:
    """Iterate over the descendants (and the element) of a local name, in document order."""
    return element.iter("{*}" + name)


def find(element: _Element, *names: str) -> _Element | None:
    """Return the first descendant along a path of local names, or None."""
    here: _Element | None = element
    for name in names:
        here = next(find_all(here, name), None) if here is not None else None
    return here


def text_of(element: _Element | None, *names: str) -> str:
    """Return the text of the first descendant along a path, stripped, empty if none."""
    here = find(element, *names) if element is not None and names else element
    return (here.text or "").strip() if here is not None else ""


def number_of(element: _Element | None, *names: str, standard: str = "-") -> float | None:
    """Return a number in the inside unit of its ``uom``, or of ``standard`` if it has none.

    None where it is not there, void, or no number.
    """
    here = find(element, *names) if element is not None and names else element
    if here is None or not (here.text or "").strip():
        return None
    try:
        value = parse_number(here.text or "")
    except ValueError:
        return None
    if value != value or value in (-999999, -9999):
        return None
    found = unit_or(here.get("uom"), standard)
    return value if found is None else value * found.factor + found.offset


def unit_or(stated: str | None, standard: str) -> Unit | None:
    """Return the stated unit if it is one of the same kind as the standard one, else that."""
    expected = unit(standard)
    found = unit(stated) if stated else None
    if found is None or (expected is not None and found.inside != expected.inside):
        return expected
    return found


def moment(text: str) -> datetime | None:
    """Return a date or date and time in ISO form, or None.

    Examples
    --------
    >>> moment("2031-04-02"), moment("soon")
    (datetime.datetime(2031, 4, 2, 0, 0), None)
    """
    try:
        return datetime.fromisoformat(text.strip())
    except ValueError:
        return None


def items(element: _Element, leave: frozenset[str] = frozenset()) -> tuple[HeaderItem, ...]:
    """Return every text in the tree with its path and line, to travel with the sounding.

    Elements named in ``leave`` (the tables of readings) are passed over.
    """
    found: list[HeaderItem] = []
    waiting = [(element, "")]
    while waiting and len(found) < MOST_ITEMS:
        here, above = waiting.pop()
        name = local(here)
        if not name or name in leave:
            continue
        path = f"{above}/{name}" if above else name
        text = (here.text or "").strip()
        if text:
            uom = here.get("uom")
            value = " ".join(text.split())[:LONGEST_TEXT] + (f" {uom}" if uom else "")
            found.append(HeaderItem(key=path, value=value, line=line_of(here)))
        waiting += [(child, path) for child in reversed(here)]
    return tuple(found)

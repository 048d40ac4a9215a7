"""The JSON format: detect and read."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NoReturn

import numpy as np
from pydantic import ValidationError

from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.document.layout import KIND, REASONS, VERSION, Column, Document, Notice, Push
from pushproof.formats.document.writer import JsonWriting
from pushproof.formats.source import source_file
from pushproof.formats.text import read_bytes
from pushproof.model.findings import Finding, Severity
from pushproof.model.quantities import QUANTITIES
from pushproof.model.series import Reason, Series, extra_quantity
from pushproof.model.sounding import Dissipation, Event, Sounding, SourceFile
from pushproof.model.units import unit


class JsonFormat(JsonWriting):
    """Soundings as JSON."""

    name = "json"
    title = "JSON"
    suffixes: tuple[str, ...] = (".json",)

    def detect(self, path: Path, head: bytes) -> float:  # noqa: ARG002
        """Return how sure it is that this is a document of soundings."""
        return 1.0 if f'"{KIND}"'.encode() in head and head.lstrip()[:1] == b"{" else 0.0

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return the soundings of a document.

        Raises
        ------
        FormatError
            If it is no JSON or not after the schema; the message names the place.
        """
        data = read_bytes(path, options.max_bytes)
        document = _document(data, path)
        source = source_file(path, data, self.name, "utf-8")
        found = []
        for number, push in enumerate(document.soundings):
            try:
                found.append(_sounding(push, source))
            except (ValueError, OverflowError) as error:
                raise FormatError(f"soundings.{number}: {error}", path=path) from error
        return found


def _document(data: bytes, path: Path) -> Document:
    try:
        plain = json.loads(data.decode("utf-8-sig"), parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        raise FormatError(f"no JSON: {error.msg}", path=path, line=error.lineno) from error
    except (UnicodeDecodeError, ValueError, RecursionError) as error:
        raise FormatError(f"no JSON: {str(error)[:200]}", path=path) from error
    if not isinstance(plain, dict) or plain.get("format") != KIND:
        raise FormatError(f'no document of soundings: "format" must be "{KIND}"', path=path)
    if plain.get("version") != VERSION:
        text = f"version {plain.get('version')!r:.20} is not known; this program reads {VERSION}"
        raise FormatError(text, path=path)
    try:
        return Document.model_validate(plain)
    except (ValidationError, RecursionError) as error:
        raise FormatError(f"not after the schema: {_faults(error)}", path=path) from error


def _no_constant(text: str) -> NoReturn:
    raise ValueError(f"{text} is no JSON number; a missing value is null")


def _faults(error: ValidationError | RecursionError) -> str:
    if isinstance(error, RecursionError):
        return "nested too deep"
    faults = error.errors(include_url=False, include_input=False)
    texts = [f"{'.'.join(map(str, one['loc']))[:120]}: {one['msg'].lower()}" for one in faults[:5]]
    more = f" and {len(faults) - 5} more" if len(faults) > 5 else ""
    return "; ".join(texts) + more


def _series(columns: Mapping[str, Column]) -> Series:
    series = Series()
    for key, column in columns.items():
        raw = np.array([np.nan if v is None else v for v in column.values], dtype=np.float64)
        reason = np.full(len(raw), Reason.VOID_IN_FILE, dtype=np.uint8)
        for name, runs in column.missing.items():
            if name not in REASONS:
                raise ValueError(f"{key}: unknown reason {name!r}; known: {', '.join(REASONS)}")
            for first, last in runs:
                reason[first : min(last, len(raw)) + 1] = REASONS[name]
        codes = np.where(np.isfinite(raw), np.uint8(Reason.PRESENT), reason).astype(np.uint8)
        if key not in QUANTITIES or not column.known:
            free = key if key not in QUANTITIES else f"{key} (2)"
            extra = extra_quantity(free, column.name, column.unit)
            series = series.with_column(free, raw, codes, extra=extra)
            continue
        found = unit(column.unit)
        if found is None or found.inside != QUANTITIES[key].unit:
            known = QUANTITIES[key].unit
            raise ValueError(f"{key}: unit {column.unit!r}, expected one of {known}")
        series = series.with_column(key, raw * found.factor + found.offset, codes)
    return series


def _sounding(push: Push, source: SourceFile) -> Sounding:
    plain: dict[str, Any] = {
        name: getattr(push, name)
        for name in (
            *("name", "location", "cone", "rods", "rig", "water", "predrilled", "standard"),
            *("quality_class", "stop_reason", "started", "project", "client", "operator", "place"),
        )
    }
    for name in ("removed", "zeros_before", "zeros_after", "header"):
        plain[name] = tuple(getattr(push, name))
    readings = _series(push.readings)
    if not (readings.measured("length") or readings.measured("depth")):
        raise ValueError("no reading has a length or a depth")
    return Sounding(
        **plain,
        readings=readings,
        dissipations=tuple(
            Dissipation(
                depth=test.depth,
                readings=_series(test.readings),
                start=test.start,
                header=tuple(test.header),
                source=test.source,
            )
            for test in push.dissipations
        ),
        events=tuple(Event(**one.model_dump()) for one in push.events),
        findings=tuple(_finding(one) for one in push.findings),
        source=source,
    )


def _finding(one: Notice) -> Finding:
    return Finding(**{**one.model_dump(), "severity": Severity[one.severity.upper()]})

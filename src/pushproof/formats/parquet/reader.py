"""The Parquet format: detect and read.

What a column is comes from its name, its unit from its name or its field; tables of our own name
both. A table may hold several soundings if a column of text names them.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import FormatError
from pushproof.formats.contract import ReadOptions
from pushproof.formats.delimited.mapping import guess, said
from pushproof.formats.delimited.metadata import metadata
from pushproof.formats.delimited.names import NAME_COLUMNS, fold
from pushproof.formats.delimited.series import each_sounding, need_depth, to_series
from pushproof.formats.delimited.structure import MOST_COLUMNS, Structure
from pushproof.formats.numbers import parse_column
from pushproof.formats.source import source_file
from pushproof.formats.tables.writing import ParquetWriting
from pushproof.formats.text import read_bytes
from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import Sounding

MOST_ROWS = 20_000_000
LARGEST_UNPACKED = 2 * 1024**3
SAMPLE = 500
_MAGIC = b"PAR1"


class ParquetFormat(ParquetWriting):
    """Parquet tables."""

    name = "parquet"
    title = "Parquet table"
    suffixes: tuple[str, ...] = (".parquet",)

    def detect(self, path: Path, head: bytes) -> float:
        """Return how sure it is that this is a Parquet file."""
        if head.startswith(_MAGIC):
            return 1.0
        return 0.2 if path.suffix.lower() in self.suffixes else 0.0

    def read(self, path: Path, options: ReadOptions) -> list[Sounding]:
        """Return the soundings of the table.

        Raises
        ------
        FormatError
            If it is damaged, too large, or no column is a depth.
        ConfigurationError
            If the given column mapping cannot be used.
        """
        data = read_bytes(path, options.max_bytes)
        table = _open(data, path)
        columns = _columns(table)
        structure = columns.structure
        if columns.values.shape[1] == 0 or not len(columns.values):
            raise FormatError("the table has no row of numbers", path=path)
        sample = columns.values[:SAMPLE]
        text = options.columns
        guesses = said(text, structure, sample) if text.strip() else guess(structure, sample)
        series, findings = to_series(guesses, columns.values, columns.unreadable, None)
        need_depth(series, structure.heading, path)
        about: dict[str, Any] = metadata(columns.about, path)
        notes = (*columns.findings, *findings, *about.pop("findings"))
        source = source_file(path, data, self.name)
        return each_sounding(columns.parts(), series, about, source, notes)


@dataclass
class _Columns:
    """The columns of a table as numbers, the names of its soundings, and what it says of itself."""

    structure: Structure
    values: NDArray[np.float64]
    unreadable: NDArray[np.bool_]
    names: list[str] | None
    about: list[tuple[int, str]]
    findings: list[Finding] = field(default_factory=list)

    def parts(self) -> list[tuple[str, NDArray[np.intp]]]:
        """Return the soundings by name with their rows, in the order of first appearance."""
        if self.names is None:
            return [("", np.arange(len(self.values)))]
        rows: dict[str, list[int]] = {}
        for i, name in enumerate(self.names):
            rows.setdefault(name, []).append(i)
        return [(name, np.array(found, dtype=np.intp)) for name, found in rows.items()]


def _open(data: bytes, path: Path) -> Any:
    """Return the table, after looking at what its foot says of its size."""
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError:
        raise FormatError(
            "Parquet needs one more library: pip install 'pushproof[parquet]'", path=path
        ) from None
    if not data.startswith(_MAGIC):
        raise FormatError("this is no Parquet file (it does not begin with PAR1)", path=path)
    try:
        file = pq.ParquetFile(
            pa.BufferReader(data),
            thrift_string_size_limit=16 * 1024**2,
            thrift_container_size_limit=1_000_000,
        )
        about = file.metadata
        groups = [about.row_group(i) for i in range(about.num_row_groups)]
        size = sum(group.total_byte_size for group in groups)
        _check(about.num_rows, about.num_columns, size, path)
        return file.read(use_threads=False)
    except (pa.ArrowException, OSError, ValueError, OverflowError, MemoryError) as error:
        if isinstance(error, FormatError):
            raise
        raise FormatError(
            f"the Parquet file is cut or damaged ({' '.join(str(error).split())[:120]}); its foot "
            "is needed to read any of it, so nothing can be salvaged",
            path=path,
        ) from error


def _check(rows: int, columns: int, size: int, path: Path) -> None:
    if columns > MOST_COLUMNS:
        raise FormatError(
            f"the table has {columns} columns, more than the limit of {MOST_COLUMNS}; this is no "
            "sounding",
            path=path,
        )
    if rows < 0 or rows > MOST_ROWS or rows * max(columns, 1) * 8 > LARGEST_UNPACKED:
        raise FormatError(
            f"the table has {rows:,} rows and {columns} columns, more than the limit of "
            f"{LARGEST_UNPACKED / 1e9:.0f} GB unpacked",
            path=path,
        )
    if size > LARGEST_UNPACKED:
        raise FormatError(
            f"unpacked, the table has {size / 1e6:.0f} MB, more than the limit of "
            f"{LARGEST_UNPACKED / 1e6:.0f} MB",
            path=path,
        )


def _columns(table: Any) -> _Columns:
    notes = {k.decode(errors="replace"): v for k, v in (table.schema.metadata or {}).items()}
    keys = _document(notes.get("pushproof.keys"), [])
    told = _document(notes.get("pushproof.about"), [])
    about = [
        (i, f"{pair[0]}: {pair[1]}")
        for i, pair in enumerate(told, start=1)
        if isinstance(pair, list) and len(pair) == 2
    ]
    named = {fold(name) for name in NAME_COLUMNS}
    heading: list[str] = []
    units: list[str] = []
    kept_keys: list[str] = []
    arrays: list[NDArray[np.float64]] = []
    bad: list[NDArray[np.bool_]] = []
    findings: list[Finding] = []
    names: list[str] | None = None
    for i, one in enumerate(table.schema):
        column = table.column(i)
        if names is None and fold(one.name) in named and _is_text(one.type):
            names = ["" if v is None else str(v).strip() for v in column.to_pylist()]
            continue
        numbers = _numbers(column, one.type)
        if numbers is None:
            if not one.name.startswith("__index_level_"):
                text = f"column {i + 1} {one.name[:60]!r} holds {one.type}, no numbers; left out"
                findings.append(Finding("column-not-numeric", Severity.INFO, text))
            continue
        heading.append(one.name)
        units.append(((one.metadata or {}).get(b"unit") or b"").decode(errors="replace"))
        if isinstance(keys, list) and len(keys) == len(table.schema):
            kept_keys.append(str(keys[i]))
        arrays.append(numbers[0])
        bad.append(numbers[1])
    rows = table.num_rows
    structure = Structure(
        None, ".", tuple(heading), tuple(units), 0, 0, len(heading), tuple(kept_keys)
    )
    values = np.column_stack(arrays) if arrays else np.empty((rows, 0))
    unreadable = np.column_stack(bad) if bad else np.empty((rows, 0), dtype=bool)
    return _Columns(structure, values, unreadable, names, about, findings)


def _document(data: bytes | None, otherwise: Any) -> Any:
    try:
        return json.loads(data) if data else otherwise
    except (ValueError, RecursionError):
        return otherwise


def _is_text(kind: Any) -> bool:
    import pyarrow.types as types

    inner = kind.value_type if types.is_dictionary(kind) else kind
    return bool(types.is_string(inner) or types.is_large_string(inner))


def _numbers(column: Any, kind: Any) -> tuple[NDArray[np.float64], NDArray[np.bool_]] | None:
    """Return a column as numbers and which fields were none, or None if it holds none at all."""
    import pyarrow as pa
    import pyarrow.types as types

    if types.is_dictionary(kind):
        column, kind = column.cast(kind.value_type), kind.value_type
    if types.is_string(kind) or types.is_large_string(kind):
        texts = ["" if v is None else v for v in column.to_pylist()]
        values, unreadable = parse_column(texts)
        return (values, unreadable) if np.isfinite(values).any() else None
    if types.is_duration(kind):
        column = column.cast(pa.duration("ns")).cast(pa.int64())
        values = column.to_numpy(zero_copy_only=False).astype(np.float64) * 1e-9
        return values, np.zeros(len(values), dtype=bool)
    if not (types.is_floating(kind) or types.is_integer(kind) or types.is_decimal(kind)):
        return None
    cast = column.cast(pa.float64(), safe=False)
    values = np.array(cast.to_numpy(zero_copy_only=False), dtype=np.float64)
    unreadable = np.isinf(values)
    values[unreadable] = np.nan
    return values, unreadable

"""Tables of an interpretation for spreadsheets and programs: CSV, Excel, Parquet, JSON.

Headings are ``symbol [unit]`` in display units; the keys of the vocabulary, the metadata, the
assumptions, the findings and the references travel along. The same interpretation gives the same
bytes. A file is written beside its target and then put in place, so a failure leaves no half file.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pushproof import __version__
from pushproof.equations import equations
from pushproof.errors import FormatError
from pushproof.formats.workbooks import bold, new_workbook, packed, plain_row
from pushproof.interpretation.band import NOT_IN_A_BAND, Bands
from pushproof.model.profile import Interpretation
from pushproof.model.units import factor_to_display

CAUTION = (
    "Derived values are estimates for the judgement of a qualified engineer, not design values."
)


def write_table(
    interpretation: Interpretation, path: str | Path, bands: Bands | None = None
) -> None:
    """Write the table of an interpretation; the suffix says the kind.

    Parameters
    ----------
    interpretation
        What to write.
    path
        Target, ``.csv``, ``.xlsx``, ``.parquet`` or ``.json``.
    bands
        Bands to put beside their columns as p10, p50 and p90, with what they rest on.

    Raises
    ------
    FormatError
        If the suffix is not known or the file cannot be written.
    """
    path = Path(path)
    writers: dict[str, Callable[[Interpretation, Bands | None], bytes]] = {
        ".csv": _csv,
        ".json": _json,
        ".parquet": _parquet,
        ".xlsx": _xlsx,
    }
    if path.suffix.lower() not in writers:
        known = ", ".join(writers)
        raise FormatError(f"unknown kind of table {path.suffix!r}; known: {known}", path=path)
    data = writers[path.suffix.lower()](interpretation, bands)
    beside = path.with_name(path.name + ".part")
    try:
        beside.write_bytes(data)
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise FormatError(f"cannot be written: {error.strerror}", path=path) from error


def about(interpretation: Interpretation, bands: Bands | None = None) -> list[tuple[str, str]]:
    """Return what a reader of the table must know, as pairs of label and text."""
    profile = interpretation.profile
    sounding = profile.sounding
    place, cone, source = sounding.location, sounding.cone, sounding.source
    pairs: list[tuple[str, object]] = [
        ("sounding", sounding.name),
        ("project", sounding.project),
        ("started", sounding.started),
        ("x", place.x),
        ("y", place.y),
        ("coordinate system", place.crs),
        ("level [m]", place.level),
        ("datum", place.datum),
        ("cone", " ".join(filter(None, (cone.model, cone.serial))) or None),
        ("net area ratio [-]", profile.area_ratio),
        ("water level [m]", profile.water.level if profile.water else None),
        ("water level is", profile.water.origin.value if profile.water else None),
        ("pre-excavated to [m]", sounding.predrilled),
        ("stated standard", sounding.standard),
        ("stated class", sounding.quality_class),
        ("ended", sounding.stop_reason.value if sounding.stop_reason else None),
        ("qt", "qc, not corrected" if profile.qt_is_qc.any() else None),
        ("depth", "equal to penetration length" if profile.depth_is_length else None),
    ]
    pairs += [("assumed", f"{one.text} ({one.reason})") for one in interpretation.assumptions]
    pairs += [(f"finding, {f.severity.word}", _finding(f)) for f in interpretation.findings]
    table = equations()
    for key in sorted(interpretation.methods):
        for method in interpretation.relations(key):
            one = table.get(method)
            text = f"{method}: {one.formula}. {one.citation}" if one else method
            pairs.append((f"method of {key}", text))
    if bands is not None:
        pairs.append(("bands", f"{bands.words}; not in them: {NOT_IN_A_BAND}"))
        errors = dict.fromkeys(text for one in bands.values() for text in one.basis.measurement)
        pairs += [("error of a channel", text) for text in errors]
        pairs += [(f"band of {key}", band.basis.short) for key, band in bands.items()]
    pairs += [
        ("file", source.name if source else None),
        ("file SHA-256", source.sha256 if source else None),
        ("recipe SHA-256", profile.recipe.fingerprint()),
        ("made by", f"Pushproof {__version__}"),
        ("note", CAUTION),
    ]
    return [(label, str(value)) for label, value in pairs if value not in (None, "")]


def _finding(finding: Any) -> str:
    where = f" at {finding.where}" if finding.where else ""
    return f"{finding.found}{where}"


@dataclass(frozen=True)
class _Column:
    """One column of a table in display units."""

    key: str
    heading: str
    unit: str
    values: NDArray[np.float64]
    decimals: int


def _columns(interpretation: Interpretation, bands: Bands | None) -> list[_Column]:
    """Return the columns, each with its band beside it."""
    series = interpretation.series
    found = []
    for key in series:
        row = series.quantity(key)
        factor = 1.0 if key in series.extras else factor_to_display(key)
        unit = row.display_unit
        found.append(_Column(key, row.heading, unit, series[key] * factor, row.decimals))
        if bands is None or key not in bands:
            continue
        for part in ("p10", "p50", "p90"):
            values = getattr(bands[key], part) * factor
            heading = f"{row.symbol} {part} [{unit}]"
            found.append(_Column(f"{key}.{part}", heading, unit, values, row.decimals))
    return found


def _texts(values: NDArray[np.float64], decimals: int) -> list[str]:
    """Return numbers as text, empty where missing; small ones keep four figures."""
    return ["" if v != v else _number(v, decimals) for v in values.tolist()]


def _number(value: float, decimals: int) -> str:
    if value != 0 and abs(value) < 10 ** (1 - decimals):
        return f"{value:.4g}"
    return f"{value:.{decimals}f}"


def _csv(interpretation: Interpretation, bands: Bands | None) -> bytes:
    out = io.StringIO(newline="")
    for label, text in about(interpretation, bands):
        out.write(f"# {label}: {' '.join(text.split())}\n")
    columns = _columns(interpretation, bands)
    out.write("# keys: " + ",".join(one.key for one in columns) + "\n")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([one.heading for one in columns])
    texts = (_texts(one.values, one.decimals) for one in columns)
    writer.writerows(zip(*texts, strict=True))
    return out.getvalue().encode()


def _json(interpretation: Interpretation, bands: Bands | None) -> bytes:
    document = {
        "about": [{"label": label, "text": text} for label, text in about(interpretation, bands)],
        "columns": {
            one.key: {
                "heading": one.heading,
                "unit": one.unit,
                "values": [None if v != v else v for v in one.values.tolist()],
            }
            for one in _columns(interpretation, bands)
        },
    }
    return json.dumps(document, ensure_ascii=False, indent=1).encode() + b"\n"


def _parquet(interpretation: Interpretation, bands: Bands | None) -> bytes:
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError:
        raise FormatError(
            "Parquet needs one more library: pip install 'pushproof[parquet]'"
        ) from None
    columns = _columns(interpretation, bands)
    table = pa.table({one.heading: pa.array(one.values, from_pandas=True) for one in columns})
    notes = {
        "pushproof.keys": json.dumps([one.key for one in columns]),
        "pushproof.about": json.dumps(about(interpretation, bands), ensure_ascii=False),
    }
    table = table.replace_schema_metadata(notes)
    sink = io.BytesIO()
    pq.write_table(table, sink, compression="zstd")
    return sink.getvalue()


def _xlsx(interpretation: Interpretation, bands: Bands | None) -> bytes:
    book = new_workbook()
    sheet = book.create_sheet("values")
    sheet.freeze_panes = "A3"
    columns = _columns(interpretation, bands)
    sheet.append(bold(sheet, [one.heading for one in columns]))
    sheet.append([one.key for one in columns])
    rounded = [_rounded(one.values).tolist() for one in columns]
    for row in zip(*rounded, strict=True):
        sheet.append([None if value != value else value for value in row])
    notes = book.create_sheet("about")
    notes.column_dimensions["A"].width = 26
    notes.column_dimensions["B"].width = 110
    for pair in about(interpretation, bands):
        notes.append(plain_row(notes, pair))
    return packed(book)


def _rounded(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return values with six decimals; small ones, such as flow, keep all their figures."""
    return np.where(np.abs(values) < 1e-3, values, np.round(values, 6))

"""The writing halves of text tables, workbooks and Parquet tables."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pushproof.errors import FormatError
from pushproof.formats.contract import Content, Field, Given, Loss, Missing, sounding_of
from pushproof.formats.outgoing import in_unit, places, series_of
from pushproof.formats.precision import fixed
from pushproof.formats.tables import about
from pushproof.formats.tables.workbook import workbook


class _TableWriting:
    """What the three kinds of tables have in common."""

    title: str
    many = False
    tests = False
    fields: tuple[Field, ...] = ()

    def missing(self, contents: Sequence[Content], given: Given) -> list[Missing]:  # noqa: ARG002
        """Return what a table has a line for and nobody gave."""
        return about.missing(contents)

    def losses(self, contents: Sequence[Content], given: Given) -> list[Loss]:  # noqa: ARG002
        """Return what the table will not hold."""
        return about.losses(contents, title=self.title, tests=self.tests)


class DelimitedWriting(_TableWriting):
    """Text: lines with #, a line of keys, headings, rows; comma and decimal point."""

    def encode(
        self,
        contents: Sequence[Content],
        name: str,
        given: Given,  # noqa: ARG002
    ) -> dict[str, bytes]:
        """Return the file."""
        (content,) = contents
        out = io.StringIO(newline="")
        for label, text in about.pairs(content):
            out.write(f"# {label}: {text}\n")
        keys, headings, texts = columns(content)
        out.write("# keys: " + ",".join(keys) + "\n")
        csv.writer(out, lineterminator="\n").writerow(headings)
        out.write("".join(",".join(row) + "\n" for row in zip(*texts, strict=True)))
        return {name: out.getvalue().encode()}


class XlsxWriting(_TableWriting):
    """A workbook: about, readings, a sheet for each dissipation test, derived, findings, units."""

    tests = True
    fields = (Field("bands", "yes: a sheet of bands of the derived values", "no"),)

    def losses(self, contents: Sequence[Content], given: Given) -> list[Loss]:
        """Return what the workbook will not hold."""
        found = super().losses(contents, given)
        known = {"time", "qc", "u1", "u2", "u3"}
        for content in contents:
            for test in sounding_of(content).dissipations:
                odd = sorted(set(test.readings) - known)
                if odd:
                    what = f"{', '.join(odd)} of a dissipation test"
                    found.append(Loss(what, "only time, qc, u1, u2 and u3 are written"))
        return found

    def encode(
        self,
        contents: Sequence[Content],
        name: str,
        given: Given,
    ) -> dict[str, bytes]:
        """Return the file."""
        (content,) = contents
        wanted = given.get("bands", "no").lower()
        if wanted not in ("yes", "no"):
            raise ValueError(f"bands is {wanted!r}, expected yes or no")
        return {name: workbook(content, bands=wanted == "yes")}


class ParquetWriting(_TableWriting):
    """A table of columns with their keys and the lines about the sounding as metadata."""

    def encode(
        self,
        contents: Sequence[Content],
        name: str,
        given: Given,  # noqa: ARG002
    ) -> dict[str, bytes]:
        """Return the file.

        Raises
        ------
        FormatError
            If the library for it is not installed.
        """
        try:
            import pyarrow as pa
            import pyarrow.parquet as pq
        except ImportError:
            text = "Parquet needs one more library: pip install 'pushproof[parquet]'"
            raise FormatError(text) from None
        (content,) = contents
        keys, headings, arrays = numbers(content)
        fields = [pa.field(heading, pa.float64()) for heading in headings]
        notes = {
            "pushproof.keys": json.dumps(keys),
            "pushproof.about": json.dumps(about.pairs(content), ensure_ascii=False),
        }
        data = [pa.array(values, from_pandas=True) for values in arrays]
        table = pa.Table.from_arrays(data, schema=pa.schema(fields, metadata=notes))
        sink = io.BytesIO()
        pq.write_table(table, sink, compression="zstd")
        return {name: sink.getvalue()}


def _unit(content: Content, key: str) -> str:
    row = series_of(content).quantity(key)
    return row.display_unit


def headings_of(content: Content, keys: Sequence[str]) -> list[str]:
    """Return the headings of columns, no two alike."""
    series = series_of(content)
    found: list[str] = []
    for key in keys:
        heading = about.line(series.quantity(key).heading)
        found.append(heading if heading not in found else f"{about.line(key)}: {heading}")
    return found


def columns(content: Content) -> tuple[list[str], list[str], list[list[str]]]:
    """Return keys, headings and texts of the columns, with the decimals of their source."""
    keys = about.order(content)
    series = series_of(content)
    texts = []
    for key in keys:
        stated = _unit(content, key)
        texts.append(fixed(in_unit(series, key, stated), places(content, key, stated)))
    return keys, headings_of(content, keys), texts


def numbers(content: Content) -> tuple[list[str], list[str], list[NDArray[np.float64]]]:
    """Return keys, headings and numbers of the columns, rounded to the decimals of their source."""
    keys = about.order(content)
    series = series_of(content)
    arrays = []
    for key in keys:
        stated = _unit(content, key)
        values = in_unit(series, key, stated)
        arrays.append(np.round(values, places(content, key, stated)) + 0.0)
    return keys, headings_of(content, keys), arrays

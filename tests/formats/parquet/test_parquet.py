"""Parquet tables: plain, of several soundings, and too large."""

from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.formats.parquet import ParquetFormat
from pushproof.testing.formats import FormatContract

HERE = Path(__file__).parent


class TestContract(FormatContract):
    def make(self):
        return ParquetFormat()

    def plain(self):
        return HERE / "plain.parquet"


def test_values_agree_with_pandas():
    import pandas

    frame = pandas.read_parquet(HERE / "plain.parquet")
    s = pp.read(HERE / "plain.parquet").readings
    for name, key, factor in (("depth [m]", "depth", 1), ("qc [MPa]", "qc", 1000),
                              ("fs [kPa]", "fs", 1), ("u2 [kPa]", "u2", 1)):  # fmt: skip
        np.testing.assert_allclose(s[key], frame[name].to_numpy() * factor, rtol=1e-12)


def test_soundings_keep_their_own_rows():
    one, two = pp.read_all(HERE / "zoo" / "several-soundings.parquet")
    assert (one.name, two.name) == ("WX-1", "WX-2")
    assert two.readings["depth"].tolist() == [1, 1.05, 1.1, 1.15, 1.2]
    assert pp.read(HERE / "zoo" / "several-soundings.parquet", name="WX-2").name == "WX-2"


def test_a_frame_of_pandas_with_its_index_reads(tmp_path):
    import pandas

    frame = pandas.DataFrame({"depth [m]": [1.0, 1.1], "qc [MPa]": [2.0, 2.1]}, index=[7, 9])
    frame.to_parquet(tmp_path / "frame.parquet")
    assert pp.read(tmp_path / "frame.parquet").readings["qc"].tolist() == [2000, 2100]


def test_more_columns_than_a_sounding_has_are_refused(tmp_path):
    pq.write_table(pa.table({f"c{i}": [1.0] for i in range(600)}), tmp_path / "wide.parquet")
    with pytest.raises(FormatError, match="600 columns"):
        pp.read(tmp_path / "wide.parquet")


def test_a_small_file_of_a_billion_values_is_refused(tmp_path):
    path = tmp_path / "bomb.parquet"
    zeros = pa.array(np.zeros(1_000_000))
    with pq.ParquetWriter(path, pa.schema([("depth [m]", pa.float64())])) as writer:
        for _ in range(25):
            writer.write_table(pa.table({"depth [m]": zeros}))
    assert path.stat().st_size < 200_000
    with pytest.raises(FormatError, match="25,000,000 rows"):
        pp.read(path)

"""How fast soundings are written, against writing the same rows with the csv module.

The baseline gets texts that are ready: it only joins them. A workbook is held against bare openpyxl
in its writing mode as well, since all of its time is there. Times are processor time, so that other
work on the machine does not count. ``python benchmarks/write.py``
"""

from __future__ import annotations

import csv
import io
import time
import tracemalloc

import numpy as np

from pushproof.formats.outgoing import series_of
from pushproof.formats.tables.writing import columns
from pushproof.formats.writing import writable
from pushproof.model.series import Series
from pushproof.model.sounding import Location, Sounding

GIVEN = {
    "ags4": {
        "issue": "1",
        "producer": "Maker",
        "status": "Draft",
        "recipient": "Asker",
        "project_id": "J-1",
        "test": "1",
    },
    "gef": {"producer": "Maker"},
}


def made(rows: int) -> Sounding:
    """Return a sounding of so many rows with decimals as instruments give them."""
    chance = np.random.default_rng(1)
    length = np.round(0.005 * np.arange(1, rows + 1), 3)
    series = Series(
        {
            "length": length,
            "depth": np.round(length * 0.9995, 5),
            "time": np.round(length * 50, 1),
            "qc": np.round(chance.uniform(0.2, 30, rows), 3) * 1000,
            "fs": np.round(chance.uniform(1, 200, rows), 1),
            "u2": np.round(chance.uniform(-20, 400, rows), 1),
            "tilt": np.round(chance.uniform(0, 3, rows), 1),
        }
    )
    place = Location(x=100_000, y=400_000, crs="EPSG:28992")
    return Sounding("BIG-1", series, location=place, project="P")


def bare(texts: list[list[str]]) -> int:
    """Write ready texts with the csv module; return the bytes."""
    sink = io.StringIO()
    csv.writer(sink).writerows(zip(*texts, strict=True))
    return len(sink.getvalue().encode())


def bare_workbook(columns: list[list[float]]) -> int:
    """Write ready numbers with openpyxl alone; return the bytes."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("A")
    for row in zip(*columns, strict=True):
        sheet.append(row)
    sink = io.BytesIO()
    book.save(sink)
    return len(sink.getvalue())


def timed(call, repeat: int) -> tuple[float, object]:
    """Return the best time [s] and the result."""
    best, result = float("inf"), None
    for _ in range(repeat):
        start = time.process_time()
        result = call()
        best = min(best, time.process_time() - start)
    return best, result


def main() -> None:
    """Print a table for 13,637 and 500,000 rows."""
    for rows, repeat in ((13_637, 5), (500_000, 1)):
        sounding = made(rows)
        assert len(series_of(sounding)) == rows
        texts = columns(sounding)[2]
        base, made_of = timed(lambda texts=texts: bare(texts), repeat)
        print(
            f"\n{rows:,} rows, 7 columns; csv module: {base:.3f} s, {made_of / 1e6 / base:.0f} MB/s"
        )
        print(f"{'format':<10} {'s':>8} {'MB':>7} {'MB/s':>6} {'x csv':>6} {'peak MB':>8}")
        for name, one in writable().items():
            given = GIVEN.get(name, {})

            def call(one=one, name=name, given=given, sounding=sounding) -> int:
                return sum(map(len, one.encode([sounding], f"a.{name}", given).values()))

            took, written = timed(call, repeat)
            tracemalloc.start()
            if rows < 100_000:
                call()
            peak = tracemalloc.get_traced_memory()[1] / 1e6
            tracemalloc.stop()
            shown = f"{peak:8.0f}" if rows < 100_000 else f"{'':>8}"
            speed = written / 1e6 / took
            size = written / 1e6
            print(f"{name:<10} {took:8.3f} {size:7.2f} {speed:6.0f} {took / base:6.1f} {shown}")
            if name == "xlsx":
                numbers = [sounding.readings[key].tolist() for key in sounding.readings]
                alone, _ = timed(lambda numbers=numbers: bare_workbook(numbers), min(repeat, 2))
                print(f"{'':10} {took / alone:.2f} times bare openpyxl ({alone:.3f} s)")


if __name__ == "__main__":
    main()

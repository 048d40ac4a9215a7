"""Bands: Monte Carlo of 10,000 draws on 1,500 rows, against a bare numpy kernel and against goals.

Run it with ``python benchmarks/bands.py [draws] [rows]``. The kernel is the one of
``benchmarks/interpret.py``: the same columns by the same equations, with no errors, no scatter, no
percentiles, run once for every draw. It is timed on a part of the draws and scaled. Percentiles
alone are timed on as many columns of plain normal numbers. Memory is the peak that tracemalloc
sees, the arrays of numpy included.
"""

from __future__ import annotations

import sys
import time
import tracemalloc

import numpy as np
from interpret import kernel, made_up

from pushproof.interpretation import bands, explain, interpret
from pushproof.model.profile import Interpretation

PART = 200
"""Draws that the kernel is run for."""


def best(run, repeats: int = 3) -> float:
    """Return the best time of a few runs [s]."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def of_kernel(derived: Interpretation, draws: int) -> float:
    """Return the time that the bare kernel takes for all draws [s]."""
    series = derived.series
    inputs = [series[key] for key in ("depth", "qt", "fs", "Rf", "u2")]
    return best(lambda: [kernel(*inputs) for _ in range(PART)]) * draws / PART


def of_percentiles(rows: int, draws: int, columns: int) -> float:
    """Return the time that numpy takes for three percentiles of each row and column [s]."""
    numbers = np.random.default_rng(0).standard_normal((max(1, rows // 10), draws))
    return best(lambda: np.quantile(numbers, (0.1, 0.5, 0.9), axis=1)) * 10 * columns


def memory(derived: Interpretation, draws: int) -> float:
    """Return the most memory that Monte Carlo holds at once [MB]."""
    tracemalloc.start()
    bands(derived, method="monte-carlo", draws=draws)
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    return peak


def main() -> None:
    """Print the table."""
    draws = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    rows = int(sys.argv[2]) if len(sys.argv) > 2 else 1_500
    derived = interpret(made_up(rows))
    near = bands(derived)
    drawn = bands(derived, method="monte-carlo", draws=draws)
    columns = len(drawn)
    bare = of_kernel(derived, draws)
    sorting = of_percentiles(rows, draws, columns)
    whole = best(lambda: bands(derived, method="monte-carlo", draws=draws))
    alone = best(lambda: bands(derived, method="monte-carlo", draws=draws, keys=["su", "OCR"]))
    first = best(lambda: bands(derived), 9)
    depth = float(derived.series["depth"][rows // 3])
    one = best(lambda: explain(derived, "K0", depth), 9)
    with np.errstate(all="ignore"):  # a column held at a limit has no width
        widths = [
            np.nanmedian((drawn[k].p90 - drawn[k].p10) / (near[k].p90 - near[k].p10)) for k in near
        ]
    print(f"{draws} draws on {rows} rows, {columns} columns with a band")
    print(f"{'':44s}{'time [s]':>10s}{'of kernel':>11s}")
    for name, value in (
        ("bare numpy kernel, once for every draw", bare),
        ("numpy.quantile of as many columns", sorting),
        ("Monte Carlo, all columns", whole),
        ("Monte Carlo, su and OCR", alone),
        ("first order, all columns", first),
        ("explain one value, with its band", one),
    ):
        print(f"{name:44s}{value:10.3f}{value / bare:11.3f}")
    print(f"memory of Monte Carlo above the interpretation: {memory(derived, draws):.0f} MB")
    print(f"width of Monte Carlo over first order: {min(widths):.2f} to {max(widths):.2f}")
    print("goals: under 2 s and 500 MB")


if __name__ == "__main__":
    main()

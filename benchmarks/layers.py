"""Units of a sounding against the bare change-point search on every row.

usage: python benchmarks/layers.py

The goal is 0.5 s for 15,000 rows. The baseline is ruptures' pruned exact search on the rows as they
are, which the units avoid by reducing the rows first.
"""

from __future__ import annotations

import time

import numpy as np
import ruptures

import pushproof as pp
from pushproof.interpretation.layers import layers
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding


def made(rows: int, rng: np.random.Generator) -> pp.Interpretation:
    """Return a sounding of that many rows through ten layers."""
    z = np.linspace(0.5, 30.5, rows)
    part = (np.arange(rows) * 10 // rows) % 2
    qc = np.where(part == 0, 700.0, 9000.0) * np.exp(rng.normal(0, 0.15, rows))
    fs = np.where(part == 0, 18.0, 60.0) * np.exp(rng.normal(0, 0.15, rows))
    return pp.interpret(pp.process(Sounding("B", Series({"length": z, "qc": qc, "fs": fs}))))


def best(work, times: int = 3) -> float:
    """Return the shortest of some runs [s]."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def main() -> None:
    """Print the table."""
    rng = np.random.default_rng(1)
    print("| rows | units [s] | bare search on all rows [s] | ratio | units found |")
    print("|---|---|---|---|---|")
    for rows in (1500, 5000, 15000):
        derived = made(rows, rng)
        signal = np.column_stack([derived.series["Ic"], np.log(derived.series["qt"])])
        signal = signal[np.isfinite(signal).all(axis=1)]
        mine = best(lambda d=derived: layers(d))
        bare = best(
            lambda s=signal: ruptures.KernelCPD("linear", min_size=50).fit(s).predict(pen=60), 1
        )
        count = len(layers(derived).units)
        print(f"| {rows} | {mine:.3f} | {bare:.3f} | {mine / bare:.2f} | {count} |")


if __name__ == "__main__":
    main()

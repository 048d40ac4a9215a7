"""Time of all checks on a 30 m sounding, and growth with rows.

Run it with ``python benchmarks/checks.py [largest number of rows]``. The baseline is ``process``
on the same sounding: judging should not cost many times what correcting costs. The last column
compares the time per row with that of the shortest table; growth is linear where it stays near 1.
"""

from __future__ import annotations

import math
import sys
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from pushproof.model.series import Series
from pushproof.model.sounding import Sounding
from pushproof.processing import process
from pushproof.quality import assess
from pushproof.quality.checks import checks
from pushproof.sources.rehearsal import Ground, Layer, Plan, push

GOAL = 0.2
"""All checks on a sounding of 30 m [s]."""


def thirty_metres() -> Sounding:
    """A simulated push of 30 m at 20 mm through clay and sand, everything measured."""
    layers = (
        Layer(9.0, "soft clay", 15.8, su=14, su_gradient=1.5, friction=2.4, pore=0.55),
        Layer(9.0, "sand", 19.5, density=0.7, friction=0.7, scatter=0.2),
        Layer(13.0, "stiff clay", 19.0, su=90, su_gradient=4, friction=3.0, pore=0.35),
    )
    return push(Ground(layers, 1.0), Plan("BENCH", 30.0), 11).sounding


def longer(sounding: Sounding, rows: int) -> Sounding:
    """The same push again and again below itself, up to a number of rows."""
    series = sounding.readings
    copies = math.ceil(rows / len(series))
    step = {"length": series["length"][-1], "time": series["time"][-1] + 30.0}
    columns = {}
    for key in series:
        blocks = [series[key] + k * step.get(key, 0.0) for k in range(copies)]
        columns[key] = np.concatenate(blocks)[:rows]
    return replace(sounding, readings=Series(columns), events=())


def best(run: Callable[[], object], repeats: int) -> float:
    """Return the best time of some runs [s]."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Print the tables."""
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    sounding = thirty_metres()
    start = time.perf_counter()
    assess(process(sounding))
    first = time.perf_counter() - start
    profile = process(sounding)
    took = best(lambda: assess(profile), 9)
    verdict = "met" if took < GOAL else "MISSED"
    print(f"30 m, {len(profile)} rows: process and assess once, with imports {first:.3f} s")
    print(f"assess {took * 1000:.1f} ms; goal {GOAL * 1000:.0f} ms: {verdict}\n")
    print(f"{'rows':>10s}{'process [s]':>13s}{'assess [s]':>12s}{'ratio':>8s}{'per row':>9s}")
    sizes = [len(profile), 10_000, 100_000, 1_000_000]
    base = None
    for rows in [size for size in sizes if size <= largest]:
        many = longer(sounding, rows)
        repeats = 5 if rows < 100_000 else 2
        corrected = process(many)
        one = best(lambda many=many: process(many), repeats)
        two = best(lambda corrected=corrected: assess(corrected), repeats)
        base = base or two / rows
        print(f"{rows:10d}{one:13.3f}{two:12.3f}{two / one:8.1f}{two / rows / base:9.2f}")
    tracemalloc.start()
    assess(corrected)
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    print(f"\nmemory allocated by assess at {len(corrected)} rows, peak: {peak:.0f} MB")
    print(f"\n{'check':20s}{'30 m [ms]':>11s}{f'{len(corrected)} rows [s]':>18s}")
    for check in checks():
        short = best(lambda check=check: list(check.function(profile)), 5)
        long = best(lambda check=check: list(check.function(corrected)), 1)
        print(f"{check.id:20s}{short * 1000:11.2f}{long:18.3f}")


if __name__ == "__main__":
    main()

"""Hold out the lower half of real soundings and forecast it from the upper half.

Two cases: a sounding alone (nothing else known), and a sounding with its neighbours as the plan.
The thrust is computed from the readings of the lower half (10 cm2 tip, rods at 0.3 of the sleeve
friction): no open sounding has a measured thrust. Calibration: of all times that a chance of so
much was stated that the thrust passes m times the highest so far, how often did it.
Baseline: the Brier score of always stating the mean frequency.
Run: python benchmarks/forecast.py [FOLDER of open soundings]
"""

from __future__ import annotations

import math
import sys
import time
import warnings
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from pushproof.errors import PushproofError
from pushproof.formats import read_all
from pushproof.model.profile import Profile
from pushproof.model.recipe import Recipe
from pushproof.planning.forecast import Forecast
from pushproof.planning.ground import LEAST_RESISTANCE, STEP, Ground, binned, from_soundings
from pushproof.planning.thrust import Limits, Loads
from pushproof.processing import process

LOADS = Loads(0.001, 0.015, math.pi * 0.036, 0.3)
TIMES = (1.2, 1.5, 2.0, 3.0, 5.0, 8.0)
LEAST_DEPTH = 6.0
BINS = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.01)


@dataclass
class Held:
    """What one hold-out showed."""

    inside: float
    error: float
    bias: float
    stated: list[tuple[float, bool]]


def hold_out(profile: Profile, ground: Ground | None) -> Held | None:
    mine = from_soundings([profile])
    known = np.isfinite(binned(profile, "qt", mine.depth))
    half = len(mine.depth) // 2
    target = len(mine.depth) * STEP
    if target < LEAST_DEPTH or known[:half].sum() < 10 or known[half:].sum() < 10:
        return None
    forecast = Forecast(LOADS, target, Limits({"any": 1e9}), ground)
    friction, thrust = 0.0, np.full(len(mine.depth), math.nan)
    for i in np.flatnonzero(known):
        qc, fs = max(float(mine.qc[i]), LEAST_RESISTANCE), float(mine.fs[i])
        if i < half:
            forecast.meet(float(mine.depth[i]), qc, fs)
        friction += fs * STEP
        thrust[i] = qc * LOADS.tip + fs * LOADS.sleeve + friction * LOADS.rod * LOADS.share
    ahead = forecast.ahead()
    lower = thrust[-len(ahead.depth) :]
    good = np.isfinite(lower)
    inside = (lower >= ahead.low) & (lower <= ahead.high)
    errors = np.log(lower[good] / ahead.expected[good])
    so_far, most = np.nanmax(thrust[:half]), np.nanmax(lower)
    stated = []
    for times in TIMES:
        forecast.limits = Limits({"any": times * so_far})
        stated.append((1 - forecast.ahead().reached, bool(most > times * so_far)))
    return Held(
        float(inside[good].mean()),
        float(np.median(np.abs(errors))),
        float(np.median(errors)),
        stated,
    )


def tell(title: str, held: Iterable[Held | None]) -> None:
    found = [one for one in held if one is not None]
    pairs = np.array([pair for one in found for pair in one.stated], dtype=float)
    brier = float(np.mean((pairs[:, 0] - pairs[:, 1]) ** 2))
    base = float(np.var(pairs[:, 1]))
    error = math.exp(float(np.median([one.error for one in found]))) - 1
    bias = math.exp(float(np.median([one.bias for one in found]))) - 1
    print(f"## {title}: {len(found)} soundings\n")
    print("| what | value |")
    print("|---|---|")
    print(f"| lower half inside the 80 % band, mean | {np.mean([o.inside for o in found]):.0%} |")
    print(f"| error of the expected thrust, median | {error:.0%} |")
    print(f"| lean (above zero: too little stated), median | {bias:+.0%} |")
    print(f"| Brier score, baseline, ratio | {brier:.3f}, {base:.3f}, {brier / base:.2f} |\n")
    print("| chance stated | times | mean stated | seen |")
    print("|---|---|---|---|")
    for low, high in pairwise(BINS):
        rows = pairs[(pairs[:, 0] >= low) & (pairs[:, 0] < high)]
        if len(rows):
            words = f"{low:.0%} to {min(high, 1):.0%}"
            print(f"| {words} | {len(rows)} | {rows[:, 0].mean():.0%} | {rows[:, 1].mean():.0%} |")
    print()


def read(path: Path) -> list[Profile]:
    try:
        return [process(sounding, Recipe()) for sounding in read_all(path)]
    except PushproofError as error:
        print(f"left out: {path.name}: {type(error).__name__}", file=sys.stderr)
        return []


def main() -> None:
    here = Path(__file__).resolve().parents[2] / "shared" / "data"
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else here
    if not folder.is_dir():
        raise SystemExit(f"no open soundings in {folder}")
    endings = {".xml", ".gef", ".ags"}
    files = [
        f for f in sorted(folder.rglob("*")) if f.suffix in endings and "unit_trap" not in f.name
    ]
    files += sorted(folder.rglob("ALC*.txt"))
    warnings.simplefilter("ignore")
    by_file = {file: read(file) for file in files}
    profiles = [p for some in by_file.values() for p in some]
    profiles = [p for p in profiles if np.isfinite(p.series.get("depth")).any()]
    tell("A sounding alone", (hold_out(p, None) for p in profiles))
    sites = [
        [p for file, some in by_file.items() for p in some if file.name.startswith(start)]
        for start in ("C6048", "HKZ1")
    ]
    started = time.perf_counter()
    tell(
        "With its neighbours",
        (
            hold_out(p, from_soundings([o for o in site if o is not p]))
            for site in sites
            for p in site
        ),
    )
    print(f"(with neighbours: {time.perf_counter() - started:.1f} s)")
    speed()


def speed() -> None:
    """Time one look ahead of 60 m, and one reading."""
    forecast = Forecast(LOADS, 60.0, Limits({"any": 200.0}))
    for i in range(50):
        forecast.meet(0.1 * (i + 1), 3000.0, 40.0)
    taken = []
    for _ in range(30):
        start = time.perf_counter()
        forecast.ahead()
        taken.append(time.perf_counter() - start)
    start = time.perf_counter()
    for i in range(10_000):
        forecast.meet(5.0 + 0.001 * (i + 1), 3000.0, 40.0)
    reading = (time.perf_counter() - start) / 10_000
    print("\n| what | takes |")
    print("|---|---|")
    print(f"| one look ahead over 55 m, every 0.25 m of push | {1e3 * np.median(taken):.1f} ms |")
    print(f"| one reading | {1e6 * reading:.1f} us |")


if __name__ == "__main__":
    main()

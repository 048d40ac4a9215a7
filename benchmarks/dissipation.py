"""Dissipation: time per record against a bare reading of t50, and what made records give back.

Records are made from the table of time factors (Teh & Houlsby 1991, from memory) with a known
coefficient, then cut, rounded and given noise.

    python benchmarks/dissipation.py [records]
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict

import numpy as np

from pushproof.equations.consolidation import DEGREES, TIME_FACTORS
from pushproof.interpretation.dissipation import dissipation
from pushproof.model.equipment import Cone
from pushproof.model.picks import DissipationChoice
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation, Sounding

RADIUS = float(np.sqrt(1e-3 / np.pi))


def curve(ch, u_i, u0, at):
    """Pressure along the table; before 20 % over root time, after 80 % falling off slowly."""
    table, degrees = np.log(TIME_FACTORS["u2"]), np.array(DEGREES)
    logs = np.log(np.maximum(at, 1e-9) * ch / (RADIUS**2 * 10.0))
    degree = np.interp(logs, table, degrees)
    early, late = logs < table[0], logs > table[-1]
    degree[early] = 20.0 * np.sqrt(np.exp(logs[early] - table[0]))
    slope = (degrees[-1] - degrees[-2]) / (table[-1] - table[-2])
    degree[late] = 100.0 - 20.0 * np.exp(-slope / 20.0 * (logs[late] - table[-1]))
    return u_i - degree / 100.0 * (u_i - u0)


def sounding(at, u):
    test = Dissipation(10.0, Series({"time": at, "u2": u}))
    return Sounding("A", Series({}), cone=Cone(tip_area=1e-3), dissipations=(test,))


def interpreted(case, u0):
    (test,) = case.dissipations
    return dissipation(test, case, choice=DissipationChoice(u0=u0))


def bare(at, u, u0):
    half = 0.5 * (u[0] + u0)
    row = int(np.argmax(u <= half))
    return at[row - 1] + (u[row - 1] - half) / (u[row - 1] - u[row]) * (at[row] - at[row - 1])


def seconds(call, count=20):
    best = np.inf
    for _ in range(count):
        begin = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - begin)
    return best


def main(records):
    at = np.arange(0.0, 7200.0, 1.73)
    u = np.round(curve(1e-6, 400.0, 60.0, at), 1)
    case = sounding(at, u)
    ours, plain = seconds(lambda: interpreted(case, 60.0)), seconds(lambda: bare(at, u, 60.0))
    print(
        f"{len(at)} readings: {1e3 * ours:.1f} ms, bare reading of t50 {1e3 * plain:.3f} ms, "
        f"ratio {ours / plain:.0f}"
    )
    rng = np.random.default_rng(0)
    found = defaultdict(list)
    for _ in range(records):
        ch, u_i, u0 = 10 ** rng.uniform(-8, -4.7), rng.uniform(100, 900), rng.uniform(0, 90)
        at = np.arange(0, 10 ** rng.uniform(1.5, 5), rng.choice([0.5, 1, 2, 5]))[:4000]
        u = curve(ch, u_i, u0, at) + rng.normal(0, rng.choice([0, 0.3, 2.0]), len(at))
        u = np.round(u) if rng.random() < 0.5 else u
        for one in interpreted(sounding(at, u), u0).estimates:
            if not one.extrapolated and one.reached > 55 and np.isfinite(one.ch):
                found[one.method].append(one.ch / ch)
    print(f"ch found over ch put in, {records} made records, those that pass 55 %")
    print(f"{'way':<12}{'count':>6}{'5 %':>8}{'median':>8}{'95 %':>8}")
    for method, ratios in found.items():
        low, middle, high = np.percentile(ratios, [5, 50, 95])
        print(f"{method:<12}{len(ratios):>6}{low:>8.3f}{middle:>8.3f}{high:>8.3f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)

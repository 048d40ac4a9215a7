"""Rows interpreted per second, against a bare numpy kernel and against a loop over rows.

Run it with ``python benchmarks/interpret.py [rows]``. The kernel computes the same columns by the
same equations and the same iteration, on whole arrays, with no registry, no validity, no reasons
and no findings: the price of these is the ratio. The loop is the same again with plain floats,
timed on a part of the rows and scaled.
"""

from __future__ import annotations

import math
import sys
import time
import tracemalloc
from collections.abc import Callable

import numpy as np

from pushproof.interpretation import interpret
from pushproof.model.profile import Profile
from pushproof.model.recipe import Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding, Water, WaterOrigin
from pushproof.processing import process

PA, GW = 100.0, 9.81
BOUNDARIES = (1.31, 2.05, 2.60, 2.95, 3.60)
LOOP_ROWS = 20_000


def made_up(rows: int) -> Profile:
    """A long made-up profile: sand and clay in turn, 10 to 50 m deep, everything measured."""
    rng = np.random.default_rng(20)
    depth = 10.0 + 40.0 * np.arange(rows) / rows
    wave = np.sin(depth * 3.0)
    qc = 10 ** (3.8 + 0.4 * wave + 0.05 * rng.standard_normal(rows))
    fs = qc * 10 ** (-2.0 - 0.4 * wave + 0.1 * rng.standard_normal(rows))
    u2 = GW * (depth - 1.5) + np.where(wave < 0, 0.4 * qc, 0.0)
    columns = {"length": depth, "qc": qc, "fs": fs, "u2": u2}
    sounding = Sounding(
        "made up", Series(columns), water=Water(level=1.5, origin=WaterOrigin.MEASURED)
    )
    return process(sounding, Recipe(area_ratio=0.8))


def kernel(z, qt, fs, Rf, u2):
    """The same columns, bare."""
    gamma = (0.27 * np.log10(Rf) + 0.36 * np.log10(qt / PA) + 1.236) * GW
    gamma = np.clip(gamma, 10.0, 24.0)
    gamma[0] = 18.0
    between = gamma.copy()
    between[1:] = 0.5 * (gamma[1:] + gamma[:-1])
    sv = np.cumsum(between * np.diff(z, prepend=0.0))
    u0 = GW * np.maximum(0.0, z - 1.5)
    sv_eff = sv - u0
    qn = qt - sv
    Qt = qn / sv_eff
    Fr = 100.0 * fs / qn
    Bq = (u2 - u0) / qn
    resistance = 3.47 - np.log10(qn / PA)
    per_n = np.log10(PA / sv_eff)
    friction = (np.log10(Fr) + 1.22) ** 2
    n = np.ones_like(qn)
    for _ in range(30):
        across = resistance - n * per_n
        Ic = np.sqrt(across * across + friction)
        new = np.minimum(1.0, 0.381 * Ic + 0.05 * sv_eff / PA - 0.15)
        slope = np.minimum(-0.381 * (new < 1.0) * across * per_n / Ic, 0.9)
        step = (new - n) / (1.0 - slope)
        n += step
        if not (np.abs(step) > 1e-4).any():
            break
    Qtn = qn / PA * (PA / sv_eff) ** n
    Ic = np.sqrt((3.47 - np.log10(Qtn)) ** 2 + (np.log10(Fr) + 1.22) ** 2)
    zone = np.full(len(qn), 7.0)
    for boundary in BOUNDARIES:
        zone -= Ic >= boundary
    x = Fr - 1.0
    curve = 1.0 / np.maximum(0.005 * x - 0.0003 * x * x - 0.002, 1e-12)
    zone = np.where(Qtn < 12.0 * np.exp(-1.4 * Fr), 1.0, zone)
    zone = np.where((Fr > 1.5) & (Qtn > curve), np.where(Fr < 4.5, 8.0, 9.0), zone)
    N60 = qt / (PA * 10.0 ** (1.1268 - 0.2817 * Ic))
    N1_60 = N60 * np.minimum(1.7, np.sqrt(PA / sv_eff))
    return {
        "gamma": gamma,
        "sigma_v0": sv,
        "u0": u0,
        "sigma_v0_eff": sv_eff,
        "qn": qn,
        "Qt": Qt,
        "Fr": Fr,
        "Bq": Bq,
        "n": n,
        "Qtn": Qtn,
        "Ic": Ic,
        "zone": zone,
        "N60": N60,
        "N1_60": N1_60,
    }


def loop(z, qt, fs, Rf, u2):
    """The same again, one row at a time."""
    out = []
    sv = 0.0
    above, before = 0.0, None
    log, sqrt = math.log10, math.sqrt
    for zi, q, f, r, u in zip(z, qt, fs, Rf, u2, strict=True):
        g = min(max((0.27 * log(r) + 0.36 * log(q / PA) + 1.236) * GW, 10.0), 24.0)
        if before is None:
            g = before = 18.0
        sv += 0.5 * (g + before) * (zi - above)
        above, before = zi, g
        u0 = GW * max(0.0, zi - 1.5)
        sve = sv - u0
        qn = q - sv
        Fr = 100.0 * f / qn
        n, Ic = 1.0, 0.0
        for _ in range(30):
            Qtn = qn / PA * (PA / sve) ** n
            Ic = sqrt((3.47 - log(Qtn)) ** 2 + (log(Fr) + 1.22) ** 2)
            new = min(1.0, 0.381 * Ic + 0.05 * sve / PA - 0.15)
            done = abs(new - n) < 1e-4
            n = new
            if done:
                break
        Qtn = qn / PA * (PA / sve) ** n
        Ic = sqrt((3.47 - log(Qtn)) ** 2 + (log(Fr) + 1.22) ** 2)
        zone = 7 - sum(Ic >= b for b in BOUNDARIES)
        x = Fr - 1.0
        below = 0.005 * x - 0.0003 * x * x - 0.002
        if Qtn < 12.0 * math.exp(-1.4 * Fr):
            zone = 1
        if Fr > 1.5 and below > 0 and Qtn > 1.0 / below:
            zone = 8 if Fr < 4.5 else 9
        N60 = q / (PA * 10.0 ** (1.1268 - 0.2817 * Ic))
        N1 = N60 * min(1.7, sqrt(PA / sve))
        out.append((g, sv, u0, sve, qn, qn / sve, Fr, (u - u0) / qn, n, Qtn, Ic, zone, N60, N1))
    return out


def best(run: Callable[[], object], repeats: int = 5) -> float:
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    profile = made_up(rows)
    s = profile.series
    inputs = [s[key] for key in ("depth", "qt", "fs", "Rf", "u2")]
    bare, derived = kernel(*inputs), interpret(profile).series
    worst = max(
        float(np.max(np.abs(derived[key] - bare[key]) / np.maximum(np.abs(bare[key]), 1e-9)))
        for key in bare
        if key not in ("u0", "zone")
    )
    part = [list(array[:LOOP_ROWS]) for array in inputs]
    ours = best(lambda: interpret(profile))
    numpy_time = best(lambda: kernel(*inputs))
    loop_time = best(lambda: loop(*part), 3) * rows / len(part[0])
    tracemalloc.start()
    interpret(profile)
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    print(f"{rows} rows; largest relative difference from the kernel {worst:.1e}")
    print(f"zones that differ from the kernel: {int((derived['zone'] != bare['zone']).sum())}")
    print(f"{'':28s}{'time [s]':>10s}{'rows/s':>14s}{'interpret is':>16s}")
    print(f"{'interpret':28s}{ours:10.3f}{rows / ours:14.0f}")
    print(
        f"{'bare numpy kernel':28s}{numpy_time:10.3f}{rows / numpy_time:14.0f}"
        f"{ours / numpy_time:10.2f} x its time"
    )
    print(
        f"{'loop over rows (scaled)':28s}{loop_time:10.3f}{rows / loop_time:14.0f}"
        f"{loop_time / ours:10.1f} x faster"
    )
    print(f"memory allocated by interpret, peak: {peak:.0f} MB")


if __name__ == "__main__":
    main()

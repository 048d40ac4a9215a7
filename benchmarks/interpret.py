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
    sand = np.sin(depth * 3.0) > 0
    noise = np.exp(0.2 * rng.standard_normal((2, rows)))
    stress = 18.0 * depth - GW * (depth - 1.5)
    qc = np.where(sand, 90.0 * np.sqrt(100.0 * stress), 5.0 * stress + 18.0 * depth) * noise[0]
    fs = np.where(sand, 0.006, 0.025) * qc * noise[1]
    u2 = GW * (depth - 1.5) + np.where(sand, 0.0, 2.5 * stress)
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
    power = 10.0 ** (0.55 * Ic + 1.68)
    coarse = (Ic <= 2.6) & (zone != 9.0) | (zone == 8.0)
    IB = 100.0 * (Qtn + 10.0) / (Qtn * Fr + 70.0)
    CD = (Qtn - 11.0) * (1.0 + 0.06 * Fr) ** 17
    group = np.where(IB > 32.0, 6.0, np.where(IB < 22.0, 2.0, 4.0)) + (CD > 70.0)
    group = np.where((group == 2.0) & (Fr < 2.0), 1.0, group)
    FC = np.where(Ic < 1.26, 0.0, np.where(Ic > 3.5, 100.0, 1.75 * Ic**3.25 - 3.7))
    su = np.where(coarse, np.nan, qn / 14.0)
    St = np.where(coarse, np.nan, 7.1 / Fr)
    m = 1.0 - 0.28 / (1.0 + (Ic / 2.65) ** 25)
    sigma_p = 0.33 * qn**m
    OCR = sigma_p / sv_eff
    clean = (Ic <= 1.64) | ((Ic < 2.36) & (Fr < 0.5))
    Kc = -0.403 * Ic**4 + 5.581 * Ic**3 - 21.63 * Ic**2 + 33.75 * Ic - 17.88
    Qtn_cs = np.where(clean, 1.0, np.maximum(Kc, 1.0)) * Qtn
    qt1 = qt / np.sqrt(PA * sv_eff)
    B = np.where((Bq >= 0.1) & (Bq <= 1.0), Bq, np.nan)
    phi_clay = 29.5 * B**0.121 * (0.256 + 0.336 * B + np.log10(Qt))
    phi_clay = np.where((phi_clay >= 20.0) & (phi_clay <= 45.0), phi_clay, np.nan)
    phi = np.where(coarse, 17.6 + 11.0 * np.log10(qt1), phi_clay)
    sine = np.sin(np.radians(phi))
    K0 = (1.0 - sine) * OCR**sine
    K0 = np.where((1.0 + sine) / (1.0 - sine) >= K0, K0, np.nan)
    Dr = 100.0 * (0.268 * np.log(qt1) - 0.675)
    Dr = np.where(coarse & (Dr >= 0.0), Dr, np.nan)
    psi = np.where(coarse, 0.56 - 0.33 * np.log10(Qtn_cs), np.nan)
    M = np.where(Ic > 2.2, np.minimum(Qtn, 14.0), 0.0188 * power) * qn
    E = np.where(coarse & (Ic < 2.6), 0.015 * power * qn, np.nan)
    Vs = np.sqrt(power * qn / PA)
    G0 = gamma / 9.80665 * Vs * Vs
    k = 10.0 ** np.where(Ic <= 3.27, 0.952 - 3.04 * Ic, -4.52 - 1.37 * Ic)
    k = np.where((Ic > 1.0) & (Ic < 4.0), k, np.nan)
    N1_60 = np.where(coarse, N1_60, np.nan)
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
        "IB": np.where(Fr <= 10.0, IB, np.nan),
        "CD": CD,
        "group": group,
        "FC": FC,
        "su": su,
        "St": St,
        "sigma_p": sigma_p,
        "OCR": OCR,
        "phi": phi,
        "K0": K0,
        "Dr": Dr,
        "psi": psi,
        "M": M,
        "E": E,
        "Vs": Vs,
        "G0": G0,
        "k": k,
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
        row = [g, sv, u0, sve, qn, qn / sve, Fr, (u - u0) / qn, n, Qtn, Ic, zone, N60, N1]
        out.append(row + one_row(g, q, Fr, sve, qn, row[7], Qtn, Ic, zone))
    return out


def one_row(g, q, Fr, sve, qn, Bq, Qtn, Ic, zone):
    """What follows from soil behaviour, with plain floats."""
    nan = math.nan
    log, sqrt, sin = math.log10, math.sqrt, math.sin
    coarse = (Ic <= 2.6 and zone != 9) or zone == 8
    power = 10.0 ** (0.55 * Ic + 1.68)
    IB = 100.0 * (Qtn + 10.0) / (Qtn * Fr + 70.0)
    CD = (Qtn - 11.0) * (1.0 + 0.06 * Fr) ** 17
    group = (6 if IB > 32 else 2 if IB < 22 else 4) + (CD > 70)
    if group == 2 and Fr < 2:
        group = 1
    FC = 0.0 if Ic < 1.26 else 100.0 if Ic > 3.5 else 1.75 * Ic**3.25 - 3.7
    sigma_p = 0.33 * qn ** (1.0 - 0.28 / (1.0 + (Ic / 2.65) ** 25))
    OCR = sigma_p / sve
    su = St = phi = Dr = psi = E = k = nan
    if coarse:
        Kc = -0.403 * Ic**4 + 5.581 * Ic**3 - 21.63 * Ic**2 + 33.75 * Ic - 17.88
        clean = Ic <= 1.64 or (Ic < 2.36 and Fr < 0.5)
        psi = 0.56 - 0.33 * log((1.0 if clean else max(Kc, 1.0)) * Qtn)
        qt1 = q / sqrt(PA * sve)
        phi = 17.6 + 11.0 * log(qt1)
        Dr = 100.0 * (0.268 * math.log(qt1) - 0.675)
        E = 0.015 * power * qn
    else:
        su, St = qn / 14.0, 7.1 / Fr
        if 0.1 <= Bq <= 1.0:
            phi = 29.5 * Bq**0.121 * (0.256 + 0.336 * Bq + log(qn / sve))
    sine = sin(math.radians(phi))
    K0 = (1.0 - sine) * OCR**sine
    M = (min(Qtn, 14.0) if Ic > 2.2 else 0.0188 * power) * qn
    Vs = sqrt(power * qn / PA)
    G0 = g / 9.80665 * Vs * Vs
    if 1.0 < Ic < 4.0:
        k = 10.0 ** (0.952 - 3.04 * Ic if Ic <= 3.27 else -4.52 - 1.37 * Ic)
    return [IB, CD, group, FC, su, St, sigma_p, OCR, phi, K0, Dr, psi, M, E, Vs, G0, k]


def best(*runs: Callable[[], object], repeats: int = 9) -> list[float]:
    """Return the best time of each, taken in turns so that a busy machine is fair to all."""
    times = [math.inf] * len(runs)
    for _ in range(repeats):
        for k, run in enumerate(runs):
            start = time.perf_counter()
            run()
            times[k] = min(times[k], time.perf_counter() - start)
    return times


def main() -> None:
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    profile = made_up(rows)
    s = profile.series
    inputs = [s[key] for key in ("depth", "qt", "fs", "Rf", "u2")]
    bare, derived = kernel(*inputs), interpret(profile).series
    worst = max(
        float(np.nanmax(np.abs(derived[key] - bare[key]) / np.maximum(np.abs(bare[key]), 1e-12)))
        for key in bare
    )
    gaps = {key for key in bare if (np.isnan(bare[key]) != np.isnan(derived[key])).any()}
    part = [list(array[:LOOP_ROWS]) for array in inputs]
    ours, numpy_time = best(lambda: interpret(profile), lambda: kernel(*inputs))
    loop_time = best(lambda: loop(*part), repeats=3)[0] * rows / len(part[0])
    tracemalloc.start()
    interpret(profile)
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    print(f"{rows} rows; largest relative difference from the kernel {worst:.1e}")
    print(f"columns with gaps in other rows: {sorted(gaps) or 'none'}")
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

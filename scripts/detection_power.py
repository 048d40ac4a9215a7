#!/usr/bin/env python
"""Plant defects in soundings and print the tables of what the checks find of them.

usage: scripts/detection_power.py [--half tune|report] [--data FOLDER]

Half of the simulated and half of the real soundings serve to tune the thresholds, the other half
to report. A hit is a finding of the right kind, of the right channel, at the right depth, that the
same sounding without the defect does not have.
"""

# ruff: noqa: E402
from __future__ import annotations

import argparse
import sys
import zlib
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

import pushproof as pp
import real
from pushproof.model.equipment import Cone
from pushproof.model.findings import Finding
from pushproof.model.recipe import Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding, Water, WaterOrigin
from pushproof.quality.checks import checks
from pushproof.quality.plausibility import plausibility
from pushproof.sources.rehearsal import Ground, Layer, Plan, push
from pushproof.testing.defects import DEFECTS, Defect

SIMULATED = 40
TRIALS = {"simulated": 3, "real": 5}
"""Times that each defect is planted in each sounding, at another place each time."""


def simulated() -> dict[str, Sounding]:
    """Return pushes through ground that is drawn at random, the water level measured."""
    found = {}
    for seed in range(SIMULATED):
        rng = np.random.default_rng(9000 + seed)
        layers = tuple(_layer(rng) for _ in range(int(rng.integers(4, 9))))
        level = round(float(rng.uniform(0.3, 3.0)), 2)
        plan = Plan(
            f"SIM-{seed:02d}",
            float(rng.uniform(8, 35)),
            start=float(rng.choice([0.0, 0.5, 1.2])),
            tilt_drift=float(rng.uniform(0.0, 0.2)),
            water=Water(level=level, origin=WaterOrigin.MEASURED),
        )
        found[plan.name] = push(Ground(layers, level), plan, 9000 + seed).sounding
    return found


def _layer(rng: np.random.Generator) -> Layer:
    thick = float(rng.uniform(0.8, 7.0))
    kind = rng.choice(
        ["soft clay", "stiff clay", "sand", "silt", "peat"], p=[0.3, 0.2, 0.3, 0.1, 0.1]
    )
    if kind == "sand":
        density = float(rng.uniform(0.3, 0.9))
        scatter = float(rng.uniform(0.1, 0.25))
        return Layer(
            thick,
            kind,
            19.5,
            density=density,
            friction=float(rng.uniform(0.5, 0.9)),
            scatter=scatter,
        )
    su = {"soft clay": (10, 35), "stiff clay": (60, 180), "silt": (50, 110), "peat": (8, 25)}[kind]
    pore = {
        "soft clay": (0.4, 0.7),
        "stiff clay": (0.1, 0.4),
        "silt": (0.05, 0.2),
        "peat": (0.1, 0.3),
    }
    ratio = {"soft clay": (1.5, 3.0), "stiff clay": (2.5, 5), "silt": (1.5, 2.5), "peat": (4, 7)}
    return Layer(
        thick,
        str(kind),
        {"soft clay": 15.8, "stiff clay": 19.0, "silt": 18.2, "peat": 11.0}[kind],
        su=float(rng.uniform(*su)),
        su_gradient=float(rng.uniform(0, 3)),
        friction=float(rng.uniform(*ratio[kind])),
        pore=float(rng.uniform(*pore[kind])),
        scatter=float(rng.uniform(0.03, 0.15)),
    )


def real_soundings(data: Path) -> dict[str, Sounding]:
    """Return the open soundings, each column in the inside unit."""
    found = {}
    thousand = ("qc", "fs", "u1", "u2")
    for path in sorted((data / "bro").glob("*.xml")):
        columns, about = real.bro(path)
        ratio = float(about.get("coneSurfaceQuotient", "nan"))
        cone = Cone(area_ratio=ratio if 0 < ratio <= 1 else None)
        kept = {k: (v, 1000 if k in thousand else 1) for k, v in columns.items() if k != "depth"}
        found[path.stem] = _sounding(path.stem, kept, cone)
    for path in [*sorted((data / "bro").glob("*.gef")), data / "usgs" / "ALC008.txt"]:
        found[path.stem] = pp.read(path)
    for path in sorted((data / "hkz").glob("*.ags")):
        headings, _, rows = real.ags4(path)
        named = {"depth": ("SCPT_DPTH", 1), "qc": ("SCPT_RES", 1000), "fs": ("SCPT_FRES", 1),
                 "u2": ("SCPT_PWP2", 1)}  # fmt: skip
        kept = {k: (real.column(headings, rows, h), f) for k, (h, f) in named.items()}
        found[path.stem] = _sounding(path.stem, kept, Cone(area_ratio=0.58))
    for path in sorted((data / "hk").glob("*.ags")):
        headings, rows = real.ags3(path)
        named = {"depth": ("STCN_DPTH", 1), "qc": ("STCN_RES", 1000), "fs": ("STCN_FRES", 1),
                 "u2": ("STCN_PWP2", 1)}  # fmt: skip
        kept = {
            k: (real.column(headings, rows, h), f) for k, (h, f) in named.items() if h in headings
        }
        found[path.stem] = _sounding(path.stem, kept, Cone())
    columns = real.dov(data / "dov" / "GEO-02-111-S1.xml")
    kept = {"length": (columns["lengte"], 1), "qc": (columns["qc"], 1000), "fs": (columns["fs"], 1),
            "tilt": (columns["i"], 1)}  # fmt: skip
    found["GEO-02-111-S1"] = _sounding("GEO-02-111-S1", kept, Cone())
    return found


def _sounding(
    name: str, columns: dict[str, tuple[list[float | None], float]], cone: Cone
) -> Sounding:
    arrays = {k: np.array(v, dtype=float) * f for k, (v, f) in columns.items()}
    return Sounding(
        name, Series({k: v for k, v in arrays.items() if np.isfinite(v).any()}), cone=cone
    )


def found_in(sounding: Sounding) -> list[Finding]:
    """Return what the checks find, and what a reader would find on import."""
    profile = pp.process(sounding, Recipe())
    findings = [*profile.findings, *plausibility(sounding)]
    for check in checks():
        findings += check.function(profile)
    return findings


def hit(
    defect: Defect, findings: list[Finding], before: set[tuple[str, str, str]], planted
) -> bool:
    """Tell whether the findings hold the planted defect."""
    for one in findings:
        if one.id != defect.finding or (defect.channel and one.channel != defect.channel):
            continue
        if (one.id, one.channel, one.found) in before:
            continue
        counted = any(key[:2] == (one.id, one.channel) for key in before)
        if planted.interval is None or one.top is None or counted:
            return True  # the count changed; the finding names only the worst place
        top, base = planted.interval
        if one.top <= base + 1.2 and (one.base or one.top) >= top - 1.2:
            return True
    return False


def trials(kind: str, soundings: dict[str, Sounding]) -> Iterator[tuple[Defect, float, bool]]:
    """Plant every defect at every size and yield whether it was found."""
    for name, sounding in soundings.items():
        known = found_in(sounding)
        before = {(f.id, f.channel, f.found) for f in known}
        whole = {f.id for f in known}
        for defect in DEFECTS:
            for size in defect.sizes:
                rng = np.random.default_rng(
                    zlib.crc32(f"{name}{defect.name}{defect.channel}{size}".encode())
                )
                for _ in range(TRIALS[kind]):
                    planted = defect.plant(sounding, size, rng)
                    if planted is None:
                        break
                    if planted.interval is None and defect.finding in whole:
                        break  # it has the finding already, so nothing could be learnt
                    yield defect, size, hit(defect, found_in(planted.sounding), before, planted)
                    if planted.interval is None:
                        break


def table(counts: dict[tuple[int, float], dict[str, list[bool]]]) -> list[str]:
    """Return the rows of the table of hits."""
    rows = ["| defect | size | finding | simulated | real |", "|---|---|---|---|---|"]
    for k, defect in enumerate(DEFECTS):
        for size in defect.sizes:
            cells = counts[k, size]
            name = f"{defect.name}{f' ({defect.channel})' if defect.channel else ''}"
            shown = [
                f"{sum(cells[kind])} of {len(cells[kind])} ({np.mean(cells[kind]):.0%})"
                if cells[kind]
                else "-"
                for kind in ("simulated", "real")
            ]
            rows.append(
                f"| {name} | {size:g} {defect.unit.replace('-', '')} | `{defect.finding}` "
                f"| {shown[0]} | {shown[1]} |"
            )
    return rows


def main() -> None:
    """Run it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--half", choices=("tune", "report"), default="report")
    parser.add_argument("--data", type=Path, default=ROOT.parent / "shared" / "data")
    parser.add_argument("--only", default="", help="part of the id of a finding")
    options = parser.parse_args()
    global DEFECTS
    DEFECTS = tuple(d for d in DEFECTS if options.only in d.finding)
    start = 0 if options.half == "tune" else 1
    groups = {"simulated": simulated(), "real": real_soundings(options.data)}
    counts: dict = defaultdict(lambda: {"simulated": [], "real": []})
    quiet: dict = defaultdict(lambda: {"simulated": 0, "real": 0})
    total = {}
    for kind, all_of_them in groups.items():
        half = dict(sorted(all_of_them.items())[start::2])
        total[kind] = len(half)
        for sounding in half.values():
            for key in {(f.id, f.channel) for f in found_in(sounding)}:
                quiet[key][kind] += 1
        for defect, size, found in trials(kind, half):
            counts[DEFECTS.index(defect), size][kind].append(found)
    print("\n".join(table(counts)))
    print()
    print(f"| finding | channel | simulated of {total['simulated']} | real of {total['real']} |")
    print("|---|---|---|---|")
    for (id, channel), cells in sorted(quiet.items()):
        if any(d.finding == id and (not d.channel or d.channel == channel) for d in DEFECTS):
            print(f"| `{id}` | {channel} | {cells['simulated']} | {cells['real']} |")


if __name__ == "__main__":
    main()

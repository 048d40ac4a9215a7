#!/usr/bin/env python
"""Print logged layers against soil behaviour and automatic units, for the open files with both.

usage: scripts/logged_layers.py [--data FOLDER]

The layers are read by plain csv code that shares nothing with the readers of the package. Each
reading below the logged top counts with the length it stands for. A boundary of the units is near
a logged one within 0.4 m; a logged one is plain if both its layers are a metre thick and differ in
words.
"""

from __future__ import annotations

import argparse
import csv
import itertools
from collections import defaultdict
from pathlib import Path

import numpy as np

import pushproof as pp
from pushproof.interpretation.layers import layers

ROOT = Path(__file__).resolve().parents[1]
WORDS = {
    2: "organic soil",
    3: "clay",
    4: "silt mixture",
    5: "sand mixture",
    6: "sand",
    7: "gravelly sand",
}
OTHER = "other or none"
NEAR = 0.4
COLUMNS = ("silty clay", "sandy silty clay", "silty sand", "sand")


def logged(path: Path) -> list[tuple[float, float, str]]:
    """Return the logged layers of a file: top, base [m] and words."""
    found: list[tuple[float, float, str]] = []
    heads: list[str] = []
    inside = False
    for cells in csv.reader(path.read_text("latin-1").splitlines()):
        if cells and cells[0].startswith("**"):
            inside = cells[0] == "**GEOL"
        elif inside and cells and cells[0].startswith("*"):
            heads = [cell.lstrip("*") for cell in cells]
        elif inside and cells:
            row = dict(zip(heads, cells, strict=False))
            words = row["GEOL_DESC"].lower().replace("clayey silty sand", "silty sand")
            found.append((float(row["GEOL_TOP"]), float(row["GEOL_BASE"]), words))
    return found


def confusion(folder: Path) -> dict[str, dict[str, float]]:
    """Return metres by zone of soil behaviour and logged words."""
    metres: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for path in sorted(folder.glob("*.ags")):
        found = logged(path)
        for sounding in pp.read_all(path):
            series = pp.interpret(pp.process(sounding)).series
            depth, zone = series["depth"], series.get("zone")
            stands = np.clip(np.gradient(depth), 0.0, 0.1)
            for top, base, words in found:
                inside = (depth >= top) & (depth < base)
                for value, length in zip(zone[inside], stands[inside], strict=True):
                    name = WORDS.get(int(value), OTHER) if np.isfinite(value) else OTHER
                    metres[name][words] += float(length)
    return metres


def table(metres: dict[str, dict[str, float]]) -> list[str]:
    """Return the table in Markdown, metres."""
    rows = [f"| behaviour | {' | '.join(COLUMNS)} |", "|---|" + "---:|" * len(COLUMNS)]
    for name in (*reversed(WORDS.values()), OTHER):
        cells = [metres[name][words] for words in COLUMNS]
        if any(cell >= 0.05 for cell in cells):
            rows.append(f"| {name} | {' | '.join(f'{cell:.1f}' for cell in cells)} |")
    return rows


def boundaries(folder: Path) -> str:
    """Return in words how the boundaries of the automatic units stand to the logged ones."""
    count = near = plain = met = 0
    for path in sorted(folder.glob("*.ags")):
        logged_here = logged(path)
        every = np.array([depth for top, base, _ in logged_here for depth in (top, base)])
        firm = [
            a[1]
            for a, b in itertools.pairwise(logged_here)
            if min(a[1] - a[0], b[1] - b[0]) >= 1.0 and a[2] != b[2] and abs(a[1] - b[0]) < 0.01
        ]
        for sounding in pp.read_all(path):
            units = layers(pp.interpret(pp.process(sounding))).units
            found = np.array([u.top for u in [u for u in units if u.kind == "ground"][1:]])
            count += len(found)
            near += sum(float(np.abs(every - depth).min()) <= NEAR for depth in found)
            plain += len(firm)
            met += sum(float(np.abs(found - depth).min(initial=np.inf)) <= NEAR for depth in firm)
    return (
        f"{near} of {count} boundaries of the units lie within {NEAR:g} m of a logged one; "
        f"{met} of {plain} plain logged boundaries are met."
    )


def main() -> None:
    """Run it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, default=ROOT.parent / "shared" / "data")
    options = parser.parse_args()
    print("\n".join(table(confusion(options.data / "hk"))))
    print(f"\n{boundaries(options.data / 'hk')}")


if __name__ == "__main__":
    main()

#!/usr/bin/env python
"""Print logged layers against soil behaviour for the open files that hold both.

usage: scripts/logged_layers.py [--data FOLDER]

The layers are read by plain csv code that shares nothing with the readers of the package. Each
reading below the logged top counts with the length it stands for.
"""

from __future__ import annotations

import argparse
import csv
from collections import defaultdict
from pathlib import Path

import numpy as np

import pushproof as pp

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
        layers = logged(path)
        for sounding in pp.read_all(path):
            series = pp.interpret(pp.process(sounding)).series
            depth, zone = series["depth"], series.get("zone")
            stands = np.clip(np.gradient(depth), 0.0, 0.1)
            for top, base, words in layers:
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


def main() -> None:
    """Run it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, default=ROOT.parent / "shared" / "data")
    options = parser.parse_args()
    print("\n".join(table(confusion(options.data / "hk"))))


if __name__ == "__main__":
    main()

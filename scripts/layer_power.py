#!/usr/bin/env python
"""Print how often the automatic units find the boundaries of simulated ground.

usage: scripts/layer_power.py [FIRST PUSHES]

The ground of 40 pushes is drawn at random, as for the detection table of the checks; FIRST and
PUSHES draw others. A boundary of the simulated ground counts if the resistance on its two sides
differs by a factor of 1.5 or more and both layers are a metre thick; it is found if a unit begins
within the distance.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

import pushproof as pp
from pushproof.interpretation.layers import layers
from pushproof.sources.rehearsal import Ground, Plan, push

sys.path.insert(0, str(Path(__file__).resolve().parent))

from detection_power import _layer

DISTANCES = (0.1, 0.2, 0.4)
PUSHES = 40
AHEAD = 0.8
"""A cone feels a boundary from about this far above [m]."""
SHALLOW = 2.6
"""Down to here the stress that resistance is divided by changes much within a metre or two [m]."""


def drawn(seed: int) -> tuple[Ground, Plan]:
    """Return ground drawn at random, and the plan of a push through it."""
    rng = np.random.default_rng(9000 + seed)
    made = tuple(_layer(rng) for _ in range(int(rng.integers(4, 9))))
    level = round(float(rng.uniform(0.3, 3.0)), 2)
    return Ground(made, level), Plan(f"SIM-{seed:02d}", float(rng.uniform(8, 35)))


def plain_boundaries(ground: Ground, last: float) -> list[float]:
    """Return the boundaries that a push should show [m]."""
    base = np.cumsum([layer.thickness for layer in ground.layers])
    found = []
    for above, below, depth in zip(ground.layers, ground.layers[1:], base, strict=False):
        if min(above.thickness, below.thickness) < 1.0 or depth > last - 0.5:
            continue
        q = ground.resistance(np.array([depth - 0.4, depth + 0.4]))
        if max(q[0] / q[1], q[1] / q[0]) >= 1.5:
            found.append(float(depth))
    return found


def change(ground: Ground, depth: float, last: float) -> float:
    """Return the ratio of resistance, larger to smaller, over the layer that holds a depth."""
    edges = np.concatenate(([0.0], np.cumsum([layer.thickness for layer in ground.layers])))
    i = min(int(np.searchsorted(edges[1:], depth)), len(ground.layers) - 1)
    q = ground.resistance(np.array([edges[i] + 0.05, min(edges[i + 1], last) - 0.05]))
    return float(max(q[0] / q[1], q[1] / q[0]))


def counts(
    first: int = 0, pushes: int = PUSHES
) -> tuple[int, dict[float, int], int, list[float], int, int]:
    """Return boundaries planted, found within each distance, and found; and of the false ones.

    Of these: the change over the layer that each cuts, how many lie near the surface, and how many
    close above a planted boundary.
    """
    planted = found = shallow = ahead = 0
    false: list[float] = []
    hits = dict.fromkeys(DISTANCES, 0)
    for seed in range(first, first + pushes):
        ground, plan = drawn(seed)
        derived = pp.interpret(pp.process(push(ground, plan, 9000 + seed).sounding))
        units = [unit for unit in layers(derived).units if unit.kind == "ground"]
        edges = np.array([unit.top for unit in units[1:]])
        true = plain_boundaries(ground, float(derived.series["depth"].max()))
        every = np.cumsum([layer.thickness for layer in ground.layers])
        planted += len(true)
        found += edges.size
        for depth in true:
            away = float(np.abs(edges - depth).min()) if edges.size else np.inf
            for distance in DISTANCES:
                hits[distance] += away <= distance
        last = float(derived.series["depth"].max())
        off = [edge for edge in edges if float(np.abs(every - edge).min()) > 0.4]
        false += [change(ground, float(edge), last) for edge in off]
        for edge in off:
            close = bool(((every - edge > 0) & (every - edge <= AHEAD)).any())
            ahead += int(close)
            shallow += int(not close and edge <= SHALLOW)
    return planted, hits, found, false, shallow, ahead


def main() -> None:
    """Run it."""
    planted, hits, found, false, shallow, ahead = counts(*map(int, sys.argv[1:3]))
    print("| within | boundaries found |")
    print("|---|---|")
    for distance, count in hits.items():
        print(f"| {distance:g} m | {count} of {planted} ({count / planted:.0%}) |")
    print()
    print(f"{len(false)} of {found} boundaries found lie more than 0.4 m from any planted one:")
    others = f"{shallow} others in the first {SHALLOW:g} m"
    print(f"{ahead} of them within {AHEAD:g} m above one, {others}.")
    print()
    print("| resistance from top to base of the layer they cut | of these |")
    print("|---|---|")
    ratio = np.array(false)
    print(f"| changes by 1.5 or more | {np.sum(ratio >= 1.5)} |")
    print(f"| changes by 1.2 to 1.5 | {np.sum((ratio >= 1.2) & (ratio < 1.5))} |")
    print(f"| changes by less | {np.sum(ratio < 1.2)} |")


if __name__ == "__main__":
    main()

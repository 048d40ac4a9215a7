"""Work out a plan of 60 m, as a slider would ask it.

Baseline: the goal of 50 ms. Run: python benchmarks/planning.py
"""

from __future__ import annotations

import time

import numpy as np

from pushproof.planning.document import Plan, plan_from
from pushproof.planning.outlook import ground_of, work_out

GOAL = 0.050


def plan(target: float, mass: float) -> Plan:
    layers = [
        {"top": 0, "base": 9, "soil": "clay", "qc": 700},
        {"top": 9, "base": 30, "soil": "sand", "qc": 9000},
        {"top": 30, "base": 60, "soil": "clay", "qc": 2500},
    ]
    anchors = {"count": 2, "torque": 2.0, "depth": 1.6, "helices": [0.25]}
    rig = {"mass": mass, "thrust": 200, "free_length": 1.1}
    rods = {"reducer": 0.045}
    return plan_from(
        {"target": target, "layers": layers, "rig": rig, "anchors": anchors, "rods": rods}
    )


def main() -> None:
    print("| depth | median [ms] | p95 [ms] | of the goal of 50 ms |")
    print("|---|---|---|---|")
    for target in (20.0, 40.0, 60.0):
        taken = []
        for i in range(60):
            one = plan(target, 9000.0 + 50 * i)
            ground = ground_of(one)
            start = time.perf_counter()
            outlook = work_out(one, ground)
            taken.append(time.perf_counter() - start)
            if not outlook.options:
                raise SystemExit("the plan gave no options")
        middle, late = np.percentile(taken[2:], [50, 95])
        print(f"| {target:g} m | {1e3 * middle:.1f} | {1e3 * late:.1f} | {middle / GOAL:.2f} |")


if __name__ == "__main__":
    main()

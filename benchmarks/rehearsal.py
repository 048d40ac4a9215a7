"""How fast a push is simulated, and what the link watch makes of strings it was not tuned on.

The link watch has a benchmark of its own with scatter from its own model. Here the strings come
from the rehearsal rig: every joint with another loss, every rod seated anew, packets that break
with the ratio of level to noise. Run: ``python benchmarks/rehearsal.py [seeds]``.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from dataclasses import replace

from pushproof.model.stream import Reading, StreamKind
from pushproof.recording.linkwatch import LinkWatch
from pushproof.sources.rehearsal import Rehearsal, scenario
from pushproof.sources.rehearsal.motion import Stage
from pushproof.sources.rehearsal.push import Pushed
from pushproof.sources.rehearsal.wire import AIRTIME

PLANTED = {
    "": "",
    "loose-joint@4=9dB": "joint above rod 4",
    "loose-joint@12=9dB": "joint above rod 12",
    "loose-joint@12=6dB": "joint above rod 12",
    "loose-joint@18=9dB": "joint above rod 18",
    "weak=0.6dB/m": "steady loss with length",
    "noise=16dB": "rig noise with the engine",
    "noise=24dB": "rig noise with the engine",
}


def verdict(pushed: Pushed, faults: str, seed: int) -> str:
    rig, watch = Rehearsal(pushed, faults, seed), LinkWatch()
    motion, last = rig.motion, None
    for message in rig.messages((StreamKind.CONE,)):
        if not isinstance(message, Reading) or message.sequence is None:
            continue
        row = int((message.monotonic - AIRTIME) * 10)
        if motion.stage[row] in (Stage.PUSH, Stage.HOLD):
            rods, along = int(motion.rods[row]), float(motion.length[row]) % 1
            engine = bool(motion.engine[row])
            if last is not None and 1 < message.sequence - last < 25:
                watch.missed(message.sequence - last - 1, rods, along, True)
            watch.heard(message.values["link_level"], rods, along, engine)
        last = message.sequence
    return watch.verdict().words


def main() -> None:
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    first = scenario()[0]
    pushed = replace(first, plan=replace(first.plan, dissipations=()))
    began = time.perf_counter()
    rig = Rehearsal(pushed, "noise", 1)
    count = sum(1 for _ in rig.messages())
    took = time.perf_counter() - began
    print(f"{rig.seconds:.0f} s of rig, {count} messages in {took:.2f} s:", end=" ")
    print(f"{rig.seconds / took:.0f} times real time")
    print(f"{'planted':<22} {'right':>6} {'none':>6} {'other':>6}   of {seeds}")
    for faults, right in PLANTED.items():
        said = Counter(verdict(pushed, faults, seed) for seed in range(seeds))
        hit, none = said[right], said[""] if right else 0
        others = seeds - hit - none
        print(f"{faults or 'nothing':<22} {hit:>6} {none:>6} {others:>6}   {dict(said)}")


if __name__ == "__main__":
    main()

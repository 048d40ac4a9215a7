"""Hit rate and false alarm rate of the link watch on simulated strings with planted faults.

The strings are made here, not by the model of the watch: packet scatter has heavy tails, the seat
of the microphone differs from rod to rod, packets are lost the more the lower their level is, rods
differ in length pushed, and the engine runs by its own clock. The numbers of the model were set on
the even seeds; the table is of the odd seeds. A second table is of the strings of the rehearsal
rig, whose receiver tells its noise; nothing was set on them. Baseline: a step of 6 dB between the
medians of two neighbouring rods counts as a bad joint, and a fall of more than 1 dB per rod as
steady loss.

Run: python benchmarks/linkwatch.py [seeds per fault] [even|odd]
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import dataclass

import numpy as np

from pushproof.recording.linkwatch import LinkVerdict, LinkWatch, Trouble
from pushproof.sources.rehearsal.faults import parse_faults
from pushproof.sources.rehearsal.string import StringLink

FAULTS = (
    "none",
    "none, hard",
    "joint",
    "loosened",
    "steady",
    "noise",
    "joint+noise",
    "steady+joint",
)


WORDS = {
    "joint": "joint",
    Trouble.LOOSENED.value: "loosened",
    Trouble.STEADY.value: "steady",
    Trouble.NOISE.value: "noise",
}


@dataclass
class Packet:
    level: float | None
    rod: int
    along: float
    engine: bool
    noise: float = math.nan


@dataclass
class String:
    """A simulated push: its packets in order, and what was planted."""

    packets: list[Packet]
    fault: str
    joint: int
    planted: int  # index of the first packet with the fault


def string(seed: int, fault: str) -> String:
    rng = np.random.default_rng([seed, FAULTS.index(fault)])
    rods = int(rng.integers(8, 31))
    start = rng.uniform(32, 48)
    slope = rng.uniform(0.1, 0.6)
    seat = rng.uniform(0.2, 1.0)
    scatter = rng.uniform(0.4, 1.6)
    joint = int(rng.integers(2, rods - 1))
    step = rng.uniform(5, 15) if "joint" in fault or fault == "loosened" else 0.0
    noise = rng.uniform(4, 10) if "noise" in fault else 0.0
    hard = fault == "none, hard"
    along_at = rng.uniform(0.2, 0.8)
    if "steady" in fault:
        slope = rng.uniform(1.2, 2.5)
    packets: list[Packet] = []
    planted = -1
    seats = rng.normal(0, 2 * seat if hard else seat, rods + 1)
    if hard:  # the microphone sat badly on one rod, and was set right on the next
        seats[rng.integers(2, rods)] -= rng.uniform(3, 6)
    engine, until = False, 0.0
    clock = 0.0
    for rod in range(1, rods + 1):
        pushed = int(rng.integers(40, 60))
        pause = int(rng.integers(8, 20))
        for n in range(pushed + pause):
            clock += 1
            load = n < pushed  # the engine works while the rods go down, not in the pause
            if clock > until:  # and now and then it idles, or works, for a while of its own
                engine, until = bool(rng.random() < 0.15), clock + rng.uniform(5, 30)
            on = load != engine
            along = min(n / pushed, 1.0)
            bad = step > 0 and (
                rod > joint or (fault == "loosened" and rod == joint and along >= along_at)
            )
            level = start + seats[rod] - slope * rod - step * bad - noise * on
            level += scatter * rng.standard_t(4)
            heard = rng.random() < 1 / (1 + np.exp(-(level - 8) / 2)) and rng.random() > 0.02
            if planted < 0 and (bad or (fault in ("steady", "noise"))):
                planted = len(packets)
            packets.append(Packet(level if heard else None, rod, along, bool(on)))
    return String(packets, fault, joint, planted)


REHEARSED = {
    "none": "",
    "joint": "loose-joint@{joint}={step:.1f}",
    "steady": "weak={weak:.2f}",
    "noise": "noise={noise:.1f}",
}


def rehearsed(seed: int, fault: str) -> String:
    """A string of the rehearsal rig: level and noise of every packet."""
    rng = np.random.default_rng([seed, 77, list(REHEARSED).index(fault)])
    rods = int(rng.integers(8, 26))
    joint = int(rng.integers(2, rods - 1))
    text = REHEARSED[fault].format(
        joint=joint, step=rng.uniform(5, 15), weak=rng.uniform(0.6, 1.5), noise=rng.uniform(14, 30)
    )
    link = StringLink(parse_faults(text), rng)
    packets: list[Packet] = []
    planted = -1
    for rod in range(1, rods + 1):
        for n in range(58):
            along = min(n / 50, 1.0)
            engine = n < 50
            heard = link.hear(rod, rod - 1 + along, engine)
            if planted < 0 and (rod > joint if fault == "joint" else fault != "none"):
                planted = len(packets)
            level = heard.level if heard.heard and rng.random() > 200 * heard.wrong_bits else None
            packets.append(Packet(level, rod, along, engine, heard.noise))
    return String(packets, fault, joint, planted)


def listen(made: String, until: int | None = None) -> LinkVerdict:
    watch = LinkWatch()
    for p in made.packets[:until]:
        if p.level is None:
            watch.missed(1, p.rod, p.along, p.engine)
        else:
            watch.heard(p.level, p.rod, p.along, p.engine, p.noise)
    return watch.verdict()


def baseline(made: String) -> tuple[str, int]:
    rods = sorted({p.rod for p in made.packets})
    heard = {r: [p.level for p in made.packets if p.rod == r and p.level is not None] for r in rods}
    medians = {r: float(np.median(v)) for r, v in heard.items() if v}
    steps = [(medians[a] - medians[b], a) for a, b in zip(medians, list(medians)[1:], strict=False)]
    size, at = max(steps, default=(0.0, 0))
    if size > 6:
        return "joint", at
    fall = -np.polyfit(list(medians), list(medians.values()), 1)[0] if len(medians) > 2 else 0.0
    return ("steady", 0) if fall > 1.0 else ("none", 0)


def kind(verdict: LinkVerdict) -> str:
    names = {
        Trouble.NONE: "none",
        Trouble.JOINT: "joint",
        Trouble.LOOSENED: "loosened",
        Trouble.STEADY: "steady",
        Trouble.NOISE: "noise",
    }
    return names[verdict.trouble]


def delay(made: String) -> int | None:
    """Return packets from the fault to the first right verdict."""
    for until in range(made.planted + 1, min(made.planted + 400, len(made.packets)), 2):
        verdict = listen(made, until)
        if kind(verdict) == made.fault and (made.fault != "joint" or verdict.joint == made.joint):
            return until - made.planted
    return None


def alarms_at_any_time(made: String) -> bool:
    """Tell whether a sound string is called bad at any time; asked every five packets."""
    watch = LinkWatch()
    for n, p in enumerate(made.packets):
        if p.level is None:
            watch.missed(1, p.rod, p.along, p.engine)
        else:
            watch.heard(p.level, p.rod, p.along, p.engine, p.noise)
        if n % 5 == 0 and watch.verdict().trouble is not Trouble.NONE:
            return True
    return False


def table(faults, make, seeds: int, offset: int) -> list[tuple[float, bool]]:
    """Print one table of verdicts on whole strings; return how sure it was and whether right."""
    kinds = ("none", "joint", "loosened", "steady", "noise")
    print("| planted | " + " | ".join(f"says {k}" for k in kinds), end="")
    print(" | right kind | names all | right joint of those | simple rule: right |")
    print("|---" * (len(kinds) + 5) + "|")
    sure: list[tuple[float, bool]] = []
    for fault in faults:
        planted = set(fault.replace(", hard", "").split("+"))
        said = dict.fromkeys(kinds, 0)
        right = both = right_joint = joints = simple = 0
        for i in range(seeds):
            made = make(2 * i + offset, fault)
            verdict = listen(made)
            what = kind(verdict)
            said[what] += 1
            also = {WORDS[w] for w in WORDS for one in verdict.also if one.startswith(w)}
            both += {what, *also} == planted
            right += what in planted
            if what == "joint" and "joint" in fault:
                joints += 1
                right_joint += verdict.joint == made.joint
            if what == "joint":
                sure.append((verdict.probability, "joint" in fault and verdict.joint == made.joint))
            rule, at = baseline(made)
            simple += rule in planted and (rule != "joint" or at == made.joint)
        cells = " | ".join(f"{100 * said[k] / seeds:.1f} %" for k in kinds)
        named = f"{100 * right_joint / joints:.1f} %" if joints else "-"
        print(
            f"| {fault} | {cells} | {100 * right / seeds:.1f} % | {100 * both / seeds:.1f} % "
            f"| {named} | {100 * simple / seeds:.1f} % |"
        )
    return sure


def main(seeds: int, half: str) -> None:
    offset = 0 if half == "even" else 1
    print(f"{seeds} strings per fault, {half} seeds\n")
    sure = table(FAULTS, string, seeds, offset)
    print("\nhow sure it said, and how often the named joint was the bad one:")
    for low, high in ((0.9, 0.99), (0.99, 1.01)):
        inside = [ok for p, ok in sure if low <= p < high]
        if inside:
            shown = f"{100 * np.mean(inside):.1f} % of {len(inside)}"
            print(f"  {low:.2f} to {min(high, 1):.2f}: {shown}")
    print(f"\nstrings of the rehearsal rig, {seeds} per fault\n")
    table(REHEARSED, rehearsed, seeds, offset)
    print()
    watched = max(seeds // 10, 10)
    for make, faults in ((string, ("none", "none, hard")), (rehearsed, ("none",))):
        for fault in faults:
            rang = sum(alarms_at_any_time(make(2 * i + offset, fault)) for i in range(watched))
            rig = " (rehearsal rig)" if make is rehearsed else ""
            print(f"{fault}{rig}: false alarm at any time on {rang} of {watched} strings")
    for fault in ("joint", "noise", "steady"):
        found = [delay(string(2 * i + offset, fault)) for i in range(min(seeds // 10, 20))]
        times = [d for d in found if d is not None]
        print(
            f"packets from {fault} to the right verdict: median {np.median(times):.0f}, "
            f"90 % within {np.percentile(times, 90):.0f}, {len(times)} of {len(found)} strings"
        )
    watches = []
    for i in range(20):
        watch = LinkWatch()
        for p in string(i, "joint").packets:
            if p.level is not None:
                watch.heard(p.level, p.rod, p.along, p.engine)
        watches.append(watch)
    start = time.perf_counter()
    for watch in watches:
        watch.verdict()
    print(f"one verdict on a whole string: {50 * (time.perf_counter() - start):.1f} ms")


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 400,
        sys.argv[2] if len(sys.argv) > 2 else "odd",
    )

"""What became of the readings of a push: counts, gaps, clocks, and what to make of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.findings import Finding, Severity
from pushproof.model.quantities import quantity
from pushproof.model.units import factor_to_display
from pushproof.processing.streams.clocks import ClockFit
from pushproof.processing.streams.rods import Rods
from pushproof.processing.streams.rows import Disagreement
from pushproof.processing.streams.surface import ClockStep

FloatArray = NDArray[np.float64]

GAPS_NAMED = 20
"""Longest gaps that get a finding of their own."""

OTHER_PUSH = 0.3
"""Share of contradictions from which the memory is taken for that of another push."""


@dataclass(frozen=True)
class MergeReport:
    """What became of the readings of a push.

    Parameters
    ----------
    expected, received, restored, lost
        Packets of the cone while the rods moved, by their counter: sent, come over the link, given
        by the memory instead, and held by neither.
    added
        Readings that the memory holds beyond the packets.
    duplicates
        Packets that came more than once.
    unplaced
        Readings made while the depth stream was silent for so long that they have no place.
    longest_gap, longest_gap_at
        Longest stretch without a reading while pushing, and where it begins [m].
    covered
        Share of the pushed length that readings cover, 0 to 1: what is not in ``gaps``.
    gaps
        Top and base of each stretch without a reading that is wider than two and a half times the
        usual spacing and 30 mm [m].
    clock
        Fit of each run of the cone clock.
    """

    expected: int
    received: int
    restored: int
    lost: int
    added: int
    duplicates: int
    unplaced: int
    longest_gap: float
    longest_gap_at: float
    covered: float
    gaps: tuple[tuple[float, float], ...]
    clock: tuple[ClockFit, ...]

    @property
    def text(self) -> str:
        """The report in one sentence."""
        return (
            f"{self.expected} readings expected, {self.received} received, {self.restored} "
            f"restored from memory, {self.lost} lost, {self.added} more from memory; longest gap "
            f"{self.longest_gap * 1000:.0f} mm, {self.covered:.1%} of the length covered"
        )


def findings(
    report: MergeReport,
    apart: Sequence[Disagreement],
    steps: Sequence[ClockStep],
    rods: Rods,
) -> tuple[Finding, ...]:
    """Return what limits a merged push."""
    found = [Finding("merge", Severity.INFO, report.text)]
    found += _lost(report)
    found += _clocks(report.clock)
    found += [_disagreement(one, rods) for one in apart]
    if report.unplaced:
        found.append(
            Finding(
                "readings-unplaced",
                Severity.CAUTION,
                f"{report.unplaced} readings were made while the encoder was silent and the rods "
                "moved on; they are left out",
                "depth readings within 0.1 m",
            )
        )
    found += _encoder(rods)
    for step in steps:
        words = {
            "slept": f"the computer slept for {step.seconds:.0f} s",
            "set": f"the surface clock was set by {step.seconds:+.0f} s",
            "restarted": "the computer or its clock started anew",
        }
        found.append(
            Finding(
                "surface-clock",
                Severity.INFO,
                f"{words[step.kind]}; the times of the readings were put right",
            )
        )
    return tuple(found)


def _lost(report: MergeReport) -> list[Finding]:
    found = []
    if report.lost:
        found.append(
            Finding(
                "readings-lost",
                Severity.CAUTION,
                f"{report.lost} readings were lost on the link and are in no memory; "
                f"the longest gap is {report.longest_gap * 1000:.0f} mm",
                "the read-out of the cone's memory",
            )
        )
    widest = sorted(report.gaps, key=lambda gap: gap[0] - gap[1])[:GAPS_NAMED]
    for top, base in sorted(widest):
        if base - top > 0.1:
            found.append(
                Finding(
                    "gap",
                    Severity.CAUTION,
                    f"no reading over {1000 * (base - top):.0f} mm",
                    "readings not more than 100 mm apart",
                    top,
                    base,
                    source="ENV 1997-3 3.4.2(4) (verified)",
                )
            )
    return found


def _clocks(clock: Sequence[ClockFit]) -> list[Finding]:
    found = []
    for number, fit in enumerate(clock, start=1):
        run = f" of run {number}" if len(clock) > 1 else ""
        if fit.delay is not None:
            how = f"{fit.readings} packets and {fit.pauses} pauses"
        elif fit.readings:
            how = f"{fit.readings} packets; no pause shows the delay of the link"
        else:
            how = "motion and rest alone, as no packet came"
        if fit.by_arrival:
            found.append(_arrival(fit, how))
            continue
        found.append(
            Finding(
                "clock",
                Severity.INFO if fit.offset_sd < 1.0 else Severity.CAUTION,
                f"the cone clock{run} is fitted to {fit.offset_sd:.2f} s (standard deviation), "
                f"drift {fit.cone_ppm:+.0f} ± {1e6 * fit.drift_sd:.0f} ppm, from {how}; at 20 mm/s "
                f"that is {fit.offset_sd * 20:.0f} mm of depth",
            )
        )
    if len(clock) > 1:
        found.append(
            Finding(
                "cone-restarted",
                Severity.CAUTION,
                f"the cone started anew {len(clock) - 1} times: its clock has {len(clock)} runs",
                "one run: check battery and connections, and the zeros after",
            )
        )
    return found


def _arrival(fit: ClockFit, how: str) -> Finding:
    """Say that the cone has no clock, and what that means for the depth."""
    late = "" if fit.delay is None else f", {fit.delay:.2f} s after they were made"
    return Finding(
        "clock",
        Severity.INFO,
        f"the cone gives no time of its own: its readings are placed by their arrival{late}, known "
        f"to {fit.offset_sd:.2f} s (standard deviation) from {how}; at 20 mm/s that is "
        f"{fit.offset_sd * 20:.0f} mm of depth",
    )


_ENCODER = {
    "encoder-jump": "lengths below here need the rod tally",
    "encoder-silent": "a stroke may be missed: lengths below here need the rod tally",
    "lift": "ground pushed over again adds no depth",
}


def _encoder(rods: Rods) -> list[Finding]:
    return [
        Finding(
            "rods-lifted" if one.kind == "lift" else one.kind,
            Severity.INFO if one.kind == "lift" else Severity.CAUTION,
            one.text,
            _ENCODER[one.kind],
            one.length,
            channel="length",
        )
        for one in rods.events
        if one.kind in _ENCODER
    ]


def _disagreement(one: Disagreement, rods: Rods) -> Finding:
    row = quantity(one.channel)
    worst = one.worst * factor_to_display(one.channel)
    share = one.differing / max(one.compared, 1)
    other = share > OTHER_PUSH and one.compared >= 20
    [depth] = rods.at(_array(one.at)).tolist()
    return Finding(
        "memory-disagrees",
        Severity.STOP if other else Severity.CAUTION,
        f"{one.differing} of {one.compared} values of {row.symbol} differ between link and memory, "
        f"by {worst:.{row.decimals}f} {row.display_unit} at most; the memory's are used",
        "is this the memory of this push?" if other else "the same value within the resolution",
        depth if depth == depth else None,
        channel=one.channel,
    )


def _array(value: float) -> FloatArray:
    return np.array([value])

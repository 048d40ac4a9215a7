"""The depth encoder: calibration, check run, and the rod tally that proves its length.

The limits (0.1 m or 1 %) are those remembered for application classes 1 and 2 of
ISO 22476-1:2012; the clause was not read. They are arguments, so that a project can set its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pushproof.model.findings import Finding, Severity

TALLY_ABSOLUTE = 0.1
"""Difference allowed between rods and encoder [m]."""

TALLY_RELATIVE = 0.01
"""The same as a share of the length; the larger of the two counts."""

LIMIT_SOURCE = "0.1 m or 1 %, ISO 22476-1:2012 classes 1 and 2 (from memory, clause not read)"


@dataclass(frozen=True, slots=True)
class EncoderCalibration:
    """Length per count, and how it was found.

    Parameters
    ----------
    metres_per_count
        Signed: positive if the count grows downward [m].
    method
        ``"two points"`` or ``"length of travel"``.
    spread
        Standard deviation of the single runs about the result, as a share; None for one run.
    """

    metres_per_count: float
    method: str
    spread: float | None = None


def calibrate_two_points(
    count_upper: float, mark_upper: float, count_lower: float, mark_lower: float
) -> EncoderCalibration:
    """Calibrate from the counts at two marks.

    Parameters
    ----------
    count_upper, count_lower
        Counts read with the head at the marks.
    mark_upper, mark_lower
        Positions of the marks, positive downward [m].

    Raises
    ------
    ValueError
        If the counts or the marks are the same.

    Examples
    --------
    >>> calibrate_two_points(120, 0.10, 4920, 1.06).metres_per_count
    0.0002
    """
    faults = []
    if count_lower == count_upper:
        faults.append(f"both counts are {count_upper:g}: the encoder did not move")
    if mark_lower == mark_upper:
        faults.append(f"both marks are {mark_upper:g} m")
    if faults:
        raise ValueError("; ".join(faults))
    factor = (mark_lower - mark_upper) / (count_lower - count_upper)
    return EncoderCalibration(factor, "two points")


def calibrate_travel(runs: Sequence[tuple[float, float]]) -> EncoderCalibration:
    """Calibrate from one or more runs over a measured length of travel.

    Parameters
    ----------
    runs
        Counts gained and length travelled downward [m], one pair per run.

    Raises
    ------
    ValueError
        If there is no run, a run has no counts or no travel, or the runs differ in direction.

    Notes
    -----
    Least squares through zero: sum(c l) / sum(c c).

    Examples
    --------
    >>> round(1e6 * calibrate_travel([(5000, 1.0), (5010, 1.0)]).metres_per_count, 2)
    199.8
    """
    faults = [] if runs else ["no run given"]
    faults += [
        f"run {i}: {counts:g} counts over {travel:g} m"
        for i, (counts, travel) in enumerate(runs, 1)
        if counts == 0 or travel == 0 or not math.isfinite(counts * travel)
    ]
    if not faults and len({math.copysign(1, c * t) for c, t in runs}) > 1:
        faults.append("the runs count in different directions")
    if faults:
        raise ValueError("; ".join(faults))
    factor = sum(c * t for c, t in runs) / sum(c * c for c, _ in runs)
    spread = None
    if len(runs) > 1:
        shares = [(factor * c - t) / t for c, t in runs]
        spread = math.sqrt(sum(s * s for s in shares) / (len(runs) - 1))
    return EncoderCalibration(factor, "length of travel", spread)


@dataclass(frozen=True, slots=True)
class CheckRun:
    """A run over a known travel after the calibration.

    Parameters
    ----------
    known, measured
        Travel by the tape and by the encoder [m].
    findings
        One finding if they differ by more than allowed.
    """

    known: float
    measured: float
    findings: tuple[Finding, ...]

    @property
    def error(self) -> float:
        """Encoder minus tape, as a share of the tape."""
        return (self.measured - self.known) / self.known


def check_run(
    calibration: EncoderCalibration,
    counts: float,
    travel: float,
    allowed: float = TALLY_RELATIVE,
) -> CheckRun:
    """Compare the encoder with a known travel.

    Parameters
    ----------
    calibration
        What is being checked.
    counts
        Counts gained over the travel.
    travel
        Travel by the tape [m], not zero.
    allowed
        Difference allowed, as a share.
    """
    if travel == 0:
        raise ValueError("the travel of a check run cannot be 0 m")
    run = CheckRun(travel, counts * calibration.metres_per_count, ())
    if abs(run.error) <= allowed:
        return run
    finding = Finding(
        "encoder-check",
        Severity.CAUTION,
        f"check run: encoder {run.measured:.3f} m over {travel:.3f} m of travel "
        f"({100 * run.error:+.1f} %)",
        f"within {100 * allowed:g} %: calibrate again and look for slip or a slack string",
        source=LIMIT_SOURCE,
        channel="length",
    )
    return CheckRun(run.known, run.measured, (finding,))


@dataclass(frozen=True, slots=True)
class RodTally:
    """Rods in the ground against the length by the encoder.

    Parameters
    ----------
    rods
        Rods in the string.
    by_rods, by_encoder
        Penetration length from the rods and from the encoder [m].
    allowed
        Difference allowed [m].
    """

    rods: int
    by_rods: float
    by_encoder: float
    allowed: float

    @property
    def difference(self) -> float:
        """Rods minus encoder [m]."""
        return self.by_rods - self.by_encoder

    @property
    def share(self) -> float:
        """Difference as a share of what is allowed; above 1 it is a finding."""
        return abs(self.difference) / self.allowed

    def findings(self) -> tuple[Finding, ...]:
        """Return a finding if rods and encoder differ by more than allowed."""
        if self.share <= 1:
            return ()
        more = "rods give more: slip or a stroke not counted"
        less = "encoder gives more: a rod not counted, or the rig lifted"
        return (
            Finding(
                "rod-tally",
                Severity.CAUTION,
                f"{self.rods} rods give {self.by_rods:.2f} m, the encoder {self.by_encoder:.2f} m: "
                f"{abs(self.difference):.2f} m apart "
                f"({more if self.difference > 0 else less})",
                f"within {self.allowed:.2f} m: count the rods, measure the stick-up",
                top=self.by_encoder,
                source=LIMIT_SOURCE,
                channel="length",
            ),
        )


def rod_tally(
    rods: int,
    rod_length: float,
    stick_up: float,
    length: float,
    *,
    lead: float = 0.0,
    absolute: float = TALLY_ABSOLUTE,
    relative: float = TALLY_RELATIVE,
) -> RodTally:
    """Compare rods with the encoder.

    Parameters
    ----------
    rods
        Rods in the string, without the cone.
    rod_length
        Length of one rod [m].
    stick_up
        What stands above the zero of depth, measured [m].
    length
        Penetration length by the encoder [m].
    lead
        Length of cone and adapter below the first rod, to the base of the cone [m].
    absolute, relative
        Difference allowed [m] and as a share of the length; the larger counts.

    Examples
    --------
    >>> rod_tally(12, 1.0, 0.35, 11.58).findings()
    ()
    >>> round(rod_tally(12, 1.0, 0.35, 11.40).difference, 2)
    0.25
    """
    allowed = max(absolute, relative * abs(length))
    return RodTally(rods, lead + rods * rod_length - stick_up, length, allowed)

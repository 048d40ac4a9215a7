"""How the cone was pushed: rate, reading interval, tilt, depth."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.processing.windows import running_median
from pushproof.quality.checks.intervals import stretches
from pushproof.quality.checks.registry import check
from pushproof.quality.tally import rod_tally

RATE = (0.015, 0.025)
"""Penetration rate [m/s] (ENV 1997-3 3.4.2(3), verified)."""
SHARE = 0.95
"""Share of the length that should be pushed within the band; common practice."""
TILT_START, TILT_TOTAL, TILT_PER_METRE = 2.0, 15.0, 2.0
"""Tilt at the start (IRTP, from memory), in total and per metre [deg]; common practice (about 1 deg
within 0.3 to 1 m, from memory)."""
CLOSURE = 0.1
"""Depth that may be lost in total [m]: the 0.1 m of ISO 22476-1:2012 class 1, from memory."""


@check("rate", "penetration rate of 20 +/- 5 mm/s", "ENV 1997-3 3.4.2(3) (verified)")
def rate(profile: Profile) -> Iterator[Finding]:
    """Report the share of the length outside the band and the worst stretch."""
    series = profile.series
    if not series.measured("rate"):
        yield Finding(
            "rate-not-known",
            Severity.INFO,
            "no time is recorded, so the penetration rate is not known",
            "elapsed time for every reading",
        )
        return
    length, value = series["length"], series["rate"]
    step = np.diff(length, prepend=length[:1])
    known = np.isfinite(value) & (value > 0.004)
    if np.count_nonzero(known) < 20:
        return
    smooth = running_median(value[known], 5)
    out = (smooth < RATE[0] * 0.99) | (smooth > RATE[1] * 1.01)
    total = float(step[known].sum())
    share = 1.0 - float(step[known][out].sum()) / total if total > 0 else 1.0
    if share >= SHARE:
        return
    rows = np.flatnonzero(known)
    first, last = max(stretches(out), key=lambda run: run[1] - run[0])
    middle = float(np.median(smooth[first : last + 1])) * 1000
    yield Finding(
        "rate-outside",
        Severity.CAUTION,
        f"{share:.1%} of the length was pushed at 15 to 25 mm/s; the longest stretch outside "
        f"ran at {middle:.0f} mm/s",
        f"{SHARE:.0%} or more",
        top=float(series["depth"][rows[first]]),
        base=float(series["depth"][rows[last]]),
        channel="rate",
    )


@check("tilt", "tilt at the start, in total and per metre", "common practice; no fixed limit seen")
def tilt(profile: Profile) -> Iterator[Finding]:
    """Report a tilted start, a large tilt, a sudden change, and how far the tip is off."""
    series = profile.series
    if not series.measured("tilt"):
        yield Finding(
            "tilt-not-known",
            Severity.CAUTION,
            "tilt was not measured; depth is taken equal to penetration length",
            "an inclinometer, needed for application classes 1 to 3",
            source="ISO 22476-1:2012 4.1 (verified)",
        )
        return
    known = np.isfinite(series["tilt"])
    length, depth, angle = (series[key][known] for key in ("length", "depth", "tilt"))
    if angle[0] > TILT_START:
        text = f"the cone started at {angle[0]:.1f} deg from vertical"
        yield Finding(
            "tilt-at-start", Severity.CAUTION, text, f"at most {TILT_START:g} deg", float(depth[0])
        )
    worst = int(np.argmax(angle))
    if angle[worst] > TILT_TOTAL:
        text = f"tilt reached {angle[worst]:.1f} deg"
        yield Finding(
            "tilt-large", Severity.CAUTION, text, f"at most {TILT_TOTAL:g} deg", float(depth[worst])
        )
    if angle.size > 20:
        smooth = running_median(angle, 9)
        step = max(1, round(1.0 / max(float(np.median(np.diff(length))), 1e-3)))
        if step < angle.size:
            change = np.abs(smooth[step:] - smooth[:-step])
            most = int(np.argmax(change))
            if change[most] > TILT_PER_METRE:
                yield Finding(
                    "tilt-change",
                    Severity.CAUTION,
                    f"tilt changed by {change[most]:.1f} deg within a metre",
                    f"at most {TILT_PER_METRE:g} deg/m; an obstruction, or bent rods",
                    float(depth[most]),
                    float(depth[min(most + step, depth.size - 1)]),
                )
    offset = horizontal_offset(length, angle)
    if offset > 0.5:
        text = f"the tip ended up to {offset:.1f} m beside the start"
        yield Finding("tip-offset", Severity.INFO, text, top=float(depth[-1]))


def horizontal_offset(length: np.ndarray, tilt_deg: np.ndarray) -> float:
    """Return the largest possible horizontal offset of the tip [m]: all tilt one way.

    Examples
    --------
    >>> round(horizontal_offset(np.array([0.0, 10.0]), np.array([30.0, 30.0])), 3)
    5.0
    """
    sine = np.sin(np.radians(tilt_deg))
    return float(np.sum(np.diff(length) * (sine[1:] + sine[:-1]) / 2))


@check(
    "reading-interval",
    "distance between readings",
    "100 mm or less: ENV 1997-3 3.4.2(4) (verified)",
)
def reading_interval(profile: Profile) -> Iterator[Finding]:
    """Report stretches without a reading."""
    series = profile.series
    present = np.flatnonzero(np.isfinite(series["qt"]))
    if present.size < 2:
        return
    length, depth = series["length"][present], series["depth"][present]
    gap = np.diff(length)
    wide = gap > 0.1 + 1e-6
    if not wide.any():
        return
    worst = int(np.argmax(gap))
    yield Finding(
        "gap",
        Severity.CAUTION,
        f"{int(wide.sum())} gaps above 100 mm, together {gap[wide].sum():.2f} m; "
        f"the longest is {gap[worst] * 1000:.0f} mm",
        "a reading every 100 mm or less",
        top=float(depth[worst]),
        base=float(depth[worst + 1]),
    )


@check("depth-closure", "length against the rods that were added", "rod tally; common practice")
def depth_closure(profile: Profile) -> Iterator[Finding]:
    """Report length that the encoder lost or gained between rod changes."""
    tally = rod_tally(profile)
    if tally is None:
        return
    allowed = max(0.03, 1.5 * tally.interval)
    if abs(tally.worst) <= allowed and abs(tally.total) <= CLOSURE:
        return
    depth = np.interp(tally.length, profile.series["length"], profile.series["depth"])
    yield Finding(
        "depth-closure",
        Severity.CAUTION,
        f"length is {tally.total * 1000:+.0f} mm off the rods over {tally.rods} rods; at most "
        f"{tally.worst * 1000:+.0f} mm at one of them",
        f"whole rods of {tally.rod:g} m between rod changes; check the encoder and the tally",
        top=max(0.0, float(depth) - tally.rod),
        base=float(depth),
    )

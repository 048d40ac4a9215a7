"""Zero readings and the life of the calibration."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from pushproof.model.findings import Finding, Severity
from pushproof.model.profile import Profile
from pushproof.quality.budget import CHANNELS, zero_shift
from pushproof.quality.checks.registry import check

PERCENT_OF_CAPACITY = 1.0
"""Zero shift above this share of full scale is flagged [%] (ASTM D5778, from memory)."""
DAYS, METRES = 183, 3000.0
"""Life of a calibration (ENV 1997-3 clause 3.4.1(2), verified)."""
SOUNDINGS = 100
"""Soundings of a calibration's life; common practice of ISO users, from memory."""


@check(
    "zeros",
    "zero readings before and after, and their change",
    "zeros before and after use: Dutch register entity Nulmeting (verified); 1 % of full scale: "
    "ASTM D5778 (from memory)",
)
def zeros(profile: Profile) -> Iterator[Finding]:
    """Report missing zero readings and the change of each channel."""
    sounding = profile.sounding
    measured = [key for key in CHANNELS if profile.series.measured(key)]
    for when, found in (("before", sounding.zeros_before), ("after", sounding.zeros_after)):
        have = {zero.channel for zero in found}
        lacking = [key for key in measured if key not in have]
        if lacking:
            yield Finding(
                f"zero-{when}-missing",
                Severity.CAUTION,
                f"no zero reading {when} the push for {', '.join(lacking)}",
                "zero readings before and after; without both no accuracy class can be proved",
            )
    for key in measured:
        shift = zero_shift(sounding.zeros_before, sounding.zeros_after, key)
        if shift is None:
            continue
        calibration = sounding.cone.calibration(key)
        capacity = calibration.capacity if calibration is not None else None
        percent = 100 * abs(shift) / capacity if capacity else None
        tail = "" if percent is None else f", {percent:.2f} % of full scale"
        much = percent is not None and percent > PERCENT_OF_CAPACITY
        yield Finding(
            "zero-shift" if not much else "zero-shift-large",
            Severity.CAUTION if much else Severity.INFO,
            f"the zero of {key} moved by {shift:+.2f} kPa over the push{tail}",
            f"at most {PERCENT_OF_CAPACITY:g} % of full scale" if much else "",
            channel=key,
        )


@check(
    "calibration-life",
    "the calibration is in its life",
    "every 3000 m or 6 months: ENV 1997-3 3.4.1(2) (verified); later practice allows a year "
    "(from memory)",
)
def calibration_life(profile: Profile) -> Iterator[Finding]:
    """Report calibrations that are missing, too old or used for too many metres."""
    cone, started = profile.sounding.cone, profile.sounding.started
    measured = [key for key in CHANNELS if profile.series.measured(key)]
    lacking = [key for key in measured if cone.calibration(key) is None]
    if lacking:
        yield Finding(
            "calibration-not-known",
            Severity.CAUTION,
            f"no calibration is known for {', '.join(lacking)}",
            "a calibration record with date and uncertainty for each channel",
        )
    for key in measured:
        calibration = cone.calibration(key)
        if calibration is None or not isinstance(started, datetime):
            continue
        age = (started.date() - calibration.date).days
        if age > DAYS:
            yield Finding(
                "calibration-old",
                Severity.CAUTION,
                f"the calibration of {key} was {age} days old",
                f"at most {DAYS} days",
                channel=key,
            )
        elif age < 0:
            yield Finding(
                "calibration-later",
                Severity.CAUTION,
                f"the calibration of {key} is dated {-age} days after the push",
                channel=key,
            )
    metres = cone.metres_since_calibration
    if metres is not None and metres > METRES:
        yield Finding(
            "calibration-metres",
            Severity.CAUTION,
            f"the cone pushed {metres:.0f} m since its calibration",
            f"at most {METRES:.0f} m",
        )
    soundings = cone.soundings_since_calibration
    if soundings is not None and soundings > SOUNDINGS:
        yield Finding(
            "calibration-soundings",
            Severity.CAUTION,
            f"the cone made {soundings} soundings since its calibration",
            f"at most about {SOUNDINGS} (from memory)",
        )

"""How far a measured channel may be off: the measurement part of a band.

The uncertainty budget of the channel is used where it is complete. Else the tolerance of the
accuracy class stands in: the class stated with the sounding, or class 3 of ISO 22476-1:2012 where
none is stated, the loosest class that limits all three channels. A tolerance is read as an
expanded uncertainty (k = 2), as the check of the class does, so half of it is the standard one.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from pushproof.equations.arrays import FloatArray
from pushproof.model.profile import Profile

if TYPE_CHECKING:
    from pushproof.quality.budget import Budget
    from pushproof.quality.schemes import ClassLimits, Tolerance

SCHEME = "iso-22476-1-2012"
"""Scheme whose tolerances stand in for a budget: the only one shipped that has any."""

ASSUMED_CLASS = "3"
"""Class taken where none is stated."""

NOISE_PARTS = frozenset({"resolution"})
"""Parts of a budget that change from reading to reading; all others stay the same over a push."""


class ErrorSource(StrEnum):
    """What the size of an error comes from."""

    BUDGET = "uncertainty budget"
    STATED = "class stated"
    ASSUMED = "class assumed"


@dataclass(frozen=True)
class ChannelError:
    """Standard uncertainty of one channel.

    Parameters
    ----------
    channel
        ``qc``, ``fs`` or ``u2``.
    system
        What is the same over the whole sounding (zero, calibration, temperature), as one standard
        deviation at each row, shape (n,) [kPa].
    noise
        What changes from reading to reading, one standard deviation [kPa].
    source
        Where the size comes from.
    text
        The same in one sentence, with numbers.
    """

    channel: str
    system: FloatArray
    noise: float
    source: ErrorSource
    text: str


def channel_errors(profile: Profile) -> tuple[ChannelError, ...]:
    """Return the error of each channel that was measured."""
    from pushproof.quality.budget import CHANNELS

    return tuple(_error(profile, key) for key in CHANNELS if profile.series.measured(key))


def _error(profile: Profile, channel: str) -> ChannelError:
    from pushproof.quality.budget import budget

    found = budget(profile, channel)
    noise = math.sqrt(sum(one.value**2 for one in found.parts if one.name in NOISE_PARTS))
    if not found.complete:
        return _by_class(profile, found, noise)
    known = _known(profile, found)
    values = profile.series[channel]
    middle = float(np.median(known[np.isfinite(values)]))
    names = ", ".join(part.name for part in found.parts)
    text = f"{channel}: {middle:.3g} kPa standard uncertainty by the budget ({names})"
    if found.missing:
        text += f", without {_listed(found.missing)}"
    return ChannelError(channel, known, noise, ErrorSource.BUDGET, text)


def _known(profile: Profile, found: Budget) -> FloatArray:
    """Return the known parts that stay the same over the push, at each reading [kPa]."""
    kept = [part for part in found.parts if part.name not in NOISE_PARTS]
    fixed = sum(part.value**2 for part in kept)
    growing = sum(part.relative**2 for part in kept)
    values = np.nan_to_num(profile.series[found.channel])
    return np.asarray(np.sqrt(fixed + growing * values * values))


def _parts(found: Budget) -> str:
    return ", ".join(part.name for part in found.parts if part.name not in NOISE_PARTS)


def _listed(names: tuple[str, ...]) -> str:
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _by_class(profile: Profile, found: Budget, noise: float) -> ChannelError:
    from pushproof.quality.schemes import load_scheme

    channel = found.channel
    scheme = load_scheme(SCHEME)
    stated = _stated(profile)
    names = [one.name for one in scheme.classes]
    name = stated if stated in names else ASSUMED_CLASS
    source = ErrorSource.STATED if stated in names else ErrorSource.ASSUMED
    limits, instead = _limits(scheme.classes, name, channel)
    values = np.abs(np.nan_to_num(profile.series[channel]))
    system = 0.5 * np.maximum(limits.absolute, limits.relative * values)
    known = _known(profile, found)
    why = f"the budget lacks {_listed(found.missing)}" if found.missing else "no budget"
    asked = f"tolerance {limits.absolute:g} kPa or {limits.relative * 100:g} %"
    text = f"{channel}: half the {asked} of {scheme.label(instead)}, since {why}"
    if source is ErrorSource.ASSUMED:
        text += "; no class is stated, so this one is assumed"
    elif instead != name:
        text += f"; class {name} is stated, which asks nothing of {channel}"
    elif profile.sounding.standard and "22476" not in profile.sounding.standard:
        text += f"; class {name} is stated by {profile.sounding.standard}, whose numbers we lack"
    if (known > system).any():
        text += f"; where the known parts are more ({_parts(found)}), they are used"
        system = np.maximum(system, known)
    return ChannelError(channel, system, noise, source, text)


def _stated(profile: Profile) -> str | None:
    """Return the digit of the class stated with the sounding."""
    found = re.search(r"\b([1-7])\b", profile.sounding.quality_class or "")
    return found.group(1) if found else None


def _limits(classes: tuple[ClassLimits, ...], name: str, channel: str) -> tuple[Tolerance, str]:
    """Return the tolerance of a class, or of the next better one that has any for a channel."""
    place = [one.name for one in classes].index(name)
    for one in reversed(classes[: place + 1]):
        if channel in one.limits:
            return one.limits[channel], one.name
    raise LookupError(f"scheme {SCHEME} limits {channel} in no class up to {name}")

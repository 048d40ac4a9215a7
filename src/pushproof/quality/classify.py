"""The class a sounding achieved under a scheme, and the reading that decided it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from pushproof.errors import ConfigurationError
from pushproof.model.profile import Profile
from pushproof.model.quantities import QUANTITIES
from pushproof.quality.budget import CHANNELS, Budget, budgets
from pushproof.quality.schemes import ClassLimits, Scheme


@dataclass(frozen=True)
class Verdict:
    """How one aspect stands under a scheme.

    Parameters
    ----------
    aspect
        Channel key, ``interval``, ``needs`` or ``zero shift``.
    achieved
        Best class that it allows, or None if none.
    proved
        False where a part of the budget is missing: the class is then the best it could be.
    depth
        Depth of the deciding reading [m], if there is one.
    text
        What decided, with numbers.
    """

    aspect: str
    achieved: str | None
    proved: bool
    depth: float | None
    text: str


@dataclass(frozen=True)
class ClassResult:
    """Class achieved under a scheme, against the class that was ordered.

    ``achieved`` is None where no class is met or the scheme holds no numbers; ``proved`` says
    whether every part that counts is known; ``ordered`` is None where nothing was ordered under
    this scheme.
    """

    scheme: Scheme
    achieved: str | None
    proved: bool
    verdicts: tuple[Verdict, ...]
    budgets: tuple[Budget, ...]
    ordered: str | None = None

    @property
    def order(self) -> Literal["met", "not met", "not proved"] | None:
        """How the class achieved stands against the class ordered; None without an order."""
        if self.ordered is None:
            return None
        names = [one.name for one in self.scheme.classes]
        if self.achieved is None and self.scheme.usable:
            return "not met"
        if self.achieved is None:
            return "not proved"
        if names.index(self.achieved) > names.index(self.ordered):
            return "not met"
        return "met" if self.proved else "not proved"

    @property
    def text(self) -> str:
        """The result as one sentence, with norm and edition."""
        scheme = self.scheme
        tail = "" if self.order is None else f"; ordered: class {self.ordered}, {self.order}"
        if not scheme.usable:
            return f"{scheme.title}: cannot be judged, its numbers are not filled in{tail}"
        if self.achieved is None:
            return f"{scheme.title}: no class is met{tail}"
        label = scheme.label(self.achieved)
        if self.proved:
            return f"achieved: {label}{tail}"
        return f"not proved, at best {label}: parts of the budget are missing{tail}"


def classify(profile: Profile, scheme: Scheme, ordered: str | None = None) -> ClassResult:
    """Return the class that a profile achieved under a scheme.

    The class of the sounding is the worst of its aspects. The expanded uncertainty is compared
    with the tolerance at every reading; the reading where it takes the largest share decides.

    Raises
    ------
    ConfigurationError
        If the class ordered is none of the scheme.
    """
    names = [one.name for one in scheme.classes]
    if ordered is not None and scheme.usable and ordered not in names:
        raise ConfigurationError(
            f"class {ordered} was ordered, but {scheme.title} has the classes {', '.join(names)}"
        )
    found = budgets(profile)
    if not scheme.usable:
        return ClassResult(scheme, None, False, (), found, ordered)
    verdicts = [_channel(profile, scheme, one) for one in found]
    verdicts.append(_interval(profile, scheme))
    verdicts.append(_needs(profile, scheme))
    if any(one.zero_shift_percent is not None for one in scheme.classes):
        verdicts += [_shift(profile, scheme, one) for one in found if one.channel in CHANNELS]
    kept = tuple(v for v in verdicts if v is not None)
    ranks = [names.index(v.achieved) if v.achieved is not None else len(names) for v in kept]
    worst = max(ranks, default=0)
    achieved = names[worst] if worst < len(names) else None
    return ClassResult(scheme, achieved, all(v.proved for v in kept), kept, found, ordered)


def _channel(profile: Profile, scheme: Scheme, one: Budget) -> Verdict | None:
    """Judge a channel by the classes that ask something of it."""
    if not any(one.channel in c.limits for c in scheme.classes):
        return None
    if not one.parts:
        best = scheme.classes[0].name
        return Verdict(one.channel, best, False, None, "nothing is known of its uncertainty")
    values = profile.series[one.channel]
    rows = np.flatnonzero(np.isfinite(values))
    size = np.abs(values[rows])
    expanded = one.expanded_at(size)
    unit = QUANTITIES[one.channel].unit
    for limits in scheme.classes:
        allowed = limits.limits.get(one.channel)
        if allowed is None:
            text = f"class {limits.name} asks nothing of {one.channel}"
            return Verdict(one.channel, limits.name, one.complete, None, text)
        tolerance = np.maximum(allowed.absolute, allowed.relative * size)
        row = int(np.argmax(expanded / tolerance))
        text = (
            f"U {expanded[row]:.3g} {unit}, allowed {tolerance[row]:.3g} {unit} "
            f"at {values[rows[row]]:.4g} {unit}"
        )
        depth = float(profile.series["depth"][rows[row]])
        if expanded[row] <= tolerance[row]:
            return Verdict(one.channel, limits.name, one.complete, depth, text)
    return Verdict(one.channel, None, one.complete, depth, text + " in the last class")


def _interval(profile: Profile, scheme: Scheme) -> Verdict:
    length = profile.series["length"]
    measured = length[np.isfinite(profile.series["qt"])]
    steps = np.diff(measured)
    if not steps.size:
        return Verdict("interval", None, True, None, "fewer than two readings")
    worst = int(np.argmax(steps))
    share = float(np.quantile(steps, 0.98))
    depth = float(measured[worst + 1])
    text = (
        f"98 % of the intervals within {share * 1000:.0f} mm, longest {steps[worst] * 1000:.0f} mm"
    )
    for limits in scheme.classes:
        if limits.interval is None or share <= limits.interval * 1.05:
            return Verdict("interval", limits.name, True, depth, text)
    return Verdict("interval", None, True, depth, text)


def _needs(profile: Profile, scheme: Scheme) -> Verdict:
    has = {key for key in ("u2", "tilt") if profile.series.measured(key)}
    for limits in scheme.classes:
        lacking = sorted(set(limits.needs) - has)
        if not lacking:
            text = "has " + (", ".join(limits.needs) or "all that is needed")
            return Verdict("needs", limits.name, True, None, text)
    return Verdict("needs", None, True, None, "lacks " + ", ".join(lacking))


def _shift(profile: Profile, scheme: Scheme, one: Budget) -> Verdict:
    aspect = f"zero shift of {one.channel}"
    calibration = profile.sounding.cone.calibration(one.channel)
    capacity = calibration.capacity if calibration is not None else None
    best: ClassLimits = scheme.classes[0]
    if one.zero_shift is None or not capacity:
        lacking = "zero shift" if one.zero_shift is None else "full-scale output"
        return Verdict(aspect, best.name, False, None, f"{lacking} not known")
    percent = 100.0 * abs(one.zero_shift) / capacity
    text = f"{percent:.2f} % of {capacity:.4g} kPa full scale"
    for limits in scheme.classes:
        if limits.zero_shift_percent is not None and percent <= limits.zero_shift_percent:
            return Verdict(aspect, limits.name, True, None, text)
    return Verdict(aspect, None, True, None, text)

"""The class a sounding achieved under a scheme, and the reading that decided it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pushproof.model.profile import Profile
from pushproof.quality.budget import CHANNELS, Budget, budget
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
    """Class achieved under a scheme.

    ``achieved`` is None where no class is met or the scheme holds no numbers; ``proved`` says
    whether every part that counts is known.
    """

    scheme: Scheme
    achieved: str | None
    proved: bool
    verdicts: tuple[Verdict, ...]
    budgets: tuple[Budget, ...]

    @property
    def text(self) -> str:
        """The result as one sentence, with norm and edition."""
        scheme = self.scheme
        if not scheme.usable:
            return f"{scheme.title}: cannot be judged, its numbers are not filled in"
        if self.achieved is None:
            return f"{scheme.title}: no class is met"
        if self.proved:
            return f"achieved: {scheme.label(self.achieved)}"
        return f"not proved, at best {scheme.label(self.achieved)}: parts of the budget are missing"


def classify(profile: Profile, scheme: Scheme) -> ClassResult:
    """Return the class that a profile achieved under a scheme.

    The class of the sounding is the worst of its aspects. Tolerances are compared with the
    expanded uncertainty at every reading; the smallest reading decides, since there the tolerance
    is smallest.
    """
    budgets = tuple(budget(profile, key) for key in CHANNELS if profile.series.measured(key))
    if not scheme.usable:
        return ClassResult(scheme, None, False, (), budgets)
    verdicts = [_channel(profile, scheme, one) for one in budgets]
    verdicts = [v for v in verdicts if v is not None]
    verdicts.append(_interval(profile, scheme))
    verdicts.append(_needs(profile, scheme))
    verdicts += [_shift(profile, scheme, one) for one in budgets if _has_shift(scheme)]
    names = [one.name for one in scheme.classes]
    kept = [v for v in verdicts if v is not None]
    ranks = [names.index(v.achieved) if v.achieved is not None else len(names) for v in kept]
    worst = max(ranks, default=0)
    achieved = names[worst] if worst < len(names) else None
    proved = all(v.proved for v in kept)
    return ClassResult(scheme, achieved, proved, tuple(kept), budgets)


def _channel(profile: Profile, scheme: Scheme, one: Budget) -> Verdict | None:
    if not any(one.channel in c.limits for c in scheme.classes):
        return None
    expanded = one.expanded
    if expanded is None:
        return Verdict(one.channel, scheme.classes[0].name, False, None, "nothing is known")
    values = profile.series[one.channel]
    present = np.flatnonzero(np.isfinite(values))
    least = present[int(np.argmin(np.abs(values[present])))]
    depth = float(profile.series["depth"][least])
    value = float(values[least])
    for limits in scheme.classes:
        allowed = limits.limits.get(one.channel)
        if allowed is None:
            text = f"U {expanded:.3g} kPa; class {limits.name} asks nothing of {one.channel}"
            return Verdict(one.channel, limits.name, one.complete, depth, text)
        tolerance = max(allowed.absolute, allowed.relative * abs(value))
        text = f"U {expanded:.3g} kPa, allowed {tolerance:.3g} kPa at {value:.4g} kPa"
        if expanded <= tolerance:
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


def _has_shift(scheme: Scheme) -> bool:
    return any(one.zero_shift_percent is not None for one in scheme.classes)


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

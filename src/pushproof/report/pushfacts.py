"""Facts of the push for the proof sheet: rate, tilt, offset, origin, zeros, decisions.

Nothing is judged here. Findings and classes come from the checks; this module only brings what the
record holds into a form that fits one page.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES
from pushproof.model.recipe import Recipe
from pushproof.model.series import Series
from pushproof.model.sounding import Sounding
from pushproof.model.units import factor_to_display
from pushproof.report.rail import RATE_FAST, RATE_SLOW, Rail, Trace, push_rate

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class RateFacts:
    """Rate of penetration by length pushed.

    Parameters
    ----------
    edges
        Edges of the classes [mm/s], shape (n + 1,).
    shares
        Share of the length in each class [-], shape (n,); the last class holds all faster.
    inside
        Share of the length between 15 and 25 mm/s [-].
    """

    edges: FloatArray
    shares: FloatArray
    inside: float


def rate_facts(series: Series) -> RateFacts | None:
    """Return how the length is shared out over rates, or None if no rate is known."""
    rate = push_rate(series)
    along = series["length"] if series.measured("length") else series.get("depth")
    weight = np.diff(along, prepend=along[:1])
    known = np.isfinite(rate) & (weight > 0) & (weight < 0.5)
    if known.sum() < 10:
        return None
    speed, weight = rate[known] * 1000, weight[known]
    edges = np.arange(0.0, 42.5, 2.5)
    shares, _ = np.histogram(np.clip(speed, 0, edges[-1] - 1e-9), edges, weights=weight)
    inside = (speed >= RATE_SLOW * 1000) & (speed <= RATE_FAST * 1000)
    return RateFacts(edges, shares / weight.sum(), float(weight[inside].sum() / weight.sum()))


@dataclass(frozen=True)
class TiltFacts:
    """Tilt and how far the tip may have left the vertical.

    Parameters
    ----------
    depth, tilt, offset
        Shape (n,): [m], [deg], horizontal offset of the tip [m].
    bound
        True if only the size of the tilt is known, so that the offset is an upper bound.
    """

    depth: FloatArray
    tilt: FloatArray
    offset: FloatArray
    bound: bool


def tilt_facts(series: Series) -> TiltFacts | None:
    """Return tilt and offset along the push, or None if no tilt was measured.

    Notes
    -----
    The offset sums the horizontal part of each step of the rods. With two tilts it is the length
    of the summed vector; with the resultant alone all steps are taken to lean the same way.
    """
    along = series["length"] if series.measured("length") else series.get("depth")
    step = np.diff(along, prepend=along[:1])
    both = series.measured("tilt_x") and series.measured("tilt_y")
    if both:
        tan_x, tan_y = (np.tan(np.radians(series[key])) for key in ("tilt_x", "tilt_y"))
        length = np.sqrt(1 + tan_x**2 + tan_y**2)
        parts = [np.nancumsum(step * t / length) for t in (tan_x, tan_y)]
        tilt = np.degrees(np.arccos(1 / length))
        return TiltFacts(series.get("depth"), tilt, np.hypot(*parts), bound=False)
    if not series.measured("tilt"):
        return None
    tilt = np.abs(series["tilt"])
    offset = np.nancumsum(step * np.sin(np.radians(tilt)))
    return TiltFacts(series.get("depth"), tilt, offset, bound=True)


def origin_shares(rail: Rail) -> list[tuple[Trace, float]]:
    """Return the share of the depth that each kind of stretch takes [-], in the key's order."""
    total = sum(span.base - span.top for span in rail.spans)
    if total <= 0:
        return []
    return [
        (trace, sum(s.base - s.top for s in rail.spans if s.trace is trace) / total)
        for trace in rail.traces
    ]


@dataclass(frozen=True, slots=True)
class ZeroRow:
    """Zero readings of one channel in its display unit; None where there is none."""

    channel: str
    unit: str
    before: float | None
    after: float | None
    full_scale: float | None

    @property
    def shift(self) -> float | None:
        """After minus before."""
        if self.before is None or self.after is None:
            return None
        return self.after - self.before

    @property
    def percent(self) -> float | None:
        """Shift in percent of full scale."""
        if self.shift is None or not self.full_scale:
            return None
        return 100 * self.shift / self.full_scale


def zero_rows(sounding: Sounding) -> list[ZeroRow]:
    """Return the zero readings by channel; qc is told in kPa, where its shift is readable."""
    before = {zero.channel: zero.value for zero in sounding.zeros_before}
    after = {zero.channel: zero.value for zero in sounding.zeros_after}
    found = []
    for key in QUANTITIES:
        if key in before or key in after:
            calibration = sounding.cone.calibration(key)
            factor = 1.0 if key == "qc" else factor_to_display(key)
            unit = "kPa" if key == "qc" else QUANTITIES[key].display_unit
            values = [
                None if value is None else value * factor
                for value in (
                    before.get(key),
                    after.get(key),
                    calibration.capacity if calibration else None,
                )
            ]
            found.append(ZeroRow(key, unit, *values))
    return found


def stated_class(sounding: Sounding) -> str:
    """Return the class that the record states, with its norm; empty without one."""
    stated = sounding.quality_class
    if not stated:
        return ""
    name = f"class {stated}" if stated[0].isdigit() else stated
    return f"{name} of {sounding.standard}" if sounding.standard else f"{name} (norm not stated)"


def decisions(recipe: Recipe) -> list[tuple[str, str]]:
    """Return every decision that differs from the defaults, as words and value."""
    default = Recipe()
    found = []
    for name, info in type(recipe).model_fields.items():
        value, usual = getattr(recipe, name), getattr(default, name)
        if value == usual or name in ("author", "reason", "corrections"):
            continue
        if name == "blanked":
            for item in recipe.blanked:
                what = ", ".join(item.channels) or "all channels"
                found.append(
                    (f"blanked {item.top:.2f} to {item.base:.2f} m", f"{what}: {item.reason}")
                )
        elif name == "class_ordered":
            found.append(("class ordered", f"{value.name} of {value.scheme}"))
        elif name in ("methods", "factors"):
            for part, chosen in value:
                if chosen != getattr(usual, part):
                    found.append((f"{name[:-1]} for {part.replace('_', ' ')}", str(chosen)))
        elif name == "factor_spread":
            found += [(f"spread of {part}", f"{size:g}") for part, size in value.items()]
        else:
            words = info.description or ""
            found.append((name.replace("_", " "), f"{value}" + (f" ({words})" if words else "")))
    return found


def worst_word(interpretation: Interpretation) -> str:
    """Return the word of the gravest finding, or ``"clear"``."""
    return (
        max(interpretation.findings, key=lambda f: f.severity).severity.word
        if (interpretation.findings)
        else "clear"
    )

"""Uncertainty budget of each channel, from what is known of the equipment and its zero readings.

Parts are standard uncertainties, added in quadrature; the expanded uncertainty is twice their sum
(k = 2, about 95 %), as the Guide to the expression of uncertainty in measurement (JCGM 100) sets
out. A change of the zero counts as a rectangular distribution of that half-width, a resolution as
one of half a step. A part may grow with the value, as a worn tip does. A part that nobody gave is
named as missing and never put in as a guess.

Depth is a channel of its own, ``length``: the classes give it a tolerance of its own, so it is not
counted again in the channels that are read against it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pushproof.model.equipment import Calibration
from pushproof.model.profile import Profile
from pushproof.model.sounding import Zero
from pushproof.quality.tally import rod_tally

CHANNELS = ("qc", "fs", "u2")
"""Channels that a cone measures against zero readings."""
BUDGETED = (*CHANNELS, "tilt", "length")
"""Channels that have a budget; ``length`` stands for depth."""
NEEDED: dict[str, tuple[tuple[str, ...], ...]] = {
    "tilt": (("calibration",),),
    "length": (("calibration", "rod tally"),),
}
"""Groups of parts of which one must be known, or nothing is proved; our own rule. Any other channel
needs its calibration and its zero shift."""
_AXES = ("tilt_x", "tilt_y")
_ZEROED = (("calibration",), ("zero shift",))
FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Part:
    """One part of a budget.

    Parameters
    ----------
    name
        What it is.
    value
        Standard uncertainty in the inside unit, the same at every value.
    how
        What it rests on.
    relative
        Standard uncertainty that grows with the value [-].
    """

    name: str
    value: float
    how: str
    relative: float = 0.0


@dataclass(frozen=True)
class Budget:
    """The budget of one channel.

    Parameters
    ----------
    channel
        Key of the quantity.
    parts
        Known parts.
    missing
        Names of the parts that nobody gave.
    zero_shift
        Change of the zero over the push, in the inside unit; None if not known.
    """

    channel: str
    parts: tuple[Part, ...]
    missing: tuple[str, ...]
    zero_shift: float | None

    @property
    def expanded(self) -> float | None:
        """Expanded uncertainty (k = 2) of the known parts at the value zero; None without parts."""
        return float(self.expanded_at(0.0)) if self.parts else None

    @property
    def relative(self) -> float:
        """Expanded uncertainty (k = 2) that grows with the value [-]."""
        return 2.0 * math.sqrt(sum(part.relative**2 for part in self.parts))

    def expanded_at(self, value: float | FloatArray) -> FloatArray:
        """Return the expanded uncertainty (k = 2) of the known parts at values.

        Examples
        --------
        >>> one = Budget("qc", (Part("calibration", 15.0, ""), Part("geometry", 0, "", 0.01)),
        ...              (), None)
        >>> one.expanded_at(np.array([0.0, 2000.0])).tolist()
        [30.0, 50.0]
        """
        fixed = sum(part.value**2 for part in self.parts)
        growing = sum(part.relative**2 for part in self.parts)
        return np.asarray(2.0 * np.sqrt(fixed + growing * np.square(value)))

    @property
    def complete(self) -> bool:
        """Whether the parts without which nothing is proved are known."""
        known = {part.name for part in self.parts}
        return all(known & set(group) for group in NEEDED.get(self.channel, _ZEROED))


def zero_shift(before: tuple[Zero, ...], after: tuple[Zero, ...], channel: str) -> float | None:
    """Return the change of the zero of a channel, after minus before; None if not known.

    The zero of a tilt of two axes changes by as much as the two together.
    """
    if channel == "tilt" and not any(z.channel == "tilt" for z in (*before, *after)):
        axes = [zero_shift(before, after, axis) for axis in _AXES]
        known = [shift for shift in axes if shift is not None]
        return math.hypot(*known) if known else None
    first = next((z.value for z in before if z.channel == channel), None)
    last = next((z.value for z in after if z.channel == channel), None)
    return None if first is None or last is None else last - first


def budget(profile: Profile, channel: str) -> Budget:
    """Return the uncertainty budget of a channel of :data:`BUDGETED`."""
    sounding = profile.sounding
    shift = zero_shift(sounding.zeros_before, sounding.zeros_after, channel)
    found: dict[str, Part | None] = {name: of(profile, channel) for name, of in _parts(channel)}
    return Budget(
        channel,
        tuple(part for part in found.values() if part is not None),
        tuple(name for name, part in found.items() if part is None),
        shift,
    )


def budgets(profile: Profile) -> tuple[Budget, ...]:
    """Return the budgets of all that a profile measures."""
    return tuple(budget(profile, key) for key in BUDGETED if profile.series.measured(key))


_Of = Callable[[Profile, str], Part | None]


def _parts(channel: str) -> tuple[tuple[str, _Of], ...]:
    """Return the parts that the budget of a channel should have."""
    if channel == "length":
        return (
            ("calibration", _encoder),
            ("rod tally", _rods),
            ("resolution", _resolution),
            ("tilt", _shortening),
        )
    parts: tuple[tuple[str, _Of], ...] = (
        ("calibration", _calibration),
        ("zero shift", _shift),
        ("resolution", _resolution),
        ("temperature", _temperature),
    )
    return (*parts, ("geometry", _geometry)) if channel in ("qc", "fs") else parts


def _certificate(profile: Profile, channel: str) -> Calibration | None:
    """Return the newest calibration; a tilt of two axes has those of its axes."""
    cone = profile.sounding.cone
    found = [cone.calibration(key) for key in (channel, *(_AXES if channel == "tilt" else ()))]
    return next((one for one in found if one is not None), None)


def _calibration(profile: Profile, channel: str) -> Part | None:
    one = _certificate(profile, channel)
    if one is None or one.uncertainty is None:
        return None
    return Part("calibration", one.uncertainty / 2.0, f"certificate of {one.date}, k = 2")


def _shift(profile: Profile, channel: str) -> Part | None:
    sounding = profile.sounding
    shift = zero_shift(sounding.zeros_before, sounding.zeros_after, channel)
    if shift is None:
        return None
    text = f"zero moved by {shift:+.3g} over the push, rectangular"
    return Part("zero shift", abs(shift) / math.sqrt(3), text)


def _resolution(profile: Profile, channel: str) -> Part | None:
    """Return the part of the stated resolution, or of the smallest step that the readings show."""
    one = _certificate(profile, channel)
    step = one.resolution if one is not None else None
    encoder = profile.sounding.encoder
    if channel == "length" and encoder is not None and encoder.metres_per_count:
        step = abs(encoder.metres_per_count)
    if step is None:
        axis = channel == "tilt" and profile.series.measured(_AXES[0])
        values = profile.series.get(_AXES[0] if axis else channel)
        steps = np.abs(np.diff(np.unique(values[np.isfinite(values)])))
        steps = steps[steps > 1e-6]
        if steps.size <= 20:
            return None
        step = float(np.quantile(steps, 0.02))
    return Part("resolution", step / math.sqrt(12), f"step of {step:.3g}, rectangular")


def _temperature(profile: Profile, channel: str) -> Part | None:
    one = profile.sounding.cone.calibration(channel)
    values = profile.series.get("temperature")
    values = values[np.isfinite(values)]
    if one is None or one.temperature is None or not values.size:
        return None
    span = float(np.ptp(values))
    value = abs(one.temperature) * span / math.sqrt(12)
    return Part("temperature", value, f"{span:.1f} degC of range in the cone")


def _geometry(profile: Profile, channel: str) -> Part | None:
    """Return what the measured diameter says of the area by which the force is divided.

    A tip or sleeve that is not the diameter of its stated area makes a share of the value wrong;
    the difference of the areas counts as the half-width of a rectangular distribution. For a sleeve
    the diameter that belongs to the stated tip is the measure, since its length does not wear.
    """
    cone = profile.sounding.cone
    if cone.tip_area is None:
        return None
    measured = cone.tip_diameter if channel == "qc" else cone.sleeve_diameter
    if measured is None:
        return None
    nominal = math.sqrt(4 * cone.tip_area / math.pi)
    ratio = measured / nominal
    off = abs(ratio**2 - 1) if channel == "qc" else abs(ratio - 1)
    text = f"diameter {measured * 1000:.2f} mm, {nominal * 1000:.2f} mm by the stated area"
    return Part("geometry", 0.0, f"{text}, rectangular", off / math.sqrt(3))


def _encoder(profile: Profile, channel: str) -> Part | None:  # noqa: ARG001
    encoder = profile.sounding.encoder
    if encoder is None or encoder.uncertainty is None:
        return None
    when = f" of {encoder.calibrated}" if encoder.calibrated else ""
    text = f"encoder, calibration{when}, {encoder.uncertainty:.2%} of length, k = 2"
    return Part("calibration", 0.0, text, encoder.uncertainty / 2)


def _rods(profile: Profile, channel: str) -> Part | None:  # noqa: ARG001
    tally = rod_tally(profile)
    if tally is None:
        return None
    text = f"{tally.total * 1000:+.0f} mm off {tally.rods} rods of {tally.rod:g} m, rectangular"
    return Part("rod tally", abs(tally.total) / math.sqrt(3), text)


def _shortening(profile: Profile, channel: str) -> Part | None:  # noqa: ARG001
    """Return what the uncertainty of the tilt makes of the depth at the end of the push.

    ``dz = cos(tilt) dl``, so an error e of the tilt that is the same all the way down makes an
    error of ``sum(sin(tilt) dl) e`` of the depth.
    """
    series = profile.series
    if not series.measured("tilt"):
        return None
    of_tilt = budget(profile, "tilt")
    if not of_tilt.parts or of_tilt.expanded is None:
        return None
    known = np.isfinite(series["tilt"])
    step = np.diff(series["length"][known])
    sine = np.sin(np.radians(np.abs(series["tilt"][known])))
    across = float(np.sum(step * (sine[1:] + sine[:-1]) / 2))
    value = across * math.radians(of_tilt.expanded / 2.0)
    return Part("tilt", value, f"tilt to {of_tilt.expanded:.2g} deg (k = 2) over {across:.2f} m")

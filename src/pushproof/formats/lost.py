"""What a format cannot carry of a sounding: one table of everything a sounding may hold.

A writer says what it carries and what it carries only as words; the rest, where a sounding has it,
is the loss table.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from types import MappingProxyType

import numpy as np

from pushproof.formats.contract import Content, Loss, Missing, sounding_of
from pushproof.model.profile import Interpretation
from pushproof.model.series import Reason, Series
from pushproof.model.sounding import Sounding, WaterOrigin


def _count(number: int, one: str, many: str = "") -> str:
    """Return a number with its noun, empty for none."""
    if not number:
        return ""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def _all_series(sounding: Sounding) -> list[Series]:
    return [sounding.readings, *(test.readings for test in sounding.dissipations)]


def _reasons(sounding: Sounding) -> str:
    found: dict[Reason, int] = {}
    for series in _all_series(sounding):
        for key in series:
            for reason, number in series.missing(key).items():
                if reason is not Reason.VOID_IN_FILE:
                    found[reason] = found.get(reason, 0) + number
    words = ", ".join(f"{reason.words} ({number:,})" for reason, number in found.items())
    return f"why values are missing: {words}" if words else ""


def _zone(sounding: Sounding) -> str:
    times = [sounding.started, *(test.start for test in sounding.dissipations)]
    return "the time zone of the start" if any(t is not None and t.tzinfo for t in times) else ""


def _seconds(sounding: Sounding) -> str:
    start = sounding.started
    return "fractions of a second of the start" if start and start.microsecond else ""


def _zeros(sounding: Sounding) -> str:
    zeros = (*sounding.zeros_before, *sounding.zeros_after)
    return _count(len(zeros), "zero reading")


def _zero_details(sounding: Sounding) -> str:
    zeros = (*sounding.zeros_before, *sounding.zeros_after)
    details = [z for z in zeros if any((z.spread, z.count, z.seconds, z.temperature, z.time))]
    return f"spread, count and time of {_count(len(details), 'zero reading')}" if details else ""


def _cone_details(sounding: Sounding) -> str:
    cone = sounding.cone
    known = {
        "class": cone.cone_class,
        "filter fluid": cone.filter_fluid,
        "subtraction": cone.subtraction,
        "friction reducer": cone.friction_reducer,
        "end areas of the sleeve": cone.sleeve_end_area_bottom or cone.sleeve_end_area_top,
        "use since calibration": cone.metres_since_calibration or cone.soundings_since_calibration,
    }
    names = [name for name, value in known.items() if value is not None]
    return f"cone: {', '.join(names)}" if names else ""


def _value(name: str, words: str) -> Callable[[Sounding], str]:
    def found(sounding: Sounding) -> str:
        return "" if getattr(sounding, name) is None else words

    return found


def _of_cone(name: str, words: str) -> Callable[[Sounding], str]:
    def found(sounding: Sounding) -> str:
        return "" if getattr(sounding.cone, name) is None else words

    return found


def _of_place(name: str, words: str) -> Callable[[Sounding], str]:
    def found(sounding: Sounding) -> str:
        return "" if getattr(sounding.location, name) is None else words

    return found


def _origin(sounding: Sounding) -> str:
    water = sounding.water
    plain = water is None or (water.origin is WaterOrigin.STATED)
    return "" if plain else "how the water level is known"


def _remark(sounding: Sounding) -> str:
    return "remark on the water level" if sounding.water and sounding.water.remark else ""


HOLDS: Mapping[str, Callable[[Sounding], str]] = MappingProxyType(
    {
        "reasons": _reasons,
        "time-zone": _zone,
        "fractions": _seconds,
        "zeros": _zeros,
        "zero-details": _zero_details,
        "tests": lambda s: _count(len(s.dissipations), "dissipation test"),
        "test-starts": lambda s: (
            "start of dissipation tests" if any(t.start for t in s.dissipations) else ""
        ),
        "events": lambda s: _count(len(s.events), "event"),
        "predrilled": _value("predrilled", "pre-excavated depth"),
        "removed": lambda s: _count(
            len(s.removed), "layer removed before", "layers removed before"
        ),
        "water": _value("water", "water level"),
        "water-origin": _origin,
        "water-remark": _remark,
        "class": _value("quality_class", "class as stated"),
        "standard": _value("standard", "standard followed"),
        "stop": _value("stop_reason", "why the push ended"),
        "started": _value("started", "date and time"),
        "project": _value("project", "project"),
        "client": _value("client", "client"),
        "operator": _value("operator", "operator"),
        "place": _value("place", "name of the place"),
        "position": _of_place("x", "position"),
        "degrees": _of_place("latitude", "latitude and longitude"),
        "level": _of_place("level", "level"),
        "datum": _of_place("datum", "vertical datum"),
        "depth-zero": _of_place("zero", "what depth 0 is"),
        "water-depth": _of_place("water_depth", "depth of water above the bottom"),
        "serial": _of_cone("serial", "serial number of the cone"),
        "model": _of_cone("model", "model of the cone"),
        "tip-area": _of_cone("tip_area", "tip area"),
        "tip-diameter": _of_cone("tip_diameter", "tip diameter"),
        "area-ratio": _of_cone("area_ratio", "net area ratio"),
        "sleeve-area": _of_cone("sleeve_area", "sleeve area"),
        "sleeve-diameter": _of_cone("sleeve_diameter", "sleeve diameter"),
        "sleeve-end-ratio": _of_cone("sleeve_end_ratio", "end-area ratio of the sleeve"),
        "mid-sleeve": _of_cone("tip_to_mid_sleeve", "distance from tip to mid sleeve"),
        "cone-details": _cone_details,
        "calibrations": lambda s: _count(len(s.cone.calibrations), "calibration"),
        "rods": _value("rods", "rods"),
        "rig": _value("rig", "rig"),
        "header": lambda s: _count(
            len(s.header), "header line of the file", "header lines of the file"
        ),
        "findings": lambda s: _count(len(s.findings), "finding"),
        "source": lambda s: f"name and SHA-256 of the source {s.source.name}" if s.source else "",
    }
)
"""Everything a sounding may hold beside its columns, and the words for what it holds of it."""

_OF_THE_FILE = {"header": "header lines", "findings": "findings", "source": "name and SHA-256"}


def losses_of(
    contents: Sequence[Content],
    *,
    title: str,
    carries: Collection[str],
    in_words: Mapping[str, str] = MappingProxyType({}),
) -> list[Loss]:
    """Return what is lost beside the columns.

    Parameters
    ----------
    contents
        What is handed over.
    title
        Name of the format for people.
    carries
        Keys of :data:`HOLDS` that come back.
    in_words
        Keys that are written as words only, with the place.
    """
    found: list[Loss] = []
    original: list[str] = []
    for key, words in HOLDS.items():
        if key in carries:
            continue
        texts = [text for one in contents if (text := words(sounding_of(one)))]
        if not texts:
            continue
        if key in _OF_THE_FILE:
            original.append(key)
            continue
        why = f"{title} has no place for it"
        if key in in_words:
            why = f"only as words in {in_words[key]}"
        more = f", and so in {len(texts) - 1} more" if len(texts) > 1 else ""
        found.append(Loss(texts[0] + more, why, (key,)))
    if original:
        what = f"{', '.join(_OF_THE_FILE[key] for key in original)} of the file it came from"
        why = "they stay with the original, which the job file keeps byte for byte"
        found.append(Loss(what, why, tuple(original)))
    return [*found, *_decisions(contents)]


def _decisions(contents: Sequence[Content]) -> list[Loss]:
    found = []
    for one in contents:
        if not isinstance(one, Interpretation):
            continue
        recipe = one.profile.recipe
        edits = len(recipe.corrections) + len(recipe.blanked)
        if edits:
            what = f"readings as measured, before {_count(edits, 'edit')}"
            found.append(Loss(what, "the values after the edits are written; the job keeps both"))
    return found


def lost_columns(
    readings: Sequence[Series], carries: Collection[str], why: Callable[[str], str]
) -> list[Loss]:
    """Return one loss for each column with values that a format has no place for.

    Parameters
    ----------
    readings
        Series that are written.
    carries
        Keys that the format carries.
    why
        Key to the reason.
    """
    counts: dict[str, int] = {}
    words: dict[str, str] = {}
    for series in readings:
        for key in series:
            if key in carries:
                continue
            counts[key] = counts.get(key, 0) + int(np.isfinite(series[key]).sum())
            words[key] = series.quantity(key).name
    return [
        Loss(f"{words[key]} ({key}), {_count(number, 'value')}", why(key), (key,))
        for key, number in counts.items()
        if number
    ]


def wanted(
    sounding: Sounding, places: Mapping[str, str], *, required: Collection[str] = ()
) -> list[Missing]:
    """Return the fields a format has a place for and the sounding lacks.

    Parameters
    ----------
    sounding
        What is handed over.
    places
        Name of a field (of :data:`pushproof.formats.fields.FIELDS`) to its place in the format.
    required
        Names that may not be empty.
    """
    from pushproof.formats.fields import FIELDS

    place, cone = sounding.location, sounding.cone
    has = {
        "x": place.x is not None or place.latitude is not None,
        "y": place.y is not None or place.longitude is not None,
        "crs": place.crs is not None or place.x is None,
        "level": place.level is not None,
        "datum": place.datum is not None or place.level is None,
        "cone": cone.serial is not None or cone.model is not None,
        "tip_area": cone.tip_area is not None,
        "area_ratio": cone.area_ratio is not None or not sounding.readings.measured("u2"),
        "sleeve_area": cone.sleeve_area is not None or not sounding.readings.measured("fs"),
        "water_level": sounding.water is not None,
    }
    return [
        Missing(name, f"{FIELDS[name].words}, {where}", name in required, sounding.name)
        for name, where in places.items()
        if not has.get(name, getattr(sounding, name, None) is not None)
    ]

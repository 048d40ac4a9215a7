"""Header lines of a GEF file that say what a sounding is: position, cone, zeros, stop."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from pushproof.formats.contract import Loss
from pushproof.formats.gef.metadata import CRS, STOP, ZEROS
from pushproof.formats.outgoing import converted
from pushproof.formats.precision import plain
from pushproof.model.sounding import HeaderItem, Sounding, StopReason

_NUMBERED = ("MEASUREMENTVAR", "MEASUREMENTTEXT", "SPECIMENVAR")
_OURS = frozenset(
    {
        "GEFID",
        "REPORTCODE",
        "PROCEDURECODE",
        "FILEDATE",
        "FILEOWNER",
        "COMPANYID",
        "CHILD",
        "PARENT",
    }
    | {"DATAFORMAT", "COLUMN", "COLUMNINFO", "COLUMNVOID", "COLUMNSEPARATOR", "RECORDSEPARATOR"}
    | {"COLUMNTEXT", "COLUMNMINMAX", "LASTSCAN", "TESTID", "PROJECTID", "STARTDATE", "STARTTIME"}
    | {"XYID", "ZID", "SPECIMENVAR", "EOH"}
)
"""Words whose lines are always written anew."""
_ANEW = frozenset({*range(1, 6), 13, 15, 16, *range(20, 36), 130, 132})
"""Measurement variables that are always written anew."""


def changed_texts(text: str) -> str:
    """Return text as a header line can hold it: commas part the values, quotes may wrap a line.

    Examples
    --------
    >>> changed_texts('Maker, Ltd "A"')
    "Maker; Ltd 'A'"
    """
    return " ".join(text.split()).replace(",", ";").replace('"', "'")


@dataclass
class Lines:
    """Header lines in order; numbered ones are known by word and number."""

    found: list[tuple[str, str]] = field(default_factory=list)

    def add(self, word: str, value: str) -> None:
        """Add a line."""
        self.found.append((word, value))

    def variable(self, number: int, value: float | None, unit: str, words: str) -> None:
        """Add a measurement variable given in the inside unit, if it is known."""
        if value is not None:
            shown = plain(float(converted(_array(value), unit)[0]))
            self.add("MEASUREMENTVAR", f"{number}, {shown}, {unit}, {words}")

    def text(self, number: int, value: str | None, words: str) -> None:
        """Add a measurement text, if it is known."""
        if value:
            self.add("MEASUREMENTTEXT", f"{number}, {changed_texts(value)}, {words}")

    def carry(self, header: Iterable[HeaderItem]) -> None:
        """Take over the lines of the source that say something these do not."""
        have = {_identity(word, value) for word, value in self.found}
        for one in header:
            identity = _identity(one.key, one.value)
            anew = one.key == "MEASUREMENTVAR" and identity[1] in {str(n) for n in _ANEW}
            if one.key and one.key not in _OURS and not anew and identity not in have:
                self.add(one.key, one.value)

    def texts(self) -> list[str]:
        """Return the lines."""
        return [f"#{word}= {value}" for word, value in self.found]


def _array(value: float):  # type: ignore[no-untyped-def]
    import numpy as np

    return np.array([value])


def _identity(word: str, value: str) -> tuple[str, str]:
    number = value.split(",", 1)[0].strip() if word in _NUMBERED else value
    return word, number


def about(lines: Lines, sounding: Sounding, start: datetime | None = None) -> None:
    """Add the lines of a sounding; with a start, those of a test in it.

    Parameters
    ----------
    lines
        Where to add them.
    sounding
        The sounding.
    start
        Start of the dissipation test, for a child file.
    """
    lines.add("TESTID", sounding.name.replace('"', "'"))
    if sounding.project:
        lines.add("PROJECTID", sounding.project.replace('"', "'"))
    when = start or sounding.started
    lines.add("STARTDATE", f"{when:%Y, %m, %d}" if when else "-, -, -")
    lines.add("STARTTIME", f"{when:%H, %M, %S}" if when else "-, -, -")
    _position(lines, sounding)
    _texts(lines, sounding)
    _variables(lines, sounding)
    for number, layer in enumerate(sounding.removed, start=1):
        words = changed_texts(layer.description)
        lines.add("SPECIMENVAR", f"{number}, {plain(layer.top, 2)}, m, {words}")


def _position(lines: Lines, sounding: Sounding) -> None:
    place = sounding.location
    if place.x is not None and place.y is not None:
        code, own = _system(place.crs, {crs: code for code, crs in reversed(CRS.items())})
        lines.add("XYID", f"{code}, {plain(place.x, 3)}, {plain(place.y, 3)}")
        lines.text(7, own, "own coordinate system")
    if place.level is not None:
        code, own = _system(place.datum, {"NAP": "31000"})
        lines.add("ZID", f"{code}, {plain(place.level, 3)}")
        lines.text(8, own, "own vertical reference")
    if place.latitude is not None and place.longitude is not None and _is_etrs89(sounding):
        both = f"{plain(place.latitude)}, {plain(place.longitude)}"
        lines.add("MEASUREMENTTEXT", f"127, 4258, {both}")


def _is_etrs89(sounding: Sounding) -> bool:
    """Tell whether latitude and longitude are in the system of line 127, as registers give them."""
    source = sounding.source.format if sounding.source else ""
    return source in ("gef", "dutch-register")


def _system(named: str | None, codes: dict[str, str]) -> tuple[str, str | None]:
    """Return the number of a reference system, and its name where it has none."""
    if named is None:
        return "0", None
    own = re.fullmatch(r"GEF system (\d+)", named)
    if own and own[1].strip("0"):
        return own[1], None
    return (codes[named], None) if named in codes else ("0", named)


def _standard(sounding: Sounding) -> str | None:
    """Return standard and class as one text, as the format has them."""
    stated, quality = sounding.standard, sounding.quality_class
    if not quality or (stated and _class_in(stated) == quality):
        return stated
    return f"{stated} class {quality}" if stated else f"class {quality}"


def _class_in(text: str) -> str | None:
    match = re.search(r"(?:klasse|class|kl\.?)\s*(\w+)", text, flags=re.IGNORECASE)
    return match[1] if match else None


def _model(sounding: Sounding) -> str | None:
    return " ".join(filter(None, (sounding.cone.model, sounding.cone.serial))) or None


def _texts(lines: Lines, sounding: Sounding) -> None:
    lines.text(1, sounding.client, "client")
    lines.text(3, sounding.place, "place")
    lines.text(4, _model(sounding), "cone type and serial number")
    lines.text(5, sounding.rig.name if sounding.rig else None, "rig")
    lines.text(6, _standard(sounding), "standard and class")
    lines.text(9, sounding.location.zero, "zero of depth")


def _variables(lines: Lines, sounding: Sounding) -> None:
    cone, readings = sounding.cone, sounding.readings
    lines.variable(1, cone.tip_area, "mm2", "tip area")
    lines.variable(2, cone.sleeve_area, "mm2", "sleeve area")
    lines.variable(3, cone.area_ratio, "-", "net area ratio of the tip")
    lines.variable(4, cone.sleeve_end_ratio, "-", "area ratio of the sleeve")
    lines.variable(5, cone.tip_to_mid_sleeve, "mm", "tip to mid sleeve")
    lines.variable(13, sounding.predrilled, "m", "pre-excavated to")
    lines.variable(15, sounding.location.water_depth, "m", "water depth")
    along = "length" if readings.measured("length") else "depth"
    lines.variable(16, float(max(readings[along][readings[along] > -1])), "m", "end depth")
    if sounding.stop_reason is StopReason.TARGET_DEPTH:
        lines.add("MEASUREMENTVAR", "17, 0, -, stop criterion")
    elif sounding.stop_reason:
        lines.add("COMMENT", f"the push ended by: {sounding.stop_reason.value}")
    for number, (channel, unit) in ZEROS.items():
        sides = ((number, sounding.zeros_before), (number + 1, sounding.zeros_after))
        for index, zeros in sides:
            one = next((zero for zero in zeros if zero.channel == channel), None)
            lines.variable(index, one.value if one else None, unit, f"zero of {channel}")
    lines.variable(130, cone.tip_diameter, "mm", "tip diameter")
    lines.variable(132, cone.sleeve_diameter, "mm", "sleeve diameter")


def texts_lost(sounding: Sounding) -> list[Loss]:
    """Return what is lost of the texts and codes of a sounding."""
    cone, place = sounding.cone, sounding.location
    named = {
        "client": sounding.client,
        "place": sounding.place,
        "model": _model(sounding),
        "standard": sounding.standard,
        "depth-zero": place.zero,
        "position": place.crs,
        "datum": place.datum,
    }
    odd = {key for key, text in named.items() if text and changed_texts(text) != text}
    whole = {"name": sounding.name, "project": sounding.project}
    odd |= {key for key, text in whole.items() if text and '"' in text}
    odd |= {"removed"} & {
        "removed" for r in sounding.removed if changed_texts(r.description) != r.description
    }
    found = []
    if odd:
        what = f"commas and quotes in {', '.join(sorted(odd))}"
        found.append(Loss(what, "commas part the values of a GEF line", tuple(sorted(odd))))
    if cone.serial:
        what = "which part of the text is the serial number of the cone"
        found.append(Loss(what, "GEF has one text for cone and number", ("model", "serial")))
    text = _standard(sounding) or ""
    if text != (sounding.standard or "") or _class_in(text) != sounding.quality_class:
        what = "where the standard ends and the class begins"
        found.append(Loss(what, "GEF has one text for both", ("standard", "class")))
    if sounding.stop_reason not in (None, StopReason.TARGET_DEPTH) and not _same_code(sounding):
        why = "the number of this reason is not certain; it is written as a #COMMENT"
        found.append(Loss("why the push ended, as a code", why, ("stop",)))
    if place.latitude is not None and not _is_etrs89(sounding):
        why = "the line for it means ETRS89, and nobody says that they are"
        found.append(Loss("latitude and longitude", why, ("degrees",)))
    zeros = (*sounding.zeros_before, *sounding.zeros_after)
    known = {channel for channel, _ in ZEROS.values()}
    other = sorted({zero.channel for zero in zeros} - known)
    if other:
        found.append(
            Loss(f"zero readings of {', '.join(other)}", "GEF has no number for it", ("zeros",))
        )
    found += _layers_lost(sounding)
    return found


def _same_code(sounding: Sounding) -> bool:
    """Tell whether the source was a GEF file with a code for this reason, which is taken over."""
    if sounding.source is None or sounding.source.format != "gef":
        return False
    values = (one.value for one in sounding.header if one.key == "MEASUREMENTVAR")
    codes = (
        value.split(",")[1].strip()
        for value in values
        if _identity("MEASUREMENTVAR", value)[1] == "17"
    )
    code = next(codes, "")
    known = STOP.get(int(code), StopReason.UNKNOWN) if code.isdecimal() else None
    return known is sounding.stop_reason


def _layers_lost(sounding: Sounding) -> list[Loss]:
    layers = sorted(sounding.removed, key=lambda layer: layer.top)
    ends = [*(layer.top for layer in layers[1:]), sounding.predrilled]
    if all(layer.base == end for layer, end in zip(layers, ends, strict=False)):
        return []
    return [
        Loss("bases of removed layers", "in GEF a layer reaches down to the next", ("removed",))
    ]

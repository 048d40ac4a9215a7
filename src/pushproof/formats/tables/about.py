"""What stands above a table: label and text, as the readers of tables understand them."""

from __future__ import annotations

from collections.abc import Sequence

from pushproof import __version__
from pushproof.formats.contract import Content, Loss, Missing, sounding_of
from pushproof.formats.lost import losses_of, lost_columns, wanted
from pushproof.formats.outgoing import series_of
from pushproof.formats.precision import plain
from pushproof.formats.table import about as about_results
from pushproof.model.profile import Interpretation
from pushproof.model.quantities import QUANTITIES
from pushproof.model.sounding import Event, Sounding, Zero

CARRIES = frozenset(
    {"predrilled", "removed", "water", "class", "standard", "stop", "started", "project", "client"}
    | {"operator", "place", "position", "level", "datum", "serial", "tip-area", "area-ratio"}
    | {"sleeve-area", "mid-sleeve", "zeros", "events"}
)
"""Facts that come back from the lines above a table."""
_WORDS = (
    *("degrees", "depth-zero", "water-depth", "model", "tip-diameter", "sleeve-diameter"),
    *("sleeve-end-ratio", "rig", "water-origin", "water-remark"),
)
"""Facts that are written there for people only."""
_PLACES = {
    "x": "x",
    "y": "y",
    "crs": "coordinate system",
    "level": "level",
    "datum": "vertical datum",
    "started": "start",
    "cone": "cone serial",
    "area_ratio": "net area ratio",
    "water_level": "water level",
}


def line(text: str) -> str:
    """Return text on one line."""
    return " ".join(text.split())


def pairs(content: Content) -> list[tuple[str, str]]:
    """Return label and text of all that is known beside the columns, in order."""
    one = sounding_of(content)
    place, cone = one.location, one.cone
    start = one.started.replace(tzinfo=None, microsecond=0) if one.started else None
    numbers = {
        "x [m]": place.x,
        "y [m]": place.y,
        "latitude [deg]": place.latitude,
        "longitude [deg]": place.longitude,
        "level [m]": place.level,
        "water above the bottom [m]": place.water_depth,
        "water level [m]": one.water.level if one.water else None,
        "predrilled [m]": one.predrilled,
        "tip area [cm2]": _times(cone.tip_area, 1e4),
        "area ratio [-]": cone.area_ratio,
        "sleeve area [cm2]": _times(cone.sleeve_area, 1e4),
        "tip to mid sleeve [mm]": _times(cone.tip_to_mid_sleeve, 1e3),
        "tip diameter [mm]": _times(cone.tip_diameter, 1e3),
        "sleeve diameter [mm]": _times(cone.sleeve_diameter, 1e3),
        "sleeve end ratio [-]": cone.sleeve_end_ratio,
    }
    found: list[tuple[str, str | None]] = [
        ("sounding", one.name),
        ("project", one.project),
        ("client", one.client),
        ("place", one.place),
        ("operator", one.operator),
        ("start", start.isoformat(sep=" ").removesuffix(" 00:00:00") if start else None),
        ("coordinate system", place.crs),
        ("vertical datum", place.datum),
        ("zero of depth", place.zero),
        *((label, plain(value)) for label, value in numbers.items() if value is not None),
        ("water level is", _water(one)),
        ("cone model", cone.model),
        ("cone serial", cone.serial),
        ("rig name", one.rig.name if one.rig else None),
        ("standard", one.standard),
        ("class", one.quality_class),
        ("stop reason", one.stop_reason.value if one.stop_reason else None),
    ]
    told = [(label, line(text)) for label, text in found if text]
    told += [
        ("removed layer", f"top {plain(r.top)} base {plain(r.base)} {line(r.description)}".strip())
        for r in one.removed
    ]
    for when, zeros in (("before", one.zeros_before), ("after", one.zeros_after)):
        told += [(_zero(when, zero), plain(zero.value)) for zero in zeros]
    told += [(f"event {event.kind}", _event(event)) for event in one.events]
    told += [("depth of a dissipation test [m]", plain(test.depth)) for test in one.dissipations]
    if isinstance(content, Interpretation):
        told += [pair for pair in about_results(content) if _of_results(pair[0])]
    if one.source:
        told += [("from file", one.source.name), ("from file, SHA-256", one.source.sha256)]
    return [*told, ("made by", f"Pushproof {__version__}")]


def _of_results(label: str) -> bool:
    starts = ("assumed", "finding", "method of", "recipe", "note", "qt", "depth")
    return label.startswith(starts)


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _water(one: Sounding) -> str | None:
    if one.water is None:
        return None
    return ", ".join(filter(None, (one.water.origin.value, one.water.remark)))


def _zero(when: str, zero: Zero) -> str:
    unit = QUANTITIES[zero.channel].unit if zero.channel in QUANTITIES else "-"
    return f"zero {when} {zero.channel} [{unit}]"


def _event(event: Event) -> str:
    known = {"depth": event.depth, "seconds": event.seconds, "duration": event.duration}
    words = [f"{key} {plain(value)}" for key, value in known.items() if value is not None]
    return " ".join([*words, line(event.text)]).strip()


def missing(contents: Sequence[Content]) -> list[Missing]:
    """Return what a table has a line for and nobody gave; nothing is required."""
    return [one for content in contents for one in wanted(sounding_of(content), _PLACES)]


def losses(contents: Sequence[Content], *, title: str, tests: bool) -> list[Loss]:
    """Return what a table cannot carry.

    Parameters
    ----------
    contents
        What is handed over.
    title
        Name of the format.
    tests
        Whether dissipation tests have a place.
    """
    carries = CARRIES | ({"tests"} if tests else set())
    in_words = dict.fromkeys(_WORDS, "the lines above the table")
    found = losses_of(contents, title=title, carries=carries, in_words=in_words)
    for content in contents:
        series, one = series_of(content), sounding_of(content)
        found += lost_columns([series], set(order(content)), lambda _: "it has no value")
        found += _texts_lost(one)
        extras = [key for key in order(content) if key in series.extras]
        if extras and not _keys_hold(order(content)):
            what = f"how {', '.join(extras)} were called"
            found.append(Loss(what, "they come back by their number", tuple(extras)))
    return list(dict.fromkeys(found))


def order(content: Content) -> list[str]:
    """Return the keys of the columns that are written: position first, unknown ones last."""
    series = series_of(content)
    first = [key for key in ("length", "depth", "time") if series.measured(key)]
    known = [key for key in series if key in QUANTITIES and key not in ("length", "depth", "time")]
    extras = [key for key in series if key in series.extras and series.measured(key)]
    return [*first, *known, *extras]


def _keys_hold(keys: Sequence[str]) -> bool:
    """Tell whether readers take a row of keys for one: most of them are of the vocabulary."""
    known = [key in QUANTITIES for key in keys]
    plain_keys = all("," not in key and "\t" not in key for key in keys)
    return len(known) >= 2 and all(known[:2]) and sum(known) > len(known) / 2 and plain_keys


def _texts_lost(one: Sounding) -> list[Loss]:
    """Return what is lost of texts: ends that a reader of lines takes away, several lines."""
    named = {
        "name": one.name,
        "project": one.project,
        "client": one.client,
        "place": one.place,
        "operator": one.operator,
        "position": one.location.crs,
        "datum": one.location.datum,
        "serial": one.cone.serial,
        "standard": one.standard,
        "class": one.quality_class,
    }
    odd = sorted(key for key, text in named.items() if text and _read(text) != text)
    found = []
    if odd:
        what = f"quotes, commas or line ends around {', '.join(odd)}"
        found.append(Loss(what, "a reader of lines takes them away", tuple(odd)))
    if any(layer.description != _read(layer.description) for layer in one.removed):
        found.append(Loss("ends of words of removed layers", "as above", ("removed",)))
    channels = {z.channel for z in (*one.zeros_before, *one.zeros_after)} - set(QUANTITIES)
    if channels:
        what = f"zero readings of {', '.join(sorted(channels))}"
        found.append(Loss(what, "they have no unit that is known", ("zeros",)))
    if any(event.text for event in one.events):
        found.append(Loss("words of events", "only for people", ("events",)))
    return found


def _read(text: str) -> str:
    """Return text as the reader of lines above a table takes it."""
    return line(text).strip('"').strip(",;").strip()

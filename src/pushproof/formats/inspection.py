"""What is in a file: format and edition, soundings, channels with their ranges, what it says of
itself and what it does not, and every problem that was noticed on the way.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from pushproof.formats.contract import Format
from pushproof.formats.registry import detect, format_named, read_all
from pushproof.formats.text import first_bytes
from pushproof.model.findings import Finding
from pushproof.model.series import Series
from pushproof.model.sounding import Dissipation, Sounding
from pushproof.model.units import factor_to_display


@dataclass(frozen=True)
class Channel:
    """One column: key, heading, unit shown, how many values and missing ones, smallest, largest.

    ``missing`` says for each reason how many values lack.
    """

    key: str
    name: str
    unit: str
    values: int
    missing: dict[str, int]
    low: float | None
    high: float | None
    known: bool


@dataclass(frozen=True)
class Test:
    """One dissipation test: depth [m], readings, duration [s], channels."""

    depth: float
    rows: int
    seconds: float | None
    channels: tuple[Channel, ...]


@dataclass(frozen=True)
class Content:
    """One sounding of a file."""

    name: str
    rows: int
    top: float | None
    base: float | None
    step: float | None
    channels: tuple[Channel, ...]
    tests: tuple[Test, ...]
    given: dict[str, str]
    lacks: tuple[str, ...]
    header_lines: int
    events: int
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Inspection:
    """One file and what is in it."""

    path: Path
    size: int
    sha256: str
    format: str
    title: str
    edition: str
    encoding: str
    soundings: tuple[Content, ...]


def inspect(
    path: str | Path, *, columns: str = "", format: str | None = None, salvage: bool = False
) -> Inspection:
    """Return what is in a file.

    Parameters
    ----------
    path
        The file.
    columns, format, salvage
        As for :func:`pushproof.read_all`.

    Raises
    ------
    FormatError
        If it cannot be read.
    """
    path = Path(path)
    chosen = format_named(format) if format else detect(path)
    found = read_all(path, columns=columns, format=chosen.name, salvage=salvage)
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    source = found[0].source
    return Inspection(
        path=path,
        size=path.stat().st_size,
        sha256=digest,
        format=chosen.name,
        title=chosen.title,
        edition=_edition(chosen, path),
        encoding=(source.encoding or "") if source else "",
        soundings=tuple(_content(one) for one in found),
    )


def _edition(format: Format, path: Path) -> str:
    """Return the edition a file says it is of; a format may tell it from the first bytes."""
    tell = getattr(format, "edition", None)
    return str(tell(first_bytes(path))) if tell is not None else ""


def _content(sounding: Sounding) -> Content:
    series = sounding.readings
    key = "length" if series.measured("length") else "depth"
    places = series.get(key)
    places = places[np.isfinite(places)]
    steps = np.diff(np.sort(places))
    steps = steps[steps > 1e-9]
    given = {label: text for label, tell in FACTS.items() if (text := tell(sounding))}
    return Content(
        name=sounding.name,
        rows=len(series),
        top=float(places.min()) if places.size else None,
        base=float(places.max()) if places.size else None,
        step=round(float(np.median(steps)), 4) if steps.size else None,
        channels=_channels(series),
        tests=tuple(_test(one) for one in sounding.dissipations),
        given=given,
        lacks=tuple(label for label in FACTS if label not in given),
        header_lines=len(sounding.header),
        events=len(sounding.events),
        findings=sounding.findings,
    )


def _channels(series: Series) -> tuple[Channel, ...]:
    found = []
    for key in series:
        row = series.quantity(key)
        known = key not in series.extras
        values = series[key][np.isfinite(series[key])] * (factor_to_display(key) if known else 1.0)
        found.append(
            Channel(
                key=key,
                name=row.name,
                unit=row.display_unit,
                values=int(values.size),
                missing={reason.words: n for reason, n in series.missing(key).items()},
                low=float(values.min()) if values.size else None,
                high=float(values.max()) if values.size else None,
                known=known,
            )
        )
    return tuple(found)


def _test(test: Dissipation) -> Test:
    time = test.readings.get("time")
    time = time[np.isfinite(time)]
    return Test(
        depth=test.depth,
        rows=len(test.readings),
        seconds=float(np.ptp(time)) if time.size else None,
        channels=_channels(test.readings),
    )


def _joined(*parts: Any) -> str:
    return " ".join(str(part) for part in parts if part not in (None, ""))


def _number(value: float | None, unit: str, factor: float = 1.0) -> str:
    return "" if value is None else f"{value * factor:.6g} {unit}".strip()


def _position(one: Sounding) -> str:
    place = one.location
    if place.x is not None and place.y is not None:
        return _joined(f"{place.x:.2f}, {place.y:.2f}", place.crs or "(no coordinate system)")
    if place.latitude is not None and place.longitude is not None:
        return f"{place.latitude:.6f}, {place.longitude:.6f} (latitude, longitude)"
    return ""


def _zeros(one: Sounding) -> str:
    sides = (("before", one.zeros_before), ("after", one.zeros_after))
    texts = (f"{' '.join(z.channel for z in zeros)} {side}" for side, zeros in sides if zeros)
    return ", ".join(texts)


FACTS: MappingProxyType[str, Callable[[Sounding], str]] = MappingProxyType(
    {
        "project": lambda s: _joined(s.project),
        "client": lambda s: _joined(s.client),
        "operator": lambda s: _joined(s.operator),
        "place": lambda s: _joined(s.place),
        "started": lambda s: f"{s.started:%Y-%m-%d %H:%M:%S%z}" if s.started else "",
        "position": _position,
        "level": lambda s: _joined(
            _number(s.location.level, "m"),
            (s.location.level is not None and (s.location.datum or "(no datum)")) or "",
        ),
        "zero of depth": lambda s: _joined(s.location.zero),
        "cone": lambda s: _joined(s.cone.model, s.cone.serial),
        "tip area": lambda s: _number(s.cone.tip_area, "cm2", 1e4),
        "area ratio": lambda s: _number(s.cone.area_ratio, ""),
        "sleeve area": lambda s: _number(s.cone.sleeve_area, "cm2", 1e4),
        "zero readings": _zeros,
        "water level": lambda s: (
            f"{s.water.level:.2f} m, {s.water.origin.value}" if s.water else ""
        ),
        "pre-excavated": lambda s: _number(s.predrilled, "m"),
        "standard": lambda s: _joined(s.standard),
        "class": lambda s: _joined(s.quality_class),
        "stop reason": lambda s: s.stop_reason.value if s.stop_reason else "",
        "rig": lambda s: _joined(s.rig.name if s.rig else ""),
    }
)
"""What a file may say of a sounding beside its readings, in the order it is shown."""


def problems(found: Sequence[Content]) -> list[Finding]:
    """Return the findings of several soundings, each once."""
    return list(dict.fromkeys(finding for one in found for finding in one.findings))

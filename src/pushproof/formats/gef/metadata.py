"""Metadata of a GEF header: what the numbered lines mean, in the terms of the model."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from pushproof.formats.gef.header import Entry, Header
from pushproof.formats.numbers import parse_number
from pushproof.model.equipment import Cone
from pushproof.model.findings import Finding, Severity
from pushproof.model.sounding import Location, RemovedLayer, StopReason, Zero
from pushproof.model.units import unit

STOP = {
    0: StopReason.TARGET_DEPTH,
    1: StopReason.THRUST,
    2: StopReason.TIP,
    3: StopReason.SLEEVE,
    4: StopReason.PORE_PRESSURE,
    5: StopReason.TILT,
    6: StopReason.OBSTACLE,
    7: StopReason.BUCKLING,
}
"""Stop codes; only 0 has been seen in a real file, the order of the rest is from memory."""

CRS = {"31000": "EPSG:28992", "28992": "EPSG:28992", "4258": "EPSG:4258"}
DATUM = {"31000": "NAP"}
ZEROS = {
    20: ("qc", "MPa"),
    22: ("fs", "MPa"),
    24: ("u1", "MPa"),
    26: ("u2", "MPa"),
    28: ("u3", "MPa"),
    30: ("tilt", "deg"),
    32: ("tilt_y", "deg"),
    34: ("tilt_x", "deg"),
}
"""Number of the zero reading before the push; the one after follows it."""


def _six(day: list[int], clock: list[int]) -> tuple[int, int, int, int, int, int]:
    hour, minute, second = clock if len(clock) == 3 else (0, 0, 0)
    return day[0], day[1], day[2], hour, minute, second


class Metadata:
    """Reads the numbered lines of one header, collecting what is odd as findings."""

    def __init__(self, header: Header):
        self.header = header
        self.variables = header.numbered("MEASUREMENTVAR")
        self.texts = header.numbered("MEASUREMENTTEXT")
        self.findings: list[Finding] = []

    def number(self, index: int, standard: str) -> float | None:
        """Return a measurement variable in the inside unit, or None if void or unreadable."""
        entry = self.variables.get(index)
        if entry is None:
            return None
        parts = [*entry.parts(4), "", "", ""]
        try:
            value = parse_number(parts[1])
        except ValueError:
            self.findings.append(
                Finding(
                    "header-not-a-number",
                    Severity.INFO,
                    f"measurement variable {index} ({parts[3] or standard}) is {parts[1]!r}, "
                    "no number; kept as found",
                    line=entry.line,
                )
            )
            return None
        if math.isnan(value):
            return None
        found = unit(parts[2]) or unit(standard)
        expected = unit(standard)
        if found is None or expected is None or found.inside != expected.inside:
            found = expected
        return value if found is None else value * found.factor + found.offset

    def text(self, index: int) -> str | None:
        """Return a measurement text, or None if void."""
        entry = self.texts.get(index)
        if entry is None:
            return None
        value = [*entry.parts(3), ""][1]
        return None if value in ("", "-") else value

    def cone(self, channels: set[str]) -> Cone:
        """Return the cone: areas, ratios, distances, filters that have a column."""
        ratio = self.number(3, "-")
        if ratio is not None and not 0 < ratio <= 1.5:
            self.findings.append(
                Finding(
                    "area-ratio-odd",
                    Severity.CAUTION,
                    f"the stated net area ratio is {ratio:g}; not used",
                    "a ratio of 0.3 to 1",
                )
            )
            ratio = None
        return Cone(
            model=self.text(4),
            tip_area=self._positive(1, "mm2"),
            sleeve_area=self._positive(2, "mm2"),
            area_ratio=ratio,
            sleeve_end_ratio=self.number(4, "-"),
            tip_to_mid_sleeve=self._positive(5, "mm"),
            tip_diameter=self._positive(130, "mm"),
            sleeve_diameter=self._positive(132, "mm"),
            filters=tuple(key for key in ("u1", "u2", "u3") if key in channels),
        )

    def _positive(self, index: int, standard: str) -> float | None:
        value = self.number(index, standard)
        return value if value is not None and value > 0 else None

    def zeros(self) -> tuple[tuple[Zero, ...], tuple[Zero, ...]]:
        """Return the zero readings before and after the push."""
        sides: tuple[list[Zero], list[Zero]] = ([], [])
        for index, (channel, standard) in ZEROS.items():
            for side, found in enumerate(sides):
                value = self.number(index + side, standard)
                if value is not None:
                    found.append(Zero(channel=channel, value=value))
        return tuple(sides[0]), tuple(sides[1])

    def location(self) -> Location:
        """Return position and level."""
        known: dict[str, Any] = {}
        position = self.header.first("XYID")
        if position is not None:
            parts = position.parts(6)
            x, y = self._float(position, 1), self._float(position, 2)
            if (x, y) == (0.0, 0.0):
                text = "the position is 0, 0; taken as not given"
                self.findings.append(
                    Finding("position-zero", Severity.INFO, text, line=position.line)
                )
            elif x is not None and y is not None:
                known |= {"x": x, "y": y, "crs": self._system(parts[0], CRS, 7)}
        known |= self._level()
        self._latitude(known)
        known["zero"] = self.text(9)
        depth = self.number(15, "m")
        if depth is not None and depth > 0:
            known["water_depth"] = depth
        return Location(**known)

    def _level(self) -> dict[str, Any]:
        levels = self.header.all("ZID")
        if not levels:
            return {}
        if len(levels) > 1:
            self.findings.append(
                Finding(
                    "level-twice",
                    Severity.CAUTION,
                    f"the level stands {len(levels)} times (#ZID=); the first is used",
                    line=levels[1].line,
                )
            )
        value = self._float(levels[0], 1)
        system = levels[0].parts(3)[0]
        return {"level": value, "datum": self._system(system, DATUM, 8)}

    def _system(self, code: str, known: Mapping[str, str], text: int) -> str | None:
        """Return the name of a reference system; number 0 is one of its own, named by a text."""
        if code.strip("0"):
            return known.get(code, f"GEF system {code}")
        return self.text(text)

    def _latitude(self, known: dict[str, Any]) -> None:
        entry = self.texts.get(127)
        if entry is None:
            return
        latitude, longitude = self._float(entry, 2), self._float(entry, 3)
        if latitude is not None and longitude is not None and abs(latitude) <= 90:
            known |= {"latitude": latitude, "longitude": longitude}

    def _float(self, entry: Entry, part: int) -> float | None:
        parts = entry.parts(8)
        try:
            value = parse_number(parts[part])
        except (IndexError, ValueError):
            return None
        return None if math.isnan(value) else value

    def stop_reason(self) -> StopReason | None:
        """Return why the push ended, by code."""
        code = self.number(17, "-")
        if code is None or not float(code).is_integer():
            return None
        return STOP.get(int(code), StopReason.UNKNOWN)

    def started(self) -> datetime | None:
        """Return date and time of the start, or None where either is void or impossible."""
        day = self._integers("STARTDATE")
        if self.header.first("STARTDATE") is None:
            day = self._integers("FILEDATE")
        if day is None or len(day) != 3:
            return None
        clock = self._clock()
        try:
            return datetime(*_six(day, clock))
        except ValueError:
            entry = self.header.first("STARTDATE")
            self.findings.append(
                Finding(
                    "date-impossible",
                    Severity.INFO,
                    f"the start {day} {clock} is no date; kept as found",
                    line=entry.line if entry else None,
                )
            )
            return None

    def _clock(self) -> list[int]:
        """Return hour, minute, second; also of the six digits in one that some files have."""
        text = self.header.text("STARTTIME").strip()
        if re.fullmatch(r"\d{6}", text):
            return [int(text[i : i + 2]) for i in (0, 2, 4)]
        return self._integers("STARTTIME") or []

    def _integers(self, word: str) -> list[int] | None:
        parts = re.split(r"[,\s]+", self.header.text(word).strip())
        return [int(part) for part in parts] if all(p.isdecimal() for p in parts) else None

    def removed(self, predrilled: float | None) -> tuple[RemovedLayer, ...]:
        """Return the layers removed in the pre-excavation; each reaches down to the next."""
        tops: list[tuple[float, str]] = []
        for entry in self.header.numbered("SPECIMENVAR").values():
            top = self._float(entry, 1)
            if top is not None:
                tops.append((top, [*entry.parts(4), ""][-2 if len(entry.parts(4)) < 4 else 3]))
        tops.sort()
        layers = []
        for i, (top, words) in enumerate(tops):
            base = tops[i + 1][0] if i + 1 < len(tops) else max(predrilled or top, top)
            layers.append(RemovedLayer(top=top, base=base, description=words))
        return tuple(layers)

    def standard(self) -> tuple[str | None, str | None]:
        """Return the stated standard and, if it stands beside it, the class."""
        stated = self.text(6)
        if stated is None:
            return None, None
        match = re.search(r"(?:klasse|class|kl\.?)\s*(\w+)", stated, flags=re.IGNORECASE)
        return stated, match[1] if match else None
